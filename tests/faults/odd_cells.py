"""Odd but honest cells: each is read right, or reported where it cannot be."""

from __future__ import annotations

import datetime

from generator import read
from packages import ROWS, book, cell, plain, strings, styles, with_sheet

DAY = datetime.datetime(2025, 1, 1)


def rows(*cells: str) -> str:
    """One row with the given cells."""
    return f'<row r="1">{"".join(cells)}</row>'


# Formulas and their stored results

read(
    "formulas with stored results",
    with_sheet(rows('<c r="A1"><f>B1*2</f><v>5</v></c>', '<c r="B1"><v>2.5</v></c>')),
    {"Prices!A1": 5.0},
    checks=(
        lambda found: found.sheets[0].cells[1, 1].formula == "B1*2" and found.sheets[0].cells[1, 1].stored,
        lambda found: found.sheets[0].cells[1, 2].formula is None,
        lambda found: not found.results_doubtful,
    ),
)
read(
    "formulas never calculated",
    with_sheet(rows('<c r="A1"><f>B1*2</f></c>', '<c r="B1"><f>1+1</f><v></v></c>', '<c r="C1"><f>2</f><v/></c>')),
    {"Prices!A1": None, "Prices!B1": None, "Prices!C1": None},
    checks=(lambda found: all(one.kind == "blank" and not one.stored for one in found.sheets[0].row(1)),),
)
read(
    "zero left by a library",
    with_sheet(rows('<c r="A1"><f>B1*2</f><v>0</v></c>'), book=book(after='<calcPr calcId="1" fullCalcOnLoad="1"/>')),
    {"Prices!A1": 0.0},
    checks=(lambda found: found.results_doubtful,),
)
read(
    "calculated by hand only",
    plain({"xl/workbook.xml": book(after='<calcPr calcMode="manual" calcOnSave="0"/>')}),
    checks=(lambda found: found.results_doubtful,),
)
read(
    "calculated by hand and when saved",
    plain({"xl/workbook.xml": book(after='<calcPr calcMode="manual"/>')}),
    checks=(lambda found: not found.results_doubtful,),
)
read(
    "calculation was not finished",
    plain({"xl/workbook.xml": book(after='<calcPr calcCompleted="false"/>')}),
    checks=(lambda found: found.results_doubtful,),
)
read(
    "formula with a text result",
    with_sheet(rows('<c r="A1" t="str"><f>"a"&amp;"b"</f><v>ab</v></c>', '<c r="B1" t="str"><f>""</f><v></v></c>')),
    {"Prices!A1": "ab", "Prices!B1": ""},
    checks=(
        lambda found: found.sheets[0].cells[1, 1].formula == '"a"&"b"',
        lambda found: found.sheets[0].cells[1, 2].kind == "text" and found.sheets[0].cells[1, 2].stored,
    ),
)
read(
    "shared formulas",
    with_sheet(
        '<row r="1"><c r="A1"><f t="shared" ref="A1:A3" si="0">B1*2</f><v>2</v></c></row>'
        '<row r="2"><c r="A2"><f t="shared" si="0"/><v>4</v></c></row>'
        '<row r="3"><c r="A3"><f t="shared" si="0"></f><v>6</v></c></row>'
    ),
    {"Prices!A1": 2.0, "Prices!A2": 4.0, "Prices!A3": 6.0},
    checks=(lambda found: [found.sheets[0].cells[row, 1].formula for row in (1, 2, 3)] == ["B1*2", "", ""],),
)
read(
    "array formula",
    with_sheet(rows('<c r="A1"><f t="array" ref="A1:B1">C1:D1*2</f><v>2</v></c>', '<c r="B1"><v>4</v></c>')),
    {"Prices!A1": 2.0, "Prices!B1": 4.0},
)
read(
    "dynamic array",
    with_sheet(rows('<c r="A1" cm="1"><f t="array" ref="A1:A9">_xlfn.UNIQUE(B1:B9)</f><v>2</v></c>')),
    {"Prices!A1": 2.0},
)
read(
    "data table",
    with_sheet(rows('<c r="A1"><f t="dataTable" ref="A1:A2" dt2D="0" dtr="0" r1="C1"/><v>7</v></c>')),
    {"Prices!A1": 7.0},
    checks=(lambda found: found.sheets[0].cells[1, 1].formula == "",),
)
read(
    "circular formulas",
    with_sheet(rows('<c r="A1"><f>B1+1</f><v>0</v></c>', '<c r="B1"><f>A1+1</f><v>0</v></c>')),
    {"Prices!A1": 0.0},
)
read("very deep formula", cell(f'<c r="B2"><f>{"(" * 4000}1{")" * 4000}</f><v>12.5</v></c>'))
read("formula that a suite writes", cell('<c r="B2" s="0"><f aca="false">5*2.5</f><v>12.5</v></c>'))
read("formula with a stored error", cell('<c r="B2" t="e"><f>1/0</f><v>#DIV/0!</v></c>'), {"Prices!B2": "#DIV/0!"})
read("formula with a stored yes", cell('<c r="B2" t="b"><f>1=1</f><v>1</v></c>'), {"Prices!B2": True})

# Errors, yes and no, kinds

ERRORS = [
    "#NULL!",
    "#DIV/0!",
    "#VALUE!",
    "#REF!",
    "#NAME?",
    "#NUM!",
    "#N/A",
    "#GETTING_DATA",
    "#SPILL!",
    "#CALC!",
    "#BLOCKED!",
]
read(
    "error values",
    with_sheet("".join(f'<row r="{n}"><c r="A{n}" t="e"><v>{text}</v></c></row>' for n, text in enumerate(ERRORS, 1))),
    {f"Prices!A{number}": text for number, text in enumerate(ERRORS, 1)},
    checks=(lambda found: {one.kind for one in found.sheets[0].cells.values()} == {"error"},),
)
read(
    "yes and no in every spelling",
    with_sheet(
        rows(
            *(
                f'<c r="{letter}1" t="b"><v>{text}</v></c>'
                for letter, text in zip("ABCDE", ("1", "0", "true", "false", "TRUE"), strict=True)
            )
        )
    ),
    {"Prices!A1": True, "Prices!B1": False, "Prices!C1": True, "Prices!D1": False, "Prices!E1": True},
)
read("neither yes nor no", cell('<c r="B2" t="b"><v>2</v></c>'), {"Prices!B3": 8.0}, "bad-value")
read("unknown kind of cell", cell('<c r="B2" t="zz"><v>2</v></c>'), {"Prices!B3": 8.0}, "damaged-cell")
read("kind written out", cell('<c r="B2" t="n"><v>12.5</v></c>'))

# Numbers

NUMBERS = [
    ("0.30000000000000004", 0.3),
    ("12.340000000000002", 12.34),
    ("12345678901234567890", 1.23456789012346e19),
    ("1.5E-3", 0.0015),
    ("1e5", 1e5),
    ("-4.25", -4.25),
    ("+4.25", 4.25),
    (" 12.5 ", 12.5),
    ("12.", 12.0),
    (".5", 0.5),
    ("00012", 12.0),
    ("-0", 0.0),
    ("0.1", 0.1),
    ("1E+2", 100.0),
    ("9007199254740993", 9.00719925474099e15),
]
read(
    "numbers in every spelling",
    with_sheet("".join(f'<row r="{n}"><c r="A{n}"><v>{text}</v></c></row>' for n, (text, _) in enumerate(NUMBERS, 1))),
    {f"Prices!A{number}": value for number, (_, value) in enumerate(NUMBERS, 1)},
    checks=(lambda found: str(found.sheets[0].cells[12, 1].value) == "0.0",),
)
for title, stored in {
    "not a number": "NaN",
    "infinity": "INF",
    "infinity in lower case": "inf",
    "minus infinity": "-Infinity",
    "too large": "1e999",
    "text in a number": "twelve",
    "hexadecimal": "0x1F",
    "grouped by underscore": "1_000",
    "arabic digits": "١٢",
    "comma": "12,5",
    "two points": "1.2.3",
    "a million digits": "1" * 1_000_000,
}.items():
    read(
        f"number - {title}",
        cell(f'<c r="B2"><v>{stored}</v></c>'),
        {"Prices!B3": 8.0},
        "bad-number",
        words=("Prices!B2", "type it again"),
    )

# Dates

STYLE_DAY = styles("dd/mm/yyyy", "h:mm", '0.0" day"', "[$-809]d mmmm yyyy;@", "[h]:mm:ss")


def dated(*serials: str, style: int = 1) -> str:
    """A row of date numbers."""
    return rows(*(f'<c r="{letter}1" s="{style}"><v>{text}</v></c>' for letter, text in zip("ABCDEFGH", serials, strict=False)))


read(
    "dates",
    with_sheet(dated("45658", "45658.75", "1", "59", "61", "2958465"), styles=STYLE_DAY),
    {
        "Prices!A1": DAY,
        "Prices!B1": datetime.datetime(2025, 1, 1, 18),
        "Prices!C1": datetime.datetime(1900, 1, 1),
        "Prices!D1": datetime.datetime(1900, 2, 28),
        "Prices!E1": datetime.datetime(1900, 3, 1),
        "Prices!F1": datetime.datetime(9999, 12, 31),
    },
)
read(
    "dates with a formula",
    with_sheet(rows('<c r="A1" s="1"><f>TODAY()</f><v>45658</v></c>'), styles=STYLE_DAY),
    {"Prices!A1": DAY},
)
read(
    "dates that never were",
    with_sheet(dated("60", "-1", "2958466", "0.5", "1e300"), styles=STYLE_DAY),
    {f"Prices!{letter}1": "########" for letter in "ABCDE"},
    "bad-date",
    words=("Prices!A1", "Prices!E1", "shown as a date"),
)
read(
    "dates from 1904",
    with_sheet(dated("44196", "0", "2957003"), styles=STYLE_DAY, book=book(before='<workbookPr date1904="1"/>')),
    {"Prices!A1": DAY, "Prices!B1": datetime.datetime(1904, 1, 1), "Prices!C1": datetime.datetime(9999, 12, 31)},
    checks=(lambda found: found.date_1904,),
)
read(
    "dates from 1904 as a suite writes it",
    with_sheet(dated("44196"), styles=STYLE_DAY, book=book(before='<workbookPr date1904="true" backupFile="false"/>')),
    {"Prices!A1": DAY},
)
read(
    "dates past the end from 1904",
    with_sheet(dated("2957004", "-1"), styles=STYLE_DAY, book=book(before='<workbookPr date1904="1"/>')),
    {"Prices!A1": "########", "Prices!B1": "########"},
    "bad-date",
)
read(
    "times and durations are numbers",
    with_sheet(dated("0.75", style=2) + dated("1.5", style=5).replace('"1"', '"2"', 1).replace("A1", "A2"), styles=STYLE_DAY),
    {"Prices!A1": 0.75, "Prices!A2": 1.5},
)
read(
    "days as a unit are no dates",
    with_sheet(dated("3.5", style=3), styles=STYLE_DAY),
    {"Prices!A1": 3.5},
    checks=(lambda found: found.sheets[0].cells[1, 1].number_format == '0.0" day"',),
)
read("dates in words", with_sheet(dated("45658", style=4), styles=STYLE_DAY), {"Prices!A1": DAY})
read(
    "dates written as ISO 8601",
    with_sheet(
        rows(
            '<c r="A1" t="d"><v>2025-01-01</v></c>',
            '<c r="B1" t="d"><v>2025-01-01T18:30:00</v></c>',
            '<c r="C1" t="d"><v>2025-01-01T00:00:00.000Z</v></c>',
        )
    ),
    {"Prices!A1": DAY, "Prices!B1": datetime.datetime(2025, 1, 1, 18, 30), "Prices!C1": DAY},
)
read(
    "ISO dates that are none",
    with_sheet(rows('<c r="A1" t="d"><v>2025-02-30</v></c>', '<c r="B1" t="d"><v>next week</v></c>')),
    {},
    "bad-date",
)
read(
    "built-in date format",
    with_sheet(
        rows('<c r="A1" s="0"><v>45658</v></c>'),
        styles=styles().replace('<cellXfs><xf numFmtId="0"/>', '<cellXfs><xf numFmtId="14"/>'),
    ),
    {"Prices!A1": DAY},
)

# Texts

read(
    "texts in the cells",
    with_sheet(
        rows(
            '<c r="A1" t="inlineStr"><is><t>grey slab</t></is></c>',
            '<c r="B1" t="inlineStr"><is><t> a &amp; b </t></is></c>',
        )
    ),
    {"Prices!A1": "grey slab", "Prices!B1": " a & b "},
)
read(
    "rich text",
    with_sheet(
        rows(
            '<c r="A1" t="s"><v>0</v></c>',
            '<c r="B1" t="inlineStr"><is><r><t>12</t></r><r><rPr><b/></rPr><t>.50</t></r></is></c>',
        ),
        strings=strings((), "<si><r><t>12</t></r><r><rPr><b/></rPr><t>.50</t></r></si>"),
    ),
    {"Prices!A1": "12.50", "Prices!B1": "12.50"},
)
PHONETIC = '<t>課</t><rPh sb="0" eb="1"><t>カ</t></rPh><phoneticPr fontId="1"/>'
read(
    "phonetic readings",
    with_sheet(
        rows('<c r="A1" t="s"><v>0</v></c>', f'<c r="B1" t="inlineStr"><is>{PHONETIC}</is></c>'),
        strings=strings((), f"<si>{PHONETIC}</si>"),
    ),
    {"Prices!A1": "課", "Prices!B1": "課"},
)
read(
    "escaped characters",
    with_sheet(
        rows('<c r="A1" t="s"><v>0</v></c>', '<c r="B1" t="str"><v>a_x0009_b</v></c>', '<c r="C1" t="s"><v>1</v></c>'),
        strings=strings(("line1_x000D_\nline2", "_x005F_x0041_ _xD83D__xDE00_")),
    ),
    {"Prices!A1": "line1\r\nline2", "Prices!B1": "a\tb", "Prices!C1": "_x0041_ \U0001f600"},
)
read(
    "empty text",
    with_sheet(rows('<c r="A1" t="s"><v>0</v></c>', '<c r="B1" t="inlineStr"/>'), strings=strings(("",))),
    {"Prices!A1": ""},
)
read("half an escaped pair", cell('<c r="B2" t="str"><v>a_xD83D_</v></c>'), {"Prices!B2": "a\ufffd"}, "odd-characters")
read(
    "control characters",
    cell('<c r="B2" t="str"><v>a_x0001_b</v></c>'),
    {"Prices!B2": "a\x01b"},
    "odd-characters",
    words=("Prices!B2",),
)
read(
    "text that turns its direction",
    with_sheet(ROWS, strings=strings(("Item", "Price", "grey \u202ebals", "kerb"))),
    {"Prices!A2": "grey \u202ebals"},
    "odd-characters",
    words=("Prices!A2",),
)
read(
    "longest text",
    with_sheet(rows('<c r="A1" t="s"><v>0</v></c>'), strings=strings(("x" * 32_767,))),
    {"Prices!A1": "x" * 32_767},
)
read(
    "over-long shared text",
    with_sheet(rows('<c r="A1" t="s"><v>0</v></c>'), strings=strings(("x" * 32_768,))),
    {},
    "long-text",
)
read("over-long text in the cell", cell(f'<c r="B2" t="inlineStr"><is><t>{"y" * 40_000}</t></is></c>'), {}, "long-text")
read(
    "text that looks like a formula",
    cell('<c r="B2" t="str"><v>=1+1</v></c>'),
    {"Prices!B2": "=1+1"},
    checks=(lambda found: found.sheets[0].cells[2, 2].formula is None,),
)
read(
    "duplicate keys but for case and spaces",
    with_sheet(
        "".join(
            f'<row r="{n}"><c r="A{n}" t="inlineStr"><is><t xml:space="preserve">{text}</t></is></c></row>'
            for n, text in enumerate(("Kerb", " kerb", "KERB\u00a0"), 1)
        )
    ),
    {"Prices!A1": "Kerb", "Prices!A2": " kerb", "Prices!A3": "KERB\u00a0"},
)
read("shared text that is missing", cell('<c r="B2" t="s"><v>99</v></c>'), {"Prices!B3": 8.0}, "damaged-cell")
read("shared text with a bad number", cell('<c r="B2" t="s"><v>-1</v></c>'), {"Prices!B3": 8.0}, "damaged-cell")
read("shared text with a fraction", cell('<c r="B2" t="s"><v>1.5</v></c>'), {"Prices!B3": 8.0}, "damaged-cell")
read(
    "shared text with leading zeros",
    cell('<c r="B2" t="s"><v>0000000000003</v></c>'),
    {"Prices!B3": 8.0},
    "damaged-cell",
)
read(
    "number format of another currency",
    with_sheet(rows('<c r="A1" s="1"><v>4.2</v></c>'), styles=styles("[$€-407]#,##0.00")),
    {"Prices!A1": 4.2},
    checks=(lambda found: found.sheets[0].cells[1, 1].number_format == "[$€-407]#,##0.00",),
)
