"""What a stored cell holds: its kind and value, with a problem where it holds something that cannot be."""

from __future__ import annotations

import datetime
import re
import sys

from pricing.problems import Problems
from pricing.xlsx.addresses import LAST_COLUMN, LAST_ROW, address, column_number
from pricing.xlsx.cells import (
    BLANK,
    BOOL,
    DATE,
    ERROR,
    NUMBER,
    TEXT,
    Value,
    date_from_serial,
)
from pricing.xlsx.number_formats import shows_date
from pricing.xlsx.package.limits import MOST_ROWS, Budget, too_large
from pricing.xlsx.package.markup import unescaped
from pricing.xlsx.package.parts import Tab
from pricing.xlsx.reading.cell_table import CellTable, Sheet
from pricing.xlsx.reading.shared_strings import LONGEST_TEXT, Strings, is_odd
from pricing.xlsx.refused import RefusedError, shown

MOST_TROUBLES = 40  # told of a sheet before the reading stops, or falls silent where they are warnings

_REFERENCE = re.compile(r"([A-Z]{1,3})([0-9]{1,7})", re.ASCII)
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,4})?", re.ASCII)
_BOOLEANS = {"1": True, "true": True, "0": False, "false": False}
_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?:T(\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?)?(?:Z|[+-]\d{2}:\d{2})?", re.ASCII)
_WHITE = " \t\r\n"

Holding = tuple[int, Value]


def iso_date(text: str) -> datetime.datetime | None:
    """A day, with or without a time, as ISO 8601 writes it; None where it is none.

    >>> iso_date("2025-01-01T18:00:00")
    datetime.datetime(2025, 1, 1, 18, 0)
    """
    match = _ISO.fullmatch(text)
    if match is None:
        return None
    year, month, day, hour, minute, second = (int(part or 0) for part in match.groups()[:6])
    microsecond = int((match[7] or "0")[:6].ljust(6, "0"))
    try:
        return datetime.datetime(year, month, day, hour, minute, second, microsecond)
    except ValueError:
        return None


class StoredCells:
    """Gathers the cells of one sheet; troubles of single cells are reported and the reading goes on.

    Parameters
    ----------
    tab : the sheet as the workbook lists it
    formats : the number format of each style
    strings : the shared strings
    date_1904 : True where dates count from 1 January 1904
    budget : what may still be kept in memory
    problems : where troubles are put
    """

    def __init__(self, tab: Tab, formats: list[str], strings: Strings, date_1904: bool, budget: Budget, problems: Problems) -> None:
        self.tab = tab
        self.strings = strings
        self.date_1904 = date_1904
        self.budget = budget
        self.problems = problems
        self.dated = [shows_date(code) for code in formats]
        self.style_numbers = {str(index): index for index in range(len(formats))}
        self.columns: dict[str, int] = {}
        self.table = CellTable(formats, date_1904)
        self.sheet = Sheet(tab.name, tab.state, self.table)
        self.errors = self.warnings = 0
        self.kept: dict[str, str] = {}
        self.row = 0
        self.hidden = self.fresh = False
        self.counted = self.opened = self.spent = self.elements = 0

    # Places

    def begin_row(self, number: int, hidden: bool) -> None:
        """The cells that come now stand in this row."""
        self.elements += 1
        if not 1 <= number <= LAST_ROW:
            raise RefusedError("beyond-grid", f"row {number} cannot exist; take a fresh copy", shown(self.tab.name))
        self.row = number
        self.hidden = hidden
        self.fresh = True

    def open_row(self) -> None:
        """The row holds something."""
        self.fresh = False
        self.opened += 1
        self.spent += 8
        self.elements -= 1
        if self.opened > MOST_ROWS:
            raise too_large(shown(self.tab.name))
        self.table.open_row(self.row)
        if self.hidden:
            self.spent += 100
            self.sheet.hidden_rows.add(self.row)

    def column_of(self, reference: str) -> int:
        """The column of a cell of the row that is being read."""
        match = _REFERENCE.fullmatch(reference)
        if match is None:
            raise self.refusal(f'"{shown(reference, 20)}" is not a cell')
        column = column_number(match[1])
        if column > LAST_COLUMN or int(match[2]) > LAST_ROW:
            message = f"a cell {shown(reference, 20)} cannot exist; take a fresh copy"
            raise RefusedError("beyond-grid", message, shown(self.tab.name))
        if int(match[2]) != self.row:
            raise self.refusal(f"{reference} stands in another row")
        self.columns[match[1]] = column
        return column

    def style_of(self, text: str) -> int:
        """The style of a cell."""
        style = self.style_numbers.get(text)
        if style is None:
            style = self.style_numbers.get(text.strip(_WHITE).lstrip("0") or "0")
        if style is None:
            raise self.refusal(f'its style "{shown(text, 20)}" does not exist')
        return style

    # Problems

    def refusal(self, what: str) -> RefusedError:
        """Why a damaged sheet cannot be read, near the row that is being read."""
        near = f" near row {self.row}" if self.row else ""
        return RefusedError(
            "damaged-file",
            f"this sheet is damaged{near} ({what}); save the workbook again from your spreadsheet program",
            shown(self.tab.name),
        )

    def trouble(self, code: str, message: str, column: int) -> None:
        """Report one cell that cannot be; after many the reading stops."""
        self.errors += 1
        if self.errors > MOST_TROUBLES:
            raise RefusedError("too-many-problems", "this sheet has many more such cells; mend these first", self.tab.name)
        self.problems.add(code, message, sheet=shown(self.tab.name), cell=address(self.row, column))

    def notice(self, code: str, message: str, column: int) -> None:
        """Report one cell to look at; after many no more are reported."""
        self.warnings += 1
        if self.warnings <= MOST_TROUBLES:
            self.problems.add(code, message, sheet=shown(self.tab.name), cell=address(self.row, column), warning=True)

    # Values

    def keep(self, column: int, style: str | None, kind: str, text: str | None, formula: str | None) -> None:
        """Keep one cell as it is stored; nothing where it holds nothing."""
        if text is None and formula is None:
            return
        number = self.style_of(style) if style is not None else 0
        if self.fresh:
            self.open_row()
        if formula is not None:
            self.spent += 12 + len(formula)
        holding = self.holding(column, number, kind, text)
        if holding is not None:
            self.table.append(column, number, *holding, formula)
        elif formula is not None:
            self.table.append(column, number, BLANK, None, formula, False)

    def holding(self, column: int, style: int, kind: str, text: str | None) -> Holding | None:
        """The kind and the value of a stored text; None where nothing is stored."""
        if text is None:
            return None
        if kind in ("str", "inlineStr"):
            return TEXT, self._text(text, column)
        if not text.strip(_WHITE):
            return None
        if kind == "n":
            return self._number(text.strip(_WHITE), style, column)
        if kind == "s":
            return self._shared(text.strip(_WHITE), column)
        if kind == "b":
            value = _BOOLEANS.get(text.strip(_WHITE).casefold())
            if value is not None:
                return BOOL, value
            self.trouble("bad-value", f'the stored "{shown(text, 20)}" is neither yes nor no; type it again', column)
        elif kind == "d":
            date = iso_date(text.strip(_WHITE))
            if date is not None:
                return DATE, date
            self.notice("bad-date", f'the stored date "{shown(text, 30)}" is not a day; type it again', column)
        elif kind != "e":
            self.trouble("damaged-cell", f'this cell is of an unknown kind "{shown(kind, 20)}"; type it again', column)
        return ERROR, shown(text.strip(_WHITE))

    def _number(self, text: str, style: int, column: int) -> Holding:
        value = float(text) if _NUMBER.fullmatch(text) else float("nan")
        if value - value != 0:
            self.trouble("bad-number", f'the stored number "{shown(text, 30)}" is not a number; type it again', column)
            return ERROR, shown(text)
        # What a spreadsheet shows and compares: 15 significant digits, and no negative zero.
        value = (value if len(text) <= 15 else float(f"{value:.15g}")) + 0.0
        if not self.dated[style]:
            return NUMBER, value
        if date_from_serial(value, self.date_1904) is not None:
            return DATE, value
        message = f"the number {value:.15g} is shown as a date, but there is no such day; type the date, or change the number format"
        self.notice("bad-date", message, column)
        return ERROR, "########"

    def _text(self, text: str, column: int) -> str:
        text = unescaped(text)
        known = self.kept.get(text)
        if known is None:
            if is_odd(text):
                self._tell_odd(column)
            if len(text) > LONGEST_TEXT:
                self._tell_long(column)
            self.kept[text] = known = text
            self.spent += sys.getsizeof(text) + 100
        return known

    def _shared(self, text: str, column: int) -> Holding:
        strings = self.strings
        index = int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else -1
        if not 0 <= index < len(strings.texts):
            self.trouble("damaged-cell", f'text number "{shown(text, 20)}" of this file is missing; type the text again', column)
            return ERROR, ""
        if index in strings.odd:
            self._tell_odd(column)
        if index in strings.long:
            self._tell_long(column)
        return TEXT, strings.texts[index]

    def _tell_odd(self, column: int) -> None:
        message = "this text holds control characters, which cannot be seen; type it again"
        self.notice("odd-characters", message, column)

    def _tell_long(self, column: int) -> None:
        self.trouble("long-text", f"this text has more than {LONGEST_TEXT:,} characters; shorten it", column)

    # The end

    def settle(self) -> None:
        """Count what was kept since the last time against what may be kept."""
        grown = len(self.table) - self.counted
        self.counted += grown
        self.budget.spend(cells=grown, idle=self.elements - grown, memory=grown * 44 + self.spent)
        self.spent = self.elements = 0

    def finish(self, totals_rows: set[int]) -> Sheet:
        """The sheet in order; cells that came twice are reported."""
        for row, column in self.table.close():
            self.row = row
            message = "this cell is in the file twice; save the workbook again from your spreadsheet program"
            self.trouble("duplicate-cell", message, column)
        self.sheet.totals_rows = totals_rows
        return self.sheet
