"""What a price book gives a lowest and a highest plausible figure for: pack prices, minutes and rejects.

The figure that the book counts with is taken as the likeliest. One cell of the book is one uncertain figure, wherever it
is used: dear cement is dear in every mix. Figures of different cells are taken as independent of each other.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import PriceBook, SheetTable
from pricing.costing.analysis.estimates import draw_pert, draw_triangular
from pricing.costing.analysis.movable_inputs import MOST_REJECTS, material_rows
from pricing.costing.engine.model import Model
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.lines.order_lines import OrderLines, place_of
from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.text import fold

#: The forms that draws can take.
FORMS = {"pert": draw_pert, "triangular": draw_triangular}


@dataclass(frozen=True, eq=False)
class Uncertain:
    """One uncertain figure.

    Parameters
    ----------
    name : as the maker knows it: ``White cement``, ``Slab: Grind``, ``Shelf 800``
    quantity : its name in the glossary: ``pack_price``, ``minutes`` or ``rejects``
    place : where the likeliest figure stands in the price book; where its bounds stand, if the sheet lacks it
    low, likeliest, high : in the unit of the glossary
    cells : table, column and rows of the model in which it stands
    """

    name: str
    quantity: str
    place: str
    low: float
    likeliest: float
    high: float
    cells: tuple[tuple[str, str, NDArray[np.intp]], ...]

    def draws(self, count: int, seed: int, form: str = "pert") -> Floats:
        """Random figures; the same for the same seed, form and figure, whatever else is uncertain.

        Parameters
        ----------
        form : ``pert`` or ``triangular``
        """
        own = zlib.crc32(f"{self.quantity}|{fold(self.name)}|{self.place}".encode())
        mixed = int(np.random.SeedSequence([seed, own]).generate_state(1)[0])
        return FORMS[form](self.low, self.likeliest, self.high, count, mixed)


class _Bounds:
    """Reads Low and High of one sheet, and reports what does not hold together."""

    def __init__(self, table: SheetTable, column: str, problems: Problems, words: str) -> None:
        self.table = table
        self.column = column
        self.problems = problems
        self.words = words
        blank = np.full(len(table), np.nan)
        self.low, self.high = (table.columns.get(name, blank).astype(np.float64) for name in ("low", "high"))

    def of(self, row: int, likeliest: float) -> tuple[float, float] | None:
        """Low and High of a row; None where there is nothing uncertain, or where they do not hold together."""
        low, high = float(self.low[row]), float(self.high[row])
        if np.isnan(low) and np.isnan(high):
            return None
        if np.isnan(low) or np.isnan(high):
            given, lacking = ("High", "Low") if np.isnan(low) else ("Low", "High")
            self._report("half-a-range", row, given, f"{given} is given but {lacking} is not, so {self.words} is taken as certain; "
                         f"fill in {lacking} too")
            return None
        if not low <= likeliest <= high:
            self._report("range-misses", row, "Low", f"{self.words} is {likeliest:g}, which does not lie between Low {low:g} and "
                         f"High {high:g}, so it is taken as certain; correct one of the three")
            return None
        return (low, high) if low < high else None

    def _report(self, code: str, row: int, column: str, message: str) -> None:
        cell = self.table.cell(column.casefold(), row)
        name = self.table.columns[next(iter(self.table.columns))][row]
        self.problems.add(code, f'"{name}": {message}', sheet=self.table.sheet, cell=cell, warning=True)

    def place(self, row: int) -> str:
        """Where the figure stands, or its lower bound where the sheet has no such column."""
        return place_of(self.table, self.column, row) or place_of(self.table, "low", row)


def uncertain_figures(book: PriceBook, lines: OrderLines, model: Model, problems: Problems) -> tuple[Uncertain, ...]:
    """Every uncertain figure that the lines hang on.

    Parameters
    ----------
    problems : collects, as warnings, bounds that do not hold together: ``half-a-range``, ``range-misses``
    """
    return (*_prices(book, model, problems), *_minutes(book, model, problems), *_rejects(book, lines, model, problems))


def _prices(book: PriceBook, model: Model, problems: Problems) -> Sequence[Uncertain]:
    table = book.tables["Materials"]
    bounds = _Bounds(table, "pack_price", problems, "the pack price")
    found = []
    for name, stands in material_rows(book, model).items():
        for row in dict.fromkeys(row for _, _, row in stands):
            likeliest = float(table.columns["pack_price"][row])
            range_ = bounds.of(row, likeliest)
            if range_:
                cells = tuple(
                    (at, "pack_price", np.array([here for t, here, r in stands if t == at and r == row], dtype=np.intp))
                    for at in dict.fromkeys(t for t, _, r in stands if r == row)
                )
                found.append(Uncertain(name, "pack_price", bounds.place(row), range_[0], likeliest, range_[1], cells))
    return found


def _minutes(book: PriceBook, model: Model, problems: Problems) -> Sequence[Uncertain]:
    table, steps = book.tables["Labour"], model.tables["plan steps"]
    bounds = _Bounds(table, "minutes", problems, "the time of the step")
    where = {place_of(table, "minutes", row): row for row in range(len(table))}
    of_step = np.array([where.get(steps.place("minutes", step), -1) for step in range(steps.count)], dtype=np.intp)
    found = []
    for row, steps_of_row in _grouped(of_step):
        likeliest = float(table.columns["minutes"][row])
        range_ = bounds.of(row, likeliest)
        if range_:
            name = f"{table.columns['labour_plan'][row]}: {table.columns['step'][row]}"
            cells = (("plan steps", "minutes", steps_of_row),)
            found.append(Uncertain(name, "minutes", bounds.place(row), range_[0], likeliest, range_[1], cells))
    return found


def _rejects(book: PriceBook, lines: OrderLines, model: Model, problems: Problems) -> Sequence[Uncertain]:
    table = book.tables["Products"]
    bounds = _Bounds(table, "rejects", problems, "the share of rejects")
    rejects = model.tables["lines"].given["rejects"]
    found = []
    for row, chosen in _grouped(lines.product):
        likeliest = float(rejects[chosen[0]])
        range_ = bounds.of(row, likeliest)
        if range_:
            low, high = (min(bound, MOST_REJECTS) for bound in range_)
            cells = (("lines", "rejects", chosen),)
            found.append(Uncertain(str(table.columns["product"][row]), "rejects", bounds.place(row), low, likeliest, high, cells))
    return found


def _grouped(rows: NDArray[np.intp]) -> list[tuple[int, NDArray[np.intp]]]:
    """For each row of the price book that is named, in its order, the positions that name it."""
    order = np.argsort(rows, kind="stable")
    starts = np.flatnonzero(np.r_[True, np.diff(rows[order]) > 0]) if len(rows) else np.zeros(0, dtype=np.intp)
    return [(int(rows[part[0]]), part) for part in np.split(order, starts[1:]) if len(part) and rows[part[0]] >= 0]
