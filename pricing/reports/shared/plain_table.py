"""Plain tables on a sheet: headings with units and notes, typed cells, live formulas with their true results."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

from xlsxwriter.utility import xl_col_to_name

from pricing.reports.shared.styles import Styles
from pricing.xlsx.writing.safe_text import clean_text, stored_result


@dataclass(frozen=True, slots=True)
class Formula:
    """A live formula, without its equals sign, and the result that it has."""

    text: str
    result: float | str


@dataclass(frozen=True, slots=True)
class Figure:
    """A number with a format of its own, where the figures of a column are of several kinds."""

    value: float
    number: str


#: What stands in a cell; None leaves it empty.
Cell: TypeAlias = str | float | datetime.date | Formula | Figure | None


@dataclass(frozen=True, slots=True)
class TableColumn:
    """A column of a table.

    Parameters
    ----------
    heading : label, and on a second line the unit
    number : format of its figures; empty for text
    role : of its cells (see styles); headings of figures stand to the right
    note : what explains the heading
    width : at least so wide [characters]
    widest : never wider; longer text is wrapped [characters]
    left : True where figures that show as words stand to the left
    """

    heading: str
    number: str = ""
    role: str = "working"
    note: str = ""
    width: float = 8.0
    widest: float = 34.0
    left: bool = False

    @property
    def is_text(self) -> bool:
        """True where words stand in it."""
        return self.left or not self.number


class PlainTable:
    """A table at a place on a sheet.

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
        self.widths = [max([column.width, *(len(word) + 1.5 for word in column.heading.split())]) for column in columns]

    def headings(self) -> None:
        """Write the row of headings with its notes."""
        lines = 1
        for at, column in enumerate(self.columns):
            style = self.styles.get("heading", align="left", indent=1 if at else 0) if column.is_text else self.styles.get("heading right")
            self.sheet.write_string(self.top - 1, at, clean_text(column.heading), style)
            if column.note:
                size = {"x_scale": 1.6, "y_scale": 0.6 + len(column.note) / 160, "font_size": 8}
                self.sheet.write_comment(self.top - 1, at, column.note, size)
            lines = max(lines, _lines(column.heading, self.widths[at] * 1.2))
        self.sheet.set_row(self.top - 1, 12 * lines + 6)

    def row(self, number: int, cells: Sequence[Cell], role: str = "") -> None:
        """Write a row.

        Parameters
        ----------
        number : of the row, counted from 0 below the headings
        cells : one for each column
        role : of all its cells, such as ``total``; each column's own where empty
        """
        at = self.top + number
        height = 1
        for column, (declared, cell) in enumerate(zip(self.columns, cells, strict=True)):
            style = self._style(declared, cell, role, 1 if column else 0)
            match cell:
                case None:
                    self.sheet.write_blank(at, column, None, style)
                case Formula():
                    self.sheet.write_formula(at, column, f"={cell.text}", style, stored_result(cell.result))
                case Figure():
                    self.sheet.write_number(at, column, cell.value, style)
                case str():
                    text = clean_text(cell)
                    self.sheet.write_string(at, column, text, style)
                    height = max(height, _lines(text, declared.widest))
                case datetime.date():
                    self.sheet.write_datetime(at, column, datetime.datetime.combine(cell, datetime.time()), style)
                case _:
                    self.sheet.write_number(at, column, float(cell), style)
            self.widths[column] = min(max(self.widths[column], _width(cell, declared)), max(declared.widest, declared.width))
        if height > 1:
            self.sheet.set_row(at, 13.5 * height)

    def _style(self, declared: TableColumn, cell: Cell, role: str, indent: int) -> Any:
        if declared.is_text and not isinstance(cell, Formula):
            return self.styles.get(role or "text wrapped", align="left", valign="vcenter", text_wrap=not role, indent=indent)
        number = cell.number if isinstance(cell, Figure) else declared.number
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

    def settle(self) -> None:
        """Give every column the width of its longest value."""
        for at, width in enumerate(self.widths):
            self.sheet.set_column(at, at, width)


def _width(cell: Cell, column: TableColumn) -> float:
    value = cell.result if isinstance(cell, Formula) else cell.value if isinstance(cell, Figure) else cell
    if value is None:
        return 0.0
    if isinstance(value, str):
        return max((len(line) * 1.02 + 2 for line in clean_text(value).split("\n")), default=0.0)
    if isinstance(value, datetime.date):
        return 12.0
    number = cell.number if isinstance(cell, Figure) else column.number
    decimals = number.partition(";")[0].partition(".")[2]
    places = sum(letter == "0" for letter in decimals)
    percent = "%" in number
    return len(f"{value * (100 if percent else 1):,.{places}f}") * 1.05 + (3.0 if percent else 2.0)


def _lines(text: str, width: float) -> int:
    """How many lines a text takes, broken between words."""
    lines = 0
    for part in text.split("\n"):
        room, lines = 0.0, lines + 1
        for word in part.split(" "):
            if room and room + len(word) > width:
                lines += 1
                room = 0.0
            room += len(word) + 1
    return lines
