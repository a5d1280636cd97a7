"""The kinds of columns that a table of the costing model may have, and the declaration of a table.

A column is typed by somebody (*input*, *text*), computed by a rule from columns of its own row (*computed*), looked up in
the row of another table that a key names (*lookup*), the sum over the rows of another table that name this row (*sum*) or the
largest of them (*largest*), one of several columns of a row, chosen by a word (*by word*), or taken from a list of bands (*band*).
The place of a row among those like it is its *rank*. That is the whole vocabulary.

What else is known of a column or a table stands on its declaration too (:class:`Facts`, :class:`TableSpec`): the leak gate,
the comparison, the explanation, the margin workbook, the review and the register read it there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from typing import Any, Literal, TypeAlias

from pricing.dataclass import dataclass
from pricing.glossary import GLOSSARY

#: The table with one row whose columns every rule may use.
SETTINGS = "settings"

#: Who may see a figure: nobody but the maker, or the customer whose quote it is of.
SeenBy: TypeAlias = Literal["maker", "customer"]

#: What the rows of a table are: what the workshop has, pays and charges; what is done and used on the lines; or the lines and
#: quotes themselves, which are the same in any two states that are compared.
Scope: TypeAlias = Literal["workshop", "work", "order"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What is known of a column besides how its figures come about; most columns need none of it.

    Parameters
    ----------
    seen_by : who may see the figure; where None, an amount of money is the maker's and any other figure gives nothing away
    part : it is a part of the unit cost, and this the name by which programs read it
    result : it is what its table is for, and is set in bold
    cause : name of the cause that a change belongs to, where it is not that of its table
    follows : where a figure comes from that is settled on reading: the column with the word that it follows from, or a sentence
    steers : it only steers a formula, which is told without it where it is settled at 0 or 1, or is a sum of nothing
    unit : the column with the word that says its unit, where that differs from row to row: ``basis``
    """

    seen_by: SeenBy | None = None
    part: str = ""
    result: bool = False
    cause: str = ""
    follows: str = ""
    steers: bool = False
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Input(Facts):
    """A number that comes from the price book, or that was resolved from it before the rules run.

    Parameters
    ----------
    not_kept : what it was in a quote that was recorded before there was such a column; None where every record has it
    formerly : names under which earlier records have it
    chosen : it is the program's choice, and may be changed in a workbook though no cell of the price book holds it
    settles : board by whole sheets was worked out from it when a workbook was written, so that the cut of the panels does not
        follow from a change of it there
    """

    name: str
    not_kept: float | None = None
    formerly: tuple[str, ...] = ()
    chosen: bool = False
    settles: bool = False


@dataclass(frozen=True, slots=True)
class Text(Facts):
    """A word: a name, a key, a label.

    Parameters
    ----------
    remark : it describes its row and does not tell it from another
    not_kept, formerly : as for an input
    former_words : words that earlier records have, each with the one that stands for it now
    """

    name: str
    remark: bool = False
    not_kept: str | None = None
    formerly: tuple[str, ...] = ()
    former_words: Mapping[str, str] = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True)
class Computed(Facts):
    """What a rule makes of columns of the same row and of the workshop's settings."""

    rule: Callable[..., Any]

    @property
    def name(self) -> str:
        """The rule's name is its result's."""
        return self.rule.__name__


@dataclass(frozen=True, slots=True)
class Lookup(Facts):
    """The value of *column* in the row of *table* (or group of tables) whose key equals this row's *key*."""

    name: str
    table: str
    column: str
    key: str


@dataclass(frozen=True, slots=True)
class Sum(Facts):
    """The sum of *column* over the rows of *table* whose *by* equals this row's key."""

    name: str
    table: str
    column: str
    by: str


@dataclass(frozen=True, slots=True)
class Largest(Facts):
    """The largest of *column* over the rows of *table* whose *by* equals this row's key; 0 where none of them is above it."""

    name: str
    table: str
    column: str
    by: str


@dataclass(frozen=True, slots=True)
class ByWord(Facts):
    """From the row of *table* that *key* names, the one of *columns* that the word in *which* names."""

    name: str
    table: str
    key: str
    columns: tuple[tuple[str, str], ...]
    which: str


@dataclass(frozen=True, slots=True)
class Band(Facts):
    """From *table*, sorted by *group* and *limit*: the *column* of the lowest band of this row's *key* that holds *value*."""

    name: str
    table: str
    group: str
    limit: str
    column: str
    key: str
    value: str


@dataclass(frozen=True, slots=True)
class Rank(Facts):
    """How many rows of the same table with the same *by* have a larger *column*, or as large a one and stand before this row."""

    name: str
    column: str
    by: str


Column: TypeAlias = Input | Text | Computed | Lookup | Sum | Largest | ByWord | Band | Rank


def is_secret(column: Column) -> bool:
    """Whether a figure is nobody's business but the maker's.

    >>> from pricing.rules import materials
    >>> is_secret(Input("pack_price")), is_secret(Input("pack_price", seen_by="customer")), is_secret(Input("pack_size"))
    (True, False, False)
    """
    if isinstance(column, Text):
        return False
    if column.seen_by is not None:
        return column.seen_by == "maker"
    return bool(column.part) or GLOSSARY[column.name].unit.startswith("currency")


def said(pattern: str, words: Mapping[str, Any], row: int, **more: str) -> str:
    """A pattern with the words of a row in it.

    Parameters
    ----------
    words : columns by name
    row : counted from 0
    more : what else may stand in the pattern

    >>> said("{mix} in quote {quote}", {"mix": ["Grey", "Dark"], "quote": ["Q-1", "Q-1"]}, 1)
    'Dark in quote Q-1'
    """
    return pattern.format_map(_RowWords(words, row, more))


class _RowWords(dict[str, str]):
    """The words of a row by column, each looked for when it is asked for."""

    def __init__(self, words: Mapping[str, Any], row: int, more: Mapping[str, str]) -> None:
        super().__init__(more)
        self._words = words
        self._row = row

    def __missing__(self, name: str) -> str:
        return str(self._words[name][self._row])


@dataclass(frozen=True, slots=True)
class TableSpec:
    """The declaration of a table: its name, its key column, its columns in order, and the group it belongs to.

    Parameters
    ----------
    scope : what its rows are
    cause : kind and name of the cause that a change in a row belongs to; the words of the row stand in the name as
        ``{material}``, what the column is called as ``{label}``
    subject : what a row is about: ``{product}``
    called : what one row is called, and several; the table's name where empty
    nothing : the column in which the word for "there is none" marks a row of zeros that stands for it; empty where there is no such row
    formerly : names under which earlier records have it
    """

    name: str
    key: str
    columns: tuple[Column, ...]
    group: str = ""
    scope: Scope = "workshop"
    cause: tuple[str, str] = ("piece", "{label}")
    subject: str = ""
    called: tuple[str, str] = ("", "")
    nothing: str = ""
    formerly: tuple[str, ...] = ()

    def __hash__(self) -> int:
        return hash(self.name)  # what is worked out of a declaration is kept by it, and its columns are very many

    def column(self, name: str) -> Column | None:
        """The column of that name, or None."""
        return next((column for column in self.columns if column.name == name), None)

    @property
    def parts(self) -> tuple[tuple[str, str], ...]:
        """The parts of the unit cost among its columns, in their order: the name that programs read, and the column."""
        return tuple((column.part, column.name) for column in self.columns if column.part)
