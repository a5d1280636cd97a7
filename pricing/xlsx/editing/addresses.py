"""Where things stand in a sheet, what is to be written there, and why a write may be refused."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

LAST_ROW = 1_048_576
LAST_COLUMN = 16_384

_CELL = re.compile(r"\$?([A-Z]{1,3})\$?([1-9][0-9]{0,6})", re.IGNORECASE)
_COLUMNS = re.compile(r"\$?([A-Z]{1,3}):\$?([A-Z]{1,3})", re.IGNORECASE)
_ROWS = re.compile(r"\$?([1-9][0-9]{0,6}):\$?([1-9][0-9]{0,6})")


@dataclass(frozen=True, slots=True)
class CellWrite:
    """One value for one cell.

    Parameters
    ----------
    sheet : name of the sheet, in any letter case, such as ``"Products"``
    cell : where the value goes, such as ``"F14"``
    value : a number, a text, or None (as the empty text) to leave the cell empty with its format kept
    """

    sheet: str
    cell: str
    value: float | str | None


class RefusedError(Exception):
    """A write that is not made; carries the stable code, the sentence and the place of the problem."""

    def __init__(self, code: str, message: str, *, sheet: str = "", cell: str = "") -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.sheet = sheet
        self.cell = cell


class Area(NamedTuple):
    """A rectangle of cells; rows and columns count from one and both ends belong to it.

    >>> Area(2, 1, 4, 3).covers(4, 3), Area(2, 1, 4, 3).covers(5, 3)
    (True, False)
    """

    top: int
    left: int
    bottom: int
    right: int

    def covers(self, row: int, column: int) -> bool:
        """Whether the cell lies inside."""
        return self.top <= row <= self.bottom and self.left <= column <= self.right

    def meets(self, other: Area) -> bool:
        """Whether the two have a cell in common."""
        return (
            self.top <= other.bottom
            and other.top <= self.bottom
            and self.left <= other.right
            and other.left <= self.right
        )

    @property
    def size(self) -> int:
        """How many cells it has."""
        return (self.bottom - self.top + 1) * (self.right - self.left + 1)


@lru_cache(maxsize=LAST_COLUMN)
def column_number(letters: str) -> int:
    """The number of a column: 1 for A, 27 for AA."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def cell_name(row: int, column: int) -> str:
    """The name of a cell.

    >>> cell_name(14, 6), cell_name(1, 28)
    ('F14', 'AB1')
    """
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{row}"


def area_name(area: Area) -> str:
    """The name of an area: ``B2:C9``, or ``B2`` where it is one cell."""
    first, last = cell_name(area.top, area.left), cell_name(area.bottom, area.right)
    return first if first == last else f"{first}:{last}"


def cell_position(name: str) -> tuple[int, int] | None:
    """The row and column of a cell name, or None where it names no cell of a sheet.

    >>> cell_position("F14"), cell_position("XFE1")
    ((14, 6), None)
    """
    found = _CELL.fullmatch(name)
    if not found:
        return None
    row, column = int(found[2]), column_number(found[1])
    return (row, column) if row <= LAST_ROW and column <= LAST_COLUMN else None


def area_of(name: str) -> Area | None:
    """The area that a name such as ``B2:C9``, ``B2``, ``B:C`` or ``2:9`` stands for, or None.

    >>> area_of("B2:C9")
    Area(top=2, left=2, bottom=9, right=3)
    """
    if found := _COLUMNS.fullmatch(name):
        left, right = sorted((column_number(found[1]), column_number(found[2])))
        return Area(1, left, LAST_ROW, right) if right <= LAST_COLUMN else None
    if found := _ROWS.fullmatch(name):
        top, bottom = sorted((int(found[1]), int(found[2])))
        return Area(top, 1, bottom, LAST_COLUMN) if bottom <= LAST_ROW else None
    first, _, last = name.partition(":")
    start, end = cell_position(first), cell_position(last or first)
    if start is None or end is None:
        return None
    return Area(min(start[0], end[0]), min(start[1], end[1]), max(start[0], end[0]), max(start[1], end[1]))


def number_text(value: float) -> str:
    """A number as it is stored: at most 15 significant digits, the shortest such text.

    >>> number_text(0.1 + 0.2), number_text(42.0), number_text(-0.0)
    ('0.3', '42', '0')
    """
    text = f"{value:.15g}"
    return "0" if text == "-0" else text
