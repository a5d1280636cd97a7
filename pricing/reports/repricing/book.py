"""The repricing workbook while it is written: what its sheets share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from pricing.algebra.expressions import Expression, evaluate, expression_of
from pricing.reports.shared.cells import Formula, TableColumn
from pricing.reports.shared.plain_table import PlainTable
from pricing.reports.shared.report_book import House, ReportBook
from pricing.repricing.changes import Repricing
from pricing.rules import prices

FRONT, LIST, QUOTED, ORDERED, WHY_COST, WHY_PRICE, HISTORY = (
    "Repricing", "List", "Quotes", "Ordered", "Why the cost", "Why the price", "History",
)

#: Where the lowest margin stands, on the first sheet.
LOWEST = "$B$5"

#: Row of the headings of the tables on the sheets after the first.
TOP = 5

#: Rows with fewer of which a sheet would print a page that is nearly empty: it is for the screen then.
FEWEST_ROWS = 12

BELOW = '"below lowest";;'


def formula_of(rule: Callable[..., Any], values: dict[str, tuple[str, float]]) -> Formula:
    """The formula of a rule over cells, with its result; each value is a cell and what stands in it."""
    algebra: Expression = expression_of(rule)
    text = algebra.formula({name: values[name][0] for name in algebra.names()})
    with np.errstate(divide="ignore", invalid="ignore"):  # what a rule does not choose may be no number
        return Formula(text, float(evaluate(rule, {name: np.float64(figure) for name, (_, figure) in values.items()})))


class RepricingBook(ReportBook):
    """One repricing workbook while it is written."""

    def __init__(self, repricing: Repricing, path: Path) -> None:
        super().__init__(str(path), House.of(repricing.book, spelled=True))
        self.repricing = repricing
        self.tables: dict[str, PlainTable] = {}

    def column(self, heading: str, note: str = "", role: str = "working", *, number: str = "") -> TableColumn:
        """A column of amounts, or of figures in another format."""
        return TableColumn(heading if number else f"{heading}\n{self.currency}", number or self.money, role, note)

    def share(self, heading: str, note: str = "", role: str = "working") -> TableColumn:
        """A column of percentages."""
        return TableColumn(heading, "0.0%", role, note)

    def flag(self, margin_cell: str, margin: float) -> Formula:
        """1 where a margin is below the lowest."""
        lowest = (f"{FRONT}!{LOWEST}", self.repricing.lowest_margin)
        return formula_of(prices.below_lowest, {"discounted_margin": (margin_cell, margin), "lowest_margin": lowest})
