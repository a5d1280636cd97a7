"""Price books made to take long: each small enough to be read, and each wrong or odd in a way that work could grow from.

Each is the small workshop of the tests with rows put into one of its sheets, as bytes, so that a million of them are written in
no time.
"""

from __future__ import annotations

import math
import zipfile
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from books import small_book, write_book
from packages import LINKS, MAIN, relations, strings

SHEETS = list(small_book())
DAY = "2026-01-01"
LONG = 32_000  # letters in a cell, about as many as it can hold

Change = Callable[[bytes], bytes]


def part_of(sheet: str) -> str:
    """The part that holds a sheet of the small workshop."""
    return f"xl/worksheets/sheet{SHEETS.index(sheet) + 1}.xml"


def rewritten(path: Path, changes: Mapping[str, Change], more: Mapping[str, str | bytes] | None = None) -> None:
    """The small workshop with some parts changed, and others added."""
    write_book(path, small_book())
    with zipfile.ZipFile(path) as archive:
        parts: dict[str, str | bytes] = {name: archive.read(name) for name in archive.namelist()}
    for name, change in changes.items():
        data = parts[name]
        assert isinstance(data, bytes)
        parts[name] = change(data)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in {**parts, **(more or {})}.items():
            archive.writestr(name, data)


def cell(place: str, value: str | int) -> str:
    """A cell with a text of its own or a number."""
    return f'<c r="{place}"><v>{value}</v></c>' if isinstance(value, int) else f'<c r="{place}" t="inlineStr"><is><t>{value}</t></is></c>'


def row(number: int, cells: Mapping[str, str | int]) -> str:
    """A row of such cells by their column."""
    return f'<row r="{number}">{"".join(cell(f"{column}{number}", value) for column, value in cells.items())}</row>'


def behind(rows: Iterable[str]) -> Change:
    """Rows put behind those of a sheet."""
    return lambda data: data.replace(b"</sheetData>", "".join(rows).encode() + b"</sheetData>")


def with_rows(sheet: str, rows: Iterable[Mapping[str, str | int]], start: int = 30) -> Callable[[Path], None]:
    """The small workshop with rows behind those of a sheet."""
    return lambda path: rewritten(path, {part_of(sheet): behind(row(number, cells) for number, cells in enumerate(rows, start))})


def with_sheet(name: str, headings: list[str], rows: Iterable[list[str | int]]) -> Callable[[Path], None]:
    """The small workshop with one more sheet."""
    return lambda path: write_book(path, {**small_book(), name: [headings, *rows]}) and None


def materials(count: int, **cells: str | int) -> Iterable[dict[str, str | int]]:
    """Rows of materials, sound but for what is given otherwise; ``{}`` in a text is their number."""
    usual: dict[str, str | int] = {"A": "material {}", "B": "binder", "C": 1, "D": "kg", "E": 5, "H": 1000, "N": DAY}
    for number in range(count):
        pairs = {**usual, **cells}.items()
        yield {name: value.replace("{}", f"{number:05}") if isinstance(value, str) else value for name, value in pairs}


def tables(count: int, same: bool, columns: int) -> Callable[[Path], None]:
    """A sheet that leads to many tables, or many times to one."""
    sheet = part_of("Materials")
    targets = ["table.xml" if same else f"table{number}.xml" for number in range(count)]
    links = relations(*((f"rId{number}", "table", f"../tables/{target}") for number, target in enumerate(targets)))
    inside = '<tableColumn id="1" name="x"/>' * columns
    head = f'<table xmlns="{MAIN}" id="1" name="T" ref="A1:XFD1048576" totalsRowCount="999999">'
    table = f"{head}<tableColumns>{inside}</tableColumns></table>"
    more = {sheet.replace("worksheets/", "worksheets/_rels/") + ".rels": links} | {f"xl/tables/{target}": table for target in set(targets)}
    return lambda path: rewritten(path, {}, more)


def shared(text: str, columns: str, rows: int) -> Callable[[Path], None]:
    """One long text in the cells of many materials."""
    listed = f'<Relationship Id="rIdTexts" Type="{LINKS}/sharedStrings" Target="sharedStrings.xml"/></Relationships>'

    def make(path: Path) -> None:
        lines = (
            f'<row r="{number}">{cell(f"A{number}", f"material {number}")}'
            + "".join(f'<c r="{column}{number}" t="s"><v>0</v></c>' for column in columns) + "</row>"
            for number in range(30, 30 + rows)
        )
        rewritten(
            path,
            {part_of("Materials"): behind(lines),
             "xl/_rels/workbook.xml.rels": lambda data: data.replace(b"</Relationships>", listed.encode())},
            {"xl/sharedStrings.xml": strings((text,))},
        )

    return make


def merged(count: int) -> Callable[[Path], None]:
    """Rows of materials whose first two cells are merged."""
    areas = b"".join(b'<mergeCell ref="A%d:B%d"/>' % (number, number) for number in range(30, 30 + count))

    def changed(data: bytes) -> bytes:
        filled = behind(row(number, cells) for number, cells in enumerate(materials(count), 30))(data)
        return filled.replace(b"</sheetData>", b"</sheetData><mergeCells>" + areas + b"</mergeCells>")

    return lambda path: rewritten(path, {part_of("Materials"): changed})


def headings(text: str) -> Callable[[Path], None]:
    """A sheet with a heading in every column that it can have."""
    def widened(data: bytes) -> bytes:
        from openpyxl.utils import get_column_letter

        cells = "".join(cell(f"{get_column_letter(column)}1", text.replace("{}", str(column))) for column in range(15, 16_385))
        return data.replace(b"</row>", cells.encode() + b"</row>", 1)

    return lambda path: rewritten(path, {part_of("Materials"): widened})


def formats(count: int) -> Callable[[Path], None]:
    """Figures in as many number formats, each of a thousand letters."""
    long = "[a" * 490
    codes = "".join(f'<numFmt numFmtId="{200 + number}" formatCode="{long}{number}"/>' for number in range(count))
    styles = "".join(f'<xf numFmtId="{200 + number}"/>' for number in range(count))

    def changed(data: bytes) -> bytes:
        text = data.decode()
        start, end = text.index("<fonts"), text.index("</cellXfs>")
        return f"{text[:start]}<numFmts>{codes}</numFmts>{text[start:end]}{styles}{text[end:]}".encode()

    return lambda path: rewritten(path, {"xl/styles.xml": changed})


def outlined(points: int, products: int, cut_outs: int) -> Callable[[Path], None]:
    """Slabs of one outline of many rounded corners, each with cut-outs."""
    def make(path: Path) -> None:
        sheets = small_book()
        angles = [2 * math.pi * number / points for number in range(points)]
        ends = [(2000 + (1900 + 30 * (number % 2)) * math.cos(angle), 2000 + (1900 + 30 * (number % 2)) * math.sin(angle))
                for number, angle in enumerate(angles)]
        sheets["Outlines"] = [["Outline", "Point", "X (mm)", "Y (mm)", "Radius (mm)"],
                              *(["Star", str(number), x, y, 1] for number, (x, y) in enumerate(ends))]
        sheets["Products"][0].append("Outline")
        slab = sheets["Products"][1]
        sheets["Products"] += [[f"Star {number}", "A star", "slab by outline", None, None, *slab[5:], "Star"] for number in range(products)]
        sheets["Cut-outs"] = [["Product", "Form", "Length (mm)", "Width (mm)", "From left (mm)", "From front (mm)", "Corner radius (mm)"]]
        sheets["Cut-outs"] += [[f"Star {number}", "rectangle", 20, 20, 1000 + 100 * (each % 10), 1000 + 100 * (each // 10), 5]
                               for number in range(products) for each in range(cut_outs)]
        write_book(path, sheets)

    return make


def million(cells: Mapping[str, str | int]) -> Callable[[Path], None]:
    """A million such rows."""
    return with_rows("Materials", (cells for _ in range(1_000_000)))


LONG_TEXTS = {
    "digits": "9" * LONG, "spaces": " " * LONG + "x", "unit words": "kg " * (LONG // 3), "numbers": "1 " * (LONG // 2),
    "commas": "1," * (LONG // 2), "brackets": "(" * LONG, "feet": "1 ft " * (LONG // 5), "signs of feet": "1" + "'" * LONG,
    "strokes": "1/" * (LONG // 2), "hard spaces": "\u00a0" * LONG + "1", "accents": "a" + "\u0301" * LONG, "wide digits": "\uff11" * LONG,
}

#: By name: what makes the file, and whether it is refused.
BOOKS: dict[str, tuple[Callable[[Path], None], bool]] = {
    **{f"500 cells of {name} for a pack size": (with_rows("Materials", materials(500, C=text)), True) for name, text in LONG_TEXTS.items()},
    **{f"500 cells of {name} for a kind": (with_rows("Materials", materials(500, B=text)), True) for name, text in LONG_TEXTS.items()},
    **{f"500 cells of {name} for a day": (with_rows("Materials", materials(500, N=text)), True) for name, text in LONG_TEXTS.items()},
    # blanks at either end are no part of a name, so that what is left of them is short
    **{f"500 names of {name}": (with_rows("Materials", materials(500, A=text + "{}")), name != "spaces")
       for name, text in LONG_TEXTS.items()},
    "500 settings of digits": (with_rows("Workshop", ({"A": f"{LONG_TEXTS['digits']}{n}", "B": 1} for n in range(500))), True),
    "one table related 5,000 times": (tables(5000, True, 10), False),
    "1,000 tables": (tables(1000, False, 10), False),
    "1,000 tables of 20,000 columns": (tables(1000, False, 20_000), True),
    "one long text in 65,000 cells": (shared("\u00e9" * LONG, "BCDEFGHIJKLMN", 5000), True),
    "a heading doubled 16,000 times": (headings("Material"), True),
    "16,000 headings that are like one": (headings("Materiel {}"), False),
    "4,000 number formats": (formats(4000), True),
    "20,000 ingredients that are nowhere": (
        with_rows("Mixes", ({"A": f"Mix {n}", "B": f"Nothing {n}", "C": 1, "D": "kg/m3"} for n in range(20_000))), True),
    "20,000 ingredients that are misspelt": (
        lambda path: rewritten(path, {
            part_of("Materials"): behind(row(n, cells) for n, cells in enumerate(materials(20_000), 30)),
            part_of("Mixes"): behind(row(30 + n, {"A": f"Mix {n}", "B": f"materiel {n:05}", "C": 1, "D": "kg/m3"}) for n in range(20_000)),
        }), True),
    "a mix of 2,000 ingredients": (
        with_rows("Mixes", ({"A": "Grey", "B": "Sand", "C": 1, "D": "parts by mass"} for _ in range(2000))), True),
    "a plan of 50,000 steps": (
        with_rows("Labour", ({"A": "Plain", "B": f"s{n}", "C": "Maker", "D": 3, "E": "piece", "H": "no"} for n in range(50_000))), True),
    "20,000 words that are misspelt": (with_rows("Materials", materials(20_000, B="bindr{}", D="kgs{}")), True),
    "50,000 figures that are none": (with_rows("Materials", materials(50_000, C="x{}")), True),
    "50,000 doubled names": (
        with_rows("Products", ({"A": "Slab 1000", "C": "solid", "H": 8, "I": 1, "J": "Grey", "Q": 95} for _ in range(50_000))), True),
    "50,000 half mould plans": (with_rows("Moulds", ({"A": f"Plan {n}", "B": "Melamine", "C": 10, "K": 5} for n in range(50_000))), True),
    "50,000 enquiries for what is not made": (
        with_rows("Enquiries", ({"A": f"Q-{n}", "B": DAY, "C": "Ada Feild", "D": f"Slab {n}", "E": 1} for n in range(50_000))), True),
    "outlines of 40,000 corners": (
        with_sheet("Outlines", ["Outline", "Point", "X", "Y"], ([f"Outline {n // 4}", str(n), n, n % 7] for n in range(40_000))), True),
    "ten slabs of 400 rounded corners and 100 cut-outs": (outlined(400, 10, 100), False),
    "50,000 merged cells": (merged(50_000), True),
    "a million rows of footnotes": (million({"A": "* note"}), True),
    "a million rows of totals": (million({"A": "Total"}), True),
    "eight million elements": (
        lambda path: rewritten(path, {part_of("Materials"): lambda data: data.replace(b"</sheetData>", b"</sheetData>" + b"".join(
            b'<conditionalFormatting sqref="A%d"><cfRule type="x" priority="%d"/></conditionalFormatting>' % (n, n * 7919 % 999_983)
            for n in range(4_000_000)))}), True),
}
