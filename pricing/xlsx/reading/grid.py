"""A worksheet as flat numpy arrays, so that a column of a hundred thousand rows is read in one step."""

from __future__ import annotations

import datetime
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.xlsx.addresses import address
from pricing.xlsx.cells import BLANK, TEXT, Cell
from pricing.xlsx.reading.cell_table import CellTable, Sheet

Indices = NDArray[np.int64]


class Grid:
    """The cells of a sheet that hold something, in the order of the sheet.

    Parameters
    ----------
    rows, columns : place of each cell, counted from 1
    kinds : index into ``KINDS`` of each cell, plus 8 for a formula whose result is not stored
    styles : index into ``formats`` of each cell
    values : what each holds; days may still be serial numbers
    formulas : indices of the cells that are formulas
    """

    def __init__(self, sheet: Sheet) -> None:
        table = sheet.cells if isinstance(sheet.cells, CellTable) else CellTable.of(sheet.cells.values())
        self.sheet = sheet
        self.table = table
        # CellTable keeps flat arrays; reading them here spares building two million Cell objects.
        numbers = np.array(table._row_numbers, dtype=np.int64)
        starts = np.array(table._row_starts, dtype=np.int64)
        counts = np.diff(np.append(starts, len(table._values)))
        self.rows: Indices = np.repeat(numbers, counts)
        self.columns: Indices = np.array(table._columns, dtype=np.int64)
        self.kinds: Indices = np.array(table._kinds, dtype=np.int64)
        self.styles: Indices = np.array(table._styles, dtype=np.int64)
        self.values: list[Any] = table._values
        self.formats: list[str] = table._formats
        self.formulas = np.zeros(len(self.values), dtype=bool)
        if table._formulas:
            self.formulas[list(table._formulas)] = True
        self.date_1904: bool = table._date_1904

    @cached_property
    def held(self) -> NDArray[np.object_]:
        """What each cell holds, as an array."""
        return np.array(self.values, dtype=object)

    def filled(self) -> NDArray[np.bool_]:
        """True for the cells that hold more than spaces."""
        full: NDArray[np.bool_] = self.kinds != BLANK
        texts = np.flatnonzero(self.kinds == TEXT).tolist()
        blank = {text for text in {self.values[index] for index in texts} if not text.strip()}
        for index in texts if blank else ():
            full[index] = self.values[index] not in blank
        return full

    def cell(self, index: int) -> Cell:
        """The cell at an index of the arrays."""
        return self.table.at(int(self.rows[index]), index)

    def address(self, index: int) -> str:
        """The address of the cell at an index of the arrays."""
        return address(int(self.rows[index]), int(self.columns[index]))

    def column_at(self, column: int, rows: Indices) -> Indices:
        """For each of some rows, the index of its cell in a column; -1 where nothing stands there."""
        found = np.full(len(rows), -1, dtype=np.int64)
        indices = np.flatnonzero(self.columns == column)
        if len(indices) and len(rows):
            positions = np.minimum(np.searchsorted(rows, self.rows[indices]), len(rows) - 1)
            hits = rows[positions] == self.rows[indices]
            found[positions[hits]] = indices[hits]
        return found

    def first_rows(self, count: int) -> list[list[Cell]]:
        """The cells of the first rows that hold something."""
        return [self.sheet.row(number) for number in self.sheet.rows()[:count]]

    def days(self, indices: Indices) -> NDArray[np.datetime64]:
        """The days of cells that hold dates."""
        values = [self.values[index] for index in indices.tolist()]
        epoch = np.datetime64("1904-01-01" if self.date_1904 else "1899-12-30", "D")
        if all(isinstance(value, float) for value in values):
            serials = np.floor(np.array(values, dtype=np.float64)).astype(np.int64)
            if self.date_1904 or not len(serials) or serials.min() > 60:
                return epoch + serials.astype("timedelta64[D]")
        days = [self.cell(index).value for index in indices.tolist()]
        return np.array(
            [
                np.datetime64(day.date(), "D") if isinstance(day, datetime.datetime) else np.datetime64("NaT")
                for day in days
            ],
            dtype="datetime64[D]",
        )

