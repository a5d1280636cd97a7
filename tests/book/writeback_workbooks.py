"""Workbooks for the tests of writing values back: a rich one, and small ones made by hand part by part."""

from __future__ import annotations

import io
import struct
import subprocess
import tempfile
import warnings
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import openpyxl
import xlsxwriter
from openpyxl.workbook import Workbook
from referee import need_office

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE_RELATIONS = "http://schemas.openxmlformats.org/package/2006/relationships"
TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml."
STALE = 999.0  # a stored result that no formula here computes

PRODUCTS = [("Step tread", 11.5, 30), ("Bench slab", 62, 160), ("Plinth", 20, 45), ("Trough", 35.25, 90)]


def rich_workbook(path: Path) -> Path:
    """A price book with much around its cells; the list prices stand in Products!D5:D8, and E, F depend on them."""
    book = xlsxwriter.Workbook(str(path))
    money = book.add_format({"num_format": "#,##0.00", "bg_color": "#FFF2CC", "border": 1})
    sheet = book.add_worksheet("Products")
    summary = book.add_worksheet("Summary")
    apart = book.add_worksheet("Apart")
    archive = book.add_worksheet("Old prices")
    archive.hide()
    sheet.write("A1", "Garden pieces", book.add_format({"bold": True, "font_size": 14}))
    columns = [{"header": name} for name in ("Product", "Weight", "Cost", "List price", "Margin", "Share")]
    sheet.add_table("A4:F8", {"name": "Pieces", "columns": columns})
    sheet.set_column("D:D", 12, money)
    for row, (name, cost, price) in enumerate(PRODUCTS, start=4):
        sheet.write_string(row, 0, name)
        sheet.write_number(row, 1, 10 * row)
        sheet.write_number(row, 2, cost)
        sheet.write_number(row, 3, price, money)
        sheet.write_formula(row, 4, f"=D{row + 1}-C{row + 1}", money, price - cost)
        sheet.write_formula(row, 5, f"=E{row + 1}/Summary!$B$1", None, STALE)
    sheet.write_comment("D5", "agreed in spring", {"author": "the maker"})
    sheet.write_url("A10", "https://example.com/", string="the shop")
    sheet.data_validation("D5:D8", {"validate": "decimal", "criteria": "between", "minimum": 0, "maximum": 100_000})
    sheet.conditional_format("D5:D8", {"type": "data_bar", "bar_color": "#92D050", "bar_border_color": "#000000"})
    sheet.conditional_format("E5:E8", {"type": "cell", "criteria": "<", "value": 5, "format": money})
    sheet.merge_range("A12:C13", "prices without tax", money)
    sheet.freeze_panes(4, 1)
    sheet.add_sparkline("H5", {"range": "Products!D5:D8"})
    sheet.insert_image("H8", "dot.png", {"image_data": io.BytesIO(png())})
    sheet.insert_textbox("J2", "reviewed once a year")
    chart = book.add_chart({"type": "column"})
    chart.add_series({"categories": "=Products!$A$5:$A$8", "values": "=Products!$D$5:$D$8"})
    sheet.insert_chart("H12", chart)
    book.define_name("ListPrices", "=Products!$D$5:$D$8")
    book.define_name("Costs", "=Products!$C$5:$C$8")
    for row, formula in enumerate(
        [
            "=SUM(Products!D5:D8)",
            "=AVERAGE(ListPrices)",
            "=SUM(Pieces[List price])",
            "=B1*1.2",
            '=SUMIF(Products!A5:A8,"Plinth",Products!D5)',
            "=INDEX(Products!A5:D8,2,4)",
            '=IF(Apart!B1>0,"dear: "&B4,"cheap")',
            '=INDIRECT("Products!D6")*2',
        ]
    ):
        summary.write_string(row, 0, f"line {row + 1}")
        summary.write_formula(row, 1, formula, None, STALE)
    for row, formula in enumerate(
        [
            "=SUM(Products!C5:C8)",
            "=SUM(Costs)",
            "=SUM(Pieces[Cost])",
            "=B1+B2",
            '=SUMIF(Products!B5:B8,">0",Products!C5)',
        ]
    ):
        apart.write_formula(row, 1, formula, None, STALE)
    archive.write_formula("A1", "=Products!D8", None, STALE)
    archive.write_number("A2", 12)
    graph = book.add_chartsheet("Graph")
    line = book.add_chart({"type": "line"})
    line.add_series({"values": "=Products!$D$5:$D$8"})
    graph.set_chart(line)
    book.close()
    return path


def with_macros(path: Path, source: Path) -> Path:
    """The workbook with a macro project (some bytes, never run) as .xlsm, and with a calculation chain."""
    members = read_members(source)
    members["xl/vbaProject.bin"] = bytes(range(256)) * 8
    types = members["[Content_Types].xml"].decode()
    types = types.replace(TYPE + "sheet.main+xml", "application/vnd.ms-excel.sheet.macroEnabled.main+xml")
    extra = '<Default Extension="bin" ContentType="application/vnd.ms-office.vbaProject"/>'
    extra += f'<Override PartName="/xl/calcChain.xml" ContentType="{TYPE}calcChain+xml"/></Types>'
    members["[Content_Types].xml"] = types.replace("</Types>", extra).encode()
    office = "http://schemas.microsoft.com/office/2006/relationships"
    links = f'<Relationship Id="rIdMacro" Type="{office}/vbaProject" Target="vbaProject.bin"/>'
    links += f'<Relationship Id="rIdChain" Type="{RELATIONS}/calcChain" Target="calcChain.xml"/></Relationships>'
    name = "xl/_rels/workbook.xml.rels"
    members[name] = members[name].replace(b"</Relationships>", links.encode())
    cells = "".join(f'<c r="{column}{row}" i="1"/>' for row in range(5, 9) for column in "EF")
    members["xl/calcChain.xml"] = f'<calcChain xmlns="{MAIN}">{cells}</calcChain>'.encode()
    path.write_bytes(zipped(members))
    return path


def png() -> bytes:
    """A picture of one dot."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">2I5B", 1, 1, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0\1\2\3")) + chunk(b"IEND", b"")
    )


def worksheet(cells: str, before: str = "", after: str = "", attributes: str = "") -> str:
    """A worksheet part around its rows."""
    head = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    space = f'xmlns="{MAIN}" xmlns:r="{RELATIONS}"{attributes}'
    return f"{head}<worksheet {space}>{before}<sheetData>{cells}</sheetData>{after}</worksheet>"


def parts(
    sheets: Mapping[str, str | bytes],
    *,
    workbook: str = "",
    extra: Mapping[str, str | bytes] | None = None,
    links: Mapping[str, str] | None = None,
    kinds: Mapping[str, str] | None = None,
    calculation: str = '<calcPr calcId="191029"/>',
) -> dict[str, bytes]:
    """The members of a workbook made by hand.

    sheets: worksheet parts by name; workbook: elements after the sheets; extra: further members; links: relations of
    the first sheet, kind by target; kinds: kinds of sheet other than worksheets.
    """
    kinds = kinds or {}
    overrides, entries, relations = "", "", ""
    members: dict[str, bytes] = {}
    for number, (name, text) in enumerate(sheets.items(), start=1):
        kind = kinds.get(name, "worksheet")
        part = f"{kind}s/sheet{number}.xml"
        members[f"xl/{part}"] = text if isinstance(text, bytes) else text.encode()
        overrides += f'<Override PartName="/xl/{part}" ContentType="{TYPE}{kind}+xml"/>'
        entries += f'<sheet name="{name}" sheetId="{number}" r:id="rId{number}"/>'
        relations += f'<Relationship Id="rId{number}" Type="{RELATIONS}/{kind}" Target="{part}"/>'
    relations += f'<Relationship Id="rIdStyles" Type="{RELATIONS}/styles" Target="styles.xml"/>'
    start = f'<Relationship Id="rId1" Type="{RELATIONS}/officeDocument" Target="xl/workbook.xml"/>'
    overrides += f'<Override PartName="/xl/workbook.xml" ContentType="{TYPE}sheet.main+xml"/>'
    overrides += f'<Override PartName="/xl/styles.xml" ContentType="{TYPE}styles+xml"/>'
    types = '<Default Extension="xml" ContentType="application/xml"/>'
    types += '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    namespace = "http://schemas.openxmlformats.org/package/2006/content-types"
    made = {
        "[Content_Types].xml": f'<Types xmlns="{namespace}">{types}{overrides}</Types>',
        "_rels/.rels": f'<Relationships xmlns="{PACKAGE_RELATIONS}">{start}</Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{RELATIONS}"><sheets>{entries}</sheets>'
        f"{workbook}{calculation}</workbook>",
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE_RELATIONS}">{relations}</Relationships>',
        "xl/styles.xml": STYLES,
    }
    members = {name: text.encode() for name, text in made.items()} | members
    if links:
        own = "".join(
            f'<Relationship Id="rId{number}" Type="{RELATIONS}/{kind}" Target="{target}"/>'
            for number, (target, kind) in enumerate(links.items(), start=1)
        )
        name = "xl/worksheets/_rels/sheet1.xml.rels"
        members[name] = f'<Relationships xmlns="{PACKAGE_RELATIONS}">{own}</Relationships>'.encode()
    for name, data in (extra or {}).items():
        members[name] = data if isinstance(data, bytes) else data.encode()
    return members


STYLES = f"""<styleSheet xmlns="{MAIN}"><fonts count="1"><font><sz val="11"/><name val="Arial"/></font></fonts>
<fills count="1"><fill><patternFill patternType="none"/></fill></fills><borders count="1"><border/></borders>
<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="3">
<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>
<xf numFmtId="2" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>
<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0" applyProtection="1"><protection locked="0"/></xf></cellXfs>
</styleSheet>"""


def zipped(members: Mapping[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip of these members, the same bytes each time."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", method) as package:
        for name, data in members.items():
            package.writestr(zipfile.ZipInfo(name, (2030, 1, 2, 3, 4, 6)), data, method)
    return target.getvalue()


def read_members(path: Path) -> dict[str, bytes]:
    """The contents of every member by name."""
    with zipfile.ZipFile(path) as package:
        return {name: package.read(name) for name in package.namelist()}


def loaded(path: Path, *, data_only: bool = True) -> Workbook:
    """The workbook as openpyxl reads it; what it would lose on saving does not matter here."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return openpyxl.load_workbook(path, data_only=data_only)


def values(path: Path, *, formulas: bool = False) -> dict[str, Any]:
    """Every value (or formula) of a workbook by ``Sheet!A1``, read by openpyxl."""
    book = loaded(path, data_only=not formulas)
    return {
        f"{sheet.title}!{cell.coordinate}": cell.value
        for sheet in book.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    }


PROFILE = """<?xml version="1.0" encoding="UTF-8"?><oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">
<value>{mode}</value></prop></item></oor:items>"""


def recalculated(*paths: Path, always: bool = True) -> list[dict[str, Any]]:
    """The values that LibreOffice shows for each workbook: computed afresh, or stored results as they are."""
    with tempfile.TemporaryDirectory() as scratch:
        profile = Path(scratch, "profile", "user")
        profile.mkdir(parents=True)
        profile.joinpath("registrymodifications.xcu").write_text(PROFILE.format(mode=0 if always else 1))
        copies = []
        for number, path in enumerate(paths):
            copies.append(Path(scratch, f"book{number}{path.suffix}"))
            copies[-1].write_bytes(path.read_bytes())
        out = Path(scratch, "out")
        convert = ["--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", str(out)]
        command = [need_office(), f"-env:UserInstallation=file://{profile.parent}", "--headless", *convert]
        subprocess.run([*command, *map(str, copies)], capture_output=True, timeout=300, check=True)
        return [values(out / copy.with_suffix(".xlsx").name) for copy in copies]


def close(first: Any, second: Any) -> bool:
    """Whether two values are the same text, or numbers equal to 12 digits."""
    if isinstance(first, (int, float)) and isinstance(second, (int, float)):
        return abs(first - second) <= 1e-12 * max(abs(first), abs(second))
    return bool(first == second)


def differing(first: Mapping[str, Any], second: Mapping[str, Any]) -> set[str]:
    """The cells in which two readings differ."""
    return {cell for cell in first.keys() | second.keys() if not close(first.get(cell), second.get(cell))}


def codes(problems: Sequence[Any]) -> list[str]:
    """The codes of some problems."""
    return [problem.code for problem in problems]
