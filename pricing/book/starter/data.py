"""The rows that a new price book is filled with."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Sequence

from pricing.book.declared.options import is_column_wanted, is_wanted
from pricing.book.declared.sheets import SHEETS

#: A row by the headings of its sheet; figures in the units that the starter book shows, percentages as fractions.
Row = dict[str, object]
#: Rows by sheet; those of Workshop are one row of settings, and of settings that changed a row for each later day.
BookData = dict[str, list[Row]]

#: The sheets whose rows are kept where something names them, each after those that name it.
_NAMED = ("Customers", "Delivery", "Finishes", "Moulds", "Labour", "Machines", "Trades", "Outlines", "Mixes", "Materials")


def rows(headings: str, *values: tuple[object, ...]) -> list[Row]:
    """Rows under headings.

    Parameters
    ----------
    headings : with a stroke between them
    values : one tuple to a row

    >>> rows("Trade|Hourly cost", ("Maker", 20.0))
    [{'Trade': 'Maker', 'Hourly cost': 20.0}]
    """
    names = [name.strip() for name in headings.split("|")]
    return [dict(zip(names, row, strict=True)) for row in values]


def smaller(data: BookData, settings: Row, products: Sequence[Row], enquiries: Sequence[Row], chosen: Collection[str]) -> BookData:
    """Some products and lines with everything that they name, and of the rest what the options bring.

    Parameters
    ----------
    data : a larger book
    settings : settings that stand instead of its own
    products, enquiries : the rows that are kept
    chosen : options of a new book
    """
    kept: BookData = {name: [] for name in data}
    in_time, (opening, *later) = "wages" in chosen, data["Workshop"]
    newest = {} if in_time else {str(row["Setting"]): row["Value"] for row in later}
    kept["Workshop"] = [{**opening, **newest, **settings}, *(later if in_time else [])]
    kept["Products"], kept["Enquiries"] = list(products), list(enquiries)
    names, shapes = {row["Product"] for row in products}, {str(row["Shape"]) for row in products}
    cast_in = {row["Material"] for row in data["Materials"] if row["Kind"] in ("reinforcement", "cast in") and "steel" not in chosen}
    kept["Extras"] = [row for row in data["Extras"] if row["Product"] in names and row["Material"] not in cast_in]
    for declared in SHEETS:
        if declared.name in ("Layers", "Cut-outs") and is_wanted(declared, chosen):
            kept[declared.name] = [row for row in data.get(declared.name, []) if row["Product"] in names]
        if declared.name in ("Products", "Enquiries"):
            asked = {column.heading for column in declared.columns if is_column_wanted(declared, column, chosen, shapes)}
            kept[declared.name] = [{heading: value for heading, value in row.items() if heading in asked} for row in kept[declared.name]]
    finishes = {row.get("Finish") for row in kept["Products"]} | {None, ""}
    trade = kept["Workshop"][0].get("Refit trade")
    for sheet in _NAMED:
        if data.get(sheet):
            key, named = next(iter(data[sheet][0])), _named(kept, sheet)
            kept[sheet] = [row for row in data[sheet] if row[key] in named or (sheet == "Trades" and row[key] == trade)]
        if sheet == "Trades" and not in_time:
            kept[sheet] = list({row["Trade"]: {**row, "From": None} for row in kept[sheet]}.values())
        if sheet == "Labour":
            kept[sheet] = [row for row in kept[sheet] if row.get("Finish") in finishes]
    return kept


def dated(data: BookData, day: datetime.date) -> BookData:
    """The same book with all its enquiries of one day.

    Parameters
    ----------
    data : a book
    day : the day of its enquiries

    >>> dated({"Enquiries": [{"Quote": "Q-1", "Date": datetime.date(2026, 1, 5)}]}, datetime.date(2026, 2, 6))
    {'Enquiries': [{'Quote': 'Q-1', 'Date': datetime.date(2026, 2, 6)}]}
    """
    return {**data, "Enquiries": [{**row, "Date": day} for row in data["Enquiries"]]}


def _named(data: BookData, sheet: str) -> set[object]:
    """What the rows of a book name on one of its sheets."""
    return {
        row.get(column.heading)
        for declared in SHEETS
        for column in declared.columns
        if column.refers_to == sheet
        for row in data.get(declared.name, [])
    }
