"""Variants priced on arrays: a part of a catalogue of any size at a time.

Each variant is an order of its own, as a product of a price list is, by the same model and the same rules as a quote.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pricing.algebra import expressions
from pricing.arrays import distinct
from pricing.book.checking.shapes import board_of
from pricing.book.price_book import PriceBook
from pricing.book.services import product_count
from pricing.book.wording.sentences import near_matches
from pricing.costing.catalogue.variants import DATE, FACTOR, PRODUCT, QUANTITY, Columns, VariantError
from pricing.costing.engine.columns import Text
from pricing.costing.engine.packed_columns import DictionaryColumn, Floats, Places, TextColumns
from pricing.costing.lines.line_pieces import LinePieces
from pricing.costing.lines.order_lines import OrderLines, list_lines
from pricing.costing.method import declared
from pricing.costing.moulds.costed import costed
from pricing.costing.moulds.price_rises import price_rises
from pricing.problems import Problems
from pricing.rules.shapes import SHAPES
from pricing.text import fold

#: What is told of a variant where nothing else is asked for.
FIGURES = ("mass", "unit_cost", "unit_price", "discounted_margin", "labour_hours")

#: Every figure that can be told of a variant.
ALL_FIGURES = tuple(column.name for column in declared.LINES.columns if not isinstance(column, Text))

#: Sheet, name and figure that a factor stands for.
_FACTORS = {"price": ("Materials", "material", "pack_price"), "wage": ("Trades", "trade", "hourly_cost")}

_PLAN_SHEETS = {"mix": "Mixes", "mould_plan": "Moulds", "labour_plan": "Labour", "finish": "Finishes"}


class Pricer:
    """Prices variants of the products of one price book.

    Parameters
    ----------
    book : the price book
    day : whose prices hold for variants without a day of their own
    figures : columns of the lines that are wanted
    """

    def __init__(self, book: PriceBook, day: datetime.date, figures: Sequence[str] = FIGURES) -> None:
        self.book = book
        self.day = np.datetime64(day, "D")
        self.figures = tuple(figures)
        self._listed = list_lines(book, day)
        self._count = product_count(book)
        self._names = {
            plan: {"": "", **{fold(name): name for name in dict.fromkeys(book.tables[sheet].columns[plan].tolist())}}
            for plan, sheet in _PLAN_SHEETS.items()
        }

    @cached_property
    def _products(self) -> dict[str, int]:
        names = self.book.tables["Products"].columns["product"][: self._count].tolist()
        return {fold(name): row for row, name in enumerate(names)}

    def _product_row(self, name: str) -> int:
        """The row of a product, however it is spelled; -1 where there is none."""
        row = self.book.tables["Products"].row_of("product").get(name, -1)
        return row if 0 <= row < self._count else self._products.get(fold(name), -1)

    def priced(self, variants: Columns) -> dict[str, Floats]:
        """The figures of some variants.

        Parameters
        ----------
        variants : columns of the same length

        Returns
        -------
        by figure, in the unit of the glossary; nan where a piece cannot exist with such dimensions, or has no cost

        Problems raised: VariantError where a variant names what is not in the price book, or a price is missing.
        """
        return self.priced_together(variants, 1)[0]

    def priced_together(self, variants: Columns, together: int) -> tuple[dict[str, Floats], DictionaryColumn]:
        """The figures of some variants, and why one of them is dearer each than fewer of it; blank where it is not.

        Parameters
        ----------
        together : rows of a variant, which stand one after another and differ in their quantity alone

        Returns and problems raised: as of :meth:`priced`.
        """
        lines = self._lines(variants)
        found = {name: np.full(len(lines), np.nan) for name in self.figures}
        reasons = np.full(len(lines), "", dtype=object)
        sound = self._possible(lines)
        for book, rows in self._scenarios(variants, len(lines)):
            problems = Problems(book.file)
            ordered = lines if len(rows) == len(lines) else lines.taken(rows)
            costing = costed(book, ordered, problems)
            if problems.errors:
                raise VariantError(str(problems.errors[0]))
            whole = np.isfinite(costing.line("unit_cost")) & np.isfinite(costing.line("unit_price")) & sound[rows]
            for name, column in found.items():
                column[rows] = np.where(whole, costing.line(name), np.nan)
            for rise in price_rises(costing, together) if together > 1 else ():
                row = rise.line * together + rise.place
                reasons[rows[row]] = rise.because if whole[row] else ""
        return found, DictionaryColumn.of(reasons)

    def _lines(self, variants: Columns) -> OrderLines:
        lines = self._listed.taken(self._product_rows(variants[PRODUCT]))
        count = len(lines)
        overrides = np.zeros(count, dtype=np.bool_)
        plans, dimensions = dict(lines.plans.kept), dict(lines.dimensions)
        for name in (name for name in plans if name in variants):
            both = lines.plans.words(name).followed_by(self._plan_words(name, variants[name]))
            listed, own = both.codes[:count], both.codes[count:]
            stands = np.array([word != "" for word in both.words])[own]
            overrides |= stands & (own != listed)
            plans[name] = DictionaryColumn(np.where(stands, own, listed), both.words)
        for name in (name for name in dimensions if name in variants):
            given = np.asarray(variants[name], dtype=np.float64)
            overrides |= ~np.isnan(given) & (given != dimensions[name])
            dimensions[name] = np.where(np.isnan(given), dimensions[name], given)
        nowhere = Places([""], [np.broadcast_to(np.int64(0), count)])
        return replace(
            lines, day=self._days(variants, count), quantity=self._quantities(variants, count), plans=TextColumns(plans),
            dimensions=dimensions, given_price=np.where(overrides, np.nan, lines.given_price), overrides=overrides,
            places=dict.fromkeys(lines.places, nowhere), order=np.arange(count),
        )

    def _product_rows(self, column: object) -> NDArray[np.intp]:
        words = column if isinstance(column, DictionaryColumn) else DictionaryColumn.of(np.asarray(column, dtype=object))
        rows = np.array([self._product_row(str(word)) for word in words.words], dtype=np.intp)
        for code in np.flatnonzero(rows < 0).tolist():
            if (words.codes == code).any():
                raise VariantError(_unknown(str(words.words[code]), "product", self.book.tables["Products"].columns["product"].tolist()))
        return rows[words.codes]

    def _plan_words(self, plan: str, column: object) -> DictionaryColumn:
        words = column if isinstance(column, DictionaryColumn) else DictionaryColumn.of(np.asarray(column, dtype=object))
        known = self._names[plan]
        for word in words.words:
            if fold(str(word or "")) not in known:
                raise VariantError(_unknown(str(word), plan.replace("_", " "), list(known.values())))
        return DictionaryColumn(words.codes, [known[fold(str(word or ""))] for word in words.words])

    def _days(self, variants: Columns, count: int) -> NDArray[np.datetime64]:
        if DATE not in variants:
            return np.full(count, self.day)
        days = np.asarray(variants[DATE]).astype("datetime64[D]")
        return np.where(np.isnat(days), self.day, days)

    def _quantities(self, variants: Columns, count: int) -> Floats:
        quantity = np.asarray(variants[QUANTITY], dtype=np.float64) if QUANTITY in variants else np.ones(count)
        quantity = np.where(np.isnan(quantity), 1.0, quantity)
        if not ((quantity >= 1) & (quantity <= 1e6) & (quantity == np.floor(quantity))).all():
            odd = quantity[~((quantity >= 1) & (quantity <= 1e6) & (quantity == np.floor(quantity)))][0]
            raise VariantError(f"a quantity of {odd:g} is no number of pieces; whole numbers from 1 to 1,000,000 are")
        return quantity

    def _scenarios(self, variants: Columns, count: int) -> Iterator[tuple[PriceBook, NDArray[np.intp]]]:
        """The price book of each combination of factors, and the variants at those prices."""
        factors = {name: np.asarray(column, dtype=np.float64) for name, column in variants.items() if FACTOR.fullmatch(name)}
        if not factors:
            yield self.book, np.arange(count, dtype=np.intp)
            return
        table = np.column_stack([np.where(np.isnan(column), 1.0, column) for column in factors.values()])
        if not ((table > 0) & (table < 1000)).all():
            odd = table[~((table > 0) & (table < 1000))][0]
            raise VariantError(f"a factor of {odd:g} on a price is not meant; 1.1 makes it a tenth dearer")
        which = np.zeros(count, dtype=np.intp)
        for column in table.T:
            values, codes = np.unique(column, return_inverse=True)
            which = which * len(values) + codes
        _, first, which = np.unique(which, return_index=True, return_inverse=True)
        for number, combination in enumerate(table[first].tolist()):
            yield self._at(dict(zip(factors, combination, strict=True))), np.flatnonzero(which == number)

    def _at(self, factors: Mapping[str, float]) -> PriceBook:
        """The price book with some prices and wages multiplied."""
        tables = dict(self.book.tables)
        for name, factor in factors.items():
            found = FACTOR.fullmatch(name)
            assert found is not None
            sheet, key, column = _FACTORS[found[1]]
            table = tables[sheet]
            rows = table.columns[key] == found[2]
            figures = np.where(rows, table.columns[column] * factor, table.columns[column])
            tables[sheet] = replace(table, columns={**table.columns, column: figures})
        return replace(self.book, tables=tables)

    def _possible(self, lines: OrderLines) -> NDArray[np.bool_]:
        """Which pieces can exist with their dimensions, by the limits of their shapes."""
        possible, pieces = np.ones(len(lines), dtype=np.bool_), LinePieces(self.book, lines)
        shapes = self.book.tables["Products"].words("shape").taken(lines.product)
        plans = lines.plans.words("mould_plan")
        board = board_of(self.book, list(plans.words))[plans.codes]
        for code in distinct(shapes.codes).tolist():
            rows, shape = np.flatnonzero(shapes.codes == code), SHAPES[shapes.words[code]]
            dimensions = {**lines.sizes(shape, rows, blank=np.nan), **pieces.outline_figures(rows, shape.measured)}
            for sizes in dimensions.values():
                possible[rows] &= ~np.isnan(sizes)
            with np.errstate(all="ignore"):
                results = shape.take_off(dimensions, board[rows])
                for limit in shape.limits:
                    room = np.asarray(expressions.evaluate(limit.room, results), dtype=np.float64)
                    possible[rows] &= room > 1e-12 if limit.strict else room >= -1e-12
        return possible


def _unknown(name: str, what: str, known: Sequence[str]) -> str:
    near = near_matches(name, known, 1)
    remedy = f'is "{near[0]}" meant?' if near else "look at its spelling, or add it to the price book"
    return f'there is no {what} "{name}" in the price book; {remedy}'
