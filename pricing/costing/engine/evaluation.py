"""The values of a costing model: every column computed over all of its rows at once, when it is first asked for.

Arrays may carry leading axes (scenarios); the last axis is the rows of a table.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from pricing.algebra import expressions
from pricing.arrays import distinct
from pricing.costing.engine.columns import Band, ByWord, Computed, Input, Largest, Lookup, Rank, Sum
from pricing.costing.engine.lookups import RowLookup, ranked
from pricing.costing.engine.model import Alike, Model
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.engine.row_by_row import AlikeRows, RowByRow, is_by_row, picked

#: Rows whose figures are worked out at once: what comes about on the way stays within reach of the processor.
BLOCK = 32_768

#: A table with more rows is summed part by part: of its rows nothing is kept but the sums.
LONG = 4 * BLOCK

#: Where each group of rows that are alike has so many on average, they are summed group by group.
ALIKE = 2_048


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
            if self._base is not None and self._is_of_base(*wanted):
                self._values[wanted] = self._base.value(table, column)
            elif self.model.tables[table].count > 2 * BLOCK and is_by_row(self.model, *wanted):
                self._work_out(*wanted)
            else:
                self._values[wanted] = self._made(*wanted)
        return self._values[wanted]

    def _work_out(self, table: str, name: str) -> None:
        """Work out a column, and those of the same rows that it is made of, together and block by block."""
        together = RowByRow(self, table, [name], lambda each: (table, each) in self._values or self._is_of_base(table, each))
        found, count = dict[str, Floats](), self.model.tables[table].count
        for first in range(0, count, BLOCK):
            rows = slice(first, min(first + BLOCK, count))
            here = together.at(rows)
            for each in together.made:
                found[each] = _with_room(found.get(each), here[each].shape[:-1], count)
                found[each][..., rows] = here[each]
        self._values |= {(table, each): values for each, values in found.items()}

    def _is_of_base(self, table: str, name: str) -> bool:
        return self._base is not None and (table, name) not in self._reached

    def _is_at_hand(self, table: str, name: str) -> bool:
        """Whether a column has been worked out, here or in the base."""
        at_hand = (table, name) in self._values
        return at_hand or (self._base is not None and self._is_of_base(table, name) and self._base._is_at_hand(table, name))

    @functools.cached_property
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
        if isinstance(column, Computed):
            return self._computed(table, column)
        match column:
            case Input():
                return model.tables[table].given[name]
            case Lookup():
                return model.lookup(table, column.key, column.table).taken(self.group(column.table, column.column))
            case ByWord():
                return picked(self, table, column)
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

    def _computed(self, table: str, column: Computed) -> Floats:
        known = self._values
        inputs = {
            name: known[place] if place in known else self.value(*place)
            for name, place in self.model.dependence.inputs(table, column.name).items()
        }
        with np.errstate(divide="ignore", invalid="ignore"):
            result, count = np.asarray(expressions.applied(column.rule, inputs), dtype=np.float64), self.model.tables[table].count
        return result if result.shape[-1:] == (count,) else np.broadcast_to(result, (*result.shape[:-1], count))

    def _summed(self, table: str, column: Sum) -> Floats:
        rows, naming = self.model.tables[column.table], functools.partial(self.model.lookup, column.table, column.by, table)
        if (column.table, column.column) not in self._values:
            if rows.alike is not None and rows.alike.by == column.by and rows.count >= ALIKE * len(rows.alike.many):
                self._values |= self._sums_of_alike(table, column, rows.alike)
            elif rows.count > LONG and naming().in_order:
                self._values |= self._sums_by_stretches(table, column, naming())
        if (table, column.name) in self._values:
            return self._values[table, column.name]
        found: Floats = naming().summed(self.value(column.table, column.column), self.model.tables[table].count)
        return found

    def _sums_of_alike(self, table: str, column: Sum, alike: Alike) -> dict[tuple[str, str], Floats]:
        """A sum, and others over the same rows, of which those that are alike are worked out together; of their columns nothing is kept."""
        sums, of, count = self._sums_with(table, column), column.table, self.model.tables[table].count
        together = AlikeRows(self, of, [each.column for each in sums], lambda name: self._is_at_hand(of, name), alike)
        totals: dict[tuple[str, str], Floats] = {}
        for having, many, found in together.stretches(BLOCK):
            for each in sums:
                values, total = found[each.column], (table, each.name)
                totals[total] = _with_room(totals.get(total), values.shape[:-2], count)
                every = np.ascontiguousarray(np.broadcast_to(values, (*values.shape[:-2], many, len(having))))
                in_turn = every.sum(axis=-2) if len(having) > 1 else np.add.accumulate(every, axis=-2)[..., -1, :]
                totals[total][..., having] = in_turn
        return totals

    def _sums_by_stretches(self, table: str, column: Sum, naming: RowLookup) -> dict[tuple[str, str], Floats]:
        """The same of rows that are worked out a stretch after another."""
        sums, of, count = self._sums_with(table, column), column.table, self.model.tables[table].count
        together = RowByRow(self, of, [each.column for each in sums], lambda name: self._is_at_hand(of, name))
        totals: dict[tuple[str, str], Floats] = {}
        for rows in naming.stretches(BLOCK):
            found, named = together.at(rows), RowLookup(naming.rows[rows])
            for each in sums:
                values, total = found[each.column], (table, each.name)
                totals[total] = _with_room(totals.get(total), values.shape[:-1], count)
                named.sum_into(totals[total], values)
        return totals

    def _sums_with(self, table: str, column: Sum) -> list[Sum]:
        """The sums over the same rows that are to be made along with one: none that hangs on another of them."""
        others = [
            each for each in self.model.tables[table].spec.columns
            if isinstance(each, Sum) and (each.table, each.by) == (column.table, column.by) and (table, each.name) not in self._values]
        hanging = self.model.dependence.reached({(table, each.name) for each in others}, ())
        return [each for each in others if each is column or (
            (self._base is None or (table, each.name) in self._reached) and (each.table, each.column) not in hanging)]

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


def _with_room(found: Floats | None, lead: tuple[int, ...], count: int) -> Floats:
    """What was found so far of so many rows, 0 where there is nothing yet, with the leading axes of what is still to be put in."""
    if found is None:
        return np.zeros((*lead, count))
    wide = np.broadcast_shapes(found.shape[:-1], lead)
    return found if wide == found.shape[:-1] else np.broadcast_to(found, (*wide, count)).copy()
