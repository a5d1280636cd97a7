"""A page of the workshop workbook while it is set: an opening, tables with live figures, pictures, sentences."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

from xlsxwriter.utility import xl_col_to_name

from pricing.reports.shared.flowing_page import Page, page_room
from pricing.reports.shared.styles import HAIRLINE, Styles, set_page
from pricing.xlsx.writing.safe_text import clean_text

#: How dates are shown: with the year where it is not plain, otherwise without.
DAY, SHORT_DAY = "ddd d mmm yyyy", "ddd d mmm"

#: More places than this are no step of a scale, but one of another unit.
MOST_PLACES = 4


@dataclass(frozen=True, slots=True)
class Formula:
    """A live formula, without its equals sign, and the result that it has."""

    text: str
    result: float


#: What stands in a cell; None leaves it empty.
Cell: TypeAlias = str | float | datetime.date | Formula | None


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Parameters
    ----------
    heading : label, and on a second line the unit
    number : format of its figures; empty for words
    role : of its figures (see styles)
    note : explains the heading
    """

    heading: str
    number: str = ""
    role: str = "working"
    note: str = ""


class WorkPage(Page):
    """A sheet of the workshop workbook.

    Parameters
    ----------
    book, styles : the workbook and its formats
    name : of the sheet
    widths : of the columns [pixels]
    paper, business : for the page set-up
    """

    def __init__(
        self, book: Any, styles: Styles, name: str, widths: Sequence[int], *, paper: str, business: str, landscape: bool = False
    ) -> None:
        super().__init__(book.add_worksheet(name), styles, tuple(widths))
        self.name = name
        self.last = len(self.widths) - 1
        self.room = page_room(paper, self.widths, landscape)
        set_page(self.sheet, paper=paper, business=business, landscape=landscape)

    def opening(self, title: str, sentence: str, *notes: str) -> None:
        """The title, the sentence that matters, and what is said small below it."""
        self.text(clean_text(title), 0, self.last, "headline")
        self.next_row()
        self.paragraph(clean_text(sentence), 0, self.last, "sentence", text_wrap=True, valign="top", align="left")
        for note in notes:
            self.paragraph(note, 0, self.last, "note wrapped", align="left")
        self.gap(8)

    def section(self, title: str) -> None:
        """A heading across the page."""
        self.text(clean_text(title), 0, self.last, "section", align="left")
        self.next_row()

    def sentence(self, text: str, role: str = "text wrapped") -> None:
        """A sentence across the page."""
        self.paragraph(clean_text(text), 0, self.last, role, align="left")

    def headings(self, columns: Sequence[Column], first: int = 0) -> int:
        """The headings of a table with their notes; returns the row of its first content, counted from 1."""
        for place, column in enumerate(columns):
            role = "heading right" if column.number else "heading"
            words = {} if column.number else {"align": "left", "indent": _indent(columns, place)}
            self.text(column.heading, place + first, place + first, role, **words)
            if column.note:
                size = {"x_scale": 1.6, "y_scale": 0.6 + len(column.note) / 160, "font_size": 8}
                self.sheet.write_comment(self.row, place + first, column.note, size)
        self.next_row()
        return self.row + 1

    def cells(self, columns: Sequence[Column], cells: Sequence[Cell], first: int = 0, *, role: str = "", **more: Any) -> None:
        """A row of a table.

        Parameters
        ----------
        columns, cells : one for each column
        role : of all its cells, such as ``total``; each column's own where empty
        """
        rule: dict[str, Any] = {} if role else {"bottom": 4, "bottom_color": HAIRLINE}
        wanted = rule | more
        for number, (column, cell) in enumerate(zip(columns, cells, strict=True)):
            place, own = number + first, role or column.role
            match cell:
                case None:
                    self.sheet.write_blank(self.row, place, None, self.styles.get(role or "text", **wanted))
                case str():
                    words = {"text_wrap": True, "valign": "vcenter", "align": "left", "indent": _indent(columns, number)} | wanted
                    self.text(clean_text(cell), place, place, role or "text", **words)
                case Formula():
                    self.formula(f"={cell.text}", cell.result, place, own, column.number, align="right", **wanted)
                case datetime.date():
                    style = self.styles.get(role or own, column.number or DAY, align="right", **wanted)
                    self.sheet.write_datetime(self.row, place, datetime.datetime.combine(cell, datetime.time()), style)
                case _:
                    self.number(float(cell), place, own, column.number, align="right", **wanted)
        self.need(16.5)
        self.next_row()

    def at(self, column: int, row: int) -> str:
        """The address of a cell, its row counted from 1."""
        return f"{xl_col_to_name(column)}{row}"

    def down(self, column: int, first: int, last: int) -> str:
        """The cells of a column from a row to another, counted from 1."""
        letter = xl_col_to_name(column)
        return f"{letter}{first}:{letter}{last}"

    def cell(self, column: int, row: int | None = None) -> str:
        """The address of a cell of the row being written, or of another, counted from 0."""
        return self.at(column, (self.row if row is None else row) + 1)

    def finish(self) -> None:
        """Set widths, heights and the area that is printed."""
        for column, width in enumerate(self.widths):
            self.sheet.set_column_pixels(column, column, width)
        for row, height in sorted(self.heights.items()):
            self.sheet.set_row(row, height)
        self.sheet.print_area(0, 0, max(self.row, 1) - 1, self.last)


def _indent(columns: Sequence[Column], place: int) -> int:
    """Words beside figures keep clear of them."""
    return int(place > 0 and bool(columns[place - 1].number) and not columns[place].number)


def decimals_of(step: float) -> str:
    """A number format that shows whole steps.

    >>> decimals_of(0.01), decimals_of(0.5), decimals_of(2.0), decimals_of(0.00907185)
    ('#,##0.00', '#,##0.0', '#,##0', '#,##0.000')
    """
    from decimal import Decimal

    exponent = Decimal(f"{step:.12g}").normalize().as_tuple().exponent
    places = max(0, -exponent) if isinstance(exponent, int) else 0
    places = places if places <= MOST_PLACES else 3
    return "#,##0." + "0" * places if places else "#,##0"
