"""The page of a quote while it is set: rows from top to bottom, each as high as its text needs.

Only typed methods write into cells, and no cell is written twice: what was overwritten would stay in the file.
"""

from __future__ import annotations

import datetime
import io
import operator
from collections.abc import Callable, Sequence
from dataclasses import field
from typing import Any

from xlsxwriter.utility import xl_col_to_name

from pricing.dataclass import dataclass
from pricing.reports.shared.paging import ROOM_FILLED, ROOM_STEPS, divided
from pricing.reports.shared.plain_table import set_widths
from pricing.reports.shared.styles import NORMAL, SMALL, Styles
from pricing.xlsx.writing.safe_text import CELL_LIMIT, ESCAPE, shortened, utf16_units
from pricing.xlsx.writing.text_width import line_height, text_width, wrapped

#: Columns of the page: number, sketch, description in two, weight, quantity, unit price, net [pixels].
NUMBER, SKETCH, PIECE, PIECE_TOO, WEIGHT, QUANTITY, PRICE, NET = range(8)
WIDTHS = (28, 216, 130, 96, 64, 58, 84, 90)
LAST = NET

#: The highest that a spreadsheet's row may be, and what stays free above and below its text [points].
HIGHEST_ROW, ROOM = 409.0, 3.0

#: Height of a row for which none is set [points].
DEFAULT_ROW = 15.0

#: A text of more lines than this goes on in the next row.
MOST_LINES = 12


class Kept:
    """A sheet that keeps what is to be written, for a page that is measured before it is clear whether it is written so.

    >>> kept, written = Kept(), []
    >>> kept.append("a")
    >>> kept.put_on(written)
    >>> written
    ['a']
    """

    def __init__(self) -> None:
        self.asked: list[Callable[[Any], object]] = []

    def __getattr__(self, name: str) -> Any:
        return lambda *given, **named: self.asked.append(operator.methodcaller(name, *given, **named))

    def put_on(self, sheet: Any) -> None:
        """Write what was kept."""
        for ask in self.asked:
            ask(sheet)


@dataclass
class Page:
    """A sheet that is written from top to bottom.

    Parameters
    ----------
    sheet : an xlsxwriter worksheet
    styles : the workbook's formats
    widths : of the columns [pixels]
    row : the row being written, counted from 0
    heights : of the rows [points]
    openings : rows with which a new page begins whatever room there is
    pictures : False where the room for pictures stays empty
    language_mark : of its number formats; empty where they say no language
    """

    sheet: Any
    styles: Styles
    widths: tuple[int, ...] = WIDTHS
    row: int = 0
    heights: dict[int, float] = field(default_factory=dict)
    openings: list[int] = field(default_factory=list)
    pictures: bool = True
    language_mark: str = ""

    def width(self, first: int, last: int) -> int:
        """Width of some columns together [pixels]."""
        return sum(self.widths[first : last + 1])

    def blank(self) -> Page:
        """An empty page with the same columns that is not written, to find out how high something is."""
        return Page(Kept(), self.styles, self.widths)

    @property
    def used(self) -> float:
        """Height of the rows since the last opening [points]."""
        opening = self.openings[-1] if self.openings else 0
        return sum(self.heights.get(row, DEFAULT_ROW) for row in range(opening, self.row))

    def begin_page(self) -> None:
        """Go on at the top of a new page."""
        self.openings.append(self.row)
        self.sheet.set_h_pagebreaks(self.openings)

    def need(self, height: float, row: int | None = None) -> None:
        """Make a row at least so high [points]."""
        place = self.row if row is None else row
        self.heights[place] = min(max(self.heights.get(place, 0.0), height), HIGHEST_ROW)

    def next_row(self) -> None:
        """Go on below the row being written."""
        self.row += 1

    def gap(self, height: float) -> None:
        """Leave the row empty, so high [points], and go on below."""
        self.need(height)
        self.row += 1

    def text(self, text: str, first: int, last: int, role: str, *, most: int = MOST_LINES, **more: Any) -> list[str]:
        """Write text across columns of the row and make it high enough.

        Returns what did not fit into one row, which has so many lines at most: the lines that have to go on below.
        """
        style = self.styles.get(role, **more)
        size, bold = style.font_size, bool(style.bold)
        lines = wrapped(text, self.width(first, last), size, bold)
        kept, rest = lines, []
        if len(lines) > most:
            kept, rest = lines[:most], lines[most:]
            text = "\n".join(kept)
        self._span(first, last, style)
        self.sheet.write_string(self.row, first, shortened(text, CELL_LIMIT), style)
        self.need(len(kept) * line_height(size) + ROOM)
        return rest

    def paragraph(self, text: str, first: int, last: int, role: str, **more: Any) -> None:
        """Write text across columns, in as many rows as it takes, and go on below."""
        rest = self.text(text, first, last, role, **more)
        self.next_row()
        while rest:
            rest = self.text("\n".join(rest), first, last, role, **more)
            self.next_row()

    def rich(self, parts: Sequence[tuple[str, dict[str, Any]]], first: int, last: int, role: str, height: float, **more: Any) -> None:
        """Write text in several styles, each part with the properties in which it differs, into a row at least so high."""
        style = self.styles.get(role, **more)
        self._span(first, last, style)
        if len(parts) == 1:
            self.sheet.write_string(self.row, first, shortened(parts[0][0], CELL_LIMIT), self.styles.get(role, **more, **parts[0][1]))
        else:
            self.sheet.write_rich_string(self.row, first, *self._pieces(parts), style)
        self.need(height)

    def height(self, first: int, end: int) -> float:
        """Height of the rows from one up to another [points]."""
        return sum(self.heights.get(row, DEFAULT_ROW) for row in range(first, end))

    def beside(self, parts: Sequence[tuple[str, dict[str, Any]]], row: int, end: int, first: int, last: int) -> None:
        """Write text in several styles across columns, and across rows that are written already, from one up to another."""
        style = self.styles.get("text wrapped")
        self.sheet.merge_range(row, first, end - 1, last, "", style)
        self.sheet.write_rich_string(row, first, *self._pieces(parts), style)

    def _pieces(self, parts: Sequence[tuple[str, dict[str, Any]]]) -> list[Any]:
        """Parts as the library takes them, together not longer than a cell holds.

        A text such as ``_x0041_`` is set in two pieces, because the library would escape it twice.
        """
        pieces: list[Any] = []
        room = CELL_LIMIT
        for text, own in parts:
            kept = shortened(text, room) if room > 0 else ""
            room -= utf16_units(kept)
            for piece in ESCAPE.sub("_\0", kept).split("\0") if kept else ():
                pieces += [self.styles.get("text", **own), piece]
        return pieces

    def titled(self, title: str, text: str, first: int, last: int) -> None:
        """Write a text behind its title in bold, and go on below."""
        lines = wrapped(f"{title} {text}", self.width(first, last), SMALL)
        parts = [(title, {"font_size": SMALL, "bold": True}), (f" {text}", {"font_size": SMALL})]
        self.rich(parts, first, last, "text wrapped", len(lines) * line_height(SMALL) + ROOM, font_size=SMALL)
        self.next_row()

    def _spoken(self, number: str) -> str:
        """A number format that says its language, so that a page is printed with the separators of its language."""
        if not self.language_mark:
            return number
        return ";".join(self.language_mark + each for each in number.split(";"))

    def number(self, value: float, column: int, role: str, number: str, first: int | None = None, **more: Any) -> None:
        """Write a number, into the first of the columns where it has several."""
        style = self.styles.get(role, self._spoken(number), **more)
        start = column if first is None else first
        self._span(start, column, style)
        self.sheet.write_number(self.row, start, value, style)

    def formula(self, formula: str, value: float, column: int, role: str, number: str, first: int | None = None, **more: Any) -> str:
        """Write a live formula with its true result; returns the cell."""
        style = self.styles.get(role, self._spoken(number), **more)
        start = column if first is None else first
        self._span(start, column, style)
        self.sheet.write_formula(self.row, start, formula, style, value)
        return self.cell(start)

    def day(self, day: datetime.date, first: int, last: int, number: str, **more: Any) -> None:
        """Write a date across columns of the row."""
        style = self.styles.get("text", number, **more)
        self._span(first, last, style)
        self.sheet.write_datetime(self.row, first, datetime.datetime.combine(day, datetime.time()), style)

    def picture(self, picture: Callable[[], bytes], column: int, described: str, scale: float, row: int | None = None) -> None:
        """Set a PNG picture into a cell of the row, described for those who cannot see it; it is made only where the page is written."""
        row = self.row if row is None else row

        def insert(sheet: Any) -> None:
            sheet.insert_image(row, column, "sketch.png", {
                "image_data": io.BytesIO(picture()), "description": described, "x_scale": scale, "y_scale": scale, "x_offset": 2,
                "y_offset": 4, "object_position": 1,
            })

        if not self.pictures:
            return
        if isinstance(self.sheet, Kept):
            self.sheet.asked.append(insert)
        else:
            insert(self.sheet)

    def empty(self, first: int, last: int, role: str, **more: Any) -> None:
        """Style cells that hold nothing, for the rule below or above them."""
        style = self.styles.get(role, **more)
        for column in range(first, last + 1):
            self.sheet.write_blank(self.row, column, None, style)

    def cell(self, column: int, row: int | None = None) -> str:
        """The address of a cell of the row."""
        return f"{xl_col_to_name(column)}{(self.row if row is None else row) + 1}"

    def keep_together(self, first: int, end: int, room: float, repeated: float = 0.0) -> None:
        """Begin a new page with a row where the rows from it up to another would otherwise be divided between two pages.

        Parameters
        ----------
        first, end : the first of the rows, and the one below the last; no earlier than those of the call before
        room : what a page has between its margins, as :func:`page_room` has it [points]
        repeated : height of the row that heads every further page [points]
        """
        heights = [self.heights.get(row, DEFAULT_ROW) for row in range(end)]
        least, most = (room * share for share in ROOM_FILLED)
        if sum(heights[first:]) > least - repeated or (not self.openings and sum(heights) <= least):
            return
        opening = self.openings[-1] if self.openings else 0
        rooms = [least + (most - least) * step / ROOM_STEPS for step in range(ROOM_STEPS + 1)]
        if any(divided(heights[opening:], first - opening, each, repeated, repeated if opening else 0.0) for each in rooms):
            self.openings.append(first)
            self.sheet.set_h_pagebreaks(self.openings)

    def finish(self) -> None:
        """Set widths and heights."""
        set_widths(self.sheet, self.widths)
        for row, height in sorted(self.heights.items()):
            self.sheet.set_row(row, height)
        self.sheet.print_area(0, 0, max(self.row, 1) - 1, len(self.widths) - 1)

    def _span(self, first: int, last: int, style: Any) -> None:
        if last > first:
            self.sheet.merge_range(self.row, first, self.row, last, "", style)


def widened(widths: tuple[int, ...], column: int, texts: list[str], bold: bool = False) -> tuple[int, ...]:
    """The widths with a column wide enough for its longest figure, so that none turns into a row of hashes."""
    needed = max((text_width(text, NORMAL, bold) for text in texts), default=0.0) + 14
    return (*widths[:column], max(widths[column], round(needed)), *widths[column + 1 :])


