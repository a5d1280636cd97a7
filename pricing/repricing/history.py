"""What materials cost over time, and what the list products would have cost and earned, at the prices that the price book keeps."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np

from pricing.book.price_book import PriceBook, price_row_on
from pricing.book.services import product_count
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.lines.order_lines import list_lines
from pricing.costing.run import cost_lines
from pricing.problems import Problems
from pricing.rules import materials

#: More days, materials or products than these are no picture any more: the latest, those that moved, and the first of the list.
MOST_DAYS, MOST_MATERIALS, MOST_PRODUCTS = 12, 40, 40


@dataclass(frozen=True)
class PriceHistory:
    """Prices and costs on the days on which prices changed.

    Parameters
    ----------
    days : in order; the last is the day whose prices hold
    materials, units : names of those whose price moved, and what each is bought by
    prices : of a pack unit of each, carriage and wastage counted in; nan where there was none yet; days along the last axis [currency]
    products : names
    costs : of one piece of each at its usual run [currency]
    price : of one piece of each on the last day [currency]
    """

    days: tuple[datetime.date, ...]
    materials: tuple[str, ...]
    units: tuple[str, ...]
    prices: Floats
    products: tuple[str, ...]
    costs: Floats
    price: Floats


def price_history(book: PriceBook, day: datetime.date) -> PriceHistory | None:
    """The history up to a day; None where no price moved before it, or the list cannot be costed earlier.

    Days on which something of the list had no price yet are left out.
    """
    table = book.tables["Materials"]
    dated = table.columns["priced_on"]
    before = np.unique(dated[~np.isnat(dated) & (dated < np.datetime64(day, "D"))])
    days: list[datetime.date] = []
    columns: list[Floats] = []
    price = np.zeros(0)
    for each in [*before[-MOST_DAYS + 1 :].tolist(), day]:
        lines = list_lines(book, each)
        costing = cost_lines(book, lines.taken(range(min(len(lines), MOST_PRODUCTS))), Problems(book.file))
        if not costing.problems.errors:
            days.append(each)
            columns.append(costing.line("unit_cost"))
            price = costing.line("unit_price")
    if len(days) < 2 or days[-1] != day:
        return None
    names = list(dict.fromkeys(table.columns["material"].tolist()))
    units, prices = _prices(book, names, days)
    known = [row for row in range(len(names)) if not np.isnan(prices[row]).all()]
    moved = [row for row in known if np.nanmax(prices[row]) > np.nanmin(prices[row])][:MOST_MATERIALS]
    if not moved:
        return None
    products = book.tables["Products"].columns["product"][: product_count(book)].tolist()[:MOST_PRODUCTS]
    return PriceHistory(
        tuple(days), tuple(names[row] for row in moved), tuple(units[row] for row in moved), prices[moved], tuple(map(str, products)),
        np.stack(columns, axis=1), price,
    )


def _prices(book: PriceBook, names: list[str], days: list[datetime.date]) -> tuple[list[str], Floats]:
    """What each material is bought by, and the price of a unit of it on each day."""
    table = book.tables["Materials"].columns
    prices, units = np.full((len(names), len(days)), np.nan), []
    for place, name in enumerate(names):
        rows = [price_row_on(book, name, day) for day in days]
        for at, row in enumerate(rows):
            if row is not None:
                given = {column: float(np.nan_to_num(table[column][row])) for column in ("pack_price", "carriage", "pack_size", "wastage")}
                prices[place, at] = materials.unit_price_of_material(
                    given["pack_price"], given["carriage"], given["pack_size"], given["wastage"])
        units.append(str(table["pack_unit"][rows[-1]]) if rows[-1] is not None else "")
    return units, prices
