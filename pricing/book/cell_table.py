"""The cells of a sheet: sparse and compact, each with its place and its number format.

A sheet of four million cells has to fit into memory, so a sheet keeps its cells in flat columns and builds a ``Cell``
only when it is looked at.
"""

from __future__ import annotations

from array import array
from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from pricing.book.cells import DATE, KINDS, Cell, State, Value, date_from_serial

_NOT_STORED = 8  # added to the kind of a formula whose result was never stored


class CellTable(Mapping[tuple[int, int], Cell]):
    """The cells of a sheet by (row, column), held in flat arrays in the order of the sheet.

    >>> table = CellTable.of([Cell(2, 3, 12.5, "number")])
    >>> table[2, 3].value
    12.5
    """

    def __init__(self, formats: list[str] | None = None, date_1904: bool = False) -> None:
        self._formats = formats if formats is not None else ["General"]
        self._date_1904 = date_1904
        self._columns = array("H")
        self._styles = array("I")
        self._kinds = array("B")
        self._values: list[Value] = []
        self._formulas: dict[int, str] = {}
        self._row_numbers = array("I")
        self._row_starts = array("I")
        self._rows: dict[int, int] = {}

    @classmethod
    def of(cls, cells: Iterable[Cell]) -> CellTable:
        """A table of cells made elsewhere; of two in one place the later stays."""
        formats: dict[str, int] = {}
        table = cls()
        kept = {(cell.row, cell.column): cell for cell in cells}
        last_row = 0
        for (row, _), cell in sorted(kept.items()):
            if row != last_row:
                table.open_row(row)
                last_row = row
            style = formats.setdefault(cell.number_format, len(formats))
            table.append(cell.column, style, KINDS.index(cell.kind), cell.value, cell.formula, cell.stored)
        table._formats = list(formats)
        table.close()
        return table

    def open_row(self, row: int) -> None:
        """Cells appended from here on stand in this row."""
        self._row_numbers.append(row)
        self._row_starts.append(len(self._values))

    def append(
        self, column: int, style: int, kind: int, value: Value, formula: str | None = None, stored: bool = True
    ) -> None:
        """Add a cell at the end of the row that is open."""
        if formula is not None:
            self._formulas[len(self._values)] = formula
        self._columns.append(column)
        self._styles.append(style)
        self._kinds.append(kind if stored else kind + _NOT_STORED)
        self._values.append(value)

    def appenders(
        self,
    ) -> tuple[Callable[[int], None], Callable[[int], None], Callable[[int], None], Callable[[Value], None]]:
        """The four ways to add column, style, kind and value of a typed cell to the row that is open, for loops."""
        return self._columns.append, self._styles.append, self._kinds.append, self._values.append

    def close(self) -> list[tuple[int, int]]:
        """Bring rows and cells into order; the places that were filled twice (the first filling stays)."""
        numbers = self._row_numbers.tolist()
        in_order = numbers == sorted(set(numbers)) and all(
            columns == sorted(set(columns))
            for columns in (self._columns[start:end].tolist() for start, end in self._spans())
        )
        twice = [] if in_order else self._sort()
        self._rows = {row: index for index, row in enumerate(self._row_numbers)}
        return twice

    def _spans(self) -> Iterator[tuple[int, int]]:
        ends = [*self._row_starts[1:], len(self._values)]
        return zip(self._row_starts, ends, strict=False)

    def _sort(self) -> list[tuple[int, int]]:
        places = [
            (row, self._columns[index], index)
            for row, (start, end) in zip(self._row_numbers, self._spans(), strict=True)
            for index in range(start, end)
        ]
        places.sort()
        ordered = CellTable(self._formats, self._date_1904)
        twice: list[tuple[int, int]] = []
        last = (0, 0)
        for row, column, index in places:
            if (row, column) == last:
                twice.append(last)
                continue
            if row != last[0]:
                ordered.open_row(row)
            last = (row, column)
            if index in self._formulas:
                ordered._formulas[len(ordered._values)] = self._formulas[index]
            ordered._columns.append(column)
            ordered._styles.append(self._styles[index])
            ordered._kinds.append(self._kinds[index])
            ordered._values.append(self._values[index])
        self.__dict__.update(ordered.__dict__)
        return twice

    def rows(self) -> list[int]:
        """The numbers of the rows that hold something, in order."""
        return self._row_numbers.tolist()

    def row(self, number: int) -> list[Cell]:
        """The cells of one row, from left to right; empty where nothing stands there."""
        span = self._span(number)
        return [self._cell(number, index) for index in range(*span)] if span else []

    def _span(self, number: int) -> tuple[int, int] | None:
        position = self._rows.get(number)
        if position is None:
            return None
        last = position + 1 == len(self._row_starts)
        return self._row_starts[position], len(self._values) if last else self._row_starts[position + 1]

    def _cell(self, row: int, index: int) -> Cell:
        code = self._kinds[index]
        value = self._values[index]
        kind = code & 7
        if kind == DATE and isinstance(value, float):
            value = date_from_serial(value, self._date_1904)
        formula = self._formulas.get(index) if self._formulas else None
        return Cell(
            row,
            self._columns[index],
            value,
            KINDS[kind],
            self._formats[self._styles[index]],
            formula,
            code < _NOT_STORED,
        )

    def __getitem__(self, place: tuple[int, int]) -> Cell:
        row, column = place
        span = self._span(row)
        if span:
            index = bisect_left(self._columns, column, *span)
            if index < span[1] and self._columns[index] == column:
                return self._cell(row, index)
        raise KeyError(place)

    def __iter__(self) -> Iterator[tuple[int, int]]:
        for row, (start, end) in zip(self._row_numbers, self._spans(), strict=True):
            for column in self._columns[start:end]:
                yield row, column

    def __len__(self) -> int:
        return len(self._values)


@dataclass
class Sheet:
    """A worksheet: its name, whether it is shown, and the cells that hold something.

    Parameters
    ----------
    name : as written on its tab
    state : "visible", "hidden", or "veryHidden" (which only a program can show again)
    cells : by (row, column), both counted from 1; read only
    hidden_rows : rows that hold something and are hidden, by hand or by a filter
    totals_rows : rows that are the totals row of a table
    merged : merged areas, as first row, first column, last row, last column
    """

    name: str
    state: State = "visible"
    cells: Mapping[tuple[int, int], Cell] = field(default_factory=CellTable)
    hidden_rows: set[int] = field(default_factory=set)
    totals_rows: set[int] = field(default_factory=set)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)

    def _table(self) -> CellTable:
        if not isinstance(self.cells, CellTable):
            self.cells = CellTable.of(self.cells.values())
        return self.cells

    def rows(self) -> list[int]:
        """The numbers of the rows that hold something, in order."""
        return self._table().rows()

    def row(self, number: int) -> list[Cell]:
        """The cells of one row, from left to right."""
        return self._table().row(number)
