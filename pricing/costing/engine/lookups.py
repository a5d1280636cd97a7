"""How the rows of one table name the rows of another, and the sums that follow such a link back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.costing.engine.packed_columns import Codes, Floats, Words, smallest

#: The rows that a shorter table names are kept once they are known [rows].
_KEPT = 100_000

_ALL = slice(None)


class Link:
    """For each row of a table, the row of another that it names, kept small and worked out part by part.

    Parameters
    ----------
    codes : a whole number for each row
    where : by such a number, the row that is named; where None, the number itself less *first*
    first : the number of the first row
    """

    def __init__(self, codes: Codes, where: NDArray[np.intp] | None = None, first: int = 0, size: int = -1) -> None:
        self._codes = codes
        self._where = where
        self._first = first
        self._size = size

    @classmethod
    def of_words(cls, keys: Words, targets: Sequence[Words]) -> Link:
        """A link by words.

        Parameters
        ----------
        keys : of the rows that name
        targets : keys of the rows that are named, table after table

        Problems raised: KeyError, the word that names nothing.

        >>> by_name = Words.of(np.array(["b", "a", "b"], dtype=object))
        >>> Link.of_words(by_name, [Words.of(np.array(["a", "b"], dtype=object))]).rows().tolist()
        [1, 0, 1]
        """
        rows = (word for each in targets for word in each.array().tolist())
        found = {word: row for row, word in enumerate(rows)}
        where = np.array([found.get(word, -1) for word in keys.words], dtype=np.intp)
        for code in np.flatnonzero(where < 0).tolist():
            if (keys.codes == code).any():
                raise KeyError(keys.words[code])
        return cls(keys.codes, where)

    @classmethod
    def of_numbers(cls, keys: NDArray[Any], targets: Sequence[NDArray[Any]]) -> Link:
        """A link by whole numbers.

        Problems raised: KeyError, a number that names nothing.

        >>> Link.of_numbers(np.array([3.0, 2.0]), [np.array([1.0]), np.array([3.0, 2.0])]).rows().tolist()
        [1, 2]
        """
        codes, named = _whole(keys), _whole(np.concatenate(targets))
        low, high = (int(named.min()), int(named.max())) if len(named) else (0, -1)
        outside = (codes < low) | (codes > high)
        if outside.any():
            raise KeyError(float(codes[outside.argmax()]))
        if np.array_equal(named, np.arange(low, low + len(named))):
            return cls(codes, first=low, size=len(named))
        where = np.full(high - low + 1, -1, dtype=np.intp)
        where[named - low] = np.arange(len(named))
        shifted = smallest(codes - low)
        nothing = where[shifted] < 0
        if nothing.any():
            raise KeyError(float(codes[nothing.argmax()]))
        return cls(shifted, where)

    def __len__(self) -> int:
        return len(self._codes)

    @cached_property
    def _all_rows(self) -> NDArray[np.intp]:
        return self._rows(_ALL)

    def _rows(self, part: slice) -> NDArray[np.intp]:
        codes = self._codes[part]
        if self._where is not None:
            return self._where[codes]
        return np.subtract(codes, self._first, dtype=np.intp)

    def rows(self, part: slice = _ALL) -> NDArray[np.intp]:
        """The rows that are named, of all rows or of a part."""
        return self._all_rows[part] if len(self) <= _KEPT else self._rows(part)

    @cached_property
    def one_to_one(self) -> bool:
        """True where each row names the row in its own place, and all are named."""
        return len(self) == self._size and np.array_equal(self.rows(), np.arange(len(self)))

    def taken(self, values: Floats, part: slice = _ALL) -> Floats:
        """The values of the rows that are named, shape (..., rows)."""
        if self.one_to_one:
            return values[..., part]
        return values.take(self.rows(part), axis=-1)

    # sums over the rows that name the same one

    @cached_property
    def in_order(self) -> bool:
        """True where the rows that name the same one stand together, in the order of what they name."""
        named = self._codes if self._where is None else self.rows()
        return bool((named[1:] >= named[:-1]).all())

    @cached_property
    def _starts(self) -> NDArray[np.intp]:
        """The first row of each run that names the same one."""
        named = self._codes if self._where is None else self.rows()
        return np.flatnonzero(np.concatenate([np.ones(min(len(named), 1), dtype=bool), named[1:] != named[:-1]]))

    def parts(self, size: int) -> Iterator[slice]:
        """The rows in parts of about a size, no run torn apart."""
        starts = self._starts
        wanted = np.arange(0, len(self), size)
        cuts = np.unique(starts[np.minimum(np.searchsorted(starts, wanted), len(starts) - 1)])
        ends = [*cuts[1:].tolist(), len(self)]
        yield from (slice(start, end) for start, end in zip(cuts.tolist(), ends, strict=True))

    def sums(self, values: Floats, part: slice) -> Floats:
        """The sum of each run of a part.

        Parameters
        ----------
        values : of the part's rows, shape (..., rows)
        part : one of ``parts``
        """
        first, last = np.searchsorted(self._starts, (part.start, part.stop))
        if last - first == values.shape[-1]:
            return values
        return np.add.reduceat(values, self._starts[first:last] - part.start, axis=-1)

    def spread(self, sums: Floats, count: int) -> Floats:
        """The sums of all runs at the rows they belong to; zero at a row that none names."""
        if len(self._starts) == count:
            return sums
        named = self.rows()[self._starts] if len(self) <= _KEPT else self._rows_at(self._starts)
        total = np.zeros((*sums.shape[:-1], count))
        total[..., named] = sums
        return total

    def _rows_at(self, places: NDArray[np.intp]) -> NDArray[np.intp]:
        codes = self._codes[places]
        return self._where[codes] if self._where is not None else np.subtract(codes, self._first, dtype=np.intp)

    def summed(self, values: Floats, count: int) -> Floats:
        """For each of *count* rows, the sum of the values of the rows that name it, shape (..., count)."""
        if not len(self):
            return np.zeros((*values.shape[:-1], count))
        if self.in_order:
            return self.spread(self.sums(values, slice(0, len(self))), count)
        order = np.argsort(self.rows(), kind="stable")
        named = self.rows()[order]
        starts = np.flatnonzero(np.r_[True, named[1:] != named[:-1]])
        total = np.zeros((*values.shape[:-1], count))
        total[..., named[starts]] = np.add.reduceat(values[..., order], starts, axis=-1)
        return total


def _whole(numbers: NDArray[Any]) -> Codes:
    """Numbers of rows as whole numbers.

    Problems raised: KeyError where one is not whole.
    """
    if numbers.dtype.kind == "i":
        return numbers
    whole = numbers.astype(np.int64)
    if not (whole == numbers).all():
        raise KeyError(float(numbers[(whole != numbers).argmax()]))
    return smallest(whole) if whole.min(initial=0) >= 0 else whole
