"""Reading a price book: every sheet, every problem, in one pass.

>>> book, problems = read_price_book(Path("nothing.xlsx"))
>>> book is None and str(problems.errors[0])
'nothing.xlsx  there is no such file; look at its name and folder'
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from pricing.arrays import is_among
from pricing.book.checking.models import measure_models
from pricing.book.checking.rows import check_book
from pricing.book.declared.column import SheetDeclaration
from pricing.book.declared.settings import SETTINGS
from pricing.book.declared.sheets import SHEETS
from pricing.book.price_book import DatedSetting, PriceBook, SheetTable
from pricing.book.reading import carried
from pricing.book.reading.cells import CellReader
from pricing.book.reading.columns import ColumnReader, Values
from pricing.book.reading.headings import check_heading_units, data_rows, find_headings
from pricing.book.reading.misnamed import take_in
from pricing.book.reading.names import NameBook
from pricing.book.reading.row_units import in_own_words, row_units
from pricing.book.reading.settings import read_settings
from pricing.book.services import with_services
from pricing.book.sets import with_sets
from pricing.book.shown_units import BY_THE_POUND, INCHES_AND_POUNDS
from pricing.book.typed.figures import has_decimal_comma
from pricing.book.wording.reporter import Reporter, example_for, report_rest, spoken
from pricing.book.wording.sentences import listed, quoted
from pricing.problems import BookError, Problems
from pricing.text import fold
from pricing.xlsx.reading.cell_table import Sheet
from pricing.xlsx.reading.grid import Grid
from pricing.xlsx.reading.workbook import Workbook, read_workbook
from pricing.xlsx.refused import RefusedError

#: The number of its row in the address of a cell.
_ROW = re.compile(r"[0-9]+$")


def read_price_book(path: Path, *, instead: Sequence[Sheet] = ()) -> tuple[PriceBook | None, Problems]:
    """Read and check a price book.

    Parameters
    ----------
    path : of the workbook
    instead : sheets that take the place of those of the same name

    Returns
    -------
    the book, or None where anything in it is wrong; and every problem, warnings among them

    Problems: those of ``read_workbook`` and every code of ``wording.CODES``.
    """
    path = Path(path)
    problems = Problems(path.name)
    workbook = _opened(path, problems, instead)
    if workbook is None:
        return None, problems
    book = _as_far_as_it_goes(path, workbook, problems)
    return (None if problems.error_count else book), problems


def read_setting_aside(
    path: Path, needless: Callable[[PriceBook], Mapping[str, Mapping[int, Collection[int]]]]
) -> tuple[PriceBook | None, Problems]:
    """Read and check a price book; rows that have a fault and are not needed are told, and left out.

    Parameters
    ----------
    path : of the workbook
    needless : by the declared name of a sheet the numbers of the rows that are not needed, and with each those that go with it, of the
        book as far as it could be read
    """
    path, problems = Path(path), Problems(path.name)
    workbook = _opened(path, problems)
    if workbook is None:
        return None, problems
    first = list(problems)
    book = _as_far_as_it_goes(path, workbook, problems)
    if book is None or not problems.error_count:
        return book, problems
    rows = needless(book)
    called = {table.sheet_as_written: name for name, table in book.tables.items()}
    aside: dict[str, set[int]] = {}
    faults, left = [], []
    for each in problems.errors:
        name, found = called.get(each.sheet, each.sheet), _ROW.search(each.cell)
        if found is not None and int(found[0]) in rows.get(name, ()):
            aside.setdefault(name, set()).update(rows[name][int(found[0])])
            faults.append(replace(each, warning=True, message=f"{each.message}; not needed here, and left out"))
            left.append(each)
    if not left:
        return None, problems
    again, gone = Problems(path.name), set(left)
    again.take(each for each in first if each not in gone)
    book = _as_far_as_it_goes(path, workbook, again, aside)
    again.take(faults)
    return (None, problems) if again.error_count else (book, again)


def _as_far_as_it_goes(
    path: Path, workbook: Workbook, problems: Problems, aside: Mapping[str, Collection[int]] | None = None
) -> PriceBook | None:
    """What a workbook says, as far as it could be read; None where so much is wrong that reading it ended."""
    try:
        return _Reading(path, workbook, problems, aside).book()
    except RefusedError as refusal:
        problems.add(refusal.code, refusal.message, sheet=refusal.sheet)
        return None


def _opened(path: Path, problems: Problems, instead: Sequence[Sheet] = ()) -> Workbook | None:
    """The sheets of a price book by all names that they have had, and those that are meant as such; None where it is none."""
    wanted = {fold(name) for declared in SHEETS for name in declared.names} - {fold(sheet.name) for sheet in instead}
    workbook = read_workbook(path, problems, wanted=wanted)
    if workbook is None:
        return None
    workbook.sheets += instead
    return workbook if take_in(path, workbook, problems) else None


def load_price_book(path: Path | str) -> PriceBook:
    """The price book, for programs: problems that stop the work are raised.

    Parameters
    ----------
    path : of the workbook

    Raises
    ------
    BookError : with all problems where there is an error
    """
    book, problems = read_price_book(Path(path))
    if book is None:
        raise BookError(problems.errors)
    return book


def read_business_name(path: Path) -> str:
    """The name of the business that a price book is of, read from the sheet that says it alone; empty where that does not say it.

    Parameters
    ----------
    path : of the workbook
    """
    workshop, problems = SHEETS[0], Problems(path.name)
    workbook = read_workbook(path, problems, wanted={fold(name) for name in workshop.names})
    if workbook is None:
        return ""
    try:
        settings, _ = _Reading(path, workbook, problems)._settings(workshop)
    except RefusedError:
        return ""
    return str(settings.get("business_name", ""))


class _Reading:
    """One pass over a workbook."""

    def __init__(self, path: Path, workbook: Workbook, problems: Problems, aside: Mapping[str, Collection[int]] | None = None) -> None:
        self.path = path
        self.workbook = workbook
        self.problems = problems
        self.sheets: dict[str, Sheet] = {}
        for sheet in workbook.sheets:
            self.sheets.setdefault(fold(sheet.name), sheet)
        self.currency, self.in_inches = "", False
        self.histories: dict[str, tuple[DatedSetting, ...]] = {}
        self.tables: dict[str, SheetTable] = {}
        self.without_unit: list[str] = []
        #: Rows of the Workshop sheet that are misspelt, by the setting that is meant and that only some books need.
        self.doubtful: dict[str, tuple[str, str, str]] = {}
        self.aside = aside or {}
        self._commas: bool | None = None

    def has_decimal_commas(self) -> bool:
        """Whether a figure that is typed as text on a sheet of the book has a decimal comma beyond doubt."""
        if self._commas is None:
            sheets = [sheet for declared in SHEETS if (sheet := self.sheets.get(fold(declared.name))) is not None]
            texts = {cell.value for sheet in sheets for cell in sheet.cells.values() if isinstance(cell.value, str)}
            self._commas = any(map(has_decimal_comma, texts))
        return self._commas

    def book(self) -> PriceBook:
        """Everything that the workbook says, as far as it could be read."""
        workshop, *others = SHEETS
        settings, cells = self._settings(workshop)
        for declared in others:
            self.tables[declared.name] = self._table(declared)
        if self.doubtful:
            cells |= self._tell_doubtful()
        if self.without_unit:
            Reporter(self.problems, "").report("unit-not-stated", warning=True, headings="; ".join(self.without_unit))
        present = {name for name, table in self.tables.items() if table.letters}
        NameBook(self.tables, present, self.problems).resolve()
        book = PriceBook(self.path, self.tables, settings, cells, histories=self.histories)
        measure_models(book, self.problems)
        check_book(book, self.problems)
        report_rest(self.problems)
        return with_sets(with_services(book))

    def _tell_doubtful(self) -> dict[str, str]:
        """Tell of misspelt settings that only some books need; where this one does, the cells that stand for them."""
        reporter = Reporter(self.problems, self.tables["Workshop"].sheet_as_written)
        draws = bool(np.any(self.tables["Machines"]["power"] > 0))
        for cell, found, near in self.doubtful.values():
            reporter.report("unknown-setting", cell, warning=not draws, found=found, near=near)
        return {name: cell for name, (cell, _, _) in self.doubtful.items()} if draws else {}

    def _settings(self, declared: SheetDeclaration) -> tuple[dict[str, float | str], dict[str, str]]:
        headed = replace(declared, columns=tuple(replace(each, needed=each.name in ("setting", "value")) for each in declared.columns))
        sheet = self._sheet(headed)
        self.tables[declared.name] = _empty(declared, sheet)
        if sheet is None:
            return {}, {}
        reporter = Reporter(self.problems, sheet.name)
        grid = Grid(sheet)
        found = find_headings(grid, headed, reporter)
        if found is None or not {"setting", "value"} <= found.places.keys():
            return {}, {}
        rows = data_rows(grid, found, declared, reporter)
        if not len(rows):
            needed = [setting.heading for setting in SETTINGS if setting.needed or setting.name == "overhead_per_labour_hour"]
            reporter.report("no-settings", settings=listed(needed, "and"))
            return {}, {}
        reader = ColumnReader(grid, found, rows, CellReader(reporter, "", self.workbook.results_doubtful, self.has_decimal_commas))
        names = reader.read(declared.column("setting"))
        cells = CellReader(reporter, "", self.workbook.results_doubtful, self.has_decimal_commas)
        days = reader.read(declared.column("from")) if "from" in found.places else np.full(len(rows), np.datetime64("NaT", "D"))
        read = read_settings(grid, found, rows, names, days, cells)
        self.histories, self.doubtful = read.histories, read.doubtful
        self.currency = str(read.settings.get("currency", ""))
        self.in_inches = read.settings.get("measures") == INCHES_AND_POUNDS
        columns: dict[str, Any] = {
            "setting": names,
            "value": read.written,
            "from": days,
            "note": np.full(len(rows), "", dtype=object),
        }
        if "note" in found.places:
            columns["note"] = reader.read(declared.column("note"))
        self.tables[declared.name] = SheetTable(declared.name, sheet.name, rows, columns, found.letters())
        return read.settings, read.cells

    def _sheet(self, declared: SheetDeclaration) -> Sheet | None:
        sheet = next((self.sheets[fold(name)] for name in declared.names if fold(name) in self.sheets), None)
        if sheet is None and declared.always:
            headings = listed([column.heading for column in declared.columns if column.needed], "and")
            Reporter(self.problems, declared.name).report(
                "missing-sheet", sheet=declared.name, because="", headings=headings
            )
        return sheet

    def _offered(self) -> dict[str, str]:
        """The first name of each sheet that is read already, to be shown where one is missing."""
        found = {}
        for declared in SHEETS:
            table = self.tables.get(declared.name)
            names = table[declared.columns[0].name] if table is not None and declared.columns[0].kind == "name" else ()
            found[declared.name] = quoted(next((name for name in names if name), ""))
        return found

    def _table(self, declared: SheetDeclaration) -> SheetTable:
        sheet = self._sheet(declared)
        if sheet is None or (not declared.always and not len(sheet.cells)):
            return _empty(declared, sheet)
        reporter = Reporter(self.problems, sheet.name)
        grid = Grid(sheet)
        found = find_headings(grid, declared, reporter)
        if found is None:
            return _empty(declared, sheet)
        rows = data_rows(grid, found, declared, reporter)
        if declared.name in self.aside:
            rows = rows[~is_among(rows, self.aside[declared.name])]
        if declared.always and not len(rows):
            reporter.report("no-rows", thing=declared.thing)
        shown = BY_THE_POUND if self.in_inches else {}
        cells = CellReader(reporter, self.currency, self.workbook.results_doubtful, self.has_decimal_commas, shown)
        check_heading_units(found, declared, reporter, self.currency)
        reader = ColumnReader(grid, found, rows, cells, self._offered())
        if declared.name == "Materials":
            return self._materials(declared, sheet, reader, reporter)
        columns: dict[str, Values] = {}
        later = [column for column in declared.columns if column.unit_rule]
        for column in declared.columns:
            if not column.unit_rule:
                columns[column.name] = reader.read(column)
        for column in later:
            units_of_rows = row_units(column.unit_rule, columns, self.tables)
            columns[column.name] = reader.read(column, units_of_rows)
        in_own_words(declared, columns)
        if reader.without_unit:
            self.without_unit += [f"{sheet.name}: {each}" for each in _with_units(declared, reader.without_unit)]
        ordered = {column.name: columns[column.name] for column in declared.columns}
        return SheetTable(declared.name, sheet.name, rows, ordered, found.letters(), asked=found.asked)

    def _materials(self, declared: SheetDeclaration, sheet: Sheet, reader: ColumnReader, reporter: Reporter) -> SheetTable:
        """The Materials sheet, in which a new price may leave blank what stays as it was."""
        columns: dict[str, Values] = {name: reader.read(declared.column(name)) for name in ("material", "priced_on", "pack_price")}
        days = columns["priced_on"]
        before, typed_in = carried.rows_before(columns["material"], days), dict[str, Any]()
        ordered = sorted((each for each in declared.columns if each.name not in columns), key=lambda each: bool(each.unit_rule))
        for column in ordered:
            if column.name in carried.OWN:
                columns[column.name] = reader.read(column)
                continue
            units_of_rows = row_units(column.unit_rule, columns, self.tables) if column.unit_rule else None
            values = columns[column.name] = reader.read(carried.as_typed(column), units_of_rows)
            typed_in[column.name] = carried.carry(values, days, before)
            blank = np.flatnonzero(carried.is_blank(values))
            wrong = self.problems.wrong_cells(sheet.name)
            for row in blank[before[blank] < 0].tolist() if column.needed and column.name in reader.found.places else ():
                address = reader.address(column, row)
                if address not in wrong:
                    reporter.report("missing-value", address, what=spoken(column), example=example_for(column, "", reader.cells.standing))
            if column.is_number and isinstance(column.default, float):
                values[blank] = column.default
        if reader.without_unit:
            self.without_unit += [f"{sheet.name}: {each}" for each in _with_units(declared, reader.without_unit)]
        together = {column.name: columns[column.name] for column in declared.columns}
        return SheetTable(declared.name, sheet.name, reader.rows, together, reader.found.letters(), typed_in, reader.found.asked)


def _with_units(declared: SheetDeclaration, headings: Iterable[str]) -> list[str]:
    wanted = set(headings)
    return [f"{column.heading} (read as {column.plain_unit})" for column in declared.columns if column.heading in wanted]


def _empty(declared: SheetDeclaration, sheet: Sheet | None = None) -> SheetTable:
    """A sheet with no rows, by the name on its tab where there is one."""
    columns: dict[str, Values] = {}
    for column in declared.columns:
        if column.kind == "date":
            columns[column.name] = np.empty(0, dtype="datetime64[D]")
        else:
            columns[column.name] = np.empty(0, dtype=np.float64 if column.is_number else object)
    return SheetTable(declared.name, sheet.name if sheet else declared.name, np.empty(0, dtype=np.int64), columns)
