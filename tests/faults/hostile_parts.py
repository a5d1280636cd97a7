"""Files made to break a reader: bombs, lies and damage; each is refused in one sentence, in bounded time and memory."""

from __future__ import annotations

from generator import Made, read, refused
from packages import (
    HEAD,
    MAIN,
    ROWS,
    bomb,
    book,
    cell,
    plain,
    relations,
    sheet,
    strings,
    styles,
    with_sheet,
)

SHEET = "xl/worksheets/sheet1.xml"
STRINGS = "xl/sharedStrings.xml"
OPEN, CLOSE = sheet("").split("</sheetData>")[0], "</sheetData></worksheet>"

# Bombs

refused(
    "bomb of spaces",
    lambda: bomb(plain(), SHEET, OPEN, " " * 1_048_576, 256, CLOSE),
    "suspicious-file",
    "times its size",
)
refused(
    "bomb of cells",
    lambda: bomb(plain(), SHEET, OPEN, "<row><c><v>1</v></c></row>" * 40_000, 256, CLOSE),
    "suspicious-file",
)
refused("bomb beyond every limit", lambda: bomb(plain(), SHEET, OPEN, " " * 1_048_576, 1024, CLOSE), "file-too-large", "MiB")
refused(
    "bomb of shared texts",
    lambda: bomb(plain(), STRINGS, strings(()).removesuffix("</sst>"), "<si><t/></si>" * 80_000, 128, "</sst>"),
    "suspicious-file",
)
refused(
    "bomb in the list of sheets",
    lambda: bomb(plain(), "xl/workbook.xml", book(()).removesuffix("</workbook>"), " " * 1_048_576, 64, "</workbook>"),
    "file-too-large",
)
refused("bomb in the relations", lambda: bomb(plain(), "_rels/.rels", HEAD, " " * 1_048_576, 20, "<a/>"), "suspicious-file")
refused(
    "bomb in the styles",
    lambda: bomb(plain(), "xl/styles.xml", styles().removesuffix("</styleSheet>"), "<a/>" * 262_144, 30, "</styleSheet>"),
    "suspicious-file",
)
read(
    "bomb that is not opened",
    lambda: bomb(plain({"xl/media/image1.png": ""}), "xl/media/image1.png", "", "\0" * 1_048_576, 512, ""),
)
refused(
    "comments without end and a row without one",
    lambda: plain({SHEET: OPEN + "".join(f"<!--{number:x}-->" for number in range(2_000_000)) + "<row" + CLOSE}),
    "damaged-file",
)
read(
    "a million empty rows",
    lambda: with_sheet(
        "".join(f'<row r="{number}" ht="15"/>' for number in range(1, 1_000_001)).replace(
            '<row r="1" ht="15"/>', ROWS.split("</row>")[0] + "</row>", 1
        )
    ),
    {"Prices!A1": "Item"},
)
read(
    "a million blank cells",
    lambda: with_sheet(
        "".join(
            f'<row r="{row}">' + "".join(f'<c r="{letter}{row}" s="0"/>' for letter in "ABCDEFGHIJKLMNOPQRST") + "</row>"
            for row in range(1, 50_001)
        )
    ),
    {},
    checks=(lambda found: len(found.sheets[0].cells) == 0,),
)
read(
    "a million blank cells through the parser",
    lambda: with_sheet(
        "".join(
            f'<row  r="{row}">' + "".join(f'<c r="{letter}{row}" s="0"/>' for letter in "ABCDEFGHIJKLMNOPQRST") + "</row>"
            for row in range(1, 50_001)
        )
    ),
    {},
)

# Document types and entities

LAUGHS = f'<!DOCTYPE a [<!ENTITY a "ha"><!ENTITY b "{"&a;" * 9}"><!ENTITY c "{"&b;" * 9}">]>'
refused(
    "entities within entities",
    plain({SHEET: sheet('<row r="1"><c r="A1" t="str"><v>&c;</v></c></row>', head=HEAD + LAUGHS)}),
    "suspicious-file",
    "document type",
)
refused(
    "entity of great length",
    plain(
        {
            SHEET: sheet(
                '<row r="1"><c r="A1" t="str"><v>' + "&a;" * 9999 + "</v></c></row>",
                head=f'{HEAD}<!DOCTYPE a [<!ENTITY a "{"x" * 99_999}">]>',
            )
        }
    ),
    "suspicious-file",
)
refused(
    "entity of a file",
    plain(
        {
            SHEET: sheet(
                '<row r="1"><c r="A1" t="str"><v>&a;</v></c></row>',
                head=HEAD + '<!DOCTYPE a [<!ENTITY a SYSTEM "file:///etc/hostname">]>',
            )
        }
    ),
    "suspicious-file",
)
for title, part, text in (
    ("the list of sheets", "xl/workbook.xml", book()),
    ("the shared texts", STRINGS, strings()),
    ("the styles", "xl/styles.xml", styles()),
    ("the relations", "_rels/.rels", relations(("rId1", "officeDocument", "xl/workbook.xml"))),
):
    refused(
        f"document type in {title}",
        plain({part: text.replace(HEAD, HEAD + '<!DOCTYPE a SYSTEM "http://x.invalid/a.dtd">')}),
        "suspicious-file",
    )
refused("unknown entity", with_sheet('<row r="1"><c r="A1" t="str"><v>&nbsp;</v></c></row>'), "damaged-file")

# Places that cannot be

refused("row beyond the grid", with_sheet('<row r="1048577"><c r="A1048577"><v>1</v></c></row>'), "beyond-grid", "1048577")
refused("column beyond the grid", with_sheet('<row r="1"><c r="XFE1"><v>1</v></c></row>'), "beyond-grid", "XFE1")
refused("row of many digits", with_sheet(f'<row r="{"9" * 5000}"/>'), "damaged-file")
refused("row zero", with_sheet('<row r="0"><c r="A0"><v>1</v></c></row>'), "beyond-grid")
refused("row below zero", with_sheet('<row r="-1"><c r="A1"><v>1</v></c></row>'), "damaged-file")
refused("row that is a word", with_sheet('<row r="one"><c r="A1"><v>1</v></c></row>'), "damaged-file")
refused("too many cells without references", with_sheet(f"<row>{'<c><v>1</v></c>' * 16_385}</row>"), "beyond-grid")
refused("rows without references past the end", with_sheet('<row r="1048576"/><row><c><v>1</v></c></row>'), "beyond-grid")
for title, reference in {
    "in another row": "B9",
    "a word": "here",
    "in lower case": "b2",
    "nothing": "",
    "with dollars": "$B$2",
    "row zero": "B0",
    "an area": "B2:B3",
}.items():
    refused(f"reference - {title}", cell(f'<c r="{reference}"><v>1</v></c>'), "damaged-file")
for title, style in {"beyond the list": "9999", "below zero": "-1", "a word": "bold"}.items():
    refused(f"style - {title}", cell(f'<c r="B2" s="{style}"><v>1</v></c>'), "damaged-file", "style")
refused(
    "merged area that is none",
    with_sheet(ROWS, after='<mergeCells><mergeCell ref="A0:B"/></mergeCells>'),
    "damaged-file",
)
refused(
    "two hundred thousand merged areas",
    lambda: with_sheet(
        ROWS,
        after="<mergeCells>" + "".join(f'<mergeCell ref="A{n}:B{n}"/>' for n in range(1, 200_001)) + "</mergeCells>",
    ),
    "damaged-file",
)

# Elements where they do not belong

refused("cell within a cell", cell('<c r="B2"><c r="C2"><v>1</v></c></c>'), "damaged-file")
refused("row within a row", with_sheet('<row r="1"><row r="2"/></row>'), "damaged-file")
refused("cell outside a row", with_sheet('<c r="A1"><v>1</v></c>'), "damaged-file")
refused("value outside a cell", with_sheet('<row r="1"><v>1</v></row>'), "damaged-file")
refused("value within a value", cell('<c r="B2"><v>1<v>2</v></v></c>'), "damaged-file")
refused("rows within rows", with_sheet("<sheetData/>"), "damaged-file")
refused("very deep elements", with_sheet("<x>" * 5000 + "</x>" * 5000), "damaged-file", "deep")
refused("very deep elements in a cell", cell(f'<c r="B2"><is>{"<r>" * 5000}{"</r>" * 5000}</is></c>'), "damaged-file")
refused("very deep elements before the rows", with_sheet(ROWS, before="<x>" * 5000 + "</x>" * 5000), "damaged-file")
refused("very deep shared texts", plain({STRINGS: strings((), f"<si>{'<r>' * 5000}{'</r>' * 5000}</si>")}), "damaged-file")
refused("very deep list of sheets", plain({"xl/workbook.xml": book(before="<x>" * 5000 + "</x>" * 5000)}), "damaged-file")
refused("another root in the sheet", plain({SHEET: f'<chartsheet xmlns="{MAIN}"/>'}), "damaged-file", "not a worksheet")
refused("another namespace in the sheet", plain({SHEET: sheet().replace(MAIN, "urn:other")}), "damaged-file")
refused("another root in the workbook", plain({"xl/workbook.xml": "<document/>"}), "not-a-workbook")
refused(
    "sheet that is the workbook",
    plain({"xl/_rels/workbook.xml.rels": relations(("rId1", "worksheet", "workbook.xml"))}),
    "damaged-file",
)

# Things without end

refused("endless attribute", lambda: cell(f'<c r="{"A" * 9_000_000}"><v>1</v></c>'), "damaged-file", "too long")
refused("endless name", lambda: with_sheet(f"<{'x' * 9_000_000}/>"), "damaged-file")
refused("endless comment", lambda: with_sheet(f"<!--{'x' * 9_000_000}-->"), "damaged-file")
refused("endless text", lambda: cell(f'<c r="B2" t="str"><v>{"x" * 9_000_000}</v></c>'), "damaged-file")
refused("endless formula", lambda: cell(f'<c r="B2"><f>{"1+" * 5_000_000}1</f><v>12.5</v></c>'), "damaged-file")
refused("endless shared text", lambda: plain({STRINGS: strings(("x" * 9_000_000,))}), "damaged-file")
refused(
    "endless pieces of a text",
    lambda: plain({STRINGS: strings((), f"<si>{'<r><t>xxxxxxxxxxxxxxxxx</t></r>' * 200_000}</si>")}),
    "damaged-file",
)
refused("endless row", lambda: with_sheet('<row r="1">' + "<x/>" * 1_500_000 + "<c"), "file-too-large")
read(
    "five hundred thousand attributes",
    lambda: with_sheet(ROWS.replace('<row r="2">', '<row r="2" ' + " ".join(f'a{n}="1"' for n in range(200_000)) + ">")),
)
refused(
    "two thousand sheets",
    plain({"xl/workbook.xml": book((f"S{number}", "rId1") for number in range(2000))}),
    "file-too-large",
)
read(
    "a hundred thousand names",
    lambda: plain(
        {"xl/workbook.xml": book(after="<definedNames>" + '<definedName name="n">1</definedName>' * 100_000 + "</definedNames>")}
    ),
)
read(
    "a hundred thousand rules",
    lambda: with_sheet(
        ROWS,
        after='<conditionalFormatting sqref="A1"><cfRule type="expression"/></conditionalFormatting>' * 100_000,
    ),
)
refused(
    "many bad numbers",
    with_sheet("".join(f'<row r="{n}"><c r="A{n}"><v>x</v></c></row>' for n in range(1, 200))),
    "too-many-problems bad-number",
)


# Where parts lead

LEADS = {
    "outside the file": ("suspicious-file", ">https://example.com/sheet.xml"),
    "to the network": ("suspicious-file", "http://example.com/sheet.xml"),
    "to a share": ("suspicious-file", "//server/share/sheet.xml"),
    "to a file": ("suspicious-file", "file:///etc/passwd"),
    "out of the package": ("suspicious-file", "../../../../etc/passwd"),
    "out of the package in code": ("suspicious-file", "%2e%2e/%2e%2e/%2E%2E/passwd"),
    "out of the package backwards": ("suspicious-file", "..\\..\\..\\passwd"),
    "to a drive": ("suspicious-file", "c:\\sheet.xml"),
    "to nothing": ("damaged-file", "worksheets/sheet9.xml"),
    "nowhere": ("damaged-file", ""),
}
for title, (code, target) in LEADS.items():
    refused(
        f"sheet that leads {title}",
        plain({"xl/_rels/workbook.xml.rels": relations(("rId1", "worksheet", target))}),
        code,
    )
refused("sheet without a relation", plain({"xl/_rels/workbook.xml.rels": relations()}), "damaged-file")
refused("no relations of the workbook", plain({"xl/_rels/workbook.xml.rels": None}), "damaged-file")
refused(
    "workbook outside the file",
    plain({"_rels/.rels": relations(("a", "officeDocument", ">https://example.com/book"))}),
    "suspicious-file",
)
refused(
    "texts that lead out",
    plain({"xl/_rels/workbook.xml.rels": relations(("rId1", "worksheet", "worksheets/sheet1.xml"), ("s", "sharedStrings", "../../x"))}),
    "suspicious-file",
)

# Damaged parts

refused("sheet cut short", plain({SHEET: sheet()[:-60]}), "damaged-file", "sheet1.xml")
refused("sheet of nothing", plain({SHEET: ""}), "damaged-file")
refused("sheet of random bytes", plain({SHEET: bytes(range(256))}), "damaged-file")
refused("something after the sheet", plain({SHEET: sheet() + "<again/>"}), "damaged-file")
refused("control characters in the sheet", cell('<c r="B2" t="str"><v>a\x01b</v></c>'), "damaged-file")
refused("end of a section in the text", cell('<c r="B2" t="str"><v>a]]>b</v></c>'), "damaged-file")
refused("a character that is none", cell('<c r="B2" t="str"><v>a\uffffb</v></c>'), "damaged-file")
refused("letters cut in half", plain({SHEET: sheet().encode().replace(b"<v>12.5</v>", b"<v>\xc3</v>")}), "damaged-file")
refused(
    "surrogates as letters",
    plain({SHEET: sheet().encode().replace(b"<v>12.5</v>", b"<v>\xed\xa0\x80</v>")}),
    "damaged-file",
)
refused(
    "unknown encoding",
    plain({SHEET: sheet(head='<?xml version="1.0" encoding="x-none"?>')}),
    "damaged-file",
    "encoding",
)
refused("encoding of many bytes", plain({SHEET: sheet(head='<?xml version="1.0" encoding="shift_jis"?>')}), "damaged-file")
refused("unknown prefix", with_sheet('<x:row r="1"/>'), "damaged-file")
refused("unknown prefix in a row", with_sheet(ROWS.replace('<row r="2">', '<row r="2" x:y="1">')), "damaged-file")
refused("attribute twice", with_sheet('<row r="1" r="2"/>'), "damaged-file")
refused("styles cut short", plain({"xl/styles.xml": styles()[:-20]}), "damaged-file", "styles")
refused(
    "number format with a word for a number",
    plain({"xl/styles.xml": styles("0").replace('numFmtId="164" f', 'numFmtId="x" f')}),
    "damaged-file",
)
refused("texts cut short", plain({STRINGS: strings()[:-20]}), "damaged-file", "sharedStrings")
refused("list of sheets cut short", plain({"xl/workbook.xml": book()[:-20]}), "damaged-file")
refused(
    "relations cut short",
    plain({"_rels/.rels": relations(("a", "officeDocument", "xl/workbook.xml"))[:-20]}),
    "damaged-file",
)


def cut_rows() -> Made:
    """Plain rows, then one that ends within a cell."""
    return plain({SHEET: OPEN + ROWS + '<row r="4"><c r="A4"><v>1</v>'})


refused("row cut short", cut_rows, "damaged-file")
