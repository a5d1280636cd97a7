"""The small workshop varied at random, so that each book uses some of what a price book can say at once."""

from __future__ import annotations

import datetime
import random
import re
from collections.abc import Callable
from typing import Any

from books import small_book

Sheets = dict[str, list[list[Any]]]

DAYS = [datetime.date(2026, 2, 28), datetime.date(2026, 3, 2), datetime.date(2026, 12, 31), datetime.date(2028, 2, 29)]
PERS = ["line", "quote", "batch", "mould", "cast", "piece", "m3", "kg", "m2 face", "m2 underside", "m2 open side", "m arris", "m2 mould",
        "m joint", "lb", "ft3", "ft2 face", "ft arris"]
_HEADING = re.compile(r"(.*) \((.*)\)$")


def cell(value: Any, unit: str = "") -> Any:
    """A cell as the calculator reads it: figures with a unit are pairs of both."""
    if isinstance(value, str) and value.endswith(" %"):
        return "%", float(value[:-2])
    return (unit, value) if unit and isinstance(value, int | float) else value


def rows_of(sheets: Sheets) -> dict[str, list[Any]]:
    """The sheets of a book by rows, each by its headings."""
    found: dict[str, list[Any]] = {"Workshop": [[row[0], cell(row[1])] for row in sheets["Workshop"][1:]]}
    for name in sheets.keys() - {"Workshop"}:
        heads = [match.groups() if (match := _HEADING.match(text)) else (text, "") for text in sheets[name][0]]
        units = [unit if unit in ("mm", "L", "m2", "m") else "" for _, unit in heads]
        found[name] = [
            {head: cell(value, unit) for (head, _), unit, value in zip(heads, units, row, strict=False) if value is not None}
            for row in sheets[name][1:]]
    return found


def varied_book(seed: int) -> Sheets:
    """The small workshop with some other settings, products, plans, terms and enquiries."""
    draw, sheets = random.Random(seed), small_book()

    def often() -> bool:
        return draw.random() < 0.5

    def column(sheet: str, heading: str, value: Callable[[], Any]) -> None:
        sheets[sheet] = [[*row, heading if at == 0 else value()] for at, row in enumerate(sheets[sheet])]

    def settings(**values: list[Any]) -> None:
        for name, choices in values.items():
            said = name.replace("_", " ")
            sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] != said] + [[said, draw.choice(choices), None]]

    settings(
        Target_margin=["25 %", "40 %", "60 %"], Price_step=[0.01, 0.5, 1, 2.5], Price_rounding=["up", "nearest"],
        Deposit=["0 %", "33.33 %", "50 %"],
        Mix_allowance=["0 %", "12.5 %"], Mixer_load=[12, 30, 60, 145], Smallest_order=[0, 333.33, 900], Cash_step=[0, 0.05, 1],
        Taken_from_the_price=["0 %", "1.5 %", "8 %"], Tax_rounding=["nearest", "down"], Moulds_chosen=["cheapest", "fewest"],
        Mixer_loads=["each casting day", "by volume"], Learning_form=["unit", "cumulative average"], Refit_trade=["Maker", "Helper"],
        List_price_holds=["at any quantity", "at the usual run", "from the usual run"], Aggregates_in_recipes=["dry", "saturated"],
        Interest_rate=["0 %", "6 %"], Mould_places=[1, 3, 12])
    column("Machines", "Hours per year", lambda: 300)
    column("Materials", "Moisture", lambda: None)
    column("Materials", "Absorption", lambda: None)
    for row in sheets["Materials"][1:]:
        row[5:7] = draw.choice([0, 0.75]), draw.choice(["0 %", "5 %", "12.5 %"])
        row[14:16] = draw.choice([(None, None), ("6.5 %", "1.2 %")]) if row[1] == "aggregate" else (None, None)
        if often():
            later = [None] * len(row)
            later[0], later[4], later[13] = row[0], round(row[4] * draw.uniform(0.8, 1.4), 2), draw.choice(DAYS)
            sheets["Materials"].append(later)
    column("Materials", "Unit mass (kg)", lambda: None)
    sheets["Materials"].append(["Socket", "cast in", 50, "each", 60, 0, "0 %", *[None] * 6, datetime.date(2026, 1, 1), None, None, 0.08])
    column("Trades", "From", lambda: None)
    sheets["Trades"].append(["Maker", 29.5, draw.choice(DAYS)])
    column("Labour", "Learning", lambda: draw.choice([None, "100 %", "85 %"]))
    column("Labour", "Finish", lambda: draw.choice([None, None, "Sealed"]))
    for row in sheets["Labour"][1:]:
        row[4], row[7] = draw.choice([row[4], row[4], *PERS]), draw.choice(["yes", "no"])
        row[5] = draw.choice([None, "Mixer"])
        if row[5] and often():
            row[2] = None
    sheets["Labour"].append(["Fit", "Drive and fit", "Maker", 240, draw.choice(["line", "piece", "quote"])])
    column("Moulds", "Pieces per mould", lambda: draw.choice([None, 1, 2]))
    sheets["Moulds"][1][2], sheets["Moulds"][1][9] = draw.choice([1, 3, 10]), draw.choice([1, 2.5])
    sheets["Moulds"][0] += ["Price", "Resale", "Pattern price", "Moulds of a pattern"]
    sheets["Moulds"].append(["Bought", None, 120, *[None] * 5, "Wax", 1, 3, draw.choice([1, 4]), 165, 20, 300, 6])
    column("Products", "Moulds kept", lambda: draw.choice([None, 0, 1, 3]))
    column("Products", "Price per", lambda: None)
    column("Products", "Tax", lambda: draw.choice([None, "Reduced", "Zero"]))
    column("Products", "Seen long edges", lambda: None)
    column("Products", "Diameter (mm)", lambda: None)
    for row in sheets["Products"][1:]:
        row[9:14] = draw.choice(["Grey", "Dark", "Bucket"]), row[10] and draw.choice(["Melamine", "Bought"]), "Plain", row[12], draw.choice(
            ["0 %", "5 %", "50 %"])
        row[14:17] = draw.choice(["order", "stock"]), draw.choice([1, 4, 10]), draw.choice([None, 88.11])
    sheets["Products"][1][18], sheets["Products"][1][20] = draw.choice([None, "m2", "m", "kg"]), draw.choice([None, 0, 1])
    table = ["Table", "Round table", "disc", None, None, 40, None, None, None, "Dark", "Melamine", "Plain", "Sealed", "12.5 %", "order", 2]
    sheets["Products"].append([*table, None, None, None, None, None, 700])
    sheets["Cut-outs"] = [
        ["Product", "Quote", "Line", "Form", "Length (mm)", "Width (mm)", "Corner radius (mm)", "Diameter (mm)", "Count"],
        ["Slab 1000", None, None, "rectangle", 300, 200, draw.choice([None, 10]), None, 1],
        ["Table", None, None, "round", None, None, None, 45, draw.choice([None, 2])]]
    if often():
        sheets["Layers"] = [["Product", "Mix", "Thickness (mm)", "On"], ["Table", "Grey", 6, draw.choice(["face", "underside"])]]
    sheets["Services"] = [["Service", "Labour plan", "Price"], ["Fitting", "Fit", None], ["Measuring", None, 95]]
    sheets["Sets"] = [
        ["Set", "Description", "Product", "Quantity"], ["Group", "A set", "Table", draw.choice([1, 2])], ["Group", None, "Fitting", 1]]
    sheets["Extras"] = [
        ["Product", "Quote", "Material", "Amount", "Per", "Lost on reject"],
        ["Shelf 800", None, "Brackets", 2, draw.choice(PERS), draw.choice([None, "yes"])], ["Slab 1000", None, "Socket", 4, "piece", None],
        [None, "Q-1", "Brackets", 4, "quote", None], ["Fitting", None, "Silicone", 0.3, "line", None]]
    sheets["Taxes"] = [["Tax", "Rate", "Category"], ["Reduced", "5 %", None], ["Zero", None, "Z"]]
    for row in sheets["Products"][1:]:
        row[19] = None if row[0] == "Table" else row[19]  # a set bears one tax
    sheets["Levels"] = [["Level", "Product", "Discount", "Price"], ["Trade", None, "15 %", None], ["Trade", "Block", None, 77.77]]
    sheets["Payments"] = [["Payments", "Stage", "Share", "When"], ["Thirds", "One", "33.3333 %", "with the order"],
                          ["Thirds", "Two", "33.3333 %", "before delivery"], ["Thirds", "Three", None, "on delivery"]]
    column("Customers", "Level", lambda: draw.choice([None, "Trade"]))
    column("Customers", "Payments", lambda: draw.choice([None, "Thirds"]))
    sheets["Quotes"] = [["Quote", "Discount", "Deposit"], ["Q-2", draw.choice([None, "4 %", "0 %"]), draw.choice([None, "25 %"])]]
    sheets["Delivery"] += [["Near", 1e6, 99.99]]
    sheets["Enquiries"] = [["Quote", "Date", "Customer", "Product", "Quantity", "Length (mm)", "Mix", "Unit price", "Margin", "Discount"]]
    names = ["Slab 1000", "Slab 1000", "Shelf 800", "Block", "Table", "Fitting", "Measuring", "Group"]
    for quote in ("Q-1", "Q-2"):
        day, customer = draw.choice(DAYS), draw.choice(["Ada Field", "Brook House"])
        for name in draw.choices(names, k=draw.randint(1, 4)):
            slab, priced = name == "Slab 1000" and often(), draw.choice(["", "", "price", "margin"])
            sheets["Enquiries"].append([
                quote, day, customer, name, draw.choice([1, 2, 3, 11, 37]), 1200 if slab else None, "Dark" if slab else None,
                123.45 if priced == "price" else None, "30 %" if priced == "margin" and name != "Group" else None,
                draw.choice([None, None, "0 %", "33.3 %"])])
    return sheets
