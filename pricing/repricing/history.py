"""What materials, hours and electricity cost over time, and what the list products would have cost and earned, by the price book."""

from __future__ import annotations

import datetime

import numpy as np

from pricing.book.price_book import PriceBook, days_of_change, price_row_on
from pricing.book.services import product_count
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.lines.order_lines import list_lines
from pricing.costing.method.costing import Costing
from pricing.costing.method.rows_builder import safe_key
from pricing.costing.run import cost_lines
from pricing.dataclass import dataclass
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
    materials, units : names of what moved, and what each is paid by: materials, then trades, overhead and electricity
    rates : how many of them are no materials
    prices : of a unit of each, carriage and wastage counted in; nan where there was none yet; days along the last axis [currency]
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
    rates: int = 0


def price_history(book: PriceBook, day: datetime.date) -> PriceHistory | None:
    """The history up to a day; None where no price moved before it, or the list cannot be costed earlier.

    Days on which something of the list had no price yet are left out.
    """
    table, trades = book.tables["Materials"], list(dict.fromkeys(book.tables["Trades"].columns["trade"].tolist()))
    changes = days_of_change(book)
    before = changes[changes < np.datetime64(day, "D")]
    days: list[datetime.date] = []
    columns: list[Floats] = []
    paid: list[list[float]] = []
    price = np.zeros(0)
    for each in [*before[-MOST_DAYS + 1 :].tolist(), day]:
        lines = list_lines(book, each)
        costing = cost_lines(book, lines.taken(range(min(len(lines), MOST_PRODUCTS))), Problems(book.file))
        if not costing.problems.errors:
            days.append(each)
            columns.append(costing.line("unit_cost"))
            paid.append(_rates(costing, trades))
            price = costing.line("unit_price")
    if len(days) < 2 or days[-1] != day:
        return None
    names = list(dict.fromkeys(table.columns["material"].tolist()))
    units, prices = _prices(book, names, days)
    known = [row for row in range(len(names)) if not np.isnan(prices[row]).all()]
    moved = [row for row in known if np.nanmax(prices[row]) > np.nanmin(prices[row])][:MOST_MATERIALS]
    rates = np.array(paid).T
    risen = [row for row in range(len(rates)) if rates[row].max() > rates[row].min()]
    moved += [len(names) + row for row in risen]
    names, units = [*names, *trades, "Overhead", "Electricity"], [*units, *["h"] * len(trades), "h", "kWh"]
    prices = np.concatenate([prices, rates])
    if not moved:
        return None
    products = book.tables["Products"].columns["product"][: product_count(book)].tolist()[:MOST_PRODUCTS]
    return PriceHistory(
        tuple(days), tuple(names[row] for row in moved), tuple(units[row] for row in moved), prices[moved], tuple(map(str, products)),
        np.stack(columns, axis=1), price, len(risen),
    )


def _rates(costing: Costing, trades: list[str]) -> list[float]:
    """What an hour of each trade costs, overhead and electricity on the day of a costing."""
    rows = costing.model.tables["trades"]
    wages = dict(zip(rows.text["trade"].tolist(), rows.given["hourly_cost"].tolist(), strict=True))
    return [*(wages[safe_key(trade)] for trade in trades), costing.setting("applied_overhead_rate"), costing.setting("electricity_price")]


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
