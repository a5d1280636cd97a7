"""The price book as the engine has it: a table of columns for each sheet, and the settings."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.arrays import DictionaryColumn, distinct
from pricing.book.declared.sheets import SHEETS
from pricing.book.model_file import ModelMeasures
from pricing.dataclass import dataclass
from pricing.text import fold
from pricing.xlsx.cells import Cell

Rows = NDArray[np.int64]
Values = NDArray[Any]

#: An ingredient that needs no price, and what stands in a table of the model where there is none.
AIR, NONE = "air", "none"


def is_air(name: str) -> bool:
    """True where an ingredient is air, which needs no price.

    >>> is_air("air"), is_air("Sand")
    (True, False)
    """
    return fold(name) == fold(AIR)


@dataclass
class SheetTable:
    """One sheet of the price book, column by column.

    Parameters
    ----------
    sheet : its declared name
    sheet_as_written : its name on the tab; the declared one where the book has no such sheet
    rows : the spreadsheet's row numbers, counted from 1
    columns : by name (``pack_size``): float64 in the declared unit with nan for blank, object arrays of str with ""
        for blank, datetime64[D] with NaT for blank, yes and no as 1.0 and 0.0
    letters : the letters of each column that the sheet has
    typed_in : where a column takes blanks from other rows, for each row the one in which its value is typed, counted from 0
    asked : the cells of headings that are spelled much like those of columns that the sheet lacks, by the heading that is lacking
    """

    sheet: str
    sheet_as_written: str
    rows: Rows
    columns: dict[str, Values]
    letters: dict[str, str] = field(default_factory=dict)
    typed_in: dict[str, Rows] = field(default_factory=dict)
    asked: Mapping[str, Cell] = field(default_factory=dict)
    _rows_of: dict[str, dict[str, int]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _words: dict[str, tuple[Values, DictionaryColumn]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _rows_in: dict[str, tuple[Values, Values, Rows]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def cell(self, column: str, i: int) -> str:
        """Address of a value, ``F14``: of the row that it is taken from where it is left blank; empty where the sheet has no such
        column."""
        letters = self.letters.get(column)
        i = int(self.typed_in[column][i]) if column in self.typed_in else i
        return f"{letters}{int(self.rows[i])}" if letters and self.rows[i] else ""

    def row_of(self, column: str) -> dict[str, int]:
        """The row of each word of a column, counted from 0; the last of a word that stands twice."""
        if column not in self._rows_of:
            words = self.columns[column].tolist()
            self._rows_of[column] = dict(zip(words, range(len(words)), strict=True))
        return self._rows_of[column]

    def words(self, column: str) -> DictionaryColumn:
        """A column of words as codes, looked through once."""
        values, (known, coded) = self.columns[column], self._words.get(column, (None, None))
        if coded is None or known is not values:
            coded = DictionaryColumn.of(values)
            self._words[column] = values, coded
        return coded

    def rows_in(self, column: str, other: SheetTable) -> Rows:
        """The row of another sheet that each row names, where both have the word in a column of that name, counted from 0; -1 where it
        names none."""
        own, named = self.columns[column], other.columns[column]
        known = self._rows_in.get(column)
        if known is None or known[0] is not own or known[1] is not named:
            place, words = other.row_of(column), self.words(column)
            rows = np.array([place.get(word, -1) if word else -1 for word in words.words], dtype=np.int64)[words.codes]
            known = self._rows_in[column] = own, named, rows
        return known[2]

    def __len__(self) -> int:
        return len(self.rows)

    def __getitem__(self, column: str) -> Values:
        return self.columns[column]


@dataclass(frozen=True, slots=True)
class OrderedWork:
    """A quote that is ordered and not yet done.

    Parameters
    ----------
    quote : its number
    since : the day on which it was ordered
    hours : of work [h]
    """

    quote: str
    since: datetime.date
    hours: float


#: From when something holds that has no day: it always did.
ALWAYS = np.datetime64("0001-01-01", "D")

#: The sheets whose rows hold from a day on: the column of what each row is of, and that of the day.
DATED = {"Materials": ("material", "priced_on"), "Trades": ("trade", "from")}


@dataclass(frozen=True, slots=True)
class DatedSetting:
    """A setting from a day on.

    Parameters
    ----------
    since : the day, ``ALWAYS`` where it has none
    value : in the unit declared
    cell : of the Workshop sheet; empty where it is not there
    """

    since: np.datetime64
    value: float
    cell: str


@dataclass
class PriceBook:
    """Everything that a price book says, checked.

    Parameters
    ----------
    path : of the file
    tables : every declared sheet by name, empty where the book has none
    settings : by name (``target_margin``); nan or empty where nothing is set
    setting_cells : the cell of each setting that the Workshop sheet has; of one with several rows that of the last day
    """

    path: Path
    tables: dict[str, SheetTable]
    settings: dict[str, float | str]
    setting_cells: dict[str, str]
    #: What the models of products measure, by row of the Products table.
    models: dict[int, ModelMeasures] = field(default_factory=dict)
    #: Quotes that are ordered and not yet done, in the order in which they were ordered, where a register beside the book has any.
    ordered: tuple[OrderedWork, ...] = ()
    #: The settings that hold from a day on, by name, each in the order of its days; the last one is also among the settings.
    histories: dict[str, tuple[DatedSetting, ...]] = field(default_factory=dict)
    _dated_rows: dict[str, dict[str, tuple[Rows, Values]]] = field(default_factory=dict, repr=False, compare=False)

    @property
    def file(self) -> str:
        """Name of the file, without its folder."""
        return self.path.name

    def number(self, name: str) -> float:
        """A number among the settings, in the unit declared; 0 where nothing is set."""
        value = self.settings.get(name)
        return float(value) if isinstance(value, float | int) and not math.isnan(value) else 0.0

    def word(self, name: str) -> str:
        """A word among the settings; empty where nothing is set."""
        value = self.settings.get(name)
        return value if isinstance(value, str) else ""

    def setting_on(self, name: str, day: np.datetime64 | datetime.date) -> DatedSetting | None:
        """A number among the settings as it holds on a day; None where it holds from a later day on."""
        if name not in self.histories:
            return DatedSetting(ALWAYS, self.number(name), self.setting_cells.get(name, ""))
        wanted = np.array(day, dtype="datetime64[D]")
        return next((each for each in reversed(self.histories[name]) if each.since <= wanted), None)

    def counts(self) -> dict[str, int]:
        """How many materials, mixes, products, quotes and so on the book holds."""
        found: dict[str, int] = {}
        for declared in SHEETS:
            table = self.tables[declared.name]
            name = declared.things.replace(" ", "_")
            if declared.name == "Products" and "service_row" in table.columns:
                found[name] = int((table.columns["service_row"] == 0).sum())
                continue
            if declared.name in ("Workshop", "Extras", "Actuals", "Cut-outs", "Layers", "Closed", "Taxes", "Quotes", "Terms"):
                found[name] = len(table)
            else:
                found[name] = len(set(table.columns[declared.columns[0].name].tolist()))
        found["quote_lines"] = len(set(self.tables["Enquiries"].rows.tolist()))
        return found


def price_row_on(book: PriceBook, material: str, day: np.datetime64 | datetime.date) -> int | None:
    """The row of the Materials table that is in force on a day: the latest price that is not after it.

    Parameters
    ----------
    book : a price book
    material : its name, in any letter case
    day : the day

    Returns
    -------
    index into the table's arrays, or None where the material has no price by that day
    """
    return row_on(book, "Materials", material, day)


def row_on(book: PriceBook, sheet: str, name: str, day: np.datetime64 | datetime.date) -> int | None:
    """The row of a sheet that is in force on a day: the latest that is not after it; one without a day always was.

    Parameters
    ----------
    sheet : one of ``DATED``
    name : what the row is of, in any letter case

    Returns
    -------
    index into the table's arrays, or None where it holds from a later day on
    """
    if sheet not in book._dated_rows:
        book._dated_rows[sheet] = _dated_rows(book.tables[sheet], *DATED[sheet])
    history = book._dated_rows[sheet].get(fold(name))
    if history is None:
        return None
    rows, days = history
    wanted = np.array(day, dtype="datetime64[D]")
    position = int(np.count_nonzero(days <= wanted)) - 1
    return int(rows[position]) if position >= 0 else None


def days_of_change(book: PriceBook) -> Values:
    """The days from which some price, wage or rate holds, in order, each once."""
    dated = [book.tables[sheet][column] for sheet, (_, column) in DATED.items()]
    rates = np.array([each.since for history in book.histories.values() for each in history if each.since != ALWAYS], dtype="datetime64[D]")
    days: Values = distinct(np.concatenate([*dated, rates]).astype("datetime64[D]"))
    known: Values = days[~np.isnat(days)]
    return known


def since_of(book: PriceBook, place: str) -> str:
    """The day from which a wage or a setting holds, by its cell: ``Trades!B7``; empty where it has none."""
    sheet, _, cell = place.partition("!")
    if sheet == "Trades":
        table = book.tables[sheet]
        days = [table["from"][row] for row in range(len(table)) if table.cell("hourly_cost", row) == cell]
    else:
        days = [each.since for history in book.histories.values() for each in history if sheet == "Workshop" and each.cell == cell]
    return next((str(day) for day in days if not np.isnat(day) and day != ALWAYS), "")


def _dated_rows(table: SheetTable, named: str, dated: str) -> dict[str, tuple[Rows, Values]]:
    found: dict[str, list[int]] = {}
    for index, name in enumerate(table[named].tolist()):
        found.setdefault(name, []).append(index)
    days = np.where(np.isnat(table[dated]), ALWAYS, table[dated])
    histories = {}
    for name, indices in found.items():
        rows = np.array(indices, dtype=np.int64)
        order = np.argsort(days[rows], kind="stable")
        histories[fold(name)] = (rows[order], days[rows][order])
    return histories
