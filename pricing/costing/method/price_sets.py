"""The prices that hold on the days of the lines: which row of the Materials sheet, and under which key the model has it.

Where quotes of several days meet in one model and a price differs between them, each set of prices gets its own rows
(``White cement [2026-03-01]``), so that every figure keeps one origin.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.arrays import distinct
from pricing.book.price_book import NONE, PriceBook, price_row_on, row_on
from pricing.book.services import service_rows
from pricing.costing.engine.columns import TableSpec
from pricing.costing.engine.packed_columns import Codes, DictionaryColumn, first_seen
from pricing.costing.lines.line_pieces import LinePieces
from pricing.costing.lines.line_taxes import LineTaxes, names_taxes
from pricing.costing.lines.order_lines import OrderLines
from pricing.costing.lines.own_terms import OwnTerms
from pricing.costing.method.piece_declared import PieceForms
from pricing.costing.method.rows_builder import SafeKeys, safe_key
from pricing.costing.method.terms_declared import TermForms
from pricing.costing.method.workshop_declared import by_day
from pricing.problems import Problems
from pricing.rules.shapes import SHAPES

#: A day after every other.
_AFTER_ALL = np.datetime64("9999-12-31", "D")


class PricingContext:
    """What is costed in one context.

    Parameters
    ----------
    book : the price book
    lines : what is to be costed
    problems : collects what cannot be priced, such as a material without a price on a line's day
    """

    def __init__(self, book: PriceBook, lines: OrderLines, problems: Problems) -> None:
        self.book = book
        self.lines = lines
        self.problems = problems
        self._price_rows: dict[tuple[str, Any], int | None] = {}
        days = lines.day[:1] if (lines.day == lines.day[:1]).all() else distinct(lines.day)
        #: True where wages, overhead or the electricity price differ between the days.
        self.rates_differ = len({self._rates(day) for day in days}) > 1
        self.sets = self._price_sets(days)
        #: The label of each set of prices: the first day on which it holds; empty where all days share one.
        self.labels = list(dict.fromkeys(self.sets.values()))
        of_day = np.array([self.labels.index(self.sets[day]) for day in days], dtype=np.int32)
        #: For each line the number of its set.
        self.set_of_line: Codes = of_day[np.searchsorted(days, lines.day)] if len(days) > 1 else np.zeros(len(lines), dtype=np.int32)

    def price_row(self, material: str, day: Any) -> int | None:
        """The row of Materials in force on a day, or None where it has no price yet."""
        if (material, day) not in self._price_rows:
            self._price_rows[material, day] = price_row_on(self.book, material, day)
        return self._price_rows[material, day]

    def not_yet(self, day: Any, what: str, first: str, place: str, *, code: str = "no-rate-yet") -> None:
        """Report that something does not hold yet on the day of a line, at the date of that line.

        Parameters
        ----------
        what, first : ``"Sand" has no price yet``, and from when on it has
        place : of its first day, ``Materials!N7``
        """
        sheet, _, cell = place.partition("!")
        for line in np.flatnonzero(self.lines.day == day)[:1]:
            enquiry = int(self.lines.enquiry[line])
            where = self.book.tables["Enquiries"].cell("date", enquiry) if enquiry >= 0 else ""
            text = f"date {day}: {what} on that day; {first}; use a later date, or add a row with an earlier one"
            self.problems.add(code, text, sheet="Enquiries" if where else sheet, cell=where or cell)

    def _price_sets(self, days: NDArray[np.datetime64]) -> dict[Any, str]:
        """For each day the label of its set of prices; the empty label where all days share one."""
        materials = dict.fromkeys(self.book.tables["Materials"].columns["material"].tolist())
        seen: dict[tuple[Any, ...], Any] = {}
        first = {}
        for day in days:
            first[day] = seen.setdefault((*(self.price_row(material, day) for material in materials), *self._rates(day)), day)
        if len(seen) <= 1:
            return dict.fromkeys(first, "")
        return {day: str(opening) for day, opening in first.items()}

    def _rates(self, day: Any) -> tuple[Any, ...]:
        """The rows of the wages in force on a day, and the days from which overhead and electricity hold."""
        settings = (self.book.setting_on(name, day) for name in self.book.histories)
        trades = dict.fromkeys(self.book.tables["Trades"].columns["trade"].tolist())
        return (*(row_on(self.book, "Trades", trade, day) for trade in trades), *(each and each.since for each in settings))

    @property
    def rate_labels(self) -> list[str]:
        """The labels of the sets whose rates stand apart; the empty one where all lines share them."""
        return self.labels if self.rates_differ else [""]

    def rate_keyed(self, name: str, price_set: str) -> str:
        """The name of a trade or a machine as a key of the model: with its set of prices where the rates differ."""
        return self.keyed(name, price_set if self.rates_differ else "")

    def by_day(self, spec: TableSpec) -> TableSpec:
        """A table as it is in this model: with rates of its own for each day where they differ."""
        return by_day(spec) if self.rates_differ else spec

    def day_of(self, price_set: str) -> Any:
        """A day whose prices the set holds; one after all where there are no lines."""
        shared = not self.rates_differ and not price_set
        return next((day for day, label in self.sets.items() if shared or label == price_set), _AFTER_ALL)

    def keyed(self, name: str, price_set: str) -> str:
        """A name as a key of the model: with its set of prices where there are several."""
        return f"{safe_key(name)} [{price_set}]" if price_set and name != NONE else safe_key(name)

    def keys(self, names: DictionaryColumn, sets: Codes) -> DictionaryColumn:
        """Names as keys of the model, each with its set of prices; no name as the row that stands for none.

        Parameters
        ----------
        sets : number of the set of each name
        """
        several = max(len(self.labels), 1)
        used, _, codes = first_seen(names.codes.astype(np.intp) * several + sets, len(names.words) * several)
        words = [self.keyed(names.words[pair // several] or NONE, self.labels[pair % several]) for pair in used.tolist()]
        return DictionaryColumn(codes, words)

    @cached_property
    def pieces(self) -> LinePieces:
        """What the price book says of the pieces of the lines besides their dimensions."""
        return LinePieces(self.book, self.lines)

    @cached_property
    def forms(self) -> PieceForms:
        """What the price book says of the pieces of the lines, as far as the model has to know."""
        pieces = self.pieces
        return PieceForms(
            bool(pieces.cut_outs) or pieces.some_edges_hidden, bool(pieces.layers) or pieces.casts_in, pieces.counts_extents,
            pieces.priced_by_measure, bool(service_rows(self.book, self.lines.product).any()),
        )

    @cached_property
    def terms(self) -> TermForms:
        """What the price book says of its terms, as far as the model has to know."""
        quotes = self.book.tables["Quotes"]
        own = any(not np.isnan(quotes[name]).all() for name in ("discount", "deposit") if len(quotes))
        staged = any(bool((self.book.tables[sheet]["payments"] != "").any()) for sheet in ("Quotes", "Customers"))
        return TermForms(names_taxes(self.book), own, staged, self.lines.sets is not None and bool((self.lines.sets.number >= 0).any()))

    @cached_property
    def own_terms(self) -> OwnTerms:
        """What quotes and customers have of their own."""
        return OwnTerms(self.book)

    @cached_property
    def taxes(self) -> LineTaxes:
        """Which tax each line bears."""
        return LineTaxes(self.book, self.lines, self.quote_numbers[1].tolist())

    @cached_property
    def by_outline(self) -> bool:
        """Whether any piece has an outline of its own."""
        outlined = np.array([bool(shape in SHAPES and SHAPES[shape].measured) for shape in self.shapes.words], dtype=np.bool_)
        return bool(outlined.any() and outlined[self.shapes.codes].any())

    @cached_property
    def customers(self) -> DictionaryColumn:
        """The customer of each line."""
        return DictionaryColumn.of(self.lines.customer)

    @cached_property
    def shapes(self) -> DictionaryColumn:
        """The shape of each line."""
        return self.book.tables["Products"].words("shape").taken(self.lines.product)

    @cached_property
    def plans(self) -> dict[str, DictionaryColumn]:
        """The plans of the lines: mix, mould plan, labour plan, finish."""
        return {name: self.lines.plans.words(name) for name in self.lines.plans}

    def used(self, plan: str) -> list[tuple[str, str]]:
        """Names of a plan that the lines use, each with the label of its set of prices, in the order in which they are met."""
        names, several = self.plans[plan], max(len(self.labels), 1)
        pairs, _, _ = first_seen(names.codes.astype(np.intp) * several + self.set_of_line, len(names.words) * several)
        return [(names.words[pair // several], self.labels[pair % several]) for pair in pairs.tolist()]

    def plan_keys(self, plan: str) -> DictionaryColumn:
        """The keys of a plan of the lines."""
        return self.keys(self.plans[plan], self.set_of_line)

    @cached_property
    def product_keys(self) -> DictionaryColumn:
        """What each line is called in the model: its product."""
        products = self.book.tables["Products"].columns["product"]
        if self.lines.each_product_once:
            return DictionaryColumn(np.arange(len(self.lines), dtype=np.int32), SafeKeys(products[: len(self.lines)]))
        used, _, codes = first_seen(self.lines.product, len(products))
        return DictionaryColumn(codes, SafeKeys(products[used]))

    @cached_property
    def quote_numbers(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """The first line of each quote, and for each line the number of its quote, counted from 0."""
        order = self.lines.order
        if len(order) and np.array_equal(order, np.arange(len(order))):
            return order.astype(np.intp), order.astype(np.intp)
        _, first, numbers = first_seen(order, int(order.max(initial=-1)) + 1)
        return first, numbers
