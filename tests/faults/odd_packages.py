"""Odd but honest archives and parts: other writers, other names, other encodings, other ways of packing."""

from __future__ import annotations

import io
import zipfile

import openpyxl
import xlsxwriter
from generator import read, refused
from packages import (
    CONTENT_TYPES,
    KIND,
    LINKS,
    MAIN,
    PLAIN,
    STRICT_LINKS,
    STRICT_MAIN,
    Parts,
    archive,
    book,
    members,
    plain,
    relations,
    sheet,
    strings,
    styles,
    zipped,
)

# Written by libraries


def by_xlsxwriter() -> bytes:
    """A workbook with much around its cells."""
    target = io.BytesIO()
    made = xlsxwriter.Workbook(target, {"in_memory": True})
    page = made.add_worksheet("Prices")
    other = made.add_worksheet("Ünïcode & “quotes”")
    page.write_row(0, 0, ["Item", "Price"])
    page.write_string(1, 0, "grey slab")
    page.write_number(1, 1, 12.5, made.add_format({"num_format": '0.00" kg"'}))
    page.write_string(2, 0, "kerb")
    page.write_formula(2, 1, "=B2-4.5", None, 8)
    page.write_comment("A2", "a note")
    page.data_validation("B2:B9", {"validate": "decimal", "criteria": ">", "value": 0})
    page.conditional_format("B2:B9", {"type": "data_bar"})
    page.freeze_panes(1, 0)
    page.autofilter("A1:B3")
    other.add_table("A1:B4", {"total_row": True, "columns": [{"header": "Item"}, {"header": "Price", "total_function": "sum"}]})
    chart = made.add_chart({"type": "line"})
    chart.add_series({"values": "=Prices!$B$2:$B$3"})
    page.insert_chart("D2", chart)
    whole = made.add_chart({"type": "column"})
    whole.add_series({"values": "=Prices!$B$2:$B$3"})
    made.add_chartsheet("Chart").set_chart(whole)
    made.close()
    return target.getvalue()


def by_openpyxl() -> bytes:
    """A workbook that a library wrote without results."""
    made = openpyxl.Workbook()
    page = made.active
    assert page is not None
    page.title = "Prices"
    for line in (["Item", "Price"], ["grey slab", 12.5], ["kerb", 8], ["both", "=B2+B3"]):
        page.append(line)
    target = io.BytesIO()
    made.save(target)
    return target.getvalue()


read(
    "written by a library",
    by_xlsxwriter,
    PLAIN,
    checks=(
        lambda found: [one.name for one in found.sheets] == ["Prices", "Ünïcode & “quotes”"],
        lambda found: found.sheets[1].totals_rows == {4},
        lambda found: found.sheets[0].cells[2, 2].number_format == '0.00" kg"',
        lambda found: found.results_doubtful,
    ),
)
read("written by another library", by_openpyxl, PLAIN, checks=(lambda found: not found.sheets[0].cells[4, 2].stored,))

# Where the parts stand

read(
    "absolute targets",
    plain(
        {
            "_rels/.rels": relations(("a", "officeDocument", "/xl/workbook.xml")),
            "xl/_rels/workbook.xml.rels": relations(
                ("rId1", "worksheet", "/xl/worksheets/sheet1.xml"), ("r9", "sharedStrings", "/xl/sharedStrings.xml")
            ),
        }
    ),
)
UNUSUAL = plain(
    {
        "_rels/.rels": relations(("x", "officeDocument", "content/the book.xml")),
        "content/the book.xml": book((("Prices", "other"),)),
        "content/_rels/the book.xml.rels": relations(
            ("other", "worksheet", "./pages/../pages/one%20page.xml"), ("t", "sharedStrings", "../texts")
        ),
        "content/pages/one page.xml": sheet(),
        "texts": strings(),
        "xl/workbook.xml": None,
        "xl/worksheets/sheet1.xml": None,
        "xl/sharedStrings.xml": None,
        "xl/_rels/workbook.xml.rels": None,
    }
)
read("unusual part names", UNUSUAL)
read("part names in another case", plain({"xl/worksheets/sheet1.xml": None, "xl/Worksheets/SHEET1.XML": sheet()}))
read("part names with a leading slash", {f"/{name}": part for name, part in plain().items()})
read(
    "backslashes in part names",
    lambda: archive(members({name.replace("/", "\\"): part for name, part in plain().items()})),
)
read(
    "relations out of order",
    plain(
        {
            "xl/workbook.xml": book((("First", "rId7"), ("Prices", "rId1"))),
            "xl/worksheets/sheet2.xml": sheet(""),
            "xl/_rels/workbook.xml.rels": relations(
                ("rId9", "sharedStrings", "sharedStrings.xml"),
                ("rId1", "worksheet", "worksheets/sheet1.xml"),
                ("rId7", "worksheet", "worksheets/sheet2.xml"),
            ),
        }
    ),
    PLAIN,
    checks=(lambda found: [one.name for one in found.sheets] == ["First", "Prices"],),
)
read(
    "two sheets from one part",
    plain({"xl/workbook.xml": book((("Prices", "rId1"), ("Copy", "rId1")))}),
    PLAIN | {"Copy!B2": 12.5},
)
read("no content types", plain({"[Content_Types].xml": None}))
read("no relations of the package", plain({"_rels/.rels": None}))
read("no styles", plain({"xl/styles.xml": None}))
read(
    "no shared texts",
    plain({"xl/sharedStrings.xml": None, "xl/worksheets/sheet1.xml": sheet('<row r="1"><c r="A1"><v>1</v></c></row>')}),
    {"Prices!A1": 1.0},
)
read("shared texts listed and missing", plain({"xl/sharedStrings.xml": None}), {"Prices!B2": 12.5}, "damaged-cell")
read(
    "wrong count of shared texts",
    plain({"xl/sharedStrings.xml": strings().replace("<sst ", '<sst count="99999999" uniqueCount="1" ')}),
)

# Sheets

read(
    "hidden sheets",
    plain({"xl/workbook.xml": book((("Prices", "rId1"), ('Old" state="hidden', "rId1"), ('Deep" state="veryHidden', "rId1")))}),
    PLAIN,
    checks=(lambda found: [one.state for one in found.sheets] == ["visible", "hidden", "veryHidden"],),
)
read(
    "odd sheet names",
    plain({"xl/workbook.xml": book((("Prices", "rId1"), ("&lt;b&gt; &amp; 100%", "rId1"), ("Ω 価格 \U0001f9f1", "rId1"), (" ", "rId1")))}),
    PLAIN,
    checks=(lambda found: [one.name for one in found.sheets][1:] == ["<b> & 100%", "Ω 価格 \U0001f9f1", " "],),
)
read(
    "two sheets of one name",
    plain({"xl/workbook.xml": book((("Prices", "rId1"), (" PRICES", "rId1")))}),
    PLAIN,
    "duplicate-sheet",
)
OTHER_SHEETS = plain(
    {
        "xl/workbook.xml": book((("Chart", "c"), ("Prices", "rId1"), ("Old dialog", "d"), ("Old macros", "m"))),
        "xl/_rels/workbook.xml.rels": relations(
            ("rId1", "worksheet", "worksheets/sheet1.xml"),
            ("c", "chartsheet", "chartsheets/sheet1.xml"),
            ("d", "dialogsheet", "dialogsheets/sheet1.xml"),
            ("m", "http://schemas.microsoft.com/office/2006/relationships/xlMacrosheet", "macrosheets/sheet1.xml"),
            ("rId9", "sharedStrings", "sharedStrings.xml"),
        ),
        "xl/chartsheets/sheet1.xml": f'<chartsheet xmlns="{MAIN}"/>',
    }
)
read(
    "chart sheets and older kinds",
    OTHER_SHEETS,
    PLAIN,
    checks=(lambda found: [one.name for one in found.sheets] == ["Prices"],),
)
refused(
    "chart sheets only",
    plain({"xl/_rels/workbook.xml.rels": relations(("rId1", "chartsheet", "chartsheets/sheet1.xml"))}),
    "no-sheets",
)
refused("no sheets", plain({"xl/workbook.xml": book(())}), "no-sheets")
read(
    "three hundred sheets",
    plain({"xl/workbook.xml": book([("Prices", "rId1"), *((f"S{number}", "rId1") for number in range(300))])}),
    PLAIN,
    checks=(lambda found: len(found.sheets) == 301,),
)

# Other kinds of workbook

read(
    "with macros.xlsm",
    plain(
        {
            "[Content_Types].xml": CONTENT_TYPES.replace(KIND + "sheet.main", "application/vnd.ms-excel.sheet.macroEnabled.main"),
            "xl/vbaProject.bin": b"\0" * 99,
            "xl/_rels/workbook.xml.rels": relations(
                ("rId1", "worksheet", "worksheets/sheet1.xml"),
                ("rId9", "sharedStrings", "sharedStrings.xml"),
                ("v", "http://schemas.microsoft.com/office/2006/relationships/vbaProject", "vbaProject.bin"),
            ),
        }
    ),
    PLAIN,
    checks=(lambda found: found.has_macros,),
)
read(
    "template.xltx",
    plain({"[Content_Types].xml": CONTENT_TYPES.replace("sheet.main", "template.main")}),
    PLAIN,
    checks=(lambda found: not found.has_macros,),
)


def strict() -> Parts:
    """The plain workbook in the strict form of the standard."""
    made: Parts = {}
    for name, part in plain().items():
        assert isinstance(part, str)
        made[name] = part.replace(MAIN, STRICT_MAIN).replace(LINKS, STRICT_LINKS)
    made["xl/worksheets/sheet1.xml"] = str(made["xl/worksheets/sheet1.xml"]).replace(
        "</sheetData>", '<row r="4"><c r="A4" t="d"><v>2025-01-01</v></c></row></sheetData>'
    )
    return made


read("strict form", strict, PLAIN, checks=(lambda found: found.sheets[0].cells[4, 1].kind == "date",))
read("signed", plain({"_xmlsignatures/origin.sigs": b"", "_xmlsignatures/sig1.xml": "<Signature/>"}))
read(
    "thread of comments and pictures",
    plain({"xl/media/image1.png": b"\x89PNG", "xl/comments1.xml": "<not closed", "docProps/app.xml": "<!DOCTYPE a><a/>"}),
)
LINKED = {
    "xl/_rels/workbook.xml.rels": relations(
        ("rId1", "worksheet", "worksheets/sheet1.xml"),
        ("rId9", "sharedStrings", "sharedStrings.xml"),
        ("e", "externalLink", "externalLinks/externalLink1.xml"),
    ),
}
read(
    "links to other workbooks",
    plain({**LINKED, "xl/externalLinks/externalLink1.xml": f'<externalLink xmlns="{MAIN}"/>'}),
    PLAIN,
    "external-links",
)
read(
    "a live link to another program",
    plain(
        {
            **LINKED,
            "xl/externalLinks/externalLink1.xml": f'<externalLink xmlns="{MAIN}"><ddeLink/></externalLink>',
        }
    ),
    PLAIN,
    "external-links",
)

# Encodings

UTF16 = sheet(head='<?xml version="1.0" encoding="UTF-16"?>').encode("utf-16")
read("sheet in UTF-16", plain({"xl/worksheets/sheet1.xml": UTF16}))
read(
    "texts and list in UTF-16",
    plain(
        {
            "xl/sharedStrings.xml": strings().replace("UTF-8", "UTF-16").encode("utf-16"),
            "xl/workbook.xml": book().replace("UTF-8", "UTF-16").encode("utf-16-be").join([b"\xfe\xff", b""]),
        }
    ),
)
read(
    "texts in Latin 1",
    plain({"xl/sharedStrings.xml": strings(("Item", "Price", "grey slab", "bøk")).replace("UTF-8", "ISO-8859-1").encode("latin-1")}),
    {"Prices!A3": "bøk"},
)
read(
    "sheet in Latin 1",
    plain(
        {
            "xl/worksheets/sheet1.xml": sheet('<row r="1"><c r="A1" t="str"><v>bøk</v></c></row>')
            .replace("UTF-8", "ISO-8859-1")
            .encode("latin-1")
        }
    ),
    {"Prices!A1": "bøk"},
)
read("byte order mark", plain({"xl/worksheets/sheet1.xml": b"\xef\xbb\xbf" + sheet().encode()}))
read("no declaration", plain({"xl/worksheets/sheet1.xml": sheet(head="")}))

# Number formats

read("many styles", plain({"xl/styles.xml": styles(*(f'0.{"0" * (number % 30)}"{number}"' for number in range(20_000)))}))
refused(
    "too many styles",
    plain({"xl/styles.xml": styles().replace("</cellXfs>", '<xf numFmtId="0"/>' * 70_000 + "</cellXfs>")}),
    "damaged-file",
    "styles",
)
read("endless number format", plain({"xl/styles.xml": styles("0" + ",#" * 500_000)}))

# Packing


def streamed() -> bytes:
    """An archive written to something that cannot go back, so that sizes follow the data."""

    class Stream(io.RawIOBase):
        """Takes bytes and cannot seek."""

        def __init__(self) -> None:
            self.taken = bytearray()

        def writable(self) -> bool:
            return True

        def write(self, data: object) -> int:
            chunk = bytes(data)  # type: ignore[call-overload]
            self.taken += chunk
            return len(chunk)

    stream = Stream()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as target:  # type: ignore[arg-type]
        for name, part in plain().items():
            target.writestr(name, part)
    return bytes(stream.taken)


def large_fields() -> bytes:
    """An archive with the size fields of archives beyond 4 GiB."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as made:
        for name, part in plain().items():
            with made.open(name, "w", force_zip64=True) as stream:
                stream.write(part if isinstance(part, bytes) else part.encode())
    return target.getvalue()


def with_folders() -> bytes:
    """An archive that lists its folders too."""
    return zipped({"xl/": "", "xl/worksheets/": "", "_rels/": ""} | plain())


def commented() -> bytes:
    """An archive with a comment."""
    target = io.BytesIO(zipped(plain()))
    with zipfile.ZipFile(target, "a") as made:
        made.comment = b"a comment" * 100
    return target.getvalue()


read("stored members", lambda: zipped(plain(), zipfile.ZIP_STORED))
read("streamed members", streamed)
read("fields of large archives", large_fields)
read("folders listed", with_folders)
read("comment of the archive", commented)
read("junk before the archive", lambda: b"#!/bin/sh\nexit\n" + zipped(plain()))
read("junk after the archive", lambda: zipped(plain()) + b"\r\n-- mail footer --\r\n")
refused("packed with bzip2", lambda: zipped(plain(), zipfile.ZIP_BZIP2), "unusual-packing", "save it again")
refused("packed with lzma", lambda: zipped(plain(), zipfile.ZIP_LZMA), "unusual-packing")
