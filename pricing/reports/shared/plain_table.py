"""Plain tables on a sheet: headings with units and notes, typed cells, live formulas with their true results."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest
from typing import Any

from xlsxwriter.utility import xl_col_to_name

from pricing.reports.shared.cells import (
    BESIDE,
    Cell,
    Formula,
    Shown,
    TableColumn,
    longest_word,
    text_of,
    width_of,
    write_cell,
    write_note,
)
from pricing.reports.shared.styles import NORMAL, SMALL, Styles
from pricing.xlsx.writing.text_width import PADDING, line_height, wrapped

#: What stays free above and below the headings of a table [points].
_ROOM = 4.0


class PlainTable:
    """A table at a place on a sheet, each column as wide as the longest of what stands in it.

    Parameters
    ----------
    sheet : an xlsxwriter worksheet
    styles : the workbook's formats
    top : row of the headings, counted from 1; the content stands below
    columns : from the left
    """

    def __init__(self, sheet: Any, styles: Styles, top: int, columns: Sequence[TableColumn]) -> None:
        self.sheet = sheet
        self.styles = styles
        self.top = top
        self.columns = tuple(columns)
        self.widths = [
            max(column.width, round(longest_word(column.heading, SMALL, bold=True)) + PADDING + BESIDE) for column in columns
        ]

    def headings(self) -> None:
        """Write the row of headings with its notes."""
        lines = 1
        for at, column in enumerate(self.columns):
            style = self.styles.get("heading", align="left", indent=1 if at else 0) if column.is_text else self.styles.get("heading right")
            write_cell(self.sheet, self.top - 1, at, column.heading, style)
            if column.note:
                write_note(self.sheet, self.top - 1, at, column.note)
            lines = max(lines, len(wrapped(column.heading, self.widths[at], SMALL, True)))
        self.sheet.set_row(self.top - 1, line_height(SMALL) * lines + _ROOM)

    def row(self, number: int, cells: Sequence[Cell], role: str = "") -> None:
        """Write a row.

        Parameters
        ----------
        number : of the row, counted from 0 below the headings
        cells : one for each column
        role : of all its cells, such as ``total``; each column's own where empty
        """
        at = self.top + number
        lines = 1
        for column, (declared, cell) in enumerate(zip(self.columns, cells, strict=True)):
            style = self._style(declared, cell, role, 1 if column else 0)
            write_cell(self.sheet, at, column, cell, style)
            needed = min(width_of(cell, declared.number, style), max(declared.widest, declared.width))
            self.widths[column] = max(self.widths[column], needed)
            if isinstance(cell, str):
                lines = max(lines, len(wrapped(text_of(cell, ""), max(declared.widest, declared.width), NORMAL)))
        if lines > 1:
            self.sheet.set_row(at, line_height(NORMAL) * lines)

    def _style(self, declared: TableColumn, cell: Cell, role: str, indent: int) -> Any:
        if declared.is_text and not isinstance(cell, Formula):
            return self.styles.get(role or "text wrapped", align="left", valign="vcenter", text_wrap=not role, indent=indent)
        number = cell.number if isinstance(cell, Shown) else declared.number
        if declared.is_text:
            return self.styles.get(role or declared.role, number, align="left", indent=indent)
        return self.styles.get(role or declared.role, number, align="right")

    def cell(self, column: int, number: int, *, fixed: bool = False) -> str:
        """The cell of a column in a row counted from 0."""
        sign = "$" if fixed else ""
        return f"{sign}{xl_col_to_name(column)}{sign}{self.top + number + 1}"

    def range(self, column: int, count: int, sheet: str = "") -> str:
        """The cells of a column in the first rows, fixed, with the sheet where it is named."""
        letter = xl_col_to_name(column)
        where = f"${letter}${self.top + 1}:${letter}${self.top + max(count, 1)}"
        return f"'{sheet}'!{where}" if sheet else where

    def row_range(self, first: int, last: int, number: int) -> str:
        """The cells of some columns in a row counted from 0, fixed; of the headings where that is -1."""
        return f"{self.cell(first, number, fixed=True)}:{self.cell(last, number, fixed=True)}"


def settle(sheet: Any, *tables: PlainTable) -> list[int]:
    """Give every column of a sheet the width of the longest of what stands in it, over all tables that share it; the widths [pixels]."""
    shared = [max(widths) for widths in zip_longest(*(table.widths for table in tables), fillvalue=0)]
    set_widths(sheet, shared)
    return shared


def set_widths(sheet: Any, widths: Sequence[int]) -> None:
    """Set the widths of the first columns of a sheet [pixels]."""
    for column, width in enumerate(widths):
        sheet.set_column_pixels(column, column, width)
