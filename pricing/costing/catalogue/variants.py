"""Variants of catalogue pieces: a table of them, or every combination of some sizes, mixes, finishes, quantities and prices.

A variant names a product of the price book and says what is different: dimensions, plans, quantity, day, and by what
factor a material's price or a trade's wage differs. However many there are, they are asked for part by part.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import PriceBook
from pricing.book.services import product_count
from pricing.book.wording.sentences import listed, near_matches
from pricing.costing.engine.packed_columns import DictionaryColumn
from pricing.costing.lines.order_lines import DIMENSIONS, PLANS
from pricing.problems import PricingError
from pricing.text import fold

#: A column of variants: words as codes, figures, or days.
VariantColumn: TypeAlias = DictionaryColumn | NDArray[Any]
Columns: TypeAlias = dict[str, VariantColumn]

PRODUCT, QUANTITY, DATE = "product", "quantity", "date"

#: What a column may be called that holds factors on a price or a wage.
FACTOR = re.compile(r"(price|wage) of (.+)", re.IGNORECASE)

#: Columns of words.
WORDS = (PRODUCT, *PLANS)


class VariantError(PricingError, ValueError):
    """Raised where variants cannot be priced; its text is a sentence with the remedy."""

    code = "variants"


class Variants(ABC):
    """Variants, counted from 0.

    Parameters
    ----------
    count : how many there are
    names : of the columns that say something of them
    """

    count: int
    names: tuple[str, ...]

    @abstractmethod
    def part(self, first: int, last: int) -> Columns:
        """The columns of the variants from *first* up to, but not, *last*."""

    def chunks(self, first: int, last: int, size: int) -> Iterator[tuple[int, Columns]]:
        """The same in smaller parts, each with the number of its first variant."""
        for start in range(first, last, size):
            yield start, self.part(start, min(start + size, last))

    def cuts(self, size: int) -> list[int]:
        """Where parts of about a size may begin, and the end."""
        return [*range(0, self.count, size), self.count]


class Products(Variants):
    """Every product of a price book as it stands."""

    names = (PRODUCT,)

    def __init__(self, book: PriceBook) -> None:
        self._products = book.tables["Products"].columns["product"][: product_count(book)]
        self._usual = book.tables["Products"].columns["usual_run"][: product_count(book)]
        self.count = len(self._products)

    def part(self, first: int, last: int) -> Columns:
        """Products by their names, at their usual run."""
        usual = self._usual[first:last]
        words = DictionaryColumn(np.arange(last - first, dtype=np.int32), self._products[first:last])
        return {PRODUCT: words, QUANTITY: np.where(np.isnan(usual), 1.0, usual)}


class Table(Variants):
    """Variants that stand in a table, one in each row."""

    def __init__(self, columns: Mapping[str, VariantColumn]) -> None:
        self.columns = dict(columns)
        self.names = tuple(columns)
        self.count = len(next(iter(columns.values()))) if columns else 0

    def part(self, first: int, last: int) -> Columns:
        """Some rows of the table."""
        return {name: _rows(column, slice(first, last)) for name, column in self.columns.items()}


class Grid(Variants):
    """Every combination of the values of some axes; prices and days change least often, quantities most often.

    >>> grid = Grid({"length": np.array([0.6, 0.9]), "quantity": np.array([1.0, 5.0, 10.0])})
    >>> grid.count, grid.part(4, 6)["length"].tolist(), grid.part(4, 6)["quantity"].tolist()
    (6, [0.9, 0.9], [5.0, 10.0])
    """

    def __init__(self, axes: Mapping[str, VariantColumn]) -> None:
        empty = [name for name, axis in axes.items() if not len(axis)]
        if empty:
            raise VariantError(f'the column "{empty[0]}" holds no value; fill it in or take it out')
        self.names = tuple(sorted(axes, key=_how_often))
        self.axes = {name: axes[name] for name in self.names}
        self.count = 1
        for axis in self.axes.values():
            self.count *= len(axis)

    def part(self, first: int, last: int) -> Columns:
        """The combinations of those numbers."""
        numbers = np.arange(first, last, dtype=np.int64)
        found: Columns = {}
        for name, axis in reversed(self.axes.items()):
            numbers, place = np.divmod(numbers, len(axis))
            found[name] = _rows(axis, place)
        return {name: found[name] for name in self.names}


class AtQuantities(Variants):
    """Each variant at each of some quantities, which stand together."""

    def __init__(self, variants: Variants, quantities: Sequence[float]) -> None:
        self._variants = variants
        self._quantities = np.asarray(quantities, dtype=np.float64)
        self.names = (*(name for name in variants.names if name != QUANTITY), QUANTITY)
        self.count = variants.count * len(quantities)

    def part(self, first: int, last: int) -> Columns:
        """The variants behind, repeated."""
        each = len(self._quantities)
        numbers = np.arange(first, last, dtype=np.int64)
        start = first // each
        behind = self._variants.part(start, -(-last // each))
        place = numbers // each - start
        return {**{name: _rows(column, place) for name, column in behind.items()}, QUANTITY: self._quantities[numbers % each]}


def _rows(column: VariantColumn, rows: Any) -> VariantColumn:
    return DictionaryColumn(column.codes[rows], column.words) if isinstance(column, DictionaryColumn) else column[rows]


def _how_often(name: str) -> int:
    """The order of axes: what is dearest to change comes first."""
    order = (DATE, PRODUCT, *PLANS)
    if FACTOR.fullmatch(name):
        return 0
    return 1 + order.index(name) if name in order else len(order) + 2 if name == QUANTITY else len(order) + 1


def known_columns(book: PriceBook) -> dict[str, str]:
    """What a column of variants may be called in a price book's words: from its folded heading to its name.

    The factors on prices and wages are called ``price of White cement`` and ``wage of Maker``.
    """
    names = [*WORDS, *DIMENSIONS, QUANTITY, DATE]
    found = {fold(name.replace("_", " ")): name for name in names} | {name: name for name in names}
    for sheet, column, kind in (("Materials", "material", "price"), ("Trades", "trade", "wage")):
        for name in dict.fromkeys(book.tables[sheet].columns[column].tolist()):
            found[fold(f"{kind} of {name}")] = f"{kind} of {name}"
    return found


def named_columns(headings: Sequence[str], book: PriceBook) -> list[str]:
    """The names of columns by their headings.

    Problems raised: VariantError for a heading that says nothing to the engine, or one that stands twice.
    """
    known = known_columns(book)
    names = []
    for heading in headings:
        name = known.get(fold(heading))
        if name is None:
            near = near_matches(heading, known, 1) or [f"{PRODUCT}, {listed(PLANS)}, the dimensions, {QUANTITY} or {DATE}"]
            raise VariantError(f'the column "{heading}" says nothing about a variant; name it {near[0]}, or take it out')
        if name in names:
            raise VariantError(f'the column "{heading}" stands twice; keep one of them')
        names.append(name)
    if PRODUCT not in names:
        raise VariantError(f"there is no column {PRODUCT}: each variant names a product of the price book")
    return names
