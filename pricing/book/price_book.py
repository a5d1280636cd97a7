"""The price book as the engine has it: a table of columns for each sheet, and the settings."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.book.declared.sheets import SHEETS
from pricing.book.model_file import ModelMeasures
from pricing.text import fold

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
    """

    sheet: str
    sheet_as_written: str
    rows: Rows
    columns: dict[str, Values]
    letters: dict[str, str] = field(default_factory=dict)
    typed_in: dict[str, Rows] = field(default_factory=dict)

    def cell(self, column: str, i: int) -> str:
        """Address of a value, ``F14``: of the row that it is taken from where it is left blank; empty where the sheet has no such
        column."""
        letters = self.letters.get(column)
        i = int(self.typed_in[column][i]) if column in self.typed_in else i
        return f"{letters}{int(self.rows[i])}" if letters and self.rows[i] else ""

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


@dataclass
class PriceBook:
    """Everything that a price book says, checked.

    Parameters
    ----------
    path : of the file
    tables : every declared sheet by name, empty where the book has none
    settings : by name (``target_margin``); nan or empty where nothing is set
    setting_cells : the cell of each setting that the Workshop sheet has
    """

    path: Path
    tables: dict[str, SheetTable]
    settings: dict[str, float | str]
    setting_cells: dict[str, str]
    #: What the models of products measure, by row of the Products table.
    models: dict[int, ModelMeasures] = field(default_factory=dict)
    #: Quotes that are ordered and not yet done, in the order in which they were ordered, where a register beside the book has any.
    ordered: tuple[OrderedWork, ...] = ()
    _price_rows: dict[str, tuple[Rows, Values]] | None = field(default=None, repr=False, compare=False)

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
    if book._price_rows is None:
        book._price_rows = _price_rows(book.tables["Materials"])
    history = book._price_rows.get(fold(material))
    if history is None:
        return None
    rows, days = history
    wanted = np.array(day, dtype="datetime64[D]")
    position = int(np.count_nonzero(days <= wanted)) - 1
    return int(rows[position]) if position >= 0 else None


def _price_rows(table: SheetTable) -> dict[str, tuple[Rows, Values]]:
    found: dict[str, list[int]] = {}
    for index, name in enumerate(table["material"].tolist()):
        found.setdefault(name, []).append(index)
    days = table["priced_on"]
    histories = {}
    for name, indices in found.items():
        rows = np.array(indices, dtype=np.int64)
        order = np.argsort(days[rows], kind="stable")
        histories[fold(name)] = (rows[order], days[rows][order])
    return histories
