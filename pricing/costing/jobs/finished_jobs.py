"""Finished jobs: what the Actuals sheet says of a quote, beside what the quote was allowed.

Each row is compared with what the quote was allowed of the same thing, for the pieces that were ordered: a row that names
a product with that product's allowance, a row for the whole job with that of the lines that have no row of their own; hours
of a step with the step, hours of a trade with whatever of the trade has no step recorded. What was allowed and not recorded
at all is taken as allowed, and said so.
"""

from __future__ import annotations

from dataclasses import field, replace
from typing import Any

import numpy as np

from pricing.book.price_book import PriceBook, price_row_on
from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.engine.model import Model
from pricing.costing.lines.order_lines import place_of
from pricing.costing.method.costing import Costing
from pricing.costing.method.rows_builder import number_or, safe_key
from pricing.costing.method.standard_usage import LABOUR, MACHINE, MATERIAL, Allowance, allowances
from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.rules.materials import unit_price_of_material
from pricing.text import fold

STEP, OVERHEAD, REJECTED, MOULD_CASTS = "step", "overhead", "rejected", "mould casts"

#: Kinds of records that have a cost and an allowance.
COSTED = (MATERIAL, LABOUR, STEP, MACHINE)


@dataclass(frozen=True, slots=True)
class Promise:
    """A quote as it was made: its customer, its day, and the costing model with the standards of that day."""

    quote: str
    customer: str
    day: Any
    model: Model
    values: Evaluation


@dataclass
class Record:
    """What the Actuals sheet says of one thing, all its rows together.

    Parameters
    ----------
    product : empty where it is for the whole job
    quantity : pack units, hours, pieces or casts
    cost : where it is known [currency]; nan where a row leaves it blank
    amounts : quantity of each row
    places : cells of quantity and cost, where one row says all
    """

    kind: str
    item: str
    product: str
    quantity: float = 0.0
    cost: float = 0.0
    amounts: list[float] = field(default_factory=list)
    places: tuple[str, str] = ("", "")


@dataclass(frozen=True, slots=True)
class Item:
    """One thing of a job, allowed and taken.

    Parameters
    ----------
    product : empty where it is for the whole job
    kind : ``material``, ``labour``, ``step`` or ``machine``
    allowed, taken : [pack units or h]
    price : standard [currency/unit]
    paid : [currency]
    record : None where nothing was recorded, so that it is taken as allowed
    sources : the allowances that it is made of
    """

    product: str
    kind: str
    item: str
    unit: str
    allowed: float
    price: float
    taken: float
    paid: float
    record: Record | None
    sources: tuple[Allowance, ...]


@dataclass
class Job:
    """A finished job."""

    promise: Promise
    items: list[Item]
    records: list[Record]

    @property
    def quote(self) -> str:
        """Its number."""
        return self.promise.quote

    @property
    def pieces(self) -> dict[str, float]:
        """Good pieces by product."""
        found: dict[str, float] = {}
        quantities = self.promise.values.value("lines", "quantity").tolist()
        for product, quantity in zip(self.promise.model.tables["lines"].text["product"].tolist(), quantities, strict=True):
            found[product] = found.get(product, 0.0) + quantity
        return found


def finished_quotes(book: PriceBook) -> list[str]:
    """The quotes that have rows in Actuals, each once, in whatever letter case they are written."""
    found: dict[str, str] = {}
    for quote in book.tables["Actuals"].columns["quote"].tolist():
        found.setdefault(fold(quote), quote)
    return list(found.values())


def promise_of(costing: Costing) -> Promise:
    """A quote as the price book makes it today, out of a costing of that quote alone."""
    return Promise(costing.lines.quotes[0], str(costing.lines.customer[0]), costing.lines.day[0], costing.model, costing.values)


def _records(book: PriceBook, quote: str, problems: Problems) -> list[Record]:
    table = book.tables["Actuals"]
    found: dict[tuple[str, str, str], Record] = {}
    for row, name in enumerate(table.columns["quote"].tolist()):
        if fold(name) != fold(quote):
            continue
        words = (str(table.columns[column][row]) for column in ("kind", "item", "product"))
        kind, item, product = (safe_key(word) if word else "" for word in words)
        quantity, cost = float(table.columns["quantity"][row]), float(table.columns["cost"][row])
        if quantity == 0 and cost > 0 and kind in COSTED:
            text = f"a cost of {cost:g} stands beside a quantity of 0; type how much it was, or leave the cost blank"
            problems.add("no-quantity", text, sheet=table.sheet_as_written, cell=table.cell("quantity", row))
        record = found.setdefault((kind, item, product), Record(kind, item, product))
        record.places = (place_of(table, "quantity", row), place_of(table, "cost", row)) if not record.amounts else ("", "")
        record.amounts.append(quantity)
        record.quantity += quantity
        record.cost += cost
    return list(found.values())


def job_of(book: PriceBook, promise: Promise, problems: Problems) -> Job:
    """A finished job.

    Parameters
    ----------
    book : with its Actuals sheet
    promise : the quote as it was made
    problems : collects what does not fit: a cost without a quantity, a product that the quote does not have
    """
    records = _records(book, promise.quote, problems)
    products = set(promise.model.tables["lines"].text["product"].tolist())
    for record in records:
        if record.product and record.product not in products:
            text = f'quote {promise.quote} has no line of "{record.product}"; what is recorded for it counts as not allowed for'
            problems.add("not-in-quote", text, sheet="Actuals", cell=record.places[0].rpartition("!")[2], warning=True)
    known = {(record.product, record.kind, record.item): record for record in records}
    groups: dict[tuple[str, str, str], list[Allowance]] = {key: [] for key, record in known.items() if record.kind in COSTED}
    for each in allowances(promise.model, promise.values):
        choices = [(each.product, each.kind, each.item), ("", each.kind, each.item)]
        if each.kind == LABOUR:
            choices = [(each.product, STEP, each.source), ("", STEP, each.source), *choices]
        key = next((choice for choice in choices if choice in known), (each.product, each.kind, each.item))
        groups.setdefault(key, []).append(each)
    items = [_item(book, promise, key, known.get(key), sources) for key, sources in groups.items()]
    for number, item in enumerate(items):
        if np.isnan(item.paid) or np.isnan(item.price):
            items[number] = replace(item, paid=0.0, price=0.0)
            at = item.record.places[0].rpartition("!")[2] if item.record else ""
            text = f'quote {promise.quote} has no standard rate of "{item.item}", and its cost is blank; type what it cost'
            problems.add("no-rate", text, sheet=book.tables["Actuals"].sheet_as_written, cell=at)
    return Job(promise, items, records)


def _item(book: PriceBook, promise: Promise, key: tuple[str, str, str], record: Record | None, sources: list[Allowance]) -> Item:
    product, kind, item = key
    allowed = sum(each.quantity for each in sources)
    cost = sum(each.cost for each in sources)
    unit = sources[0].unit if sources else "h"
    price = sources[0].price if len({each.price for each in sources}) == 1 else cost / allowed if allowed else float("nan")
    if not sources:
        unit, price = _not_allowed_for(book, promise, kind, item)
        if np.isnan(price) and record is not None:
            price = record.cost / record.quantity if record.quantity else 0.0
    if record is None:
        return Item(product, kind, item, unit, allowed, price, allowed, allowed * price, None, tuple(sources))
    paid = record.quantity * price if np.isnan(record.cost) else record.cost
    return Item(product, kind, item, unit, allowed, price, record.quantity, paid, record, tuple(sources))


def _not_allowed_for(book: PriceBook, promise: Promise, kind: str, item: str) -> tuple[str, float]:
    """Unit and standard price of something that the quote was not reckoned with; nan where no price is known."""
    if kind == MATERIAL:
        table = book.tables["Materials"]
        row = price_row_on(book, item, promise.day)
        if row is None:
            return "", float("nan")
        price, carriage, size = (number_or(float(table.columns[name][row]), 0.0) for name in ("pack_price", "carriage", "pack_size"))
        return str(table.columns["pack_unit"][row]), float(unit_price_of_material(price, carriage, size, 0.0))
    if kind == STEP:
        labour = book.tables["Labour"].columns
        trades = (trade for step, trade in zip(labour["step"], labour["trade"], strict=True) if safe_key(step) == item and trade)
        item = safe_key(next(trades, ""))
    name, key, column = ("machines", "machine", "machine_rate") if kind == MACHINE else ("trades", "trade", "hourly_cost")
    if promise.model.column(name, f"{column}_with_interest") is not None:
        column += "_with_interest"
    at = np.flatnonzero(promise.model.tables[name].text[key] == item)
    return "h", float(promise.values.value(name, column)[at[0]]) if len(at) else float("nan")
