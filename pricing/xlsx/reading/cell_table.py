"""The cells of a sheet: sparse and compact, each with its place and its number format.

A sheet of four million cells has to fit into memory, so a sheet keeps its cells in flat columns and builds a ``Cell``
only when it is looked at.
"""

from __future__ import annotations

from array import array
from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import field
from itertools import chain, groupby, islice
from operator import lt

from pricing.dataclass import dataclass
from pricing.xlsx.addresses import Area
from pricing.xlsx.cells import DATE, KINDS, Cell, State, Value, date_from_serial

_NOT_STORED = 8  # added to the kind of a formula whose result was never stored


class FormulaTexts(Mapping[int, str]):
    """The texts of formulas by the index of their cell, in one piece of memory; added in rising order.

    >>> formulas = FormulaTexts()
    >>> formulas.add(7, "A1*2")
    >>> formulas[7], 8 in formulas, list(formulas)
    ('A1*2', False, [7])
    """

    def __init__(self) -> None:
        self._indices = array("I")
        self._ends = array("L", [0])
        self._text = bytearray()

    def add(self, index: int, text: str) -> None:
        """Keep the text of the formula of a cell behind all others."""
        self._indices.append(index)
        self._text += text.encode("utf-8", "surrogatepass")
        self._ends.append(len(self._text))

    def between(self, start: int, end: int) -> dict[int, str]:
        """The texts of the cells from one index up to another."""
        first, last = bisect_left(self._indices, start), bisect_left(self._indices, end)
        return {self._indices[position]: self._at(position) for position in range(first, last)}

    def _at(self, position: int) -> str:
        return self._text[self._ends[position] : self._ends[position + 1]].decode("utf-8", "surrogatepass")

    def __getitem__(self, index: int) -> str:
        position = bisect_left(self._indices, index)
        if position == len(self._indices) or self._indices[position] != index:
            raise KeyError(index)
        return self._at(position)

    def __iter__(self) -> Iterator[int]:
        return iter(self._indices)

    def __len__(self) -> int:
        return len(self._indices)


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
        self._formulas = FormulaTexts()
        self._row_numbers = array("I")
        self._row_starts = array("I")

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

    def append(self, column: int, style: int, kind: int, value: Value, formula: str | None = None, stored: bool = True) -> None:
        """Add a cell at the end of the row that is open."""
        if formula is not None:
            self._formulas.add(len(self._values), formula)
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
        if not self._in_order():
            return self._sort()
        return []

    def _in_order(self) -> bool:
        numbers = self._row_numbers
        if not all(map(lt, numbers, islice(numbers, 1, None))):
            return False
        for start, end in self._spans():
            columns = self._columns[start:end]
            if not columns or not all(map(lt, columns, columns[1:])):
                return False
        return True

    def _spans(self) -> Iterator[tuple[int, int]]:
        return zip(self._row_starts, chain(islice(self._row_starts, 1, None), (len(self._values),)), strict=False)

    def _sort(self) -> list[tuple[int, int]]:
        """Build the columns anew, row by row; row by row, too, because all places at once would take much memory."""
        numbers = self._row_numbers
        ends = self._row_starts[1:]
        ends.append(len(self._values))
        ordered = CellTable(self._formats, self._date_1904)
        twice: list[tuple[int, int]] = []
        for row, group in groupby(sorted(range(len(numbers)), key=numbers.__getitem__), numbers.__getitem__):
            indices = [index for piece in group for index in range(self._row_starts[piece], ends[piece])]
            indices.sort(key=self._columns.__getitem__)  # of two cells in one place the first comes first
            if indices:
                ordered.open_row(row)
            last = 0
            for index in indices:
                column = self._columns[index]
                if column == last:
                    twice.append((row, column))
                    continue
                last = column
                if index in self._formulas:
                    ordered._formulas.add(len(ordered._values), self._formulas[index])
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
        if span is None:
            return []
        formulas = self._formulas.between(*span) if self._formulas else {}
        return [self._cell(number, index, formulas.get(index)) for index in range(*span)]

    def _span(self, number: int) -> tuple[int, int] | None:
        position = bisect_left(self._row_numbers, number)
        if position == len(self._row_numbers) or self._row_numbers[position] != number:
            return None
        last = position + 1 == len(self._row_starts)
        return self._row_starts[position], len(self._values) if last else self._row_starts[position + 1]

    def _cell(self, row: int, index: int, formula: str | None) -> Cell:
        code = self._kinds[index]
        value = self._values[index]
        kind = code & 7
        if kind == DATE and isinstance(value, float):
            value = date_from_serial(value, self._date_1904)
        return Cell(
            row,
            self._columns[index],
            value,
            KINDS[kind],
            self._formats[self._styles[index]],
            formula,
            code < _NOT_STORED,
        )

    def at(self, row: int, index: int) -> Cell:
        """The cell at an index of the flat arrays, whose row is known."""
        return self._cell(row, index, self._formulas.get(index) if self._formulas else None)

    def __getitem__(self, place: tuple[int, int]) -> Cell:
        row, column = place
        span = self._span(row)
        if span:
            index = bisect_left(self._columns, column, *span)
            if index < span[1] and self._columns[index] == column:
                return self.at(row, index)
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
    merged : merged areas
    """

    name: str
    state: State = "visible"
    cells: Mapping[tuple[int, int], Cell] = field(default_factory=CellTable)
    hidden_rows: set[int] = field(default_factory=set)
    totals_rows: set[int] = field(default_factory=set)
    merged: list[Area] = field(default_factory=list)

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
