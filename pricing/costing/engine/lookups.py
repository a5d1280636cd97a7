"""How the rows of one table name the rows of another, and the sums that follow such a lookup back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pricing.costing.engine.packed_columns import Codes, DictionaryColumn, Floats


class RowLookup:
    """For each row of a table, the row of another that it names.

    Parameters
    ----------
    rows : the row that is named, counted from 0, shape (rows,)
    """

    def __init__(self, rows: Codes) -> None:
        self.rows = rows

    @classmethod
    def of_words(cls, keys: DictionaryColumn, targets: Sequence[DictionaryColumn]) -> RowLookup:
        """A lookup by words.

        Parameters
        ----------
        keys : of the rows that name
        targets : keys of the rows that are named, table after table

        Problems raised: KeyError, the word that names nothing.

        >>> by_name = DictionaryColumn.of(np.array(["b", "a", "b"], dtype=object))
        >>> RowLookup.of_words(by_name, [DictionaryColumn.of(np.array(["a", "b"], dtype=object))]).rows.tolist()
        [1, 0, 1]
        """
        words = (word for each in targets for word in each.array().tolist())
        found = {word: row for row, word in enumerate(words)}
        rows = np.array([found.get(word, -1) for word in keys.words], dtype=np.intp)[keys.codes]
        if (rows < 0).any():
            raise KeyError(keys.words[keys.codes[(rows < 0).argmax()]])
        return cls(rows)

    @classmethod
    def of_numbers(cls, keys: Floats | Codes, targets: Sequence[Floats]) -> RowLookup:
        """A lookup by whole numbers.

        Parameters
        ----------
        keys : of the rows that name
        targets : numbers of the rows that are named, table after table

        Problems raised: KeyError, a number that names nothing.

        >>> RowLookup.of_numbers(np.array([3.0, 2.0]), [np.array([1.0]), np.array([3.0, 2.0])]).rows.tolist()
        [1, 2]
        """
        named = np.concatenate(targets) if len(targets) > 1 else targets[0]
        if (named[1:] == named[:-1] + 1).all():
            if keys.dtype.kind == "i" and len(named):
                return cls(_counted_from(keys.astype(np.int32, copy=False), int(named[0]), len(named)))
            rows = (keys - named[:1].sum()).astype(np.intp)
        else:
            order = np.argsort(named, kind="stable")
            rows = order.take(np.searchsorted(named, keys, sorter=order), mode="clip")
        wrong = named.take(rows, mode="clip") != keys if len(named) else np.ones(len(keys), dtype=np.bool_)
        if wrong.any():
            raise KeyError(float(keys[wrong.argmax()]))
        return cls(rows)

    def taken(self, values: Floats, of: slice = slice(None)) -> Floats:
        """The values of the rows that are named, shape (..., rows); of some that name them, or of all."""
        return values[..., of] if self._is_itself(values.shape[-1]) else values.take(self.rows[of], axis=-1)

    def _is_itself(self, count: int) -> bool:
        """Whether each row names the one at its own place, of *count* rows."""
        return count == len(self.rows) and self._in_places

    @cached_property
    def _in_places(self) -> bool:
        return bool((self.rows == np.arange(len(self.rows))).all())

    @cached_property
    def in_order(self) -> bool:
        """Whether rows that name the same one stand together, and all in the order of what they name."""
        return bool((self.rows[1:] >= self.rows[:-1]).all())

    def stretches(self, size: int) -> Iterator[slice]:
        """Stretches of about so many rows that stand in order; those that name the same one are never apart.

        >>> list(RowLookup(np.array([0, 0, 1, 1, 1, 2])).stretches(3))
        [slice(0, 5, None), slice(5, 6, None)]
        """
        first, count = 0, len(self.rows)
        while first < count:
            last = int(np.searchsorted(self.rows, self.rows[min(first + size, count) - 1], side="right"))
            yield slice(first, last)
            first = last

    @cached_property
    def _runs(self) -> tuple[NDArray[np.intp] | slice, NDArray[np.intp]]:
        """An order in which the rows that name the same one stand together, and the first of each run in it."""
        order = slice(None) if self.in_order else np.argsort(self.rows, kind="stable")
        named = self.rows[order]
        return order, np.flatnonzero(np.concatenate([[True], named[1:] != named[:-1]]))

    def summed(self, values: Floats, count: int) -> Floats:
        """For each of *count* rows, the sum of the values of the rows that name it, shape (..., count).

        >>> RowLookup(np.array([0, 2, 0])).summed(np.array([1.0, 5.0, 2.0]), 3).tolist()
        [3.0, 0.0, 5.0]
        """
        if self._is_itself(count):
            return values
        total = np.zeros((*values.shape[:-1], count))
        self.sum_into(total, values)
        return total

    def sum_into(self, total: Floats, values: Floats) -> None:
        """Add the values of the rows that name each to a total, one row after another.

        Parameters
        ----------
        total : shape (..., rows that are named), without gaps
        """
        if total.ndim == 1:
            np.add.at(total, self.rows, values)
        else:
            each = np.arange(total.size // total.shape[-1])[:, None] * total.shape[-1] + self.rows
            np.add.at(total.reshape(-1), each.reshape(-1), np.broadcast_to(values, (*total.shape[:-1], len(self.rows))).reshape(-1))

    def largest(self, values: Floats, count: int) -> Floats:
        """For each of *count* rows, the largest value of the rows that name it, but not below 0, shape (..., count).

        >>> RowLookup(np.array([0, 2, 0])).largest(np.array([1.0, -5.0, 2.0]), 3).tolist()
        [2.0, 0.0, 0.0]
        """
        if self._is_itself(count):
            return values.clip(min=0.0)
        found = np.zeros((*values.shape[:-1], count))
        if len(self.rows):
            order, starts = self._runs
            found[..., self.rows[order][starts]] = np.maximum.reduceat(values[..., order], starts, axis=-1).clip(min=0.0)
        return found


def _counted_from(keys: Codes, first: int, count: int) -> Codes:
    """Numbers that follow each other from *first*, as places of *count* rows.

    Problems raised: KeyError, a number that is none of them.
    """
    for edge in (keys.min(initial=first), keys.max(initial=first)):
        if not first <= edge < first + count:
            raise KeyError(float(edge))
    return keys - np.asarray(first, dtype=keys.dtype)


def ranked(values: Floats, groups: Floats) -> Floats:
    """How many values of the same group are larger, or as large and stand before, shape of *values*.

    Parameters
    ----------
    values : shape (..., rows)
    groups : shape (rows,)

    >>> ranked(np.array([1.0, 3.0, 1.0, 2.0]), np.array([1.0, 1.0, 1.0, 2.0])).tolist()
    [1.0, 0.0, 2.0, 0.0]
    """
    order = np.lexsort((-values, np.broadcast_to(groups, values.shape)), axis=-1)
    together = np.sort(groups)
    places = np.arange(len(groups)) - np.searchsorted(together, together)
    found = np.empty(values.shape)
    np.put_along_axis(found, order, np.broadcast_to(places.astype(np.float64), values.shape), axis=-1)
    return found
