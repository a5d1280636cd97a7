"""The kinds of columns that a table of the costing model may have, and the declaration of a table.

A column is typed by somebody (*given*, *text*), computed by a rule from columns of its own row (*computed*), fetched
from the row of another table that a key names (*fetched*), summed over the rows of another table that name this row
(*summed*), picked from a row and one of several columns (*picked*), or taken from a list of bands (*banded*). That is
the whole vocabulary.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeAlias

#: The table with one row whose columns every rule may use.
SETTINGS = "settings"


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
