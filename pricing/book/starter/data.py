"""The rows that a new price book is filled with."""

from __future__ import annotations

import datetime
from collections.abc import Collection

from pricing.book.declared.sheets import SHEETS

#: A row by the headings of its sheet; figures in the units that the starter book shows, percentages as fractions.
Row = dict[str, object]
#: Rows by sheet; those of Workshop are one row of settings.
BookData = dict[str, list[Row]]


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


def smaller(data: BookData, settings: Row, products: Collection[str], quotes: Collection[str]) -> BookData:
    """A few products and quotes with everything that they name, in the columns of every starter book and without steel.

    Parameters
    ----------
    data : a larger book
    settings : settings that stand instead of its own
    products, quotes : what is kept
    """
    kept: BookData = {name: [] for name in data}
    kept["Workshop"] = [{**data["Workshop"][0], **settings}]
    kept["Products"] = [row for row in data["Products"] if row["Product"] in products]
    kept["Enquiries"] = [row for row in data["Enquiries"] if row["Quote"] in quotes and row["Product"] in products]
    cast_in = {row["Material"] for row in data["Materials"] if row["Kind"] in ("reinforcement", "cast in")}
    kept["Extras"] = [row for row in data["Extras"] if row["Product"] in products and row["Material"] not in cast_in]
    asked = {sheet.name: {column.heading for column in sheet.starter_columns} for sheet in SHEETS}
    for sheet in ("Products", "Enquiries"):
        kept[sheet] = [{heading: value for heading, value in row.items() if heading in asked[sheet]} for row in kept[sheet]]
    finishes = {row.get("Finish") for row in kept["Products"]} | {None, ""}
    named = {name: _named(kept, name) for name in data}
    trade = kept["Workshop"][0].get("Refit trade")
    for sheet in ("Customers", "Delivery", "Finishes", "Moulds", "Labour", "Machines", "Trades", "Mixes", "Materials"):
        key = next(iter(data[sheet][0]))
        kept[sheet] = [row for row in data[sheet] if row[key] in named[sheet] or (sheet == "Trades" and row[key] == trade)]
        if sheet == "Labour":
            kept[sheet] = [row for row in kept[sheet] if row.get("Finish") in finishes]
        named = {name: _named(kept, name) for name in data}
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
