"""What numpy does not do quickly by itself: what is distinct, what is among others, and words as numbers in a dictionary."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Container, Iterable, Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pricing.dataclass import dataclass

Floats: TypeAlias = NDArray[np.float64]
Texts: TypeAlias = NDArray[np.object_]
Codes: TypeAlias = NDArray[np.integer[Any]]


def distinct(values: NDArray[Any]) -> NDArray[Any]:
    """The values of an array, each once, in order.

    >>> distinct(np.array([3, 1, 3])).tolist()
    [1, 3]
    """
    return np.unique(values, return_index=True)[0]  # with their places: without, numpy loads its arrays with gaps first


def is_among(values: NDArray[np.integer[Any]], members: Iterable[int]) -> NDArray[np.bool_]:
    """Which of some whole numbers are among others, of which there may be none.

    >>> is_among(np.array([3, 1, 3]), {3}).tolist(), is_among(np.array([3]), ()).tolist()
    ([True, False, True], [False])
    """
    return np.isin(values, np.fromiter(members, dtype=np.intp))


def counted_anew(counts: Codes) -> NDArray[np.intp]:
    """0, 1, 2 and so on, anew for each of some counts.

    >>> counted_anew(np.array([2, 0, 3])).tolist()
    [0, 1, 0, 1, 2]
    """
    return np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)


def rows_under(held: Codes, count: int, wanted: Codes) -> tuple[NDArray[np.intp], NDArray[np.int32]]:
    """The rows that stand under some names, name after name, and how many each has.

    Parameters
    ----------
    held, count : the name of each row by its number, -1 where it has none, and how many names there are
    wanted : the numbers of the names, of which one may be wanted more than once

    >>> [each.tolist() for each in rows_under(np.array([1, -1, 0, 1]), 3, np.array([1, 2, 1]))]
    [[0, 3, 0, 3], [2, 0, 2]]
    """
    in_turn = np.argsort(held, kind="stable")[np.count_nonzero(held < 0):]
    many = np.bincount(held[in_turn], minlength=count)
    first, counts = (np.cumsum(many) - many)[wanted], many[wanted].astype(np.int32)
    return in_turn[np.repeat(first, counts) + counted_anew(counts)], counts


def first_seen(codes: Codes, size: int) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Numbers counted anew in the order in which they are first met.

    Parameters
    ----------
    codes : whole numbers from 0, shape (rows,)
    size : what all of them are below

    Returns
    -------
    the numbers met, the row at which each is met first, and for each row the place of its number among those met

    >>> [part.tolist() for part in first_seen(np.array([7, 2, 7, 9]), 10)]
    [[7, 2, 9], [0, 1, 3], [0, 1, 0, 2]]
    """
    rows = len(codes)
    if size > 8 * rows + 1000:
        _, first, inverse = np.unique(codes, return_index=True, return_inverse=True)
        order = np.argsort(first)
        place = np.empty(len(first), dtype=np.intp)
        place[order] = np.arange(len(first))
        return codes[first[order]].astype(np.intp), first[order], place[inverse]
    at = np.full(size, rows, dtype=np.intp)
    at[codes[::-1]] = np.arange(rows - 1, -1, -1)
    first = np.sort(at[at < rows])
    used = codes[first].astype(np.intp)
    at[used] = np.arange(len(used))
    return used, first, at[codes]


@dataclass(frozen=True, eq=False)
class DictionaryColumn:
    """A column of words: the word of row *i* is ``words[codes[i]]``; a word may stand in the list more than once."""

    codes: Codes
    words: Sequence[str] | Texts

    @classmethod
    def of(cls, column: Texts) -> DictionaryColumn:
        """From a plain array, each word once in the order in which it is first met.

        >>> made = DictionaryColumn.of(np.array(["b", "a", "b"], dtype=object))
        >>> made.codes.tolist(), list(made.words)
        ([0, 1, 0], ['b', 'a'])
        """
        column = np.asarray(column, dtype=object)
        if len(column) and not column.strides[0]:
            return cls(np.broadcast_to(np.int32(0), len(column)), column[:1])  # one word throughout
        rows = column.tolist()
        numbers: defaultdict[str, int] = defaultdict(itertools.count().__next__)
        codes = np.fromiter(map(numbers.__getitem__, rows), dtype=np.int32, count=len(rows))
        return cls(codes, text_array(list(numbers)))

    def __len__(self) -> int:
        return len(self.codes)

    def array(self) -> Texts:
        """The words as a plain array."""
        return text_array(self.words)[self.codes]

    def followed_by(self, other: DictionaryColumn) -> DictionaryColumn:
        """Its words, and behind them those of another column, each word known once.

        >>> DictionaryColumn.of(np.array(["b", "a"])).followed_by(DictionaryColumn.of(np.array(["c", "a"]))).codes.tolist()
        [0, 1, 2, 1]
        """
        numbers: defaultdict[str, int] = defaultdict(itertools.count().__next__)
        codes = [np.array([numbers[word] for word in each.words], dtype=np.int32)[each.codes] for each in (self, other)]
        return DictionaryColumn(np.concatenate(codes), text_array(list(numbers)))

    def every_word(self) -> DictionaryColumn:
        """Its list of words as a column."""
        return DictionaryColumn(np.arange(len(self.words), dtype=np.int32), self.words)

    def is_among(self, words: Container[str]) -> NDArray[np.bool_]:
        """Which rows hold one of some words.

        >>> DictionaryColumn.of(np.array(["b", "a", "b"])).is_among({"b", "c"}).tolist()
        [True, False, True]
        """
        return np.array([word in words for word in self.words], dtype=np.bool_)[self.codes]

    def taken(self, rows: Codes | slice) -> DictionaryColumn:
        """The words of some rows."""
        return DictionaryColumn(self.codes[rows], self.words)


def text_array(words: Sequence[str] | Texts) -> Texts:
    """Words as an array of objects."""
    if isinstance(words, np.ndarray):
        return words
    made = np.empty(len(words), dtype=object)
    made[:] = list(words)
    return made
