"""The values of a costing model: every column computed over all of its rows at once, when it is first asked for.

Arrays may carry leading axes (scenarios); the last axis is the rows of a table. Long tables that are only summed are
computed part by part, so that what a part is made of stays near the processor and is forgotten with it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pricing.algebra.expressions import evaluate, inputs_of
from pricing.costing.engine.columns import Band, ByWord, Computed, Input, Lookup, Sum
from pricing.costing.engine.lookups import Link
from pricing.costing.engine.packed_columns import Floats

if TYPE_CHECKING:
    from pricing.costing.engine.model import Model

#: Sums over longer tables are made in parts of this size [rows].
PART = 32_768

_ALL = slice(None)


class Evaluation:
    """The values of a model's columns, each computed when first asked for."""

    def __init__(self, model: Model, changes: Mapping[tuple[str, str], Floats]) -> None:
        self.model = model
        self.changes = changes
        self._values: dict[tuple[str, str], Floats] = {}
        self._busy: set[tuple[str, str]] = set()

    def value(self, table: str, column: str) -> Floats:
        """The numbers of a column, shape (..., rows).

        Problems raised: KeyError where there is no such column.
        """
        wanted = (table, column)
        if wanted not in self._values:
            if not self._busy:  # what is computed on the way is computed under the same rule
                with np.errstate(divide="ignore", invalid="ignore"):
                    self._remember(wanted)
            else:
                self._remember(wanted)
        return self._values[wanted]

    def _remember(self, wanted: tuple[str, str]) -> None:
        self._busy.add(wanted)
        try:
            self._values[wanted] = self._compute(*wanted)
        finally:
            self._busy.discard(wanted)

    def group(self, group: str, column: str) -> Floats:
        """The numbers of a column through all tables of a group, one after another."""
        tables = self.model.members(group)
        if len(tables) == 1:
            return self.value(tables[0], column)
        parts = [self.value(table, column) for table in tables]
        lead = np.broadcast_shapes(*(part.shape[:-1] for part in parts))
        return np.concatenate([np.broadcast_to(part, (*lead, part.shape[-1])) for part in parts], axis=-1)

    def known(self, table: str, name: str) -> Floats | None:
        """What a column was changed to, or what it was computed to be; None where it has to be computed."""
        changed = self.changes.get((table, name))
        return changed if changed is not None else self._values.get((table, name))

    def part(self, table: str, name: str, rows: slice, own: Callable[[str], Floats]) -> Floats:
        """The numbers of a column over some rows, shape (..., rows).

        Parameters
        ----------
        rows : of the table
        own : the numbers of another column of the same table over the same rows
        """
        content, column = self.model.tables[table], self.model.column(table, name)
        count = len(range(*rows.indices(content.count)))
        match column:
            case Input():
                return content.given.part(name, rows)
            case Computed(rule):
                homes = ((each, self.model.home(table, each)) for each in inputs_of(rule))
                inputs = {each: own(each) if home == table else self.value(home, each) for each, home in homes}
                return _computed(rule, inputs, count)
            case Lookup():
                return self.model.link(table, column.key, column.table).taken(self.group(column.table, column.column), rows)
            case ByWord():
                return self._picked(table, column, rows, count)
        raise KeyError(f"{table} has no column {name} to compute")

    def _compute(self, table: str, name: str) -> Floats:
        if (table, name) in self.changes:
            return self.changes[table, name]
        column = self.model.column(table, name)
        match column:
            case Sum():
                return self._summed(table, column)
            case Band():
                return self._banded(table, column)
        return self.part(table, name, _ALL, lambda each: self.value(table, each))

    def _summed(self, table: str, column: Sum) -> Floats:
        link = self.model.link(column.table, column.by, table)
        values = self.known(column.table, column.column)
        if values is None and link.in_order and self.model.tables[column.table].count > PART:
            return self._summed_by_parts(table, column, link)
        return link.summed(self.value(column.table, column.column) if values is None else values, self.model.tables[table].count)

    def _summed_by_parts(self, table: str, column: Sum, link: Link) -> Floats:
        """The sum, and with it every sum over the same rows that does not wait for anything being computed now."""
        alike = [each for each in self.model.tables[table].spec.columns if isinstance(each, Sum)
                 and (each.table, each.by) == (column.table, column.by) and self.known(table, each.name) is None]
        free = [each for each in alike if self.model.rests_on(each.table, each.column).isdisjoint(self._busy)]
        wanted = [column, *(each for each in free if each.name != column.name)]
        parts: dict[str, list[Floats]] = {each.name: [] for each in wanted}
        for rows in link.parts(PART):
            here = Part(self, column.table, rows)
            for each in wanted:
                parts[each.name].append(link.sums(here.value(each.column), rows))
        for each in wanted:
            lead = np.broadcast_shapes(*(part.shape[:-1] for part in parts[each.name]))
            sums = np.concatenate([np.broadcast_to(part, (*lead, part.shape[-1])) for part in parts.pop(each.name)], axis=-1)
            self._values[table, each.name] = link.spread(sums, self.model.tables[table].count)
        return self._values[table, column.name]

    def _picked(self, table: str, column: ByWord, part: slice, count: int) -> Floats:
        """The columns are laid side by side, row after row, so that what a row picks lies close to what the last one did."""
        words = self.model.tables[table].text.words(column.which)
        codes, source = words.codes[part], dict(column.columns)
        met = np.flatnonzero(np.bincount(codes, minlength=len(words.words))).tolist()
        names = list(dict.fromkeys(source[words.words[code]] for code in met if words.words[code] in source))
        place = np.full(len(words.words), len(names), dtype=np.intp)
        for code in met:
            if words.words[code] in source:
                place[code] = names.index(source[words.words[code]])
        rows = self.model.link(table, column.key, column.table).rows(part)
        low, high = (int(rows.min()), int(rows.max()) + 1) if count else (0, 0)
        values = [self.value(column.table, name)[..., low:high] for name in names]
        if count and any(words.words[code] not in source for code in met):
            values.append(np.full(high - low, np.nan))
        if not values:
            return np.full(count, np.nan)
        lead = np.broadcast_shapes(*(each.shape[:-1] for each in values))
        side_by_side = np.stack([np.broadcast_to(each, (*lead, high - low)) for each in values], axis=-1)
        at = (rows - low) * len(values) + place[codes]
        return side_by_side.reshape(*lead, -1).take(at, axis=-1)

    def band_rows(self, table: str, column: Band) -> NDArray[np.intp]:
        """For each row, the row of the band that holds its value; -1 where the group has none so wide."""
        groups, keys = self.model.tables[column.table].text.words(column.group), self.model.tables[table].text.words(column.key)
        limits, values = self.value(column.table, column.limit), self.value(table, column.value)
        found = np.full(np.broadcast_shapes(limits.shape[:-1], values.shape[:-1]) + values.shape[-1:], -1, dtype=np.intp)
        zones = groups.array()
        for code in np.unique(keys.codes).tolist():
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


def _computed(rule: Callable[..., Any], inputs: Mapping[str, Floats], count: int) -> Floats:
    """What a rule makes of columns of so many rows; of long columns part by part, so that what it makes on the way stays small."""
    if count <= PART or any(each.ndim > 1 for each in inputs.values()):
        result = np.asarray(evaluate(rule, inputs), dtype=np.float64)
        return result if result.shape[-1:] == (count,) else np.broadcast_to(result, (*result.shape[:-1], count))
    made = np.empty(count)
    for start in range(0, count, PART):
        rows = slice(start, min(start + PART, count))
        made[rows] = evaluate(rule, {name: each[rows] if len(each) == count else each for name, each in inputs.items()})
    return made


class Part:
    """The columns of a table over some of its rows, each computed when first asked for and forgotten with the part."""

    def __init__(self, whole: Evaluation, table: str, rows: slice) -> None:
        self._whole = whole
        self._table = table
        self._rows = rows
        self._values: dict[str, Floats] = {}

    def value(self, name: str) -> Floats:
        """The numbers of a column, shape (..., rows of the part)."""
        if name not in self._values:
            known = self._whole.known(self._table, name)
            if known is None and isinstance(self._whole.model.column(self._table, name), Sum | Band):
                known = self._whole.value(self._table, name)
            made = known[..., self._rows] if known is not None else self._whole.part(self._table, name, self._rows, self.value)
            self._values[name] = made
        return self._values[name]
