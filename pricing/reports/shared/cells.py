"""What stands in a cell of a table, the column that it stands in, how it is written, and how much room it takes."""

from __future__ import annotations

import datetime
from typing import Any, TypeAlias

from pricing.dataclass import dataclass
from pricing.reports.shared.styles import SMALL
from pricing.xlsx.writing.safe_text import clean_text, stored_result
from pricing.xlsx.writing.text_width import PADDING, text_width

#: What an indent of one step takes of a cell, and what stays free beside a figure [pixels].
INDENT, BESIDE = 9, 8


@dataclass(frozen=True, slots=True)
class Formula:
    """A live formula, without its equals sign, and the result that it has."""

    text: str
    result: float | str


@dataclass(frozen=True, slots=True)
class Shown:
    """A number with a format of its own, where the figures of a column are of several kinds."""

    value: float
    number: str


#: What stands in a cell; None leaves it empty.
Cell: TypeAlias = str | float | datetime.date | Formula | Shown | None


@dataclass(frozen=True, slots=True)
class TableColumn:
    """A column of a table.

    Parameters
    ----------
    heading : label, and on a second line the unit
    number : format of its figures; empty for words
    role : of its cells (see styles); headings of figures stand to the right
    note : explains the heading
    width : at least so wide [pixels]
    widest : never wider where it is as wide as what stands in it; longer text is wrapped [pixels]
    left : True where figures that show as words stand to the left
    """

    heading: str
    number: str = ""
    role: str = "working"
    note: str = ""
    width: int = 61
    widest: int = 243
    left: bool = False

    @property
    def is_text(self) -> bool:
        """True where words stand in it."""
        return self.left or not self.number


def write_cell(sheet: Any, row: int, column: int, cell: Cell, style: Any) -> None:
    """Write what stands in a cell, its row and column counted from 0; text as it is, and never as a formula."""
    match cell:
        case None:
            sheet.write_blank(row, column, None, style)
        case str():
            sheet.write_string(row, column, clean_text(cell), style)
        case Formula():
            sheet.write_formula(row, column, f"={cell.text}", style, stored_result(cell.result))
        case datetime.date():
            sheet.write_datetime(row, column, datetime.datetime.combine(cell, datetime.time()), style)
        case Shown():
            sheet.write_number(row, column, cell.value, style)
        case _:
            sheet.write_number(row, column, float(cell), style)


def write_note(sheet: Any, row: int, column: int, note: str) -> None:
    """Explain a cell by a note, its box as large as the note needs."""
    size = {"x_scale": 1.6, "y_scale": 0.8 + note.count("\n") * 0.3 + len(note) / 160, "font_size": SMALL}
    sheet.write_comment(row, column, clean_text(note), size)


def text_of(cell: Cell, number: str) -> str:
    """What a cell shows.

    Parameters
    ----------
    number : its format, where it holds a figure or a day

    >>> text_of(0.125, "0.0%"), text_of(1234.5, "#,##0.00"), text_of(datetime.date(2026, 3, 2), "d mmm yyyy")
    ('12.5%', '1,234.50', '28 Sep 2026')
    """
    value = cell.result if isinstance(cell, Formula) else cell.value if isinstance(cell, Shown) else cell
    number = cell.number if isinstance(cell, Shown) else number
    if value is None:
        return ""
    if isinstance(value, str):
        return clean_text(value)
    if isinstance(value, datetime.date):  # the widest that a day can be
        parts = (("yyyy", "2026"), ("ddd", "Wed"), ("mmm", "Sep"), ("mm", "09"), ("d", "28"))
        for part, widest in parts:
            number = number.replace(part, widest)
        return number
    first = number.partition(";")[0]
    places = sum(letter == "0" for letter in first.partition(".")[2])
    percent = "%" in first
    return f"{value * (100 if percent else 1):{'+' if '+' in first else ''},.{places}f}{'%' if percent else ''}"


def width_of(cell: Cell, number: str, style: Any) -> int:
    """Width of a cell that shows all of what stands in it, in its style [pixels]."""
    lines = text_of(cell, number).split("\n")
    widest = max(text_width(line, style.font_size, bool(style.bold)) for line in lines)
    return round(widest + PADDING + (INDENT * style.indent if style.indent else 0) + (0 if isinstance(cell, str) else BESIDE))


def longest_word(text: str, size: float, *, bold: bool = False) -> float:
    """Width of the longest word of a text [pixels]."""
    return max((text_width(word, size, bold) for word in text.split()), default=0.0)
