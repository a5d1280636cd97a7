"""Tables of the costing model: their rows, and the lookups between them.

The same declaration (``columns``) is evaluated over numpy arrays (``evaluation``), written as live formulas by the
workbook writer, and walked backwards by the explanation of a figure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.costing.engine.columns import ByWord, Column, Largest, Lookup, Sum, TableSpec
from pricing.costing.engine.dependence import dependence_of
from pricing.costing.engine.lookups import RowLookup
from pricing.costing.engine.packed_columns import DictionaryColumn, Floats, NumberColumns, TextColumn, TextColumns


class Rows:
    """The typed content of a table: one array per given or text column, and where each value stands in the price book.

    Parameters
    ----------
    given : numbers by column, each of shape (rows,)
    text : words by column, each of shape (rows,)
    places : by column, for each row ``"Products!F14"`` or ``""``; nothing at all for a column that stands nowhere
    """

    def __init__(
        self, spec: TableSpec, count: int, given: Mapping[str, NDArray[Any]] | None = None,
        text: Mapping[str, TextColumn] | None = None, places: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        self.spec = spec
        self.count = count
        self.given = NumberColumns(given or {})
        self.text = TextColumns(text or {})
        self.places = {name: each for name, each in (places or {}).items() if len(each)}

    def place(self, column: str, row: int) -> str:
        """Where the value of a given column stands in the price book; empty where it was resolved."""
        places = self.places.get(column)
        return places[row] if places is not None else ""

    def part(self, rows: slice) -> Rows:
        """Some rows that stand together; where their values stand is left out."""
        text: dict[str, TextColumn] = {
            name: kept.taken(rows) if isinstance(kept, DictionaryColumn) else kept[rows] for name, kept in self.text.kept.items()}
        given = {name: values[rows] for name, values in self.given.kept.items()}
        return Rows(self.spec, len(range(*rows.indices(self.count))), given, text)


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
        self._of_words: dict[tuple[str, str], tuple[list[str], NDArray[np.int8]]] = {}

    def with_given(self, table: str, columns: Mapping[str, Floats], text: Mapping[str, TextColumn] | None = None) -> Model:
        """The model with other numbers and words in some columns of a table; it is not altered itself."""
        old = self.tables[table]
        new = Rows(old.spec, old.count, {**old.given.kept, **columns}, {**old.text.kept, **(text or {})}, old.places)
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
                made = RowLookup.of_numbers(rows.given.kept[key], [each.given[each.spec.key] for each in members])
            self._lookups[wanted] = made
        return self._lookups[wanted]

    def resolve(self) -> None:
        """Look up all rows that others name, where no check of a price book came before.

        Problems raised: KeyError, where a key names nothing.
        """
        for table, rows in self.tables.items():
            for column in rows.spec.columns:
                match column:
                    case Lookup() | ByWord():
                        self.lookup(table, column.key, column.table)
                    case Sum() | Largest():
                        self.lookup(column.table, column.by, table)

    def picked(self, table: str, column: ByWord) -> tuple[list[str], NDArray[np.int8]]:
        """Names of the columns that the words of a table may pick, empty for none; and for each row which of them it picks."""
        words, wanted = self.tables[table].text.words(column.which), (table, column.name)
        if wanted not in self._of_words:
            source = dict(column.columns)
            names = [*dict.fromkeys(source.values()), ""]
            of_words = [names.index(source.get(word, "")) for word in words.words]
            self._of_words[wanted] = names, np.array(of_words, dtype=np.int8)
        names, of_word = self._of_words[wanted]
        return names, of_word[words.codes]

    def locate(self, group: str, row: int) -> tuple[str, int]:
        """The table of a group and the row in it, for a row counted through the group."""
        for name in self.members(group):
            count = self.tables[name].count
            if row < count:
                return name, row
            row -= count
        raise IndexError(f"{group} has no row {row}")


class PartOfModel(Model):
    """A model of which one table has only some of its rows, that stand together.

    Parameters
    ----------
    whole : the model
    table, rows : which of its tables, and the rows of it
    """

    def __init__(self, whole: Model, table: str, rows: slice) -> None:
        self.__dict__ |= whole.__dict__
        self.tables = {**whole.tables, table: whole.tables[table].part(rows)}
        self._whole, self._table, self._rows = whole, table, rows
        self._lookups = {}

    def lookup(self, table: str, key: str, target: str) -> RowLookup:
        """How *table* names by *key* the rows of *target*."""
        wanted = (table, key, target)
        if wanted not in self._lookups:
            found = self._whole.lookup(table, key, target)
            self._lookups[wanted] = RowLookup(found.rows[self._rows]) if table == self._table else found
        return self._lookups[wanted]
