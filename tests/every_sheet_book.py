"""A small workshop that uses every sheet, every shape and every setting of the price book that a price rests on."""

from __future__ import annotations

import datetime
from typing import Any

from books import DAY
from pieces_book import pieces_book

#: A piece of every shape that the workshop of pieces has none of, in the words of the Products sheet [mm, m², L, m].
SHAPES: list[tuple[str, dict[str, Any]]] = [
    ("slab with openings", {"Length": 2000, "Width": 600, "Thickness": 40, "Openings": 1, "Opening length": 500, "Opening width": 400,
                            "Holes": 2, "Hole diameter": 35}),
    ("ring", {"Diameter": 1200, "Inner diameter": 800, "Thickness": 60}),
    ("step", {"Length": 1000, "Width": 320, "Thickness": 50, "Drop": 130, "Lip thickness": 40, "Nosing": 25}),
    ("coping", {"Length": 1000, "Width": 300, "Thickness": 60, "Fall": 20, "Grooves": 2, "Groove width": 10, "Groove depth": 8}),
    ("trough", {"Length": 1000, "Width": 400, "Height": 350, "Wall": 30, "Base thickness": 35, "Holes": 2, "Hole diameter": 20}),
    ("round planter", {"Diameter": 500, "Base diameter": 350, "Height": 450, "Wall": 30, "Holes": 1, "Hole diameter": 25}),
    ("bench", {"Length": 1400, "Width": 400, "Height": 450, "Thickness": 60, "Leg thickness": 50, "Leg inset": 100}),
    ("solid", {"Volume": 8, "Face area": 0.3, "Underside area": 0.1, "Arris length": 1.2, "Open side area": 0.1, "Mould area": 0.5,
               "Joint length": 1.5, "Release area": 0.4}),
]

_UNITS = {"Volume": "L", "Arris length": "m", "Joint length": "m"}


def _unit(heading: str) -> str:
    if heading.endswith(" area"):
        return "m2"
    return "" if heading in ("Openings", "Holes", "Grooves") else _UNITS.get(heading, "mm")


def every_sheet_book() -> dict[str, list[list[Any]]]:
    """The workshop's sheets, which a test may change; shares are numbers."""
    sheets = pieces_book()
    for setting, value in {
        "Taken from the price": "3 %",
        "Aggregates in recipes": "dry", "Mixer loads": "each casting day", "Moulds chosen": "cheapest", "Tax rounding": "nearest",
        "Cash step": 0.05, "Board bought by": "share", "Interest rate": "6 %", "Learning form": "unit",
        "List price holds": "at any quantity", "Overhead per year": 21_000, "Productive hours per year": 1200,
    }.items():
        sheets["Workshop"].append([setting, value, None])
    sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] != "Overhead per labour hour"]
    _products(sheets)
    _column(sheets, "Labour", "Learning", {2: "90 %", 6: "95 %", 7: "100 %"})
    _column(sheets, "Machines", "Hours per year", {1: 300})
    _column(sheets, "Materials", "Moisture", {2: "5 %"})
    _column(sheets, "Materials", "Absorption", {2: "1 %"})
    _column(sheets, "Materials", "Solids", {5: "30 %"})
    _column(sheets, "Extras", "Lost on reject", {1: "yes", 4: "no"})
    _moulds(sheets)
    sheets["Extras"].append(["A ring", "Brackets", 1, "piece", None])
    sheets["Extras"].append(["A step", "Sockets", 2, "order", "no"])
    _terms(sheets)
    sheets["Closed"] = [["From", "To", "Why"], [datetime.date(2026, 4, 3), datetime.date(2026, 4, 6), "Easter"]]
    sheets["Actuals"] = [["Quote", "Product", "Item", "Kind", "Quantity", "Cost"], ["Q-9", "", "Cement", "material", 20, 9]]
    sheets["Delivery"].append(["Near", 5000, 260])
    _shares(sheets)
    return sheets


def _terms(sheets: dict[str, list[list[Any]]]) -> None:
    """Services, a set, levels of prices, taxes, payments and the terms of one quote."""
    sheets["Services"] = [["Service", "Description", "Labour plan", "Price", "When", "Tax"],
                          ["Template", "Measured on site", None, 90, "before", None]]
    sheets["Sets"] = [["Set", "Description", "Product", "Quantity"],
                      ["Garden set", "A sill and two rings", "Sill", 1], ["Garden set", None, "A ring", 2]]
    sheets["Levels"] = [["Level", "Product", "Discount", "Price"], ["Builders", None, "4 %", None]]
    sheets["Taxes"] = [["Tax", "Rate", "Category", "Reason"], ["Reduced", "5 %", "S", None]]
    sheets["Payments"] = [["Payments", "Stage", "Share", "When", "Days"],
                          ["Two parts", "To begin", "40 %", "with the order", None], ["Two parts", "Then", "60 %", "after delivery", 14]]
    sheets["Quotes"] = [["Quote", "Reference", "Discount", "Deposit", "Payments"], ["Q-2", "Garden", "3 %", "30 %", None]]
    sheets["Terms"] = [["Language", "Heading", "Text"], [None, "Payment", "By transfer."]]
    customers = sheets["Customers"]
    customers.append(["Cole Yard", "3 Way", "2 %", None, None])
    _column(sheets, "Customers", "Level", {3: "Builders"})
    _column(sheets, "Customers", "Tax", {3: "Reduced"})
    _column(sheets, "Customers", "Payments", {3: "Two parts"})
    sheets["Enquiries"].append(["Q-6", DAY, "Cole Yard", "Sill", 2, *[None] * 5])
    sheets["Enquiries"].append(["Q-6", DAY, "Cole Yard", "Template", 1, *[None] * 5])
    for quantity, price in ((2, 900), (1, None)):
        row = ["Q-6", DAY, "Cole Yard", "Garden set", quantity, *[None] * 5]
        row[[str(heading).partition(" (")[0] for heading in sheets["Enquiries"][0]].index("Unit price")] = price
        sheets["Enquiries"].append(row)
    _column(sheets, "Enquiries", "Margin", {2: "30 %"})
    _column(sheets, "Enquiries", "Discount", {4: "6 %"})


def _products(sheets: dict[str, list[list[Any]]]) -> None:
    """A product and a line of an enquiry for each further shape; every third is made for stock, of every second some fail."""
    rows = sheets["Products"]
    names = [str(heading).partition(" (")[0] for heading in rows[0]]
    for heading in dict.fromkeys(heading for _, sizes in SHAPES for heading in sizes):
        if heading not in names:
            names.append(heading)
            rows[0].append(f"{heading} ({_unit(heading)})" if _unit(heading) else heading)
    names.append("Moulds kept")
    rows[0].append("Moulds kept")
    for row in rows[1:]:
        row += [None] * (len(names) - len(row))
    for number, (shape, sizes) in enumerate(SHAPES):
        product = f"A {shape}"
        cells = {
            "Product": product, "Description": product, "Shape": shape, **sizes, "Mix": ("Grey", "Dark", "Bucket")[number % 3],
            "Mould plan": ("Melamine", "Bought")[number % 4 == 3], "Labour plan": "Plain", "Finish": "Sealed",
            "Rejects": ("0 %", "4 %")[number % 2], "Made for": ("order", "order", "stock")[number % 3], "Usual run": 2 + number,
            "Moulds kept": 1 if number == 2 else None, "List price": 190 if number == 1 else None,
        }
        rows.append([cells.get(name) for name in names])
        sheets["Enquiries"].append([f"Q-{3 + number // 3}", DAY, "Ada Field", product, 3 + number, *[None] * 5])


def _moulds(sheets: dict[str, list[list[Any]]]) -> None:
    """A mould that is bought, holds two pieces and is taken from a pattern, beside the one that is built."""
    rows = sheets["Moulds"]
    rows[0] += ["Pieces per mould", "Price", "Pattern price", "Moulds of a pattern", "Resale"]
    rows[1] += [1, None, None, None, None]
    rows.append(["Bought", None, 40, None, None, None, None, None, "Wax", 5, 10, 2, 240, 600, 8, 20])


def _column(sheets: dict[str, list[list[Any]]], sheet: str, heading: str, values: dict[int, Any]) -> None:
    rows = sheets[sheet]
    width = len(rows[0])
    rows[0].append(heading)
    for number, row in enumerate(rows[1:], 1):
        row += [None] * (width - len(row)) + [values.get(number)]


def _shares(sheets: dict[str, list[list[Any]]]) -> None:
    """Shares as numbers, which the price book reads as well."""
    for rows in sheets.values():
        for row in rows:
            for place, cell in enumerate(row):
                if isinstance(cell, str) and cell.endswith(" %") and cell[:-2].replace(".", "").isdigit():
                    row[place] = Share(float(cell[:-2]) / 100)


class Share(float):
    """A share, whose cell has a format in per cent."""
