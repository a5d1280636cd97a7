"""Why a figure is what it is: the tree from a price down to the cells of the price book.

The walk goes over the same declaration that computes the figures and writes the workbooks, backwards: a computed column
leads to the inputs of its rule, a fetched one to the row that its key names, a summed one to the rows that name this row,
a picked one to the column that a word names, a banded one to its band.
"""

from __future__ import annotations

import functools
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from pricing.algebra.expressions import BY_MEASURES, CONSTANTS, Expression, expression_of
from pricing.algebra.simplify import decisive, raised, simplified, taken
from pricing.book.price_book import since_of
from pricing.costing.engine.columns import SETTINGS, Band, ByWord, Column, Computed, Input, Largest, Lookup, Rank, Sum
from pricing.costing.engine.model import Rows
from pricing.costing.explain.figure_names import ExplainError, known_quote, named_figure
from pricing.costing.explain.trace import Kind, KnownWay, Told, Trace, Way, in_words, origin
from pricing.costing.explain.words import digits, in_formula, is_absent, is_settled, origin_in_words, singular, subject, unit_of
from pricing.costing.method.shown_measures import ShownMeasures

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing

#: Terms of a sum that are written out; the rest is counted.
_MOST_TERMS = 6

#: Constants that depend on the measures: as rules have them, and in gallons, the cubic foot of 1728 cubic inches, the gallon of 231.
_BY_MEASURES = {name: CONSTANTS[name].value for name in BY_MEASURES}
_IN_GALLONS = {"litres_per_cubic_metre": f"{1728 / 231:.4f}"}


def explain(costing: Costing, quote: str, line: int | None = None, figure: str = "unit_price") -> Trace:
    """The tree of a figure of a line, or of its quote: from the figure down to the cells of the price book.

    Parameters
    ----------
    costing : priced lines
    quote : number of the quote, in any letter case
    line : number of the line in its quote, counted from 1; the first where None
    figure : a column of the lines or of the quotes: its name, its name in the JSON object, or its label. What both have
        (``net``, ``cost``, ``margin``) is the line's where a line is named, otherwise the quote's

    Problems raised: ExplainError where there is no such quote, line or figure.
    """
    name = known_quote(quote, costing.quotes)
    rows = costing.lines_of(name)
    if line is not None and not 1 <= line <= len(rows):
        held = "1 line" if len(rows) == 1 else f"{len(rows)} lines"
        raise ExplainError(f"quote {name} has {held}; there is no line {line}")
    table, column = named_figure(costing.model, figure, of_line=line is not None)
    row = rows[(line or 1) - 1] if table == "lines" else costing.lines.quotes.index(name)
    return Explainer(costing).trace(table, column, row)


#: How a figure is made, by the kind of its column.
_KINDS: dict[type, Kind] = {
    Computed: "worked out", Lookup: "fetched", Sum: "summed", Largest: "summed", ByWord: "picked", Band: "banded", Rank: "ranked",
}


class _WorkedOut:
    """How a rule makes a figure; it is put into words when it is asked for.

    Parameters
    ----------
    algebra, here : of the rule, and without what is settled
    children : its inputs
    currency : of amounts
    """

    def __init__(self, algebra: Expression, here: Expression, children: tuple[Trace, ...], currency: str) -> None:
        self.children = children
        self.hidden = frozenset(child.name for child in children) - frozenset(here.names())
        self._algebra, self._here, self._currency = algebra, here, currency

    @cached_property
    def _labels(self) -> dict[str, str]:
        return {**_IN_GALLONS, **{child.name: in_words(child.label) for child in self.children}}

    @cached_property
    def _values(self) -> dict[str, float]:
        return {**_BY_MEASURES, **{child.name: child.value for child in self.children}}

    @cached_property
    def words(self) -> str:
        return self._here.worded(self._labels.__getitem__)

    @cached_property
    def rule(self) -> str:
        return self._algebra.worded(self._labels.__getitem__)

    @cached_property
    def numbers(self) -> str:
        way = taken(self._here, self._values)
        powered = raised(way)
        figures = {**_IN_GALLONS, **{c.name: in_formula(c, self._currency, apart=c.name in powered) for c in self.children}}
        return way.worded(figures.__getitem__)

    @cached_property
    def unused(self) -> frozenset[str]:
        return frozenset(child.name for child in self.children) - frozenset(decisive(self._algebra, self._values))


class Explainer:
    """Makes the trees of one costing; each figure once."""

    def __init__(self, costing: Costing) -> None:
        self.costing = costing
        self.model = costing.model
        self.currency = costing.currency
        self.measures = ShownMeasures.of(costing.book, costing.model.tables)
        self._made: dict[tuple[str, int, str], Trace] = {}
        self._children: dict[tuple[str, str, str], dict[int, list[int]]] = {}

    def trace(self, table: str, name: str, row: int) -> Trace:
        """The tree of one figure of the model, its row counted from 0."""
        key = (table, row, name)
        if key not in self._made:
            self._made[key] = self._make(table, name, row)
        return self._made[key]

    def _make(self, table: str, name: str, row: int) -> Trace:
        column, rows = self.model.column(table, name), self.model.tables[table]
        value, quantity = float(self.costing.values.value(table, name)[row]), self.measures.quantity(name)
        tell = functools.partial(self._told, rows, column or name, value, row)
        if column is None or isinstance(column, Input) or is_absent(rows, row):
            place = rows.place(name, row) if isinstance(column, Input) else ""
            kind: Kind = "setting" if table == SETTINGS else "typed"
            make = functools.partial(self._given, table, name, row, place)
        else:
            place, kind, make = "", _KINDS[type(column)], functools.partial(self._way, table, column, row)
        return Trace(name, quantity.label, quantity.meaning, value, kind, place, table, row, tell, make)

    def _told(self, rows: Rows, column: Column | str, value: float, row: int) -> Told:
        name = column if isinstance(column, str) else column.name
        told = self.measures.figure(rows, column, value, row)
        unit = unit_of(rows, row, name, self.currency, self.measures)
        shown = digits(told, self.measures.quantity(name), unit, self.currency)
        return Told(subject(rows, row), singular(unit) if shown == "1" else unit, shown, told)

    def _given(self, table: str, name: str, row: int, place: str) -> Way:
        """How a figure came that no rule made."""
        if since := since_of(self.costing.book, place):
            return KnownWay(f"holds from {since}")
        rows, shown = self.model.tables[table], self.trace(table, name, row).shown
        blank = bool(place) and self._blank(place)
        return KnownWay(origin_in_words(rows, row, name, place, blank=blank, shown=shown, measures=self.measures))

    def is_settled(self, trace: Trace) -> bool:
        """True where a figure is fixed by what its row is, so that formulas are told without it."""
        made = origin(trace)
        return is_settled(made, self.model.column(made.table, made.name))

    def _way(self, table: str, column: Column, row: int) -> Way:
        """How a figure is made."""
        match column:
            case Computed(rule):
                return self._computed(expression_of(rule, named=self.measures.american), table, row)
            case Lookup():
                index = int(self.model.lookup(table, column.key, column.table).rows[row])
                child = self.trace(*self._at(column.table, column.column, index))
                words = f"{in_words(child.label)} of {child.of}"
                return KnownWay(words, child.amount, words, (child,))
            case Sum():
                return self._summed(table, column, row)
            case Largest():
                return self._largest(table, column, row)
            case ByWord():
                word = str(self.model.tables[table].text[column.which][row])
                index = int(self.model.lookup(table, column.key, column.table).rows[row])
                child = self.trace(column.table, dict(column.columns)[word], index)
                words = f'{in_words(child.label)} of {child.of}, as it is counted by "{self.measures.unit(word)}"'
                return KnownWay(words, child.amount, words, (child,))
            case Band():
                return self._banded(table, column, row)
            case Rank():
                return self._ranked(table, column, row)
        raise TypeError(f"{column} is not made of anything")

    def _at(self, group: str, name: str, index: int) -> tuple[str, str, int]:
        table, row = self.model.locate(group, index)
        return table, name, row

    def _computed(self, algebra: Expression, table: str, row: int) -> Way:
        children = [self.trace(home, name, 0 if home == SETTINGS else row)
                    for name in algebra.names() if name not in BY_MEASURES for home in [self.model.home(table, name)]]
        here = simplified(algebra, {child.name: child.value for child in children if self.is_settled(child)})
        return _WorkedOut(algebra, here, tuple(children), self.currency)

    def _summed(self, table: str, column: Sum, row: int) -> Way:
        children = [self.trace(column.table, column.column, child) for child in self._rows_of(table, column).get(row, [])]
        spec = self.model.tables[column.table].spec
        one, several = (called or spec.name for called in spec.called)
        summand = in_words(self.measures.quantity(column.column).label)
        words = f"sum of {summand} over {len(children) or 'no'} {one if len(children) == 1 else several}"
        terms = sorted((child for child in children if child.value), key=lambda child: -abs(child.value))
        written = [in_formula(child, self.currency) for child in terms[:_MOST_TERMS]]
        if len(terms) > _MOST_TERMS:
            written.append(f"{len(terms) - _MOST_TERMS} smaller")
        if len(terms) < len(children):
            written.append(f"{len(children) - len(terms)} of zero")
        if children and not terms:
            words += ", each zero"
        return KnownWay(words, " + ".join(written) or "0", words, tuple(children))

    def _largest(self, table: str, column: Largest, row: int) -> Way:
        children = [self.trace(column.table, column.column, child) for child in self._rows_of(table, column).get(row, [])]
        above = [child for child in children if child.value > 0]
        words = f"largest {in_words(self.measures.quantity(column.column).label)} of {len(children)} {column.table}"
        if not above:
            return KnownWay(f"{words}, none above 0", "0", words, tuple(children))
        found = max(above, key=lambda child: child.value)
        return KnownWay(words, found.amount, words, (found,))

    def _ranked(self, table: str, column: Rank, row: int) -> Way:
        groups = self.model.tables[table].given[column.by]
        children = [self.trace(table, column.column, other) for other in np.flatnonzero(groups == groups[row]).tolist()]
        words = f"how many {in_words(self.measures.quantity(column.column).label)} come before it, the largest first"
        return KnownWay(words, ", ".join(in_formula(child, self.currency) for child in children), words, tuple(children))

    def _rows_of(self, table: str, column: Sum | Largest) -> dict[int, list[int]]:
        wanted = (column.table, column.by, table)
        if wanted not in self._children:
            found: dict[int, list[int]] = {}
            for child, parent in enumerate(self.model.lookup(column.table, column.by, table).rows.tolist()):
                found.setdefault(parent, []).append(child)
            self._children[wanted] = found
        return self._children[wanted]

    def _banded(self, table: str, column: Band, row: int) -> Way:
        measured = self.trace(table, column.value, row)
        group = self.model.tables[table].text[column.key][row]
        band = int(self.costing.values.band_rows(table, column)[row])
        summand, limit = in_words(self.measures.quantity(column.column).label), in_words(self.measures.quantity(column.limit).label)
        if band < 0:
            words = f"no band of zone {group} holds {in_words(measured.label)}"
            return KnownWay(words, measured.amount, words, (measured,))
        found, upper = self.trace(column.table, column.column, band), self.trace(column.table, column.limit, band)
        if is_absent(self.model.tables[column.table], band):
            words = f"no zone is named, so that the {summand} is {found.amount}"
            return KnownWay(words, found.amount, words, (measured, upper, found),
                       frozenset({measured.name, upper.name}), frozenset({measured.name, upper.name, found.name}))
        words = f"{summand} of the lowest band of zone {group} that holds {in_words(measured.label)}"
        return KnownWay(words, f"{measured.amount} is {limit} {upper.amount}: {found.amount}", words, (measured, upper, found))

    def _blank(self, place: str) -> bool:
        """True where a cell of the price book that has a meaning all the same holds nothing."""
        sheet, _, cell = place.partition("!")
        letters = cell.rstrip("0123456789")
        table = self.costing.book.tables[sheet]
        column = next((name for name, found in table.letters.items() if found == letters), None)
        where = np.flatnonzero(table.rows == int(cell[len(letters):]))
        if column is None or not len(where):
            return False
        held: Any = table.columns[column][where[0]]
        return bool(held == "" or held != held)
