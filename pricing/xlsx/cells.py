"""A cell as it was typed: its place, what it holds, and the number format it is shown in."""

from __future__ import annotations

import datetime
from typing import Literal

from pricing.dataclass import dataclass
from pricing.xlsx.addresses import address

Kind = Literal["number", "text", "bool", "date", "error", "blank"]
State = Literal["visible", "hidden", "veryHidden"]
Value = float | str | bool | datetime.datetime | None

KINDS: tuple[Kind, ...] = ("number", "text", "bool", "date", "error", "blank")
NUMBER, TEXT, BOOL, DATE, ERROR, BLANK = range(6)

_EPOCH_1900 = datetime.datetime(1899, 12, 30)
_EPOCH_1904 = datetime.datetime(1904, 1, 1)


def date_from_serial(serial: float, date_1904: bool) -> datetime.datetime | None:
    """The day and time of a date number, to the nearest millisecond; None where no such day exists.

    Parameters
    ----------
    serial : the number stored in the cell [days]
    date_1904 : True where the workbook counts from 1 January 1904

    In the 1900 system day 60, the 29 February 1900, never was, and days before it are counted one apart (ECMA-376
    part 1, section 18.17.4.1). Numbers below 1 are times of day, not dates.

    >>> date_from_serial(45658, False)
    datetime.datetime(2025, 1, 1, 0, 0)
    """
    highest = 2_957_004 if date_1904 else 2_958_466
    if not (0 <= serial < highest) or (not date_1904 and (serial < 1 or 60 <= serial < 61)):
        return None
    epoch = _EPOCH_1904 if date_1904 else _EPOCH_1900
    if not date_1904 and serial < 60:
        epoch += datetime.timedelta(days=1)
    days = int(serial)
    milliseconds = round((serial - days) * 86_400_000)
    try:
        return epoch + datetime.timedelta(days=days, milliseconds=milliseconds)
    except OverflowError:  # the last moment of the year 9999, rounded up
        return None


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell that holds something.

    Parameters
    ----------
    row, column : its place, both counted from 1
    value : what it holds; the text of an error such as ``"#DIV/0!"``; None where a formula has no stored result
    kind : what sort of value that is
    number_format : the format code it is shown in, such as ``"0.00"``
    formula : the text of its formula, empty for a follower of a shared formula, None where it was typed
    stored : False for a formula whose result was never calculated or stored
    """

    row: int
    column: int
    value: Value
    kind: Kind
    number_format: str = "General"
    formula: str | None = None
    stored: bool = True

    @property
    def address(self) -> str:
        """Its address as a spreadsheet shows it: ``F14``."""
        return address(self.row, self.column)


@dataclass(frozen=True, slots=True)
class CellWrite:
    """One value for one cell.

    Parameters
    ----------
    sheet : name of the sheet, in any letter case, such as ``"Products"``
    cell : where the value goes, such as ``"F14"``
    value : a number, a text, or None (as the empty text) to leave the cell empty with its format kept
    like : a cell of the same sheet whose format it takes where it is not there yet; empty: that of its row or column
    """

    sheet: str
    cell: str
    value: float | str | None
    like: str = ""


def number_text(value: float) -> str:
    """A number as it is stored: at most 15 significant digits, the shortest such text.

    >>> number_text(0.1 + 0.2), number_text(42.0), number_text(-0.0)
    ('0.3', '42', '0')
    """
    text = f"{value:.15g}"
    return "0" if text == "-0" else text
