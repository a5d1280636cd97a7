"""Tables of the costing model: their rows, and the lookups between them.

The same declaration (``columns``) is evaluated over numpy arrays (``evaluation``), written as live formulas by the
workbook writer, and walked backwards by the explanation of a figure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.costing.engine.columns import Column, TableSpec
from pricing.costing.engine.dependence import dependence_of
from pricing.costing.engine.lookups import RowLookup
from pricing.costing.engine.packed_columns import Floats, TextColumn, TextColumns


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
        self.given: dict[str, Floats] = {name: np.asarray(values, dtype=np.float64) for name, values in (given or {}).items()}
        self.text = TextColumns(text or {})
        self.places = dict(places or {})

    def place(self, column: str, row: int) -> str:
        """Where the value of a given column stands in the price book; empty where it was resolved."""
        places = self.places.get(column)
        return places[row] if places is not None else ""


class Model:
    """Tables, their rows, and the lookups between them: everything that costing needs, before any arithmetic.

    Parameters
    ----------
    tables : by name; ``settings`` is the table with one row whose columns every rule may use
    """

    def __init__(self, tables: Iterable[Rows]) -> None:
        self.tables: dict[str, Rows] = {rows.spec.name: rows for rows in tables}
        self.dependence = dependence_of([rows.spec for rows in self.tables.values()])
        self.groups, self._columns = self.dependence.groups, self.dependence.columns
        self._lookups: dict[tuple[str, str, str], RowLookup] = {}

    def with_given(self, table: str, columns: Mapping[str, Floats], text: Mapping[str, TextColumn] | None = None) -> Model:
        """The model with other numbers and words in some columns of a table; it is not altered itself."""
        old = self.tables[table]
        new = Rows(old.spec, old.count, {**old.given, **columns}, {**old.text.kept, **(text or {})}, old.places)
        made = Model({**self.tables, table: new}.values())
        changed = {*columns, *(text or {})}
        made._lookups = {
            (of, key, target): lookup for (of, key, target), lookup in self._lookups.items()
            if not (of == table and key in changed) and not (table in self.members(target) and old.spec.key in changed)
        }
        return made

    def sources(self, table: str, name: str) -> list[tuple[str, str]]:
        """The columns that a column is made of, each by its table; none of one that is given."""
        return self.dependence.sources(table, name)

    def column(self, table: str, name: str) -> Column | None:
        """The declaration of a column."""
        return self._columns[table].get(name)

    def members(self, name: str) -> list[str]:
        """The tables that a lookup means: one by its name, or all of a group."""
        return self.dependence.members(name)

    def home(self, table: str, name: str) -> str:
        """The table in which a rule of *table* finds the input *name*: its own, or the settings."""
        return self.dependence.home(table, name)

    def lookup(self, table: str, key: str, target: str) -> RowLookup:
        """How *table* names by *key* the rows of *target*, counted through a group.

        Problems raised: KeyError, where a key names nothing: the price book's check comes first.
        """
        wanted = (table, key, target)
        if wanted not in self._lookups:
            rows, members = self.tables[table], [self.tables[name] for name in self.members(target)]
            if key in rows.text:
                made = RowLookup.of_words(rows.text.words(key), [each.text.words(each.spec.key) for each in members])
            else:
                made = RowLookup.of_numbers(rows.given[key], [each.given[each.spec.key] for each in members])
            self._lookups[wanted] = made
        return self._lookups[wanted]

    def locate(self, group: str, row: int) -> tuple[str, int]:
        """The table of a group and the row in it, for a row counted through the group."""
        for name in self.members(group):
            count = self.tables[name].count
            if row < count:
                return name, row
            row -= count
        raise IndexError(f"{group} has no row {row}")
