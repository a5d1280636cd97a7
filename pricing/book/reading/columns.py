"""Reading whole columns: in one step where every cell is plain, cell by cell where one is not."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing import units
from pricing.arrays import distinct, is_among
from pricing.book.declared.column import Column
from pricing.book.reading.cells import LONGEST_NAME, CellReader
from pricing.book.reading.headings import Headings
from pricing.book.typed.conversion import fifteen_digits, scaled, tidy
from pricing.book.wording.reporter import example_for, figure_words, in_unit_of, spoken
from pricing.xlsx.addresses import column_letters
from pricing.xlsx.cells import BLANK, DATE, NUMBER, TEXT, Cell
from pricing.xlsx.number_formats import unit_in_format
from pricing.xlsx.reading.grid import Grid, Indices

Values = NDArray[Any]


def to_fifteen_digits(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Every number to 15 significant digits.

    >>> to_fifteen_digits(np.array([0.1 + 0.2, 12.5]))
    array([ 0.3, 12.5])
    """
    # A number with at most six decimals comes back unchanged from this; only the others are written out.
    with np.errstate(over="ignore"):  # of the largest numbers, which are none of them
        short = (np.abs(values) < 1e8) & (np.round(values * 1e6) / 1e6 == values)
    odd = np.flatnonzero(~short & np.isfinite(values))
    if len(odd):
        values = values.copy()
        values[odd] = [fifteen_digits(value) for value in values[odd].tolist()]
    return values


class ColumnReader:
    """Reads the columns of one sheet.

    Parameters
    ----------
    grid : the sheet as arrays
    found : its headings
    rows : its rows of data
    cells : the careful reader of single cells
    offered : a name of each sheet that is read already
    """

    def __init__(
        self, grid: Grid, found: Headings, rows: Indices, cells: CellReader, offered: Mapping[str, str] = MappingProxyType({})
    ) -> None:
        self.grid = grid
        self.found = found
        self.rows = rows
        self.cells = cells
        self.offered = offered
        #: Columns with a plain number whose unit stands neither in the cell nor in the heading.
        self.without_unit: list[str] = []

    def read(self, column: Column, row_units: Values | None = None) -> Values:
        """All values of a column; blanks are filled with its default.

        Parameters
        ----------
        column : its declaration
        row_units : the unit of each row's figure where it differs from row to row

        Problems: those of ``CellReader``; missing-value.
        """
        column = in_unit_of(column, self.found.units.get(column.name, ""))
        self.cells.standing = self.offered.get(column.refers_to, "")
        place = self.found.places.get(column.name)
        indices = self.grid.column_at(place, self.rows) if place else np.full(len(self.rows), -1, dtype=np.int64)
        if column.kind == "date":
            return self._dates(column, indices)
        if column.is_number:
            return self._numbers(column, indices, row_units)
        return self._texts(column, indices)

    def _slow(
        self, column: Column, indices: Indices, positions: Indices, read: Callable[[Cell, int], object]
    ) -> dict[int, Any]:
        """Read single cells; the positions that turned out blank are reported where a value is needed."""
        results: dict[int, Any] = {}
        wanted = column.needed and column.name in self.found.places
        if not wanted:  # where nothing stands there is nothing to say
            positions = positions[indices[positions] >= 0]
            positions = positions[self.grid.kinds[indices[positions]] != BLANK]
        for position in positions.tolist():
            index = int(indices[position])
            cell = self.grid.cell(index) if index >= 0 else None
            if (cell is not None and cell.kind != "blank") or (cell is not None and not cell.stored):
                before = len(self.cells.problems)
                results[position] = read(cell, position)
                if results[position] is not None or len(self.cells.problems) > before:
                    continue
            if wanted:
                self.cells.report(
                    "missing-value", self.address(column, position), what=spoken(column),
                    example=example_for(column, "", self.cells.standing),
                )
        return results

    def address(self, column: Column, position: int) -> str:
        """The address of a row's cell in a column."""
        place = self.found.places.get(column.name)
        letters = column_letters(place) if place else ""
        return f"{letters}{int(self.rows[position])}" if letters else ""

    def _plain(self, indices: Indices, kind: int, doubtful: bool = False) -> NDArray[np.bool_]:
        """True for the positions whose cell holds a stored value of one kind."""
        plain: NDArray[np.bool_] = (indices >= 0) & (self.grid.kinds[indices] == kind)
        if doubtful and self.cells.doubtful:
            plain &= ~self.grid.formulas[indices]
        return plain

    def _numbers(self, column: Column, indices: Indices, row_units: Values | None) -> Values:
        default = column.default if isinstance(column.default, float) else np.nan
        values = np.full(len(indices), np.nan)
        if not len(indices):
            return values
        heading_unit = self.found.units.get(column.name, "")
        fast = self._plain(indices, NUMBER, doubtful=True) & (column.kind != "yes_no")
        if fast.any():
            fast &= self._plain_styles(column, indices, fast, heading_unit, row_units)
        if fast.any():
            raw = to_fifteen_digits(self.grid.held[indices[fast]].astype(np.float64))
            values[fast] = self._in_unit(raw, column, heading_unit)
            sound = (values >= column.lower) & (values <= column.upper)
            if column.whole:
                sound &= values == np.floor(values)
            fast &= sound  # the careful reading reports what is out of range
            if heading_unit == "" and row_units is None and column.kind == "number" and fast.any():
                self._note_missing_unit(column)
        sound_figures = values[fast]
        if len(sound_figures) and row_units is None and column.kind != "yes_no":
            self.cells.standing = figure_words(column, float(sound_figures[0]))
        if column.kind == "yes_no":
            found = self._slow(column, indices, np.flatnonzero(~fast), lambda cell, _: self.cells.yes_no(cell, column))
        else:
            found = self._slow(
                column, indices, np.flatnonzero(~fast),
                lambda cell, position: self.cells.number(
                    cell, column, heading_unit, "" if row_units is None else str(row_units[position])
                ),
            )
        values[~fast] = np.nan
        for position, value in found.items():
            values[position] = np.nan if value is None else value
        values[np.isnan(values)] = default
        return values

    def _note_missing_unit(self, column: Column) -> None:
        stated = not column.unit or column.is_money or column.names_its_unit or column.name in self.found.faulty
        if not stated and column.heading not in self.without_unit:
            self.without_unit.append(column.heading)

    def _plain_styles(
        self, column: Column, indices: Indices, fast: NDArray[np.bool_], heading_unit: str, row_units: Values | None
    ) -> NDArray[np.bool_]:
        """True where the number format adds nothing to the number; in a percent column: where it shows a percentage."""
        wanted = "%" if column.kind == "percent" else ""
        styles = self.grid.styles[indices]
        good = [
            style for style in distinct(styles[fast]).tolist() if unit_in_format(self.grid.formats[style]) == wanted
        ]
        plain: NDArray[np.bool_] = is_among(styles, good)
        if column.name in ("target_margin", "lowest_margin"):
            plain[:] = False
        if row_units is not None:
            plain &= (row_units != "%") & (heading_unit == "")
        return plain

    def _in_unit(self, raw: NDArray[np.float64], column: Column, heading_unit: str) -> NDArray[np.float64]:
        if column.kind == "percent" or not column.unit or column.unit_rule:
            return raw
        given = units.unit_of(heading_unit or column.plain_unit, self.cells.currency)
        declared = units.unit_of(column.unit, self.cells.currency)
        if isinstance(given, str) or isinstance(declared, str) or given.dimension != declared.dimension:
            return raw  # an amount of money under a heading that names the currency alone
        if given.factor == declared.factor:
            return raw
        return to_fifteen_digits(np.asarray(scaled(raw, given.factor, declared.factor)))

    def _dates(self, column: Column, indices: Indices) -> Values:
        values = np.full(len(indices), np.datetime64("NaT"), dtype="datetime64[D]")
        if not len(indices):
            return values
        fast = self._plain(indices, DATE)
        if fast.any():
            days = self.grid.days(indices[fast])
            sound = (days >= np.datetime64("1990-01-01")) & (days <= np.datetime64("2100-12-31"))
            values[fast] = days
            fast[np.flatnonzero(fast)[~sound]] = False
            values[~fast] = np.datetime64("NaT")
        found = self._slow(column, indices, np.flatnonzero(~fast), lambda cell, _: self.cells.date(cell, column))
        for position, value in found.items():
            if value is not None:
                values[position] = np.datetime64(value, "D")
        return values

    def _texts(self, column: Column, indices: Indices) -> Values:
        blank = column.default if isinstance(column.default, str) else ""
        values = np.full(len(indices), blank, dtype=object)
        if not len(indices):
            return values
        plain = np.flatnonzero(self._plain(indices, TEXT))
        texts = self.grid.held[indices[plain]].tolist()
        # What a stored text says needs no look at its cell, unless it says nothing that is seen or is none of the words that it has to be.
        read = {text: self._plainly(text, column) for text in dict.fromkeys(texts)}
        values[plain] = [blank if said is None else said for said in map(read.__getitem__, texts)]
        plain = plain[[read[text] is not None for text in texts]]
        slow = np.ones(len(indices), dtype=np.bool_)
        slow[plain] = False
        found = self._slow(column, indices, np.flatnonzero(slow), lambda cell, position: self._word(cell, column, position))
        for position, value in found.items():
            if value:
                values[position] = value
        return values

    def _plainly(self, text: str, column: Column) -> str | None:
        """What a stored text says by itself; None where its cell is to be looked at."""
        if len(text) > (math.inf if column.kind == "note" else LONGEST_NAME) or not text.strip():
            return None
        said = tidy(text, lines=column.kind == "note")
        return self.cells.known_word(said, column) if column.choices else said or None

    def _word(self, cell: Cell, column: Column, position: int) -> str | None:
        text = self.cells.text(cell, column)
        if text and column.choices:
            return self.cells.word(text, self.address(column, position), column)
        return text
