"""The values of a costing model: every column computed over all of its rows at once, when it is first asked for.

Arrays may carry leading axes (scenarios); the last axis is the rows of a table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.algebra import expressions
from pricing.arrays import distinct
from pricing.costing.engine.columns import Band, ByWord, Computed, Input, Largest, Lookup, Rank, Sum
from pricing.costing.engine.lookups import RowLookup, ranked
from pricing.costing.engine.model import Model, PartOfModel
from pricing.costing.engine.packed_columns import Floats

#: Rows whose figures are worked out at once: what comes about on the way stays within reach of the processor.
BLOCK = 32_768

#: A table with more rows is summed part by part: of its rows nothing is kept but the sums.
LONG = 4 * BLOCK


def evaluate(model: Model, changes: Mapping[tuple[str, str], Floats] | None = None, base: Evaluation | None = None) -> Evaluation:
    """A model with its numbers, or with some columns changed; computed as far as asked for.

    Parameters
    ----------
    changes : by table and column, arrays of shape (..., rows); leading axes are scenarios
    base : the values of a model with the same tables and keys; what no changed number reaches is taken from there
    """
    return Evaluation(model, {**(base.changes if base is not None else {}), **(changes or {})}, base)


class Evaluation:
    """The values of a model's columns, each computed when first asked for."""

    def __init__(self, model: Model, changes: Mapping[tuple[str, str], Floats], base: Evaluation | None = None) -> None:
        self.model = model
        self.changes = changes
        self._base = base
        self._values: dict[tuple[str, str], Floats] = dict(changes)

    def value(self, table: str, column: str) -> Floats:
        """The numbers of a column, shape (..., rows).

        Problems raised: KeyError where there is no such column.
        """
        wanted = (table, column)
        if wanted not in self._values:
            kept = self._base is not None and wanted not in self._reached
            self._values[wanted] = self._base.value(table, column) if self._base is not None and kept else self._made(table, column)
        return self._values[wanted]

    @cached_property
    def _reached(self) -> set[tuple[str, str]]:
        """The columns that hang on a number that is not as it was."""
        assert self._base is not None
        before, changed = self._base, set[tuple[str, str]]()
        for each in {*self.changes, *before.changes}:
            if self.changes.get(each) is not before.changes.get(each):
                changed.add(each)
        for table, rows in self.model.tables.items():
            given, old = rows.given.kept, before.model.tables[table].given.kept
            if given is not old:
                changed |= {(table, name) for name in {*given, *old} if given.get(name) is not old.get(name)}
        return self.model.dependence.reached(changed, self.changes)

    def group(self, group: str, column: str) -> Floats:
        """The numbers of a column through all tables of a group, one after another."""
        tables = self.model.members(group)
        if len(tables) == 1:
            return self.value(tables[0], column)
        parts = [self.value(table, column) for table in tables]
        lead = np.broadcast_shapes(*(part.shape[:-1] for part in parts))
        return np.concatenate([np.broadcast_to(part, (*lead, part.shape[-1])) for part in parts], axis=-1)

    def _made(self, table: str, name: str) -> Floats:
        model, column = self.model, self.model.column(table, name)
        match column:
            case Input():
                return model.tables[table].given[name]
            case Computed(rule):
                return self._computed(table, rule)
            case Lookup():
                return model.lookup(table, column.key, column.table).taken(self.group(column.table, column.column))
            case ByWord():
                return self._picked(table, column)
            case Sum():
                return self._summed(table, column)
            case Largest():
                naming = model.lookup(column.table, column.by, table)
                return naming.largest(self.value(column.table, column.column), model.tables[table].count)
            case Band():
                return self._banded(table, column)
            case Rank():
                return ranked(self.value(table, column.column), model.tables[table].given[column.by])
        raise KeyError(f"{table} has no column {name} to compute")

    def _computed(self, table: str, rule: Callable[..., Any]) -> Floats:
        inputs = {name: self.value(self.model.home(table, name), name) for name in expressions.inputs_of(rule)}
        with np.errstate(divide="ignore", invalid="ignore"):
            return _ruled(rule, inputs, self.model.tables[table].count)

    def _summed(self, table: str, column: Sum) -> Floats:
        naming, source = self.model.lookup(column.table, column.by, table), (column.table, column.column)
        count = self.model.tables[table].count
        if len(naming.rows) <= LONG or source in self._values or not naming.in_order:
            return naming.summed(self.value(*source), count)
        sums = self._sums_with(table, column)
        totals: dict[str, Floats] = {}
        for rows in naming.stretches(BLOCK):
            part, named = _Part(self, column.table, rows), RowLookup(naming.rows[rows])
            for each in sums:
                values = part.value(each.table, each.column)
                if each.name not in totals:
                    totals[each.name] = np.zeros((*values.shape[:-1], count))
                named.sum_into(totals[each.name], values)
        self._values |= {(table, name): total for name, total in totals.items()}
        return totals[column.name]

    def _sums_with(self, table: str, column: Sum) -> list[Sum]:
        """The sums over the same rows that are to be made along with one: none that hangs on another of them."""
        others = [
            each for each in self.model.tables[table].spec.columns
            if isinstance(each, Sum) and (each.table, each.by) == (column.table, column.by) and (table, each.name) not in self._values]
        hanging = self.model.dependence.reached({(table, each.name) for each in others}, ())
        return [each for each in others if each is column or (
            (self._base is None or (table, each.name) in self._reached) and (each.table, each.column) not in hanging)]

    def _picked(self, table: str, column: ByWord) -> Floats:
        """Each row's value out of the column that its word names; not a number where it names none."""
        rows = self.model.lookup(table, column.key, column.table).rows
        names, which = self.model.picked(table, column)
        if not len(rows):
            return np.zeros(0)
        met = np.flatnonzero(np.bincount(which, minlength=len(names))).tolist()
        among = slice(int(rows.min()), int(rows.max()) + 1)
        count = among.stop - among.start
        columns = [self.value(column.table, names[number])[..., among] if names[number] else np.full(count, np.nan) for number in met]
        side_by_side = np.stack(np.broadcast_arrays(*columns), axis=-1)
        place = np.zeros(len(names), dtype=np.intp)
        place[met] = np.arange(len(met))
        at = (rows - among.start) * len(met) + place[which]
        return side_by_side.reshape(*side_by_side.shape[:-2], -1).take(at, axis=-1)

    def band_rows(self, table: str, column: Band) -> NDArray[np.intp]:
        """For each row, the row of the band that holds its value; -1 where the group has none so wide."""
        groups, keys = self.model.tables[column.table].text.words(column.group), self.model.tables[table].text.words(column.key)
        limits, values = self.value(column.table, column.limit), self.value(table, column.value)
        found = np.full(np.broadcast_shapes(limits.shape[:-1], values.shape[:-1]) + values.shape[-1:], -1, dtype=np.intp)
        zones = groups.array()
        for code in distinct(keys.codes).tolist():
            bands, here = np.flatnonzero(zones == keys.words[code]), np.flatnonzero(keys.codes == code)
            if len(bands):
                fits = limits[..., bands, None] >= values[..., None, here]
                found[..., here] = np.where(fits.any(axis=-2), bands[fits.argmax(axis=-2)], -1)
        return found

    def _banded(self, table: str, column: Band) -> Floats:
        where = self.band_rows(table, column)
        amounts = np.broadcast_to(self.value(column.table, column.column), (*where.shape[:-1], self.model.tables[column.table].count))
        found = np.take_along_axis(amounts, np.maximum(where, 0), axis=-1)
        return np.where(where >= 0, found, np.nan)


class _Part(Evaluation):
    """The values of some rows of one table, which are not kept; those of the other tables are those of the whole."""

    def __init__(self, whole: Evaluation, table: str, rows: slice) -> None:
        super().__init__(PartOfModel(whole.model, table, rows), {})
        self._whole, self._table, self._rows = whole, table, rows

    def value(self, table: str, column: str) -> Floats:
        """The numbers of a column: of those rows where it is one of their table."""
        wanted = (table, column)
        if table != self._table:
            return self._whole.value(*wanted)
        if wanted not in self._values:
            by_row = isinstance(self.model.column(*wanted), Input | Computed | Lookup | ByWord) and wanted not in self._whole._values
            self._values[wanted] = self._made(*wanted) if by_row else self._whole.value(*wanted)[..., self._rows]
        return self._values[wanted]


def _ruled(rule: Callable[..., Any], inputs: Mapping[str, Floats], count: int) -> Floats:
    """What a rule makes of the columns of so many rows, block by block where there are many."""
    whole = [name for name, values in inputs.items() if values.shape[-1] == count]
    if count <= 2 * BLOCK or not whole:
        result = np.asarray(expressions.evaluate(rule, inputs), dtype=np.float64)
        return result if result.shape[-1:] == (count,) else np.broadcast_to(result, (*result.shape[:-1], count))
    found = np.zeros(0)
    for first in range(0, count, BLOCK):
        rows = slice(first, first + BLOCK)
        result = np.asarray(expressions.evaluate(rule, {**inputs, **{name: inputs[name][..., rows] for name in whole}}))
        if not first:
            found = np.empty((*result.shape[:-1], count))
        found[..., rows] = result
    return found
