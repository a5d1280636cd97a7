"""A small price book whose cells a test can change one by one."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import xlsxwriter

DAY = datetime.datetime(2025, 1, 6)


@dataclass(frozen=True)
class Shown:
    """A number in a number format."""

    value: float
    number_format: str


@dataclass(frozen=True)
class Formula:
    """A formula with its stored result; without one where the result is None."""

    text: str
    result: float | str | None


#: Sheets as rows of cells, the headings in row 1: enough for two products and one quote of two lines.
SMALL: dict[str, list[list[Any]]] = {
    "Workshop": [
        ["Setting", "Value", "Note"],
        ["Business name", "Ferncombe Castings", ""],
        ["Currency", "EUR", ""],
        ["Tax rate", "20 %", ""],
        ["Target margin", "40 %", ""],
        ["Overhead per labour hour", 10, ""],
        ["Mixer load (L)", 60, ""],
        ["Electricity price", 0.3, ""],
    ],
    "Materials": [
        ["Material", "Kind", "Pack size", "Pack unit", "Pack price", "Carriage", "Wastage", "Density", "Bulk density",
         "Sheet length (mm)", "Sheet width (mm)", "Sheet thickness (mm)", "Supplier", "Priced on"],
        ["Cement", "binder", 25, "kg", 8, 0, "5 %", 3150, 1440, None, None, None, "Aldermere", DAY],
        ["Sand", "aggregate", 25, "kg", 4, 0, None, 2650, 1600, None, None, None, "Aldermere", DAY],
        ["Water", "water", 1000, "L", 2, 0, None, 1000, None, None, None, None, "", DAY],
        ["Board", "board", 1, "sheet", 30, 0, None, None, None, 2440, 1220, 18, "Aldermere", DAY],
        ["Silicone", "sealant", 0.3, "L", 4, 0, None, None, None, None, None, None, "", DAY],
        ["Screw", "fixing", 200, "each", 8, 0, None, None, None, None, None, None, "", DAY],
        ["Pad", "abrasive", 1, "each", 15, 0, None, None, None, None, None, None, "", DAY],
    ],
    "Mixes": [
        ["Mix", "Material", "Amount", "Basis"],
        ["Grey", "Cement", 1, "parts by mass"],
        ["Grey", "Sand", 2, "parts by mass"],
        ["Grey", "Water", 0.45, "parts by mass"],
        ["Grey", "Air", "2 %", "% of volume"],
    ],
    "Trades": [["Trade", "Hourly cost"], ["Maker", 20]],
    "Machines": [["Machine", "Price", "Resale", "Life (h)", "Upkeep", "Power (kW)"], ["Mixer", 1800, 300, 5000, 0.5, 1.5]],
    "Labour": [
        ["Labour plan", "Step", "Trade", "Minutes", "Per", "Machine", "Wait (h)", "Lost on reject"],
        ["Plain", "Cast", "Maker", 12, "cast", "Mixer", None, "yes"],
        ["Plain", "Leave in the mould", "", None, "", "", 48, ""],
    ],
    "Moulds": [
        ["Mould plan", "Board", "Lasts", "Sealant", "Sealant radius (mm)", "Fixing", "Fixing spacing (mm)", "Tape", "Release",
         "Refit every", "Refit minutes"],
        ["Once", "Board", 1, "Silicone", 5, "Screw", 150, "", "", None, None],
    ],
    "Finishes": [["Finish", "Material", "Covers", "Coats", "Surface"], ["Honed", "Pad", 6, None, "m2 face"]],
    "Products": [
        ["Product", "Shape", "Length (mm)", "Width (mm)", "Thickness (mm)", "Drop (mm)", "Long lips", "Volume (L)", "Face area",
         "Mix", "Mould plan", "Labour plan", "Finish", "Rejects", "Made for", "List price"],
        ["Slab", "slab", 1000, 400, 40, None, None, None, None, "Grey", "Once", "Plain", "Honed", 0.04, "order", None],
        ["Shelf", "slab with a lip", 900, 250, 25, 40, 1, None, None, "Grey", "Once", "Plain", "", None, "stock", 120],
    ],
    "Extras": [["Product", "Material", "Amount", "Per"], ["Shelf", "Screw", 4, "piece"]],
    "Delivery": [["Zone", "Up to (kg)", "Charge"], ["Near", 100, 30]],
    "Customers": [["Customer", "Address", "Discount", "Tax rate", "Delivery zone"], ["Ida Venn", "", "10 %", None, "Near"]],
    "Enquiries": [
        ["Quote", "Date", "Customer", "Product", "Quantity", "Length (mm)", "Thickness (mm)", "Mix", "Unit price"],
        ["Q1", DAY, "Ida Venn", "Slab", 2, 1200, None, "", None],
        ["Q1", DAY, "Ida Venn", "Shelf", 4, None, None, "", 130],
    ],
    "Actuals": [["Quote", "Product", "Item", "Kind", "Quantity", "Cost"], ["Q1", "Slab", "Cement", "material", 20, 7]],
}


def write_small(
    path: Path, edits: Mapping[str, Any] | None = None, *, without: Iterable[str] = (), rows: Mapping[str, list[list[Any]]] | None = None
) -> Path:
    """Write the small book with some cells changed.

    Parameters
    ----------
    path : of the file
    edits : new contents by place, such as ``{"Products!E2": "25 kg"}``
    without : sheets to leave out
    rows : sheets to replace whole
    """
    sheets = {name: [list(row) for row in table] for name, table in {**SMALL, **(rows or {})}.items() if name not in without}
    for place, value in (edits or {}).items():
        sheet, cell = place.split("!")
        match = re.fullmatch(r"([A-Z]+)(\d+)", cell)
        assert match, place
        column = 0
        for letter in match[1]:
            column = column * 26 + ord(letter) - 64
        table = sheets[sheet]
        while len(table) < int(match[2]):
            table.append([])
        row = table[int(match[2]) - 1]
        row += [None] * (column - len(row))
        row[column - 1] = value
    book = xlsxwriter.Workbook(str(path))
    formats: dict[str, Any] = {}

    def styled(code: str) -> Any:
        return formats.setdefault(code, book.add_format({"num_format": code}))

    for name, table in sheets.items():
        sheet_object = book.add_worksheet(name)
        for number, row in enumerate(table):
            for place_in_row, value in enumerate(row):
                _write(sheet_object, number, place_in_row, value, styled)
    book.close()
    return path


def _write(sheet: Any, row: int, column: int, value: Any, styled: Any) -> None:
    if isinstance(value, Shown):
        sheet.write_number(row, column, value.value, styled(value.number_format))
    elif isinstance(value, Formula):
        # Without a result the writer stores an empty text, which a careful reader takes for no result.
        sheet.write_formula(row, column, value.text, None, "" if value.result is None else value.result)
    elif isinstance(value, bool):
        sheet.write_boolean(row, column, value)
    elif isinstance(value, datetime.datetime):
        sheet.write_datetime(row, column, value, styled("yyyy-mm-dd"))
    elif isinstance(value, int | float):
        sheet.write_number(row, column, value)
    elif value is not None:
        sheet.write_string(row, column, str(value))
