"""Tables of the costing model: what each column is, and how all of them are computed at once over arrays.

A column is typed by somebody (*given*, *text*), computed by a rule from columns of its own row (*computed*), fetched
from the row of another table that a key names (*fetched*), summed over the rows of another table that name this row
(*summed*), picked from a row and one of several columns (*picked*), or taken from a list of bands (*banded*). That is
the whole vocabulary. The same declaration is evaluated here over numpy arrays, written as live formulas by the
workbook writer, and walked backwards by the explanation of a figure.

Arrays may carry leading axes (scenarios); the last axis is the rows of a table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pricing.algebra import CONSTANTS, evaluate, inputs_of

Floats: TypeAlias = NDArray[np.float64]
Texts: TypeAlias = NDArray[np.object_]


@dataclass(frozen=True, slots=True)
class Given:
    """A number that comes from the price book, or that was resolved from it before the rules run."""

    name: str


@dataclass(frozen=True, slots=True)
class Text:
    """A word: a name, a key, a label."""

    name: str


@dataclass(frozen=True, slots=True)
class Computed:
    """What a rule makes of columns of the same row and of the workshop's settings."""

    rule: Callable[..., Any]

    @property
    def name(self) -> str:
        """The rule's name is its result's."""
        return self.rule.__name__


@dataclass(frozen=True, slots=True)
class Fetched:
    """The value of *column* in the row of *table* (or group of tables) whose key equals this row's *key*."""

    name: str
    table: str
    column: str
    key: str


@dataclass(frozen=True, slots=True)
class Summed:
    """The sum of *column* over the rows of *table* whose *by* equals this row's key."""

    name: str
    table: str
    column: str
    by: str


@dataclass(frozen=True, slots=True)
class Picked:
    """From the row of *table* that *key* names, the one of *columns* that the word in *which* names."""

    name: str
    table: str
    key: str
    columns: tuple[tuple[str, str], ...]
    which: str


@dataclass(frozen=True, slots=True)
class Banded:
    """From *table*, sorted by *group* and *limit*: the *column* of the lowest band of this row's *key* that holds *value*."""

    name: str
    table: str
    group: str
    limit: str
    column: str
    key: str
    value: str


Column: TypeAlias = Given | Text | Computed | Fetched | Summed | Picked | Banded


@dataclass(frozen=True, slots=True)
class TableSpec:
    """The declaration of a table: its name, its key column, its columns in order, and the group it belongs to."""

    name: str
    key: str
    columns: tuple[Column, ...]
    group: str = ""

    def column(self, name: str) -> Column | None:
        """The column of that name, or None."""
        return next((column for column in self.columns if column.name == name), None)


@dataclass
class Rows:
    """The typed content of a table: one array per given or text column, and where each value stands in the price book.

    Parameters
    ----------
    given : numbers by column, each of shape (rows,)
    text : words by column, each of shape (rows,)
    places : by column, for each row ``"Products!F14"`` or ``""``
    """

    spec: TableSpec
    count: int
    given: dict[str, Floats] = field(default_factory=dict)
    text: dict[str, Texts] = field(default_factory=dict)
    places: dict[str, Sequence[str]] = field(default_factory=dict)

    def place(self, column: str, row: int) -> str:
        """Where the value of a given column stands in the price book; empty where it was resolved."""
        places = self.places.get(column)
        return places[row] if places is not None else ""


class Model:
    """Tables, their rows, and the links between them: everything that costing needs, before any arithmetic.

    Parameters
    ----------
    tables : by name; ``settings`` is the table with one row whose columns every rule may use
    """

    SETTINGS = "settings"

    def __init__(self, tables: Iterable[Rows]) -> None:
        self.tables: dict[str, Rows] = {rows.spec.name: rows for rows in tables}
        self.groups: dict[str, list[str]] = {}
        for name, rows in self.tables.items():
            self.groups.setdefault(rows.spec.group or name, []).append(name)
        self._columns = {name: {c.name: c for c in rows.spec.columns} for name, rows in self.tables.items()}
        self._indexes: dict[tuple[str, str, str], NDArray[np.intp]] = {}

    def column(self, table: str, name: str) -> Column | None:
        """The declaration of a column."""
        return self._columns[table].get(name)

    def members(self, name: str) -> list[str]:
        """The tables that a link means: one by its name, or all of a group."""
        return [name] if name in self.tables else self.groups[name]

    def home(self, table: str, name: str) -> str:
        """The table in which a rule of *table* finds the input *name*: its own, or the settings."""
        return table if name in self._columns[table] else self.SETTINGS

    def keys(self, group: str) -> list[Any]:
        """The keys of a table, or of all tables of a group one after another."""
        found: list[Any] = []
        for name in self.members(group):
            rows = self.tables[name]
            key = rows.spec.key
            found.extend((rows.text[key] if key in rows.text else rows.given[key]).tolist())
        return found

    def index(self, table: str, key: str, target: str) -> NDArray[np.intp]:
        """For each row of *table*, the row of *target* (counted through a group) that its *key* names.

        Problems raised: KeyError, where a key names nothing: the price book's check comes first.
        """
        wanted = (table, key, target)
        if wanted not in self._indexes:
            where = {value: row for row, value in enumerate(self.keys(target))}
            rows = self.tables[table]
            keys = (rows.text[key] if key in rows.text else rows.given[key]).tolist()
            self._indexes[wanted] = np.fromiter((where[value] for value in keys), dtype=np.intp, count=len(keys))
        return self._indexes[wanted]

    def locate(self, group: str, row: int) -> tuple[str, int]:
        """The table of a group and the row in it, for a row counted through the group."""
        for name in self.members(group):
            count = self.tables[name].count
            if row < count:
                return name, row
            row -= count
        raise IndexError(f"{group} has no row {row}")

    def evaluate(self, changes: Mapping[tuple[str, str], Floats] | None = None) -> Evaluation:
        """The model with its numbers, or with some given columns changed; computed as far as asked for.

        Parameters
        ----------
        changes : by table and column, arrays of shape (..., rows); leading axes are scenarios
        """
        return Evaluation(self, changes or {})


class Evaluation:
    """The values of a model's columns, each computed when first asked for."""

    def __init__(self, model: Model, changes: Mapping[tuple[str, str], Floats]) -> None:
        self.model = model
        self.changes = changes
        self._values: dict[tuple[str, str], Floats] = {}

    def value(self, table: str, column: str) -> Floats:
        """The numbers of a column, shape (..., rows).

        Problems raised: KeyError where there is no such column.
        """
        wanted = (table, column)
        if wanted not in self._values:
            with np.errstate(divide="ignore", invalid="ignore"):
                self._values[wanted] = self._compute(table, column)
        return self._values[wanted]

    def group(self, group: str, column: str) -> Floats:
        """The numbers of a column through all tables of a group, one after another."""
        tables = self.model.members(group)
        if len(tables) == 1:
            return self.value(tables[0], column)
        parts = [self.value(table, column) for table in tables]
        lead = np.broadcast_shapes(*(part.shape[:-1] for part in parts))
        return np.concatenate([np.broadcast_to(part, (*lead, part.shape[-1])) for part in parts], axis=-1)

    def _compute(self, table: str, name: str) -> Floats:
        if (table, name) in self.changes:
            return self.changes[table, name]
        rows = self.model.tables[table]
        column = self.model.column(table, name)
        match column:
            case Given():
                return rows.given[name]
            case Computed(rule):
                inputs = {each: self.value(self.model.home(table, each), each) for each in inputs_of(rule)}
                result = np.asarray(evaluate(rule, inputs), dtype=np.float64)
                return np.broadcast_to(result, (*result.shape[:-1], rows.count)) if result.shape[-1:] != (rows.count,) else result
            case Fetched():
                return self.group(column.table, column.column)[..., self.model.index(table, column.key, column.table)]
            case Summed():
                return self._summed(column, rows)
            case Picked():
                return self._picked(table, column, rows)
            case Banded():
                return self._banded(table, column, rows)
        raise KeyError(f"{table} has no column {name} to compute")

    def _summed(self, column: Summed, rows: Rows) -> Floats:
        values = self.value(column.table, column.column)
        parents = self.model.index(column.table, column.by, rows.spec.name)
        total = np.zeros((*values.shape[:-1], rows.count))
        if values.shape[-1]:
            order = np.argsort(parents, kind="stable")
            there = parents[order]
            starts = np.flatnonzero(np.r_[True, there[1:] != there[:-1]])
            total[..., there[starts]] = np.add.reduceat(values[..., order], starts, axis=-1)
        return total

    def _picked(self, table: str, column: Picked, rows: Rows) -> Floats:
        where = self.model.index(table, column.key, column.table)
        words = rows.text[column.which]
        parts = {}
        for word, source in column.columns:
            chosen = words == word
            if chosen.any():
                parts[source] = (chosen, self.value(column.table, source)[..., where[chosen]])
        lead = np.broadcast_shapes(*(part.shape[:-1] for _, part in parts.values())) if parts else ()
        picked = np.full((*lead, rows.count), np.nan)
        for chosen, part in parts.values():
            picked[..., chosen] = part
        return picked

    def band_rows(self, table: str, column: Banded) -> NDArray[np.intp]:
        """For each row, the row of the band that holds its value; -1 where the group has none so wide."""
        bands = self.model.tables[column.table]
        groups, limits = bands.text[column.group], self.value(column.table, column.limit)
        keys, values = self.model.tables[table].text[column.key], self.value(table, column.value)
        fits = (groups[:, None] == keys) & (limits[..., :, None] >= values[..., None, :])
        return np.where(fits.any(axis=-2), fits.argmax(axis=-2), -1)

    def _banded(self, table: str, column: Banded, rows: Rows) -> Floats:
        where = self.band_rows(table, column)
        amounts = np.broadcast_to(self.value(column.table, column.column), (*where.shape[:-1], self.model.tables[column.table].count))
        found = np.take_along_axis(amounts, np.maximum(where, 0), axis=-1)
        return np.where(where >= 0, found, np.nan)


def check_model(model: Model) -> list[str]:
    """What is wrong with the declarations: an input that no column and no setting provides, a table without its key.

    >>> check_model(Model([]))
    []
    """
    wrong = []
    for name, rows in model.tables.items():
        spec = rows.spec
        if name != Model.SETTINGS and spec.column(spec.key) is None:
            wrong.append(f"{name} has no key column {spec.key}")
        for column in spec.columns:
            if isinstance(column, Computed):
                known = set(model._columns[name]) | set(model._columns[Model.SETTINGS]) | set(CONSTANTS)
                wrong += [f"{name}.{column.name} needs {each}" for each in inputs_of(column.rule) if each not in known]
    return wrong
