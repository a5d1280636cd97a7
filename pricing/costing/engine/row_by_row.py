"""Columns of one table that are worked out row by row, many of them together: some rows after others, so that what comes about on the
way stays within reach of the processor.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from pricing.algebra import expressions
from pricing.costing.engine.columns import ByWord, Computed, Lookup
from pricing.costing.engine.model import Alike, Model
from pricing.costing.engine.packed_columns import Codes, Floats


class Values(Protocol):
    """The values of a model."""

    model: Model

    def value(self, table: str, column: str) -> Floats:
        """The numbers of a column, shape (..., rows)."""


def is_by_row(model: Model, table: str, name: str) -> bool:
    """Whether each figure of a column is worked out from its own row, and from rows of another table that it names."""
    column = model.column(table, name)
    return isinstance(column, Computed) or (
        isinstance(column, Lookup | ByWord) and column.table != table and model.members(column.table) == [column.table])


class RowByRow:
    """Some columns of a table and what they are made of in the same rows.

    Parameters
    ----------
    values : of the model; what is known of the table, and the columns of other tables, are taken from there
    table, wanted : the columns
    is_known : whether a column of the table, by its name, need not be worked out
    """

    def __init__(self, values: Values, table: str, wanted: Iterable[str], is_known: Callable[[str], bool]) -> None:
        self.values, self.model, self.table, self._is_known = values, values.model, table, is_known
        #: What has to be worked out, each behind what it is made of.
        self.made: dict[str, Computed | Lookup | ByWord] = {}
        #: The columns of these rows that are known.
        self.known: dict[str, Floats] = {}
        #: What all rows share.
        self.shared: dict[str, Floats] = {}
        for name in wanted:
            self._add(name)
        for name in [name for name in self.made if is_known(name)]:  # it was needed on the way
            del self.made[name]
            self.known[name] = values.value(table, name)

    def _add(self, name: str) -> None:
        if name in self.made or name in self.known:
            return
        column = self.model.column(self.table, name)
        if self._is_known(name) or not self._is_made(name):
            self.known[name] = self.values.value(self.table, name)
            return
        if isinstance(column, Computed):
            for each in expressions.inputs_of(column.rule):
                home = self.model.home(self.table, each)
                if home == self.table:
                    self._add(each)
                else:
                    self.shared[each] = self.values.value(home, each)
        elif isinstance(column, Lookup):
            self.values.value(column.table, column.column)
        assert isinstance(column, Computed | Lookup | ByWord)
        self.made[name] = column

    def _is_made(self, name: str) -> bool:
        """Whether a column is one of those that are worked out row by row."""
        return is_by_row(self.model, self.table, name)

    def at(self, rows: slice) -> dict[str, Floats]:
        """The columns of some rows, by name, shape (..., rows) or (..., 1)."""
        found = {**self.shared, **{name: values[..., rows] for name, values in self.known.items()}}
        with np.errstate(divide="ignore", invalid="ignore"):
            for name, column in self.made.items():
                match column:
                    case Computed(rule):
                        found[name] = np.asarray(expressions.evaluate(rule, found), dtype=np.float64)
                    case Lookup():
                        lookup = self.model.lookup(self.table, column.key, column.table)
                        found[name] = lookup.taken(self.values.value(column.table, column.column), rows)
                    case ByWord():
                        found[name] = picked(self.values, self.table, column, rows)
        return found


class AlikeRows(RowByRow):
    """The same of rows that are alike: of some rows of another table that have them, shape (..., rows of each, rows that have them).

    What is the same for all that have them stands there once.

    Parameters
    ----------
    alike : which rows of the table are
    """

    def __init__(self, values: Values, table: str, wanted: Iterable[str], is_known: Callable[[str], bool], alike: Alike) -> None:
        self.alike = alike
        super().__init__(values, table, wanted, is_known)

    def _is_made(self, name: str) -> bool:
        column = self.model.column(self.table, name)
        return super()._is_made(name) and not (isinstance(column, ByWord) and column.key != self.alike.by)

    def stretches(self, size: int) -> Iterator[tuple[NDArray[np.intp], int, dict[str, Floats]]]:
        """Some that have rows that are alike, how many each has, and the columns of these by name; about so many rows at a time."""
        for members, many in self.alike.members():
            rows, together = self.alike.first[members[0]] + np.arange(many), max(size // many, 1)
            same = self._same_for_all(rows)
            by_word = {name: self._names_picked(column, rows) for name, column in self.made.items() if isinstance(column, ByWord)}
            for start in range(0, len(members), together):
                having = members[start:start + together]
                yield having, many, self._of(having, rows, dict(same), by_word)

    def _same_for_all(self, rows: Codes) -> dict[str, Floats]:
        """The columns that are the same for all that have rows like these."""
        found = {name: values[..., None] for name, values in self.shared.items()}
        found |= {name: values[..., :1, None] for name, values in self.known.items() if not values.strides[-1]}
        for name, column in self.made.items():
            if isinstance(column, Lookup) and column.key != self.alike.by:
                lookup = self.model.lookup_of(self.table, column.key, column.table, rows)
                found[name] = self.values.value(column.table, column.column).take(lookup.rows, axis=-1)[..., None]
        return found

    def _names_picked(self, column: ByWord, rows: Codes) -> tuple[list[str], NDArray[np.intp]]:
        """The columns that some rows pick, and which of these each row picks."""
        names, which = self.model.picked(self.table, column, rows)
        met, place = np.unique(which, return_inverse=True)
        return [names[number] for number in met.tolist()], place

    def _of(
        self, having: NDArray[np.intp], rows: Codes, found: dict[str, Floats], by_word: dict[str, tuple[list[str], NDArray[np.intp]]]
    ) -> dict[str, Floats]:
        """All columns for some that have rows like these."""
        for name in [name for name in self.known if name not in found]:
            found[name] = self.known[name].take(self.alike.first[having] + np.arange(len(rows))[:, None], axis=-1)
        with np.errstate(divide="ignore", invalid="ignore"):
            for name in [name for name in self.made if name not in found]:
                match self.made[name]:
                    case Computed(rule):
                        found[name] = np.asarray(expressions.evaluate(rule, found), dtype=np.float64)
                    case Lookup(table=table, column=column):
                        found[name] = self.values.value(table, column).take(having, axis=-1)[..., None, :]
                    case ByWord(table=table):
                        names, place = by_word[name]
                        nothing = np.broadcast_to(np.nan, len(having))
                        columns = [self.values.value(table, each).take(having, axis=-1) if each else nothing for each in names]
                        found[name] = _side_by_side(columns, axis=-2).take(place, axis=-2)
        return found


def picked(values: Values, table: str, column: ByWord, rows: slice = slice(None)) -> Floats:
    """Each row's value out of the column that its word names; not a number where it names none."""
    model = values.model
    named = model.lookup(table, column.key, column.table).rows[rows]
    names, which = model.picked(table, column, rows)
    if not len(named):
        return np.zeros(0)
    met = np.flatnonzero(np.bincount(which, minlength=len(names))).tolist()
    among = slice(int(named.min()), int(named.max()) + 1)
    nothing = np.broadcast_to(np.nan, among.stop - among.start)
    columns = [values.value(column.table, names[number])[..., among] if names[number] else nothing for number in met]
    side_by_side = _side_by_side(columns, axis=-1)
    place = np.zeros(len(names), dtype=np.intp)
    place[met] = np.arange(len(met))
    at = (named - among.start) * len(met) + place[which]
    return side_by_side.reshape(*side_by_side.shape[:-2], -1).take(at, axis=-1)


def _side_by_side(columns: Sequence[Floats], axis: int) -> Floats:
    """Some columns as one array, of which an axis counts them."""
    alike = all(column.shape == columns[0].shape for column in columns)
    return np.stack(columns if alike else np.broadcast_arrays(*columns), axis=axis)
