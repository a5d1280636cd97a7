"""A sheet of tables in the margin workbook, written cell by cell: text, live formulas, and figures that do not follow.

A figure that was worked out when the workbook was written, and does not follow what is changed in it, is set in italics.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from pricing.reports.margin.book import MarginBook
from pricing.reports.shared.cells import longest_word, width_of, write_note
from pricing.reports.shared.formulas import quoted
from pricing.reports.shared.paging import ROOM_FILLED, fullest_page, page_openings, page_room, widest_page
from pricing.reports.shared.report_book import ROW
from pricing.reports.shared.styles import NORMAL, SMALL
from pricing.xlsx.writing.safe_text import clean_text, stored_result
from pricing.xlsx.writing.text_width import PADDING, fitting, line_height, wrapped

#: What names leave of the room of a page [pixels].
_KEPT_FREE = 12

#: Change of a margin, in points of a hundred.
POINTS = "[>=0.05]+0.0;[<=-0.05]-0.0;0.0"

ITALIC = "Italic: worked out when this workbook was written; it does not follow what is changed here."


class MarginSheet:
    """One sheet while it is written.

    Parameters
    ----------
    margin : the workbook that it belongs to; the sheet is added where it is not there yet
    widths : of its columns, at least [pixels]
    screen : True where it does not print
    repeat : the row that heads every further page, counted from 1
    """

    def __init__(
        self, margin: MarginBook, name: str, title: str, widths: Sequence[int], *, screen: bool = False, repeat: int | None = None
    ) -> None:
        self.margin, self.costing = margin, margin.costing
        self.name, self.screen = name, screen
        self.sheet = margin.open_sheet(name, title, screen=screen, repeat=repeat)
        self.money = margin.money
        self.widths = list(widths)
        self._wishes: dict[str, int] = {}
        self.heights: dict[int, float] = {0: 26.0}
        self._tables: list[int] = []
        self._figures: dict[tuple[str, Any, str], tuple[float, float]] = {}

    def style(self, role: str, number: str = "", **more: Any) -> Any:
        """A format of the workbook."""
        return self.margin.styles.get(role, number, **more)

    def text(self, cell: str, text: str, role: str = "text", *, fits: bool = False, **more: Any) -> None:
        """Write words, as they are; the column is made wide enough where they have to fit."""
        words, style = clean_text(text), self.style(role, **more)
        self.sheet.write_string(cell, words, style)
        if fits:
            self.at_least(cell.rstrip("0123456789"), width_of(words, "", style))

    def live(self, cell: str, formula: str, result: float, number: str, role: str = "working") -> None:
        """Write a formula, without its equals sign, and the figure that it gives."""
        style = self.style(role, number, align="right")
        self.sheet.write_formula(cell, f"={formula}", style, float(result))
        self._note_figure(cell, style, number, float(result))

    def of_model(self, cell: str, formula: str, result: float, name: str, role: str = "working") -> None:
        """Write a formula that gives a quantity of the model, formatted as the model has it.

        Parameters
        ----------
        result : in the unit of the glossary
        """
        style, shown = self.margin.blocks.number_style(name, role), float(result) * self.margin.measures.factor(name)
        self.sheet.write_formula(cell, f"={formula}", style, shown)
        self._note_figure(cell, style, style.num_format, shown)

    def live_text(self, cell: str, formula: str, result: str, role: str = "text", **more: Any) -> None:
        """Write a formula that gives words."""
        self.sheet.write_formula(cell, f"={formula}", self.style(role, **more), stored_result(result))

    def typed(self, cell: str, figure: float, number: str, missing: str = "", *, italic: bool = True) -> None:
        """Write a figure that does not follow; words in its place where there is none."""
        style = self.style("working", number, align="right", italic=italic)
        if np.isfinite(figure):
            self.sheet.write_number(cell, float(figure), style)
            self._note_figure(cell, style, number, float(figure))
        else:
            self.sheet.write_string(cell, missing, style)

    def headings(self, row: int, title: str, columns: Sequence[tuple[str, str, str]], *, words: str = "AB") -> None:
        """A table's title in row - 1 and its headings in *row*, each with a note where it has one.

        Parameters
        ----------
        columns : letter, heading, note
        words : letters of the columns that hold words
        """
        said = self.margin.measures.said
        title, columns = said(title), [(letter, said(heading), said(note)) for letter, heading, note in columns]
        self._tables.append(row - 2)
        self.text(f"A{row - 1}", title, "text bold")
        letters = [letter for letter, _, _ in columns]
        for between in map(chr, range(ord("A"), ord(max(letters)))):
            if between not in letters:  # the rule below the headings has no gaps
                self.sheet.write_blank(f"{between}{row}", None, self.style("heading"))
        lines = 1
        for letter, heading, note in columns:
            place = ord(letter) - ord("A")
            self.at_least(letter, round(longest_word(heading, SMALL, bold=True)) + PADDING + 3)
            lines = max(lines, len(wrapped(heading, self.widths[place], SMALL, True)))
            indent = 2 if letter > "B" else 0  # words behind figures keep clear of them
            role = self.style("heading", align="left", indent=indent) if letter in words else self.style("heading right")
            self.sheet.write_string(row - 1, place, heading, role)
            if note and not self.margin.bare:
                write_note(self.sheet, row - 1, place, note)
        self.height(row - 1, line_height(SMALL) * lines + 3)

    def height(self, row: int, height: float) -> None:
        """Make a row so high, counted from 0 [points]."""
        self.heights[row] = height
        self.sheet.set_row(row, height)

    def _note_figure(self, cell: str, style: Any, number: str, figure: float) -> None:
        """Remember the least and the largest figure of a column in a style: its width follows."""
        key = cell.rstrip("0123456789"), style, number
        low, high = self._figures.get(key, (figure, figure))
        self._figures[key] = min(low, figure), max(high, figure)

    def at_least(self, letter: str, width: int) -> None:
        """Make a column at least so wide [pixels]."""
        place = ord(letter) - ord("A")
        self.widths[place] = max(self.widths[place], width)

    def wish(self, letter: str, width: int) -> None:
        """Make a column so wide, as far as the page has room for it as it lies [pixels]."""
        self._wishes[letter] = width

    @property
    def spare(self) -> int:
        """What names may take of the page as it lies, with some left for figures that are wider than their columns [pixels]."""
        across = sum(self.widths) > widest_page(self.margin.paper)
        return max(0, int(widest_page(self.margin.paper, landscape=across)) - sum(self.widths) - _KEPT_FREE)

    def finish(self, end: int) -> None:
        """Make the columns as wide as their figures, and say what prints: no table is divided that a page can hold.

        Parameters
        ----------
        end : the row below everything, counted from 0
        """
        for (letter, style, number), ends in self._figures.items():
            for figure in ends:
                self.at_least(letter, width_of(figure, number, style))
        for letter, width in self._wishes.items():
            across = sum(self.widths) > widest_page(self.margin.paper)
            spare = int(widest_page(self.margin.paper, landscape=across)) - sum(self.widths)
            place = ord(letter) - ord("A")
            self.widths[place] += max(0, min(width - self.widths[place], spare))
        across = self.margin.fit(self.sheet, self.widths)
        if self.screen:
            return
        self.sheet.print_area(0, 0, end - 1, len(self.widths) - 1)
        if not across and sum(self.heights.get(row, ROW) for row in range(end)) <= fullest_page(self.margin.paper):
            self.sheet.fit_to_pages(1, 1)
            return
        starts = [0, *(row for row in sorted(self._tables) if row < end)]
        room = page_room(self.margin.paper, self.widths, across)
        self.sheet.set_h_pagebreaks(page_openings(self.heights, ROW, list(zip(starts, [*starts[1:], end], strict=True)), room))

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
        for letter, name in (("A", "quote"), ("B", "product")):
            self.text(f"{letter}{row}", fitting(str(text[name][line]), self.widths[ord(letter) - ord("A")] - PADDING, NORMAL))

    def holds(self, rows: int) -> bool:
        """Whether a page surely holds so many rows in type that can be read."""
        return rows * ROW <= fullest_page(self.margin.paper) * ROOM_FILLED[0]
