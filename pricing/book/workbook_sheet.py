"""Reading a sheet part and the shared strings: streaming, sparse, within bounds."""

from __future__ import annotations

import datetime
import re
import sys

from pricing.book import guard
from pricing.book.cells import (
    BLANK,
    BOOL,
    DATE,
    ERROR,
    LAST_COLUMN,
    LAST_ROW,
    NUMBER,
    TEXT,
    CellTable,
    Sheet,
    Value,
    address,
    date_from_serial,
)  # fmt: skip
from pricing.book.guard import Package, Refusal, damaged, shown
from pricing.book.number_formats import shows_date
from pricing.book.workbook_parts import DEEPEST, MAIN, Tab, area, column_number, feed, new_parser, totals_rows, true
from pricing.problems import Problems

MOST_CELLS = 6_000_000  # of a whole workbook
MOST_MEMORY = 256 * guard.MEBIBYTE  # of its texts and cells
LONGEST_TEXT = 32_767  # what a cell can hold
LONGEST_FORMULA = 65_536
MOST_MERGES = 100_000
MOST_TROUBLES = 40  # told of a sheet before the rest is left out

_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_", re.ASCII)
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff\ufffd\u202a-\u202e\u2066-\u2069]")
_REFERENCE = re.compile(r"([A-Z]{1,3})([0-9]{1,7})", re.ASCII)
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,4})?", re.ASCII)
_BOOLEANS = {"1": True, "true": True, "0": False, "false": False}
_ISO = re.compile(
    r"(\d{4})-(\d{2})-(\d{2})(?:T(\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?)?(?:Z|[+-]\d{2}:\d{2})?", re.ASCII
)


class Budget:
    """How many cells and how much memory are left for a whole workbook."""

    def __init__(self) -> None:
        self.cells = MOST_CELLS
        self.memory = MOST_MEMORY

    def spend(self, cells: int, memory: int) -> None:
        """Take from what is left; problems: file-too-large."""
        self.cells -= cells
        self.memory -= memory
        if self.cells < 0 or self.memory < 0:
            raise Refusal(
                "file-too-large",
                f"this workbook holds more than can be read (at most {MOST_CELLS:,} cells and {MOST_MEMORY // guard.MEBIBYTE} "
                "MiB); remove sheets and columns that do not belong to the price book",
            )


def unescaped(text: str) -> str:
    """A text with its ``_xHHHH_`` escapes resolved (ECMA-376 part 1, section 22.9.2.19).

    >>> unescaped("a_x000D_b_x005F_x0041_")
    'a\\rb_x0041_'
    """
    if "_x" not in text:
        return text
    plain = _ESCAPE.sub(lambda match: chr(int(match.group(1), 16)), text)
    return plain.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


class Strings:
    """The shared strings of a workbook, and which of them hold characters that must not be there."""

    def __init__(self) -> None:
        self.texts: list[str] = []
        self.odd: set[int] = set()
        self.long: set[int] = set()

    def add(self, text: str) -> None:
        """Add the next string."""
        text = unescaped(text)
        if _CONTROL.search(text):
            self.odd.add(len(self.texts))
        if len(text) > LONGEST_TEXT:
            self.long.add(len(self.texts))
        self.texts.append(text)


def read_strings(package: Package, part: str, budget: Budget) -> Strings:
    """The shared strings, without the phonetic readings that some of them carry."""
    found = Strings()
    if not part or part not in package:
        return found
    names: list[str] = []
    chunks: list[str] = []
    length = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        namespace, _, local = name.rpartition(" ")
        names.append(local if namespace in MAIN else "")
        if len(names) > DEEPEST:
            raise damaged(part, "it is nested too deep")

    def end(name: str) -> None:
        nonlocal length
        if names.pop() == "si" and len(names) == 1:
            text = "".join(chunks)
            chunks.clear()
            length = 0
            found.add(text)
            budget.spend(0, sys.getsizeof(text) + 8)

    def characters(text: str) -> None:
        nonlocal length
        if names[-1] == "t" and "rPh" not in names:
            length += len(text)
            if length > 64 * LONGEST_TEXT:
                raise damaged(part, "a text in it is too long")
            chunks.append(text)

    parser = new_parser(part)
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = characters
    feed(package, part, parser, guard.LARGEST_STRINGS)
    return found


class SheetReader:
    """Reads one sheet part into a ``Sheet``; troubles of single cells are reported and the reading goes on."""

    def __init__(
        self, tab: Tab, formats: list[str], strings: Strings, date_1904: bool, budget: Budget, problems: Problems
    ) -> None:
        self.tab = tab
        self.strings = strings
        self.date_1904 = date_1904
        self.budget = budget
        self.problems = problems
        self.dated = [shows_date(code) for code in formats]
        self.table = CellTable(formats, date_1904)
        self.sheet = Sheet(tab.name, tab.state, self.table)
        self.troubles = 0
        self.kept: dict[str, str] = {}
        self.row = 0

    def trouble(self, code: str, message: str, column: int, warning: bool = False) -> None:
        """Report one cell; after many the rest of the sheet is left out."""
        self.troubles += 1
        if self.troubles > MOST_TROUBLES:
            raise Refusal("too-many-problems", "this sheet has many more such cells; mend these first", self.tab.name)
        self.problems.add(code, message, sheet=shown(self.tab.name), cell=address(self.row, column), warning=warning)

    def refuse(self, what: str) -> Refusal:
        """The refusal of a damaged sheet, near the row that is being read."""
        return Refusal(
            "damaged-file",
            f"this sheet is damaged near row {self.row} ({what}); save the workbook again from your spreadsheet program",
            shown(self.tab.name),
        )

    def number(self, text: str, style: int, column: int, formula: str | None) -> None:
        """Keep a number, or the day it stands for."""
        try:
            value = float(text)
            if len(text) > 15:
                value = float(f"{value:.15g}")
            if value - value != 0 or "_" in text or not text.isascii():
                raise ValueError
        except ValueError:
            self.trouble("bad-number", f'the stored number "{shown(text, 30)}" is none; type it again', column)
            self.table.append(column, style, ERROR, shown(text, 255), formula)
            return
        if not self.dated[style]:
            self.table.append(column, style, NUMBER, value + 0.0, formula)
        elif date_from_serial(value, self.date_1904) is not None:
            self.table.append(column, style, DATE, value, formula)
        else:
            message = f"the number {value:.15g} is shown as a date but is none; type the date, or give the cell a number format"
            self.trouble("bad-date", message, column, warning=True)
            self.table.append(column, style, ERROR, "########", formula)

    def text(self, text: str, style: int, column: int, formula: str | None) -> None:
        """Keep a text that stands in the cell itself."""
        if "_x" in text:
            text = unescaped(text)
        known = self.kept.get(text)
        if known is None:
            if _CONTROL.search(text):
                self.odd_characters(column)
            if len(text) > LONGEST_TEXT:
                self.long_text(column)
            self.kept[text] = known = text
            self.budget.spend(0, sys.getsizeof(text) + 100)
        self.table.append(column, style, TEXT, known, formula)

    def shared(self, text: str, style: int, column: int, formula: str | None) -> None:
        """Keep a shared string."""
        strings = self.strings
        try:
            index = int(text)
            if index < 0:
                raise IndexError
            value = strings.texts[index]
        except (ValueError, IndexError):
            self.trouble(
                "damaged-cell", f'text number "{shown(text, 20)}" of this file is missing; type it again', column
            )
            self.table.append(column, style, ERROR, "", formula)
            return
        if strings.odd and index in strings.odd:
            self.odd_characters(column)
        if strings.long and index in strings.long:
            self.long_text(column)
        self.table.append(column, style, TEXT, value, formula)

    def odd_characters(self, column: int) -> None:
        """Report characters that cannot be seen but change what is shown."""
        self.trouble(
            "odd-characters",
            "this text holds control characters, which cannot be seen; type it again",
            column,
            warning=True,
        )

    def long_text(self, column: int) -> None:
        """Report a text that no spreadsheet program could have stored."""
        self.trouble("long-text", f"this text has more than {LONGEST_TEXT:,} characters; shorten it", column)

    def other(self, kind: str, text: str, style: int, column: int, formula: str | None) -> None:
        """Keep a value of the rarer kinds."""
        value: Value
        if kind == "str":
            self.text(text, style, column, formula)
        elif kind == "b":
            value = _BOOLEANS.get(text.strip().casefold())
            if value is None:
                self.trouble("bad-value", f'the stored yes or no "{shown(text, 20)}" is neither; type it again', column)
            self.table.append(
                column, style, ERROR if value is None else BOOL, shown(text) if value is None else value, formula
            )
        elif kind == "e":
            self.table.append(column, style, ERROR, shown(text.strip(), 30), formula)
        elif kind == "d":
            value = iso_date(text.strip())
            if value is None:
                self.trouble(
                    "bad-date", f'the stored date "{shown(text, 30)}" is none; type it again', column, warning=True
                )
            self.table.append(
                column, style, ERROR if value is None else DATE, shown(text) if value is None else value, formula
            )
        else:
            self.trouble("damaged-cell", f'this cell is of an unknown kind "{shown(kind, 20)}"; type it again', column)
            self.table.append(column, style, ERROR, shown(text), formula)

    def finish(self, package: Package) -> Sheet:
        """The sheet in order, with its totals rows; cells that came twice are reported."""
        for row, column in self.table.close():
            self.row = row
            message = "this cell is in the file twice; save the workbook again from your spreadsheet program"
            self.trouble("duplicate-cell", message, column)
        self.sheet.totals_rows = totals_rows(package, self.tab.part)
        return self.sheet


def iso_date(text: str) -> datetime.datetime | None:
    """A day, with or without a time, as ISO 8601 writes it; None where it is none."""
    match = _ISO.fullmatch(text)
    if match is None:
        return None
    year, month, day, hour, minute, second = (int(part or 0) for part in match.groups()[:6])
    microsecond = int((match[7] or "0")[:6].ljust(6, "0"))
    try:
        return datetime.datetime(year, month, day, hour, minute, second, microsecond)
    except ValueError:
        return None


def read_sheet(package: Package, reader: SheetReader) -> Sheet:
    """Read the part of a sheet: its cells, hidden rows and merged areas."""
    part = reader.tab.part
    table = reader.table
    append = table.append
    strings = reader.strings
    texts = strings.texts
    plain_texts = not strings.odd and not strings.long
    styles = len(reader.dated)
    dated = reader.dated
    parser = new_parser(part)
    chunks: list[str] = []
    letters: dict[str, int] = {}
    state = _State()
    main = ""

    def find_column(reference: str) -> int:
        match = _REFERENCE.fullmatch(reference)
        if match is None:
            raise reader.refuse(f'"{shown(reference, 20)}" is no cell')
        column = column_number(match[1])
        if column > LAST_COLUMN or int(match[2]) > LAST_ROW:
            raise Refusal(
                "beyond-grid", f"a cell {shown(reference, 20)} cannot exist; take a fresh copy", shown(reader.tab.name)
            )
        if int(match[2]) != reader.row:
            raise reader.refuse(f"{reference} stands in another row")
        letters[match[1]] = column
        return column

    def open_row(attributes: dict[str, str]) -> None:
        if state.in_row:
            raise reader.refuse("a row within a row")
        text = attributes.get("r")
        if text is None:
            number = state.last_row + 1
        elif text.isdecimal() and text.isascii() and len(text) <= 10:
            number = int(text)
        else:
            raise reader.refuse(f'"{shown(text, 20)}" is no row')
        if not 1 <= number <= LAST_ROW:
            raise Refusal("beyond-grid", f"row {number} cannot exist; take a fresh copy", shown(reader.tab.name))
        state.in_row = True
        state.last_row = reader.row = number
        state.row_text = str(number)
        state.column = 0
        state.fresh = True
        state.hidden = true(attributes.get("hidden")) or attributes.get("ht") == "0"

    def start(name: str, attributes: dict[str, str]) -> None:
        if name == state.v or name == state.f:
            if state.in_text or state.cell is None:
                raise reader.refuse("a value outside a cell or within another")
            state.in_text = True
            chunks.clear()
        elif name == state.c and state.cell is None and state.in_row:
            state.cell = attributes
            state.value = None
            state.formula = None
        elif name == state.row:
            open_row(attributes)
        else:
            state.deeper += 1
            if state.deeper > DEEPEST:
                raise reader.refuse("nested too deep")
            local = name.rpartition(" ")[2]
            if name == state.t and not state.phonetic:
                chunks.clear()
            elif local == "rPh":
                state.phonetic += 1
            elif name == state.c:
                raise reader.refuse("a cell outside a row or within another")

    def end(name: str) -> None:
        if name == state.v:
            state.in_text = False
            state.value = chunks[0] if len(chunks) == 1 else "".join(chunks)
        elif name == state.c:
            end_cell()
        elif name == state.f:
            state.in_text = False
            state.formula = "".join(chunks)
        elif name == state.row:
            state.in_row = False
        elif name == state.data:
            parser.StartElementHandler, parser.EndElementHandler = outside_start, outside_end
            parser.CharacterDataHandler = None
        else:
            state.deeper -= 1
            local = name.rpartition(" ")[2]
            if name == state.t and state.cell is not None and not state.phonetic:
                state.value = (state.value or "") + "".join(chunks)
                chunks.clear()
            elif local == "rPh":
                state.phonetic -= 1

    def end_cell() -> None:
        attributes = state.cell
        if attributes is None:
            raise reader.refuse("a cell outside a row")
        state.cell = None
        value, formula = state.value, state.formula
        reference = attributes.get("r")
        if reference is None:
            column = state.column + 1
            if column > LAST_COLUMN:
                raise Refusal("beyond-grid", "a row has too many cells; take a fresh copy", shown(reader.tab.name))
        elif reference.endswith(state.row_text):
            column = letters.get(reference[: -len(state.row_text)], 0) or find_column(reference)
        else:
            column = find_column(reference)
        state.column = column
        kind = attributes.get("t", "n")
        if value is None and formula is None and kind != "inlineStr":
            return
        style = 0
        if "s" in attributes:
            text = attributes["s"]
            style = int(text) if text.isdecimal() and text.isascii() and len(text) < 10 else styles
            if style >= styles:
                raise reader.refuse(f'its style "{shown(text, 20)}" does not exist')
        if state.fresh:
            state.fresh = False
            table.open_row(reader.row)
            if state.hidden:
                reader.sheet.hidden_rows.add(reader.row)
        if formula is not None:
            state.spent += 160 + len(formula)
        if kind == "s" and value is not None:
            if plain_texts and value.isdecimal() and formula is None and len(value) < 10:
                index = int(value)
                if index < len(texts):
                    append(column, style, TEXT, texts[index])
                    return
            reader.shared(value, style, column, formula)
        elif not value or (kind in ("n", "e", "b", "d", "s") and not value.strip()):
            if kind in ("str", "inlineStr") and (value is not None or formula is None):
                if value is not None:
                    append(column, style, TEXT, "", formula)
            elif formula is not None:
                append(column, style, BLANK, None, formula, False)
        elif kind == "n":
            if formula is None and len(value) <= 15 and not dated[style] and _NUMBER.fullmatch(value):
                number = float(value)
                if number - number == 0:
                    append(column, style, NUMBER, number + 0.0)
                    return
            reader.number(value.strip(" \t\r\n"), style, column, formula)
        elif kind == "inlineStr":
            reader.text(value, style, column, formula)
        else:
            reader.other(kind, value, style, column, formula)

    def outside_start(name: str, attributes: dict[str, str]) -> None:
        nonlocal main
        state.deeper += 1
        if state.deeper > DEEPEST:
            raise reader.refuse("nested too deep")
        namespace, _, local = name.rpartition(" ")
        if not main:
            if namespace not in MAIN or local != "worksheet":
                raise reader.refuse("it is no worksheet")
            main = namespace
            state.name(namespace)
        elif namespace != main:
            return
        elif local == "sheetData" and state.deeper == 2:
            parser.StartElementHandler, parser.EndElementHandler = start, end
            parser.CharacterDataHandler = chunks.append
            state.deeper -= 1
        elif local == "mergeCell":
            merged = area(attributes.get("ref", ""))
            if merged is None:
                raise reader.refuse("a merged area is none")
            reader.sheet.merged.append(merged)
            if len(reader.sheet.merged) > MOST_MERGES:
                raise reader.refuse("it has too many merged areas")

    def outside_end(_: str) -> None:
        state.deeper -= 1

    def after() -> None:
        if state.cell is None:
            chunks.clear()
        elif sum(map(len, chunks)) + len(state.value or "") > 64 * LONGEST_TEXT:
            raise reader.refuse("a text is too long")
        grown = len(table) - state.counted
        state.counted += grown
        reader.budget.spend(grown, grown * 44 + state.spent)
        state.spent = 0

    parser.StartElementHandler, parser.EndElementHandler = outside_start, outside_end
    feed(package, part, parser, guard.LARGEST_SHEET, after)
    return reader.finish(package)


class _State:
    """Where in a sheet part the reading stands."""

    __slots__ = (
        "c", "cell", "column", "counted", "data", "deeper", "f", "formula", "fresh", "hidden", "in_row", "in_text", "last_row",
        "phonetic", "row", "row_text", "spent", "t", "v", "value",
    )  # fmt: skip

    def __init__(self) -> None:
        self.cell: dict[str, str] | None = None
        self.value: str | None = None
        self.formula: str | None = None
        self.in_row = self.in_text = self.fresh = self.hidden = False
        self.row_text = ""
        self.column = self.counted = self.deeper = self.last_row = self.phonetic = self.spent = 0
        self.c = self.data = self.f = self.row = self.t = self.v = ""

    def name(self, namespace: str) -> None:
        """Take the names of the elements in the namespace that this part uses."""
        self.c, self.f, self.v, self.t = (f"{namespace} {local}" for local in "cfvt")
        self.row, self.data = f"{namespace} row", f"{namespace} sheetData"
