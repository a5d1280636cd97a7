"""Wages, overhead and electricity price as they hold on the days of the lines, chosen as prices of materials are."""

from __future__ import annotations

from typing import Any

import numpy as np

from pricing.book.price_book import NONE, row_on
from pricing.costing.engine.model import Rows
from pricing.costing.lines.order_lines import place_of
from pricing.costing.method.price_sets import PricingContext
from pricing.costing.method.rates_declared import RATES
from pricing.costing.method.rows_builder import RowsBuilder, number_or
from pricing.costing.method.work_rows import Expanded

#: The figures of the model that follow from settings which may hold from a day on: the setting, and what stands for none.
_OF_SETTINGS = {
    "electricity_price": ("electricity_price", 0.0), "overhead_per_labour_hour": ("overhead_per_labour_hour", 0.0),
    "overhead_per_year": ("overhead_per_year", 0.0), "productive_hours": ("productive_hours_per_year", 1.0),
}


def rate_cells(context: PricingContext, price_set: str) -> dict[str, Any]:
    """Overhead, electricity price and the trade that refits moulds, as they hold at a set of prices."""
    book, day = context.book, context.day_of(price_set)
    cells: dict[str, Any] = {"refit_trade": context.rate_keyed(_refit_trade(context), price_set)}
    for name, (setting, none) in _OF_SETTINGS.items():
        found = book.setting_on(setting, day) or book.histories[setting][0]
        cells[name] = (number_or(found.value, 0.0) or none, f"Workshop!{found.cell}" if found.cell else "")
    return cells


def _refit_trade(context: PricingContext) -> str:
    """Who makes moulds ready again: the first trade where nobody is named."""
    trades = context.book.tables["Trades"].columns["trade"].tolist()
    return context.book.word("refit_trade") or (trades[0] if trades else NONE)


def rates_rows(context: PricingContext) -> Rows:
    """The rates of each set of prices, in a model in which they differ."""
    builder = RowsBuilder(RATES)
    for label in context.labels:
        builder.add(rates=label, **rate_cells(context, label))
    return builder.rows()


def check_rates(context: PricingContext, steps: Expanded) -> None:
    """Report the lines of a day on which a wage, overhead or the electricity price that they need does not hold yet.

    Parameters
    ----------
    steps : the steps of the lines

    Problems: no-rate-yet.
    """
    book = context.book
    rows, lines, _ = steps.parts
    labour, machines = steps.table.columns, book.tables["Machines"].columns
    drawing = set(machines["machine"][np.nan_to_num(machines["power"]) > 0].tolist())
    refitted = set(book.tables["Moulds"].columns["mould_plan"][book.tables["Moulds"].columns["refit_minutes"] > 0].tolist())
    wanted = {(str(trade), context.lines.day[line]) for trade, line in zip(labour["trade"][rows].tolist(), lines.tolist(), strict=True)}
    wanted |= {(_refit_trade(context), context.day_of(label)) for plan, label in context.used("mould_plan") if plan in refitted}
    for trade, day in sorted(wanted):
        if trade not in ("", NONE) and row_on(book, "Trades", trade, day) is None:
            table = book.tables["Trades"]
            own = np.flatnonzero(table["trade"] == trade)
            earliest = int(own[np.argmin(table["from"][own])])
            place = place_of(table, "from", earliest)
            first = f"the first holds from {table['from'][earliest]} ({place})"
            context.not_yet(day, f'the wage of "{trade}" is not known yet', first, place)
    powered = {context.lines.day[line] for row, line in zip(rows, lines, strict=True) if labour["machine"][row] in drawing}
    for name, history in book.histories.items():
        days = powered if name == "electricity_price" else {context.day_of(label) for label in context.labels}
        for day in sorted(day for day in days if book.setting_on(name, day) is None):
            place, words = f"Workshop!{history[0].cell}", name.replace("_", " ")
            context.not_yet(day, f"the {words} is not known yet", f"the first holds from {history[0].since} ({place})", place)
