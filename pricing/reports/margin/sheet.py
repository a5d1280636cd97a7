"""A sheet of tables in the margin workbook, written cell by cell: text, live formulas, and figures that do not follow.

A figure that was worked out when the workbook was written, and does not follow what is changed in it, is set in italics.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from xlsxwriter.utility import xl_cell_to_rowcol

from pricing.reports.margin.book import MarginBook
from pricing.reports.shared.cells import write_note
from pricing.reports.shared.formulas import quoted
from pricing.xlsx.writing.safe_text import clean_text, stored_result

#: Change of a margin, in points of a hundred.
POINTS = "[>=0.05]+0.0;[<=-0.05]-0.0;0.0"

ITALIC = "Italic: worked out when this workbook was written; it does not follow what is changed here."


class MarginSheet:
    """One sheet while it is written.

    Parameters
    ----------
    margin : the workbook that it belongs to; the sheet is added where it is not there yet
    """

    def __init__(self, margin: MarginBook, name: str, title: str) -> None:
        self.margin = margin
        self.costing = margin.costing
        self.name = name
        self.sheet = margin.open_sheet(name, title)
        self.money = margin.money

    def style(self, role: str, number: str = "", **more: Any) -> Any:
        """A format of the workbook."""
        return self.margin.styles.get(role, number, **more)

    def text(self, cell: str, text: str, role: str = "text", **more: Any) -> None:
        """Write words, as they are."""
        self.sheet.write_string(cell, clean_text(text), self.style(role, **more))

    def live(self, cell: str, formula: str, result: float, number: str, role: str = "working") -> None:
        """Write a formula, without its equals sign, and the figure that it gives."""
        self.sheet.write_formula(cell, f"={formula}", self.style(role, number, align="right"), float(result))

    def live_text(self, cell: str, formula: str, result: str, role: str = "text") -> None:
        """Write a formula that gives words."""
        self.sheet.write_formula(cell, f"={formula}", self.style(role), stored_result(result))

    def typed(self, cell: str, figure: float, number: str, missing: str = "", *, italic: bool = True) -> None:
        """Write a figure that does not follow; words in its place where there is none."""
        style = self.style("working", number, align="right", italic=italic)
        if np.isfinite(figure):
            self.sheet.write_number(cell, float(figure), style)
        else:
            self.sheet.write_string(cell, missing, style)

    def headings(self, row: int, title: str, columns: Sequence[tuple[str, str, str]], *, words: str = "AB") -> None:
        """A table's title in row - 1 and its headings in *row*, each with a note where it has one.

        Parameters
        ----------
        columns : letter, heading, note
        words : letters of the columns that hold words
        """
        self.text(f"A{row - 1}", title, "text bold")
        self.sheet.set_row(row - 1, 34)
        for letter, heading, note in columns:
            cell = f"{letter}{row}"
            role = self.style("heading", align="left", indent=int(letter > "B")) if letter in words else self.style("heading right")
            self.sheet.write_string(cell, heading, role)
            if note and not self.margin.bare:
                write_note(self.sheet, row - 1, xl_cell_to_rowcol(cell)[1], note)

    def line_cell(self, column: str, line: int) -> str:
        """The cell of a line's column in the build-up."""
        return self.cell("lines", column, line)

    def cell(self, table: str, column: str, row: int) -> str:
        """The cell of a table of the model, with its sheet."""
        block = self.margin.layout.blocks[table]
        return f"{quoted(block.sheet)}!{block.cell(column, row)}"

    def range(self, table: str, column: str) -> str:
        """All cells of a column of a table of the model."""
        return self.margin.layout.blocks[table].range(column)

    def line_names(self, row: int, line: int) -> None:
        """Quote and product of a line in columns A and B."""
        text = self.margin.model.tables["lines"].text
        self.text(f"A{row}", str(text["quote"][line]))
        self.text(f"B{row}", str(text["product"][line]))
