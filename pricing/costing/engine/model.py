"""Tables of the costing model: their rows, and the lookups between them.

The same declaration (``columns``) is evaluated over numpy arrays (``evaluation``), written as live formulas by the
workbook writer, and walked backwards by the explanation of a figure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.arrays import counted_anew
from pricing.costing.engine.columns import ByWord, Column, Largest, Lookup, Sum, TableSpec
from pricing.costing.engine.dependence import dependence_of
from pricing.costing.engine.lookups import RowLookup
from pricing.costing.engine.packed_columns import Codes, Floats, NumberColumns, TextColumn, TextColumns
from pricing.dataclass import dataclass


@dataclass(frozen=True, eq=False)
class Alike:
    """Which rows of a table are alike: those of another that are of one group have the same rows here, one after another, but for numbers
    of their own and what is looked up by the name of the other row.

    Parameters
    ----------
    by : the column that names the rows of the other table, which stand here in their order
    group : of each of those the number of its group, counted from 0
    many : how many rows each of a group has
    example : one of each group
    """

    by: str
    group: Codes
    many: Codes
    example: Codes

    @cached_property
    def first(self) -> Codes:
        """Of each row of the other table the first of its rows."""
        many = self.many[self.group]
        return np.cumsum(many) - many

    def members(self) -> Iterator[tuple[NDArray[np.intp], int]]:
        """The rows of the other table that are of a group, for each group that has any rows here, and how many rows each of them has.

        >>> alike = Alike("line", np.array([0, 1, 0, 0, 2]), np.array([2, 3, 0]), np.array([0, 1, 4]))
        >>> [(some.tolist(), many) for some, many in alike.members()], [each.tolist() for each in alike.examples()]
        ([([0, 2, 3], 2), ([1], 3)], [[0, 0, 1, 1, 1], [0, 1, 2, 3, 4]])
        """
        short = self.group.astype(np.uint16) if len(self.many) <= 1 << 16 else self.group  # which is put in order much sooner
        in_turn, ends = np.argsort(short, kind="stable"), np.cumsum(np.bincount(self.group, minlength=len(self.many)))
        for members, many in zip(np.split(in_turn, ends[:-1]), self.many.tolist(), strict=True):
            if many and len(members):
                yield members, many

    def examples(self) -> tuple[Codes, Codes]:
        """The rows of one of each group, group after group: the group and the row of each."""
        groups = np.repeat(np.arange(len(self.many)), self.many)
        return groups, self.first[self.example][groups] + counted_anew(self.many)


class Rows:
    """The typed content of a table: one array per given or text column, and where each value stands in the price book.

    Parameters
    ----------
    given : numbers by column, each of shape (rows,)
    text : words by column, each of shape (rows,)
    places : by column, for each row ``"Products!F14"`` or ``""``; nothing at all for a column that stands nowhere
    alike : which of its rows are alike, where many are
    """

    def __init__(
        self, spec: TableSpec, count: int, given: Mapping[str, NDArray[Any]] | None = None,
        text: Mapping[str, TextColumn] | None = None, places: Mapping[str, Sequence[str]] | None = None, alike: Alike | None = None,
    ) -> None:
        self.spec = spec
        self.count = count
        self.alike = alike
        self.given = NumberColumns(given or {})
        self.text = TextColumns(text or {})
        self.places = {name: each for name, each in (places or {}).items() if len(each)}

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
            self._lookups[wanted] = self._looked_up(*wanted, slice(None))
        return self._lookups[wanted]

    def lookup_of(self, table: str, key: str, target: str, rows: Codes) -> RowLookup:
        """The same of some rows of the table."""
        known = self._lookups.get((table, key, target))
        return self._looked_up(table, key, target, rows) if known is None else RowLookup(known.rows[rows])

    def _looked_up(self, table: str, key: str, target: str, of: Codes | slice) -> RowLookup:
        rows, members = self.tables[table], [self.tables[name] for name in self.members(target)]
        if key in rows.text:
            return RowLookup.of_words(rows.text.taken(key, of), [each.text.words(each.spec.key) for each in members])
        return RowLookup.of_numbers(rows.given.kept[key][of], [each.given[each.spec.key] for each in members])

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

    def picked(self, table: str, column: ByWord, rows: Codes | slice = slice(None)) -> tuple[list[str], NDArray[np.int8]]:
        """Names of the columns that the words of a table may pick, empty for none; and for each of some rows which of them it picks."""
        words, wanted = self.tables[table].text.taken(column.which, rows), (table, column.name)
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
