"""Columns that take little room: words as numbers in a dictionary, and cells told only when asked for.

A catalogue has the same few words in a great many rows. What is kept here is read as the plain arrays that the rest of the
costing works with.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, MutableMapping, Sequence
from typing import Any, TypeAlias, overload

import numpy as np
from numpy.typing import NDArray

from pricing.arrays import Codes, DictionaryColumn, Floats, Texts, first_seen
from pricing.dataclass import dataclass

__all__ = [
    "Chosen", "Codes", "DictionaryColumn", "Floats", "NumberColumns", "Places", "TextColumn", "TextColumns", "Texts", "first_seen",
    "taken_places",
]


@dataclass(frozen=True, eq=False)
class Chosen:
    """A column of words of another, put together when it is asked for: the word of row *i* is that of row ``which[i]`` there."""

    of: DictionaryColumn
    which: Codes

    def taken(self, rows: Codes | slice) -> DictionaryColumn:
        """The words of some rows.

        >>> Chosen(DictionaryColumn.of(np.array(["b", "a"])), np.array([1, 1, 0])).taken(slice(1, 3)).array().tolist()
        ['a', 'b']
        """
        return self.of.taken(self.which[rows])


#: A column of words in any form.
TextColumn: TypeAlias = DictionaryColumn | Chosen | Texts


class TextColumns(Mapping[str, Texts]):
    """Columns of words by name, kept as codes or as arrays, and read as arrays."""

    def __init__(self, columns: Mapping[str, TextColumn]) -> None:
        self.kept = dict(columns)
        self._read: dict[str, Texts] = {}

    def __getitem__(self, name: str) -> Texts:
        kept = self.kept[name]
        if isinstance(kept, np.ndarray):
            return kept
        if name not in self._read:
            self._read[name] = self.words(name).array()
        return self._read[name]

    def words(self, name: str) -> DictionaryColumn:
        """A column as codes."""
        kept = self.kept[name]
        if isinstance(kept, np.ndarray):
            self._read[name] = kept
            kept = self.kept[name] = DictionaryColumn.of(kept)
        elif isinstance(kept, Chosen):
            kept = self.kept[name] = kept.taken(slice(None))
        return kept

    def taken(self, name: str, rows: Codes | slice) -> DictionaryColumn:
        """A column of some rows, as codes."""
        kept = self.kept[name]
        return kept.taken(rows) if isinstance(kept, Chosen) else self.words(name).taken(rows)

    def of_rows(self, rows: Codes | slice) -> TextColumns:
        """The columns of some rows, as codes."""
        return TextColumns({name: self.taken(name, rows) for name in self.kept})

    def __contains__(self, name: object) -> bool:
        return name in self.kept

    def __iter__(self) -> Iterator[str]:
        return iter(self.kept)

    def __len__(self) -> int:
        return len(self.kept)


class NumberColumns(MutableMapping[str, Floats]):
    """Columns of numbers by name: whole numbers of four bytes are kept as they are, and all are read as floats."""

    def __init__(self, columns: Mapping[str, NDArray[Any]]) -> None:
        self.kept = {name: _kept(values) for name, values in columns.items()}

    def __getitem__(self, name: str) -> Floats:
        return self.kept[name].astype(np.float64, copy=False)

    def __setitem__(self, name: str, values: NDArray[Any]) -> None:
        self.kept[name] = _kept(values)

    def __delitem__(self, name: str) -> None:
        del self.kept[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.kept)

    def __len__(self) -> int:
        return len(self.kept)


def _kept(values: NDArray[Any]) -> NDArray[Any]:
    made = np.asarray(values)
    return made if made.dtype == np.int32 else made.astype(np.float64, copy=False)


class Places(Sequence[str]):
    """Where the values of a column stand: the cell of each row, put together when it is asked for.

    Parameters
    ----------
    columns : what a cell begins with, ``Products!F``; empty where a value stands nowhere
    numbers : for each of these, the spreadsheet's row number of every line
    which : for each line, which of them it stands in; the first for all where None
    at : the lines that are meant, where not all in their order

    >>> places = Places(("Products!F", ""), (np.array([4, 5, 6]), np.array([0, 0, 0])), np.array([0, 1, 0]))
    >>> list(places), places.taken(np.array([2, 2]))[1]
    (['Products!F4', '', 'Products!F6'], 'Products!F6')
    """

    def __init__(
        self, columns: Sequence[str], numbers: Sequence[Codes], which: Codes | None = None, at: Codes | None = None
    ) -> None:
        self._columns = tuple(columns)
        self._numbers = tuple(numbers)
        self._which = which
        self._at = at

    def __len__(self) -> int:
        return len(self._at if self._at is not None else self._numbers[0])

    @overload
    def __getitem__(self, row: int) -> str: ...
    @overload
    def __getitem__(self, row: slice) -> list[str]: ...
    def __getitem__(self, row: int | slice) -> str | list[str]:
        if isinstance(row, slice):
            return [self[each] for each in range(*row.indices(len(self)))]
        line = int(self._at[row]) if self._at is not None else row
        which = int(self._which[line]) if self._which is not None else 0
        column, number = self._columns[which], self._numbers[which][line]
        return f"{column}{number}" if column and number else ""

    def taken(self, rows: Codes) -> Places:
        """The places of some rows."""
        return Places(self._columns, self._numbers, self._which, rows if self._at is None else self._at[rows])


def taken_places(places: Sequence[str], rows: Codes) -> Sequence[str]:
    """The places of some rows, of whatever kind the column is."""
    return places.taken(rows) if isinstance(places, Places) else [places[row] for row in rows.tolist()]
