"""How a price book looks: one typeface, one accent colour, tinted cells for what may be filled in."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from pricing.book.declared.column import Column

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook

FONT = "Arial"
INK, QUIET, ACCENT, TINT, FRAME = "#333333", "#6B6B6B", "#1F4E5F", "#F3EFE6", "#D8D2C4"
#: Widths of the columns [characters].
NARROWEST, WIDEST = 9.0, 44.0


class Styles:
    """The formats of one workbook, each made once.

    Parameters
    ----------
    workbook : being written
    places : decimal places of its money
    day : number format of its days
    """

    def __init__(self, workbook: Workbook, places: int, day: str) -> None:
        self._workbook = workbook
        self._day = day
        self._places = places
        self._made: dict[tuple[tuple[str, Any], ...], Format] = {}
        workbook.formats[0].set_font_name(FONT)
        workbook.formats[0].set_font_size(10)
        self.text = self.made(align="left", indent=1)
        self.title = self.made(font_size=16, font_color=ACCENT)
        self.quiet = self.made(font_color=QUIET)
        self.quiet_wrapped = self.made(font_color=QUIET, text_wrap=True, indent=1)
        self.strong = self.made(bold=True, align="left", indent=1)
        heading: dict[str, Any] = {
            "bold": True,
            "font_color": ACCENT,
            "text_wrap": True,
            "valign": "top",
            "bottom": 1,
            "bottom_color": ACCENT,
        }
        self.heading = self.made(**heading, align="left", indent=1)
        # Figures have no indent: not every program sets it alike in a row of several number formats.
        self.heading_of_figures = self.made(**heading, align="right")

    def made(self, **properties: Any) -> Format:
        """A format in the book's typeface and colour."""
        whole = {"font_name": FONT, "font_size": 10, "font_color": INK, "valign": "vcenter", **properties}
        key = tuple(sorted(whole.items()))
        if key not in self._made:
            self._made[key] = self._workbook.add_format(whole)
        return self._made[key]

    def number_format(self, column: Column) -> str:
        """The number format of a column: money, percentages, days, figures.

        The decimals of a figure whose unit differs from row to row are left as typed.
        """
        if column.kind == "date":
            return self._day
        if column.kind == "percent":
            return "0%" if not column.decimals else "0." + "0" * column.decimals + "%"
        if column.kind != "number" or column.decimals is None:
            return "General"
        decimals = column.decimals
        if column.unit == "currency" and decimals == 2:
            decimals = self._places
        return "#,##0" + ("." + "0" * decimals if decimals else "")

    def _input(self, number_format: str, align: str) -> Format:
        wrapped = align == "left"
        return self.made(
            num_format=number_format,
            align=align,
            indent=int(wrapped),
            text_wrap=wrapped,
            bg_color=TINT,
            border=1,
            border_color=FRAME,
        )

    def input(self, column: Column, left: bool = False) -> Format:
        """A cell that may be filled in."""
        return self._input(self.number_format(column), "left" if left or not _is_figure(column) else "right")

    def figure(self, column: Column, share: bool, left: bool = False) -> Format:
        """A cell with a figure; a share in a column of amounts is shown as a percentage."""
        number_format = self.number_format(column)
        if column.unit_rule == "basis" and share:
            number_format = "0.0%"
        return self._input(number_format, "left" if left else "right")

    def beyond(self, column: Column) -> Format:
        """The cells below the tinted ones, so that what is typed there is shown in the same way."""
        figure = _is_figure(column)
        return self.made(num_format=self.number_format(column), align="right" if figure else "left", indent=int(not figure))


def _is_figure(column: Column) -> bool:
    return column.kind in ("number", "percent", "date")


def column_width(column: Column, values: Iterable[object]) -> float:
    """Width that fits the heading's longest word and the longest value [characters]."""
    words = column.headed().split()
    longest = max(len(word) for word in words) * 1.15 + 3
    texts = [len(value) for value in values if isinstance(value, str)]
    days = [12 for value in values if isinstance(value, datetime.date)]
    floor = column.width or NARROWEST
    return min(WIDEST, max(floor, longest, *texts, *days, 0) + 2)
