"""Rows of the margin workbook: how many the lines of a quote take on each sheet, and a worksheet that drops none.

The library that writes workbooks leaves out, without a word, whatever lies below the last row of a sheet.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NoReturn

import numpy as np
from numpy.typing import NDArray

from pricing.problems import PricingError
from pricing.xlsx.writing.workbook import PlainWorksheet

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing

#: Rows of a sheet. Source: ECMA-376 part 1, 18.3.1.73 names rows by number and sets no end; what the common spreadsheet
#: programs have is common practice, no source.
ROWS_OF_A_SHEET = 1_048_576

#: Rows that each line takes, on the sheet on which lines alone take most: effects, break-even and other quantities, on
#: the sheet of sensitivities.
ROWS_OF_A_LINE = 3

#: Tables of which a line may have any number of rows, by the sheet on which they stand.
GROWING: tuple[tuple[str, tuple[str, ...]], ...] = (("Labour", ("steps",)), ("Finish and extras", ("finishes", "extras")))


class RowsError(PricingError):
    """Raised where a margin workbook would need more rows than a sheet has; its text is a sentence with the remedy."""

    code = "too-many-rows"
    sheet = "Enquiries"


class WholeWorksheet(PlainWorksheet):
    """A worksheet that holds what is written into it, or says that it cannot."""

    def _out_of_reach(self, row: int, col: int) -> NoReturn:
        """Say that a cell lies beyond the sheet.

        Problems raised: RowsError.
        """
        raise RowsError(
            f'the sheet "{self.name}" of a margin workbook would need a cell in row {row + 1:,}, column {col + 1:,}, where no '
            "sheet reaches, so that workbook is not written; name fewer quotes in a run (--quote), and report this sentence"
        )


def rows_of_quotes(costing: Costing) -> dict[str, NDArray[np.intp]]:
    """How many rows the lines of each quote take, on each sheet on which they may take most.

    What a quote does not bring by itself (its customer, its mixes and their prices) is not counted.

    Returns
    -------
    by sheet an array of shape (quotes,) [rows]
    """
    numbers = (costing.line("quote_number") - 1).astype(np.intp)
    quotes, lines = len(costing.quotes), len(numbers)
    counted = {"Sensitivity": ROWS_OF_A_LINE * np.bincount(numbers, minlength=quotes)}
    for sheet, tables in GROWING:
        of_line = [np.bincount((costing.values.value(table, "line") - 1).astype(np.intp), minlength=lines) for table in tables]
        made = np.zeros(quotes, dtype=np.intp)
        np.add.at(made, numbers, np.sum(of_line, axis=0))
        counted[sheet] = made
    return counted
