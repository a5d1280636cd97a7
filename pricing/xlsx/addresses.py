"""Where things stand in a sheet: cells and areas, by name and by number."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple, TypeAlias

LAST_ROW = 1_048_576
LAST_COLUMN = 16_384

Position: TypeAlias = tuple[int, int]

_CELL = re.compile(r"\$?([A-Z]{1,3})\$?([1-9][0-9]{0,6})", re.IGNORECASE | re.ASCII)
_COLUMNS = re.compile(r"\$?([A-Z]{1,3}):\$?([A-Z]{1,3})", re.IGNORECASE | re.ASCII)
_ROWS = re.compile(r"\$?([1-9][0-9]{0,6}):\$?([1-9][0-9]{0,6})", re.ASCII)


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


def column_letters(column: int) -> str:
    """The letters of a column counted from 1.

    >>> column_letters(28)
    'AB'
    """
    letters = ""
    while column > 0:
        column, remainder = divmod(column - 1, 26)
        letters = chr(65 + remainder) + letters
    return letters


def address(row: int, column: int) -> str:
    """The address of a cell as a spreadsheet shows it.

    >>> address(14, 6), address(1, 28)
    ('F14', 'AB1')
    """
    return f"{column_letters(column)}{row}"


def area_name(area: Area) -> str:
    """The name of an area: ``B2:C9``, or ``B2`` where it is one cell."""
    first, last = address(area.top, area.left), address(area.bottom, area.right)
    return first if first == last else f"{first}:{last}"


def cell_position(name: str) -> Position | None:
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
    first, colon, last = name.partition(":")
    start, end = cell_position(first), cell_position(last if colon else first)
    if start is None or end is None:
        return None
    return Area(min(start[0], end[0]), min(start[1], end[1]), max(start[0], end[0]), max(start[1], end[1]))
