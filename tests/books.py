"""Small price books for tests, written by a library that the reader does not use."""

from __future__ import annotations

import copy
import datetime
from pathlib import Path
from typing import Any

import openpyxl

DAY = datetime.date(2026, 3, 2)

#: A workshop small enough to be followed by hand: round figures, one of everything.
SMALL: dict[str, list[list[Any]]] = {
    "Workshop": [
        ["Setting", "Value", "Note"],
        ["Business name", "Test Castings", None], ["Currency", "EUR", None], ["Tax name", "VAT", None], ["Tax rate", "20 %", None],
        ["Target margin", "40 %", None], ["Lowest margin", "25 %", None], ["Overhead per labour hour", 10, None],
        ["Price step", 1, None], ["Price rounding", "up", None], ["Smallest order", 0, None], ["Quote valid for", 30, None],
        ["Deposit", "50 %", None], ["Mix allowance", "10 %", None], ["Mixer load", 50, None], ["Electricity price", 0.25, None],
        ["Hours per day", 8, None], ["One-person lift", 25, None], ["Release covers", 10, None],
    ],
    "Materials": [
        ["Material", "Kind", "Pack size", "Pack unit", "Pack price", "Carriage", "Wastage", "Density (kg/m3)", "Bulk density (kg/m3)",
         "Sheet length (mm)", "Sheet width (mm)", "Sheet thickness (mm)", "Supplier", "Priced on"],
        ["Cement", "binder", 25, "kg", 10, 0, "0 %", 3150, 1500, None, None, None, "Hill Merchants", datetime.date(2026, 1, 1)],
        ["Sand", "aggregate", 25, "kg", 2.5, 0, "0 %", 2650, 1600, None, None, None, "Hill Merchants", datetime.date(2026, 1, 1)],
        ["Water", "water", 1000, "kg", 2, 0, "0 %", 1000, 1000, None, None, None, "Town", datetime.date(2026, 1, 1)],
        ["Black", "pigment", 5, "kg", 30, 0, "0 %", 5000, None, None, None, None, "Colour Yard", datetime.date(2026, 1, 1)],
        ["Flow", "admixture", 5, "L", 40, 0, "0 %", 1080, None, None, None, None, "Colour Yard", datetime.date(2026, 1, 1)],
        ["Melamine", "board", 1, "sheet", 48, 2, "20 %", None, None, 2500, 2000, 18, "Board Barn", datetime.date(2026, 1, 1)],
        ["Silicone", "sealant", 0.3, "L", 6, 0, "0 %", None, None, None, None, None, "Board Barn", datetime.date(2026, 1, 1)],
        ["Screws", "fixing", 200, "each", 8, 0, "0 %", None, None, None, None, None, "Board Barn", datetime.date(2026, 1, 1)],
        ["Tape", "tape", 50, "m", 5, 0, "0 %", None, None, None, None, None, "Board Barn", datetime.date(2026, 1, 1)],
        ["Wax", "release", 5, "L", 50, 0, "0 %", None, None, None, None, None, "Board Barn", datetime.date(2026, 1, 1)],
        ["Sealer", "sealer", 5, "L", 100, 0, "10 %", None, None, None, None, None, "Colour Yard", datetime.date(2026, 1, 1)],
        ["Brackets", "bought in", 10, "each", 35, 0, "0 %", None, None, None, None, None, "Iron Shed", datetime.date(2026, 1, 1)],
    ],
    "Mixes": [
        ["Mix", "Material", "Amount", "Basis"],
        ["Grey", "Cement", 1, "parts by mass"], ["Grey", "Sand", 2, "parts by mass"], ["Grey", "Water", 0.4, "parts by mass"],
        ["Grey", "Air", "2 %", "% of volume"],
        ["Dark", "Cement", 500, "kg/m3"], ["Dark", "Sand", 1450, "kg/m3"], ["Dark", "Water", 220, "L/m3"],
        ["Dark", "Black", "4 %", "% of binder"], ["Dark", "Flow", 8, "mL/kg binder"],
        ["Bucket", "Cement", 1, "parts by volume"], ["Bucket", "Sand", 2, "parts by volume"], ["Bucket", "Water", 0.6, "parts by volume"],
    ],
    "Trades": [["Trade", "Hourly cost"], ["Maker", 24], ["Helper", 18]],
    "Machines": [["Machine", "Price", "Resale", "Life", "Upkeep", "Power"], ["Mixer", 2000, 200, 3000, 0.4, 1.6]],
    "Labour": [
        ["Labour plan", "Step", "Trade", "Minutes", "Per", "Machine", "Wait", "Lost on reject"],
        ["Plain", "Set out", "Maker", 30, "line", None, None, "no"],
        ["Plain", "Build mould", "Maker", 60, "mould", None, 12, "no"],
        ["Plain", "Cut board", "Helper", 10, "m2 mould", None, None, "no"],
        ["Plain", "Mix", "Helper", 15, "batch", "Mixer", None, "no"],
        ["Plain", "Cast", "Maker", 12, "cast", None, 48, "no"],
        ["Plain", "Grind", "Maker", 20, "m2 open side", None, None, "yes"],
        ["Plain", "Polish", "Maker", 6, "m arris", None, None, "yes"],
        ["Plain", "Seal", "Helper", 10, "m2 face", None, 4, "no"],
        ["Plain", "Pack", "Helper", 5, "piece", None, None, "no"],
    ],
    "Moulds": [
        ["Mould plan", "Board", "Lasts", "Sealant", "Sealant radius (mm)", "Fixing", "Fixing spacing (mm)", "Tape", "Release",
         "Refit every", "Refit minutes"],
        ["Melamine", "Melamine", 10, "Silicone", 5, "Screws", 150, "Tape", "Wax", 1, 6],
    ],
    "Finishes": [["Finish", "Material", "Covers", "Coats", "Surface"], ["Sealed", "Sealer", 8, 2, "m2 face"]],
    "Products": [
        ["Product", "Description", "Shape", "Length (mm)", "Width (mm)", "Thickness (mm)", "Drop (mm)", "Volume (L)", "Face area (m2)",
         "Mix", "Mould plan", "Labour plan", "Finish", "Rejects", "Made for", "Usual run", "List price"],
        ["Slab 1000", "Plain slab", "slab", 1000, 500, 40, None, None, None, "Grey", "Melamine", "Plain", "Sealed", "5 %", "order", 4,
         None],
        ["Shelf 800", "Shelf with a lip", "slab with a lip", 800, 250, 25, 40, None, None, "Dark", "Melamine", "Plain", "Sealed", "0 %",
         "stock", 4, None],
        ["Block", "A block", "solid", None, None, None, None, 8, 0.3, "Bucket", None, "Plain", None, "0 %", "stock", 10, 95],
    ],
    "Extras": [["Product", "Material", "Amount", "Per"], ["Shelf 800", "Brackets", 2, "piece"]],
    "Customers": [
        ["Customer", "Address", "Discount", "Tax rate", "Delivery zone"],
        ["Ada Field", "1 Lane", "0 %", None, "Near"], ["Brook House", "2 Road", "10 %", "10 %", None],
    ],
    "Delivery": [["Zone", "Up to", "Charge"], ["Near", 50, 20], ["Near", 500, 45]],
    "Enquiries": [
        ["Quote", "Date", "Customer", "Product", "Quantity", "Length (mm)", "Mix", "Unit price", "Note"],
        ["Q-1", DAY, "Ada Field", "Slab 1000", 4, None, None, None, None],
        ["Q-1", DAY, "Ada Field", "Shelf 800", 3, None, None, None, "by the window"],
        ["Q-2", DAY, "Brook House", "Block", 12, None, None, None, None],
        ["Q-2", DAY, "Brook House", "Slab 1000", 1, 1200, "Dark", 180, None],
    ],
}


def small_book() -> dict[str, list[list[Any]]]:
    """A copy of the small workshop that a test may change."""
    return copy.deepcopy(SMALL)


#: Days on which something rises in the book in time.
APRIL, JUNE = datetime.date(2026, 4, 1), datetime.date(2026, 6, 1)


def book_in_time() -> dict[str, list[list[Any]]]:
    """The small workshop with a wage that rose twice, overhead and electricity that rose once, and quotes of three days."""
    sheets = small_book()
    sheets["Trades"] = [
        ["Trade", "Hourly cost", "From"],
        ["maker", 27, JUNE], ["Maker", 24, None], ["Helper", 18, None], ["Maker", 25.5, APRIL],
    ]
    sheets["Workshop"][0].insert(2, "From")
    for row in sheets["Workshop"][1:]:
        row.insert(2, None)
    sheets["Workshop"] += [["Electricity price", 0.31, APRIL, None], ["Overhead per labour hour", 11, JUNE, None]]
    sheets["Enquiries"] += [
        ["Q-3", datetime.date(2026, 5, 4), "Ada Field", "Slab 1000", 4, None, None, None, None],
        ["Q-4", datetime.date(2026, 7, 6), "Ada Field", "Slab 1000", 4, None, None, None, None],
    ]
    return sheets


def write_book(path: Path, sheets: dict[str, list[list[Any]]]) -> Path:
    """Write sheets as they are: the first row of each holds its headings."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
        for cells in sheet.iter_rows():
            for cell in cells:
                if isinstance(cell.value, datetime.date):
                    cell.number_format = "yyyy-mm-dd"
    book.save(path)
    return path


def set_cell(sheets: dict[str, list[list[Any]]], sheet: str, key: str, column: str, value: Any) -> None:
    """Change the cell of a sheet in the row whose first cell is *key*."""
    headings = [str(heading).partition(" (")[0] for heading in sheets[sheet][0]]
    row = next(row for row in sheets[sheet][1:] if row[0] == key)
    row[headings.index(column)] = value
