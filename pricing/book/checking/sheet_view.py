"""A sheet's table together with a reporter that speaks of its cells."""

from __future__ import annotations

from typing import Any

from pricing.book.declared.column import SheetDeclaration
from pricing.book.declared.sheets import SHEETS
from pricing.book.price_book import PriceBook, SheetTable
from pricing.book.wording.reporter import Reporter
from pricing.problems import Problems


class SheetView:
    """A sheet as the checks look at it.

    Parameters
    ----------
    book : the price book
    problems : where problems go
    sheet : declared name of the sheet
    """

    def __init__(self, book: PriceBook, problems: Problems, sheet: str) -> None:
        self.table: SheetTable = book.tables[sheet]
        self.declared: SheetDeclaration = next(declared for declared in SHEETS if declared.name == sheet)
        self._lists: dict[str, list[Any]] = {}
        self._reporter = Reporter(problems, self.table.sheet_as_written)
        self.near = self._reporter.near
        written = self.table.sheet_as_written
        #: Cells that are wrong in themselves: what follows from that is not told again.
        self._wrong = problems.wrong_cells(written) - {""}

    def report(self, code: str, column: str, index: int, *, warning: bool = False, **words: object) -> None:
        """Report at a row's cell, unless it is wrong in itself; at the first cell where there is no such column."""
        cell = self.table.cell(column, index)
        if cell in self._wrong:
            return
        name = self.declared.columns[0].name
        together = "" if warning or column in self.table.letters else (
            f'rows need the column "{self.declared.column(column).heading}", which this sheet has not; add it, or look at the headings'
        )
        self._reporter.report(
            code, cell or self.table.cell(name, index), warning=warning, together=together, short=str(self.texts(name)[index]), **words
        )

    def is_wrong(self, column: str, index: int) -> bool:
        """Whether a row's cell is wrong in itself, and told already."""
        return self.table.cell(column, index) in self._wrong

    def texts(self, column: str) -> list[str]:
        """A text column as a list, made once."""
        return self._listed(column)

    def numbers(self, column: str) -> list[float]:
        """A number column as a list, made once."""
        return self._listed(column)

    def _listed(self, column: str) -> list[Any]:
        if column not in self._lists:
            self._lists[column] = self.table[column].tolist()
        return self._lists[column]
