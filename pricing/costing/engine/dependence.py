"""Which columns of a model are made of which: what follows from the declarations alone, whatever numbers stand in the tables."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import cached_property
from typing import TypeAlias

from pricing.algebra import expressions
from pricing.costing.engine.columns import SETTINGS, Band, ByWord, Column, Computed, Largest, Lookup, Rank, Sum, TableSpec

#: A column by its table and its name.
Place: TypeAlias = tuple[str, str]

#: Of so many lists of declarations the dependence is kept: one process has models of few kinds.
_KEPT = 16


class Dependence:
    """The tables of a model by their groups, the columns by their names, and what each is made of.

    Parameters
    ----------
    specs : the declarations of the tables, in order
    """

    def __init__(self, specs: Sequence[TableSpec]) -> None:
        self.specs = specs
        self.groups: dict[str, list[str]] = {}
        for spec in specs:
            self.groups.setdefault(spec.group or spec.name, []).append(spec.name)
        self.columns: dict[str, dict[str, Column]] = {spec.name: {column.name: column for column in spec.columns} for spec in specs}
        self._inputs: dict[Place, dict[str, Place]] = {}

    def members(self, name: str) -> list[str]:
        """The tables that a lookup means: one by its name, or all of a group."""
        return [name] if name in self.columns else self.groups[name]

    def home(self, table: str, name: str) -> str:
        """The table in which a rule of *table* finds the input *name*: its own, or the settings."""
        return table if name in self.columns[table] else SETTINGS

    def inputs(self, table: str, name: str) -> dict[str, Place]:
        """The inputs of a rule, each with the column that it is."""
        found = self._inputs.get((table, name))
        if found is None:
            column = self.columns[table][name]
            assert isinstance(column, Computed)
            found = self._inputs[table, name] = {each: (self.home(table, each), each) for each in expressions.inputs_of(column.rule)}
        return found

    def sources(self, table: str, name: str) -> list[Place]:
        """The columns that a column is made of, each by its table; none of one that is given."""
        match self.columns[table].get(name):
            case Computed():
                return list(self.inputs(table, name).values())
            case Lookup(column=column, table=other) | Sum(column=column, table=other) | Largest(column=column, table=other):
                return [(member, column) for member in self.members(other)]
            case ByWord(columns=columns, table=other):
                return [(member, each) for member in self.members(other) for _, each in columns]
            case Rank(column=column):
                return [(table, column)]
            case Band(value=value, table=other, limit=limit, column=column):
                return [(table, value), (other, limit), (other, column)]
        return []

    @cached_property
    def _made_of(self) -> dict[Place, list[Place]]:
        """The columns that are made of each column directly."""
        found: dict[Place, list[Place]] = {}
        for table, columns in self.columns.items():
            for name in columns:
                for source in self.sources(table, name):
                    found.setdefault(source, []).append((table, name))
        return found

    def reached(self, changed: Collection[Place], held: Collection[Place]) -> set[Place]:
        """The columns that are changed, or made of what is, near or far.

        Parameters
        ----------
        held : columns whose numbers are given whatever they are made of
        """
        found, left = set(changed), list(changed)
        while left:
            for each in self._made_of.get(left.pop(), ()):
                if each not in found and each not in held:
                    found.add(each)
                    left.append(each)
        return found


_known: dict[tuple[int, ...], Dependence] = {}


def dependence_of(specs: Sequence[TableSpec]) -> Dependence:
    """The dependence of the columns of some tables, made once for the same declarations."""
    known = tuple(map(id, specs))  # what is kept holds its declarations, so that no other takes their place
    if known not in _known:
        if len(_known) >= _KEPT:
            _known.clear()
        _known[known] = Dependence(tuple(specs))
    return _known[known]
