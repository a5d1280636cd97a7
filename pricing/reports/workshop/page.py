"""A page of the workshop workbook while it is set: an opening, tables with live figures, pictures, sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from xlsxwriter.utility import xl_col_to_name

from pricing.reports.shared.cells import Cell, Shown, TableColumn, write_cell, write_note
from pricing.reports.shared.flowing_page import Page
from pricing.reports.shared.paging import page_room
from pricing.reports.shared.report_book import NOTHING, SCREEN, ReportBook
from pricing.reports.shared.styles import HAIRLINE, set_page
from pricing.xlsx.writing.safe_text import clean_text

#: How dates are shown: with the year where it is not plain, otherwise without.
DAY, SHORT_DAY = "ddd d mmm yyyy", "ddd d mmm"

#: Lines of a cell at most: a row is no higher than that.
_MOST_LINES = 30

#: More places than this are no step of a scale, but one of another unit.
MOST_PLACES = 4


class WorkPage(Page):
    """A sheet of the workshop workbook.

    Parameters
    ----------
    book : the workbook; the sheet is added to it
    name : of the sheet
    columns : of its tables, each as wide as it is declared, so that a page is as wide as its columns
    more : further columns beside them [pixels]
    """

    def __init__(self, book: ReportBook, name: str, columns: Sequence[TableColumn], *more: int, landscape: bool = False) -> None:
        book.add_sheets([name])
        super().__init__(book.sheets[name], book.styles, (*(column.width for column in columns), *more))
        self.columns = tuple(columns)
        self.printed = True
        self.last = len(self.widths) - 1
        self.room = page_room(book.paper, self.widths, landscape)
        set_page(self.sheet, paper=book.paper, business=book.business, landscape=landscape)

    def opening(self, title: str, sentence: str, *notes: str) -> None:
        """The title, the sentence that matters, and what is said small below it."""
        self.text(clean_text(title), 0, self.last, "headline")
        self.next_row()
        self.paragraph(clean_text(sentence), 0, self.last, "sentence", text_wrap=True, valign="top", align="left")
        for note in notes:
            self.paragraph(note, 0, self.last, "note wrapped", align="left")
        self.gap(8)

    def only_on_screen(self) -> None:
        """Say that the page does not print, and print nothing of it."""
        self.sentence(SCREEN, "note wrapped")
        self.gap(6)
        self.printed = False

    def finish(self) -> None:
        """Set widths and heights, and what prints."""
        super().finish()
        if not self.printed:
            self.sheet.print_area(*NOTHING)

    def section(self, title: str) -> None:
        """A heading across the page."""
        self.text(clean_text(title), 0, self.last, "section", align="left")
        self.next_row()

    def sentence(self, text: str, role: str = "text wrapped") -> None:
        """A sentence across the page."""
        self.paragraph(clean_text(text), 0, self.last, role, align="left")

    def headings(self) -> int:
        """The headings of the table with their notes; returns the row of its first content, counted from 1."""
        for place, column in enumerate(self.columns):
            role = "heading right" if column.number else "heading"
            words: dict[str, Any] = {} if column.number else {"align": "left", "indent": self._indent(place)}
            self.text(column.heading, place, place, role, **words)
            if column.note:
                write_note(self.sheet, self.row, place, column.note)
        self.next_row()
        return self.row + 1

    def cells(self, cells: Sequence[Cell], *, role: str = "", roles: Mapping[int, str] | None = None, **more: Any) -> None:
        """A row of the table.

        Parameters
        ----------
        cells : one for each column
        role : of all its cells, such as ``total``; each column's own where empty
        roles : of some cells, by their place
        more : of the style of all its cells
        """
        rule: dict[str, Any] = {} if role else {"bottom": 4, "bottom_color": HAIRLINE}
        wanted = rule | more
        for place, (column, cell) in enumerate(zip(self.columns, cells, strict=True)):
            if isinstance(cell, str):
                words: dict[str, Any] = {"text_wrap": True, "valign": "vcenter", "align": "left", "indent": self._indent(place)} | wanted
                self.text(clean_text(cell), place, place, role or "text", most=_MOST_LINES, **words)
            elif cell is None:
                write_cell(self.sheet, self.row, place, None, self.styles.get(role or "text", **wanted))
            else:
                own = role or (roles or {}).get(place, column.role)
                number = cell.number if isinstance(cell, Shown) else column.number or DAY
                write_cell(self.sheet, self.row, place, cell, self.styles.get(own, number, align="right", **wanted))
        self.need(16.5)
        self.next_row()

    def _indent(self, place: int) -> int:
        """Words beside figures keep clear of them."""
        return int(place > 0 and bool(self.columns[place - 1].number) and not self.columns[place].number)

    def at(self, column: int, row: int) -> str:
        """The address of a cell, its row counted from 1."""
        return f"{xl_col_to_name(column)}{row}"

    def down(self, column: int, first: int, last: int) -> str:
        """The cells of a column from a row to another, counted from 1."""
        letter = xl_col_to_name(column)
        return f"{letter}{first}:{letter}{last}"


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
