"""Tables of the costing model: their rows, and the links between them.

The same declaration (``columns``) is evaluated over numpy arrays (``evaluation``), written as live formulas by the
workbook writer, and walked backwards by the explanation of a figure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.algebra.expressions import CONSTANTS, inputs_of
from pricing.costing.engine.columns import SETTINGS, Band, ByWord, Column, Computed, Input, Lookup, Sum, TableSpec, Text
from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.engine.lookups import Link
from pricing.costing.engine.packed_columns import Floats, Numbers, TextColumn, TextColumns, Texts

__all__ = [
    "Band",
    "ByWord",
    "Column",
    "Computed",
    "Evaluation",
    "Floats",
    "Input",
    "Lookup",
    "Model",
    "Rows",
    "Sum",
    "TableSpec",
    "Text",
    "Texts",
    "check_model",
]

class Rows:
    """The typed content of a table: one array per given or text column, and where each value stands in the price book.

    Parameters
    ----------
    given : numbers by column, each of shape (rows,)
    text : words by column, each of shape (rows,)
    places : by column, for each row ``"Products!F14"`` or ``""``
    """

    def __init__(
        self, spec: TableSpec, count: int, given: Mapping[str, NDArray[Any]] | None = None,
        text: Mapping[str, TextColumn] | None = None, places: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        self.spec = spec
        self.count = count
        self.given = Numbers(given or {})
        self.text = TextColumns(text or {})
        self.places = dict(places or {})

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

    SETTINGS = SETTINGS

    def __init__(self, tables: Iterable[Rows]) -> None:
        self.tables: dict[str, Rows] = {rows.spec.name: rows for rows in tables}
        self.groups: dict[str, list[str]] = {}
        for name, rows in self.tables.items():
            self.groups.setdefault(rows.spec.group or name, []).append(name)
        self._columns = {name: {c.name: c for c in rows.spec.columns} for name, rows in self.tables.items()}
        self._links: dict[tuple[str, str, str], Link] = {}
        self._rests: dict[tuple[str, str], frozenset[tuple[str, str]]] = {}

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

    def link(self, table: str, key: str, target: str) -> Link:
        """How *table* names by *key* the rows of *target*, counted through a group.

        Problems raised: KeyError, where a key names nothing: the price book's check comes first.
        """
        wanted = (table, key, target)
        if wanted not in self._links:
            rows, members = self.tables[table], [self.tables[name] for name in self.members(target)]
            if key in rows.text:
                made = Link.of_words(rows.text.words(key), [each.text.words(each.spec.key) for each in members])
            else:
                made = Link.of_numbers(rows.given.kept[key], [each.given.kept[each.spec.key] for each in members])
            self._links[wanted] = made
        return self._links[wanted]

    def index(self, table: str, key: str, target: str) -> NDArray[np.intp]:
        """For each row of *table*, the row of *target* (counted through a group) that its *key* names.

        Problems raised: KeyError, where a key names nothing: the price book's check comes first.
        """
        return self.link(table, key, target).rows()

    def locate(self, group: str, row: int) -> tuple[str, int]:
        """The table of a group and the row in it, for a row counted through the group."""
        for name in self.members(group):
            count = self.tables[name].count
            if row < count:
                return name, row
            row -= count
        raise IndexError(f"{group} has no row {row}")

    def rests_on(self, table: str, name: str) -> frozenset[tuple[str, str]]:
        """Every column, by table, that a column is made of, however far back; itself among them."""
        found = self._rests.get((table, name))
        if found is None:
            near = self._made_of(table, name)
            found = frozenset([(table, name)]).union(*(self.rests_on(*each) for each in near))
            self._rests[table, name] = found
        return found

    def _made_of(self, table: str, name: str) -> list[tuple[str, str]]:
        column = self.column(table, name)
        match column:
            case Computed(rule):
                return [(self.home(table, each), each) for each in inputs_of(rule)]
            case Lookup():
                return [(each, column.column) for each in self.members(column.table)]
            case Sum():
                return [(column.table, column.column)]
            case ByWord():
                return [(column.table, source) for _, source in column.columns]
            case Band():
                return [(table, column.value), (column.table, column.limit), (column.table, column.column)]
        return []

    def evaluate(self, changes: Mapping[tuple[str, str], Floats] | None = None) -> Evaluation:
        """The model with its numbers, or with some given columns changed; computed as far as asked for.

        Parameters
        ----------
        changes : by table and column, arrays of shape (..., rows); leading axes are scenarios
        """
        return Evaluation(self, changes or {})


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
