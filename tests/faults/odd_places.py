"""Odd but honest places of cells, and odd ways of writing the same sheet."""

from __future__ import annotations

from generator import read, refused
from packages import MAIN, PLAIN, ROWS, cell, plain, relations, sheet, styles, with_sheet

# Where cells stand

read(
    "cells without references",
    with_sheet(
        '<row><c t="s"><v>0</v></c><c t="s"><v>1</v></c></row><row><c t="s"><v>2</v></c><c><v>12.5</v></c></row>'
        '<row r="3"><c r="B3"><v>8</v></c></row>'
    ),
)
read(
    "cells partly without references",
    with_sheet('<row r="1"><c r="B1"><v>1</v></c><c><v>2</v></c><c r="F1"><v>3</v></c><c><v>4</v></c></row>'),
    {"Prices!B1": 1.0, "Prices!C1": 2.0, "Prices!F1": 3.0, "Prices!G1": 4.0},
)
read(
    "rows out of order",
    with_sheet("".join(f'<row r="{number}"><c r="A{number}"><v>{number}</v></c></row>' for number in (3, 1, 2))),
    {"Prices!A1": 1.0, "Prices!A2": 2.0, "Prices!A3": 3.0},
    checks=(lambda found: found.sheets[0].rows() == [1, 2, 3],),
)
read(
    "cells out of order",
    with_sheet('<row r="1"><c r="C1"><v>3</v></c><c r="A1"><v>1</v></c><c r="B1"><f>A1</f><v>2</v></c></row>'),
    {"Prices!A1": 1.0, "Prices!B1": 2.0, "Prices!C1": 3.0},
    checks=(lambda found: [(one.address, one.formula) for one in found.sheets[0].row(1)] == [("A1", None), ("B1", "A1"), ("C1", None)],),
)
read(
    "one row in two pieces",
    with_sheet('<row r="1"><c r="B1"><v>2</v></c></row><row r="1"><c r="A1"><v>1</v></c></row>'),
    {"Prices!A1": 1.0, "Prices!B1": 2.0},
    checks=(lambda found: found.sheets[0].rows() == [1],),
)
read(
    "one cell twice",
    with_sheet('<row r="1"><c r="A1"><v>1</v></c><c r="A1"><v>99</v></c></row>'),
    {},
    "duplicate-cell",
    words=("Prices!A1", "twice"),
)
read(
    "one cell twice in two rows",
    with_sheet('<row r="1"><c r="A1"><v>1</v></c></row><row r="2"/><row r="1"><c r="A1"><v>99</v></c></row>'),
    {},
    "duplicate-cell",
)
read(
    "cell far away",
    with_sheet(ROWS + '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'),
    PLAIN | {"Prices!XFD1048576": 1.0},
    checks=(lambda found: len(found.sheets[0].cells) == 7,),
)
read(
    "cell wide away",
    with_sheet(ROWS + '<row r="200000"><c r="ZZ200000"><v>1</v></c></row>'),
    PLAIN | {"Prices!ZZ200000": 1.0},
)
read("false dimension", with_sheet(ROWS, before='<dimension ref="A1:XFD1048576"/>'))
read("nonsense dimension", with_sheet(ROWS, before='<dimension ref="nonsense"/>'))
read(
    "title merged above the headings",
    with_sheet(
        '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" s="0"/></row>',
        after='<mergeCells count="1"><mergeCell ref="A1:B1"/></mergeCells>',
    ),
    {"Prices!A1": "Item"},
    checks=(lambda found: found.sheets[0].merged == [(1, 1, 1, 2)],),
)
read("whole sheet merged", with_sheet(ROWS, after='<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>'), PLAIN)
read(
    "whole sheet linked",
    with_sheet(ROWS, after='<hyperlinks><hyperlink ref="A1:XFD1048576" location="A1"/></hyperlinks>'),
    PLAIN,
)
read("whole sheet one array", cell('<c r="B2"><f t="array" ref="A1:XFD1048576">1</f><v>12.5</v></c>'))
read(
    "hidden rows",
    with_sheet(ROWS.replace('<row r="2">', '<row r="2" hidden="1">') + '<row r="9" hidden="1"/>'),
    PLAIN,
    checks=(lambda found: found.sheets[0].hidden_rows == {2},),
)
read(
    "rows hidden by a filter",
    with_sheet(ROWS.replace('<row r="3">', '<row r="3" spans="1:2" hidden="true">'), after='<autoFilter ref="A1:B3"/>'),
    PLAIN,
    checks=(lambda found: found.sheets[0].hidden_rows == {3},),
)
read(
    "row of no height",
    with_sheet(ROWS.replace('<row r="2">', '<row r="2" ht="0" customHeight="1">')),
    PLAIN,
    checks=(lambda found: found.sheets[0].hidden_rows == {2},),
)
read(
    "styled blanks",
    with_sheet(
        ROWS
        + "".join(f'<row r="{n}">' + "".join(f'<c r="{letter}{n}" s="1"/>' for letter in "ABCDEFGH") + "</row>" for n in range(4, 1004)),
        styles=styles("0.00"),
    ),
    PLAIN,
    checks=(lambda found: len(found.sheets[0].cells) == 6,),
)
read("nothing on the sheet", with_sheet(""), {}, checks=(lambda found: found.sheets[0].rows() == [],))
read(
    "no rows element",
    plain({"xl/worksheets/sheet1.xml": f'<worksheet xmlns="{MAIN}"><sheetData/></worksheet>'}),
    {},
    checks=(lambda found: len(found.sheets) == 1,),
)
read("nothing in the sheet part", plain({"xl/worksheets/sheet1.xml": f'<worksheet xmlns="{MAIN}"/>'}), {})

TABLE = f'<table xmlns="{MAIN}" id="1" name="Pieces" ref="A1:B3" totalsRowCount="1"><tableColumns count="2"/></table>'
SHEET_LINKS = {"xl/worksheets/_rels/sheet1.xml.rels": relations(("rId1", "table", "../tables/table1.xml"))}
read(
    "table with a totals row",
    plain({**SHEET_LINKS, "xl/tables/table1.xml": TABLE}),
    PLAIN,
    checks=(lambda found: found.sheets[0].totals_rows == {3},),
)
read(
    "table without a totals row",
    plain({**SHEET_LINKS, "xl/tables/table1.xml": TABLE.replace('totalsRowCount="1"', 'totalsRowShown="0"')}),
    PLAIN,
    checks=(lambda found: found.sheets[0].totals_rows == set(),),
)
refused(
    "table with a bad area",
    plain({**SHEET_LINKS, "xl/tables/table1.xml": TABLE.replace("A1:B3", "here")}),
    "damaged-file",
)
refused("table that is missing", plain(dict(SHEET_LINKS)), "damaged-file", "table1.xml")

# Ways of writing the same

read("pretty printed", plain({"xl/worksheets/sheet1.xml": sheet(ROWS.replace("><", ">\n   <"))}))
read("attributes in another order and quotes", with_sheet(ROWS.replace('<c r="A2" t="s">', "<c t='s'  r = 'A2' >")))
read(
    "comments and instructions within",
    with_sheet(ROWS.replace("<v>12.5</v>", "<!-- a --><v>12<!-- b -->.<?c d?>5</v>")),
)
read("text in CDATA", with_sheet(ROWS.replace("<v>12.5</v>", "<v><![CDATA[12.5]]></v>")))
read("character references", with_sheet(ROWS.replace("<v>12.5</v>", "<v>&#49;2&#x2E;5</v>")))
read(
    "names with a prefix",
    plain(
        {
            "xl/worksheets/sheet1.xml": sheet()
            .replace("<", "<x:")
            .replace("<x:?", "<?")
            .replace("<x:/", "</x:")
            .replace("xmlns=", "xmlns:x=")
        }
    ),
)
read(
    "namespaces declared on the way",
    with_sheet(ROWS.replace('<row r="2">', f'<row xmlns="{MAIN}" xmlns:y="urn:y" y:z="1" r="2">')),
)
read(
    "rows of another namespace",
    with_sheet(ROWS + '<row xmlns="urn:other" r="4"><c r="A4"><v>1</v></c></row>'),
    PLAIN,
    checks=(lambda found: found.sheets[0].rows() == [1, 2, 3],),
)
read(
    "alternate content",
    with_sheet(ROWS, after='<mc:AlternateContent xmlns:mc="urn:mc"><mc:Choice Requires="x"/></mc:AlternateContent>'),
)
read(
    "extension lists",
    with_sheet(ROWS, after='<extLst><ext uri="{1}"><x14:v xmlns:x14="urn:x">9</x14:v></ext></extLst>'),
)
read(
    "extension list in a cell",
    with_sheet(ROWS.replace("<v>12.5</v></c>", '<v>12.5</v><extLst><ext uri="{1}"/></extLst></c>')),
)
read(
    "two pieces of rows",
    plain(
        {
            "xl/worksheets/sheet1.xml": sheet(ROWS[: ROWS.index('<row r="3"')]).replace("</worksheet>", "")
            + "<sheetData>"
            + ROWS[ROWS.index('<row r="3"') :]
            + "</sheetData></worksheet>"
        }
    ),
)
read(
    "comment that holds rows",
    plain({"xl/worksheets/sheet1.xml": sheet(before='<!-- <sheetData><row r="9"><c r="A9"><v>1</v></c></row></sheetData> -->')}),
    PLAIN,
    checks=(lambda found: found.sheets[0].rows() == [1, 2, 3],),
)
read(
    "comment that ends a row",
    with_sheet(ROWS.replace("<v>12.5</v>", '<!-- </row> <row r="7"><c r="B7"><v>1</v></c></row> --><v>12.5</v>')),
    PLAIN,
    checks=(lambda found: found.sheets[0].rows() == [1, 2, 3],),
)
read(
    "relations of a sheet that lie outside",
    plain({"xl/worksheets/_rels/sheet1.xml.rels": relations(("rId1", "hyperlink", ">https://example.com/"))}),
    PLAIN,
)
