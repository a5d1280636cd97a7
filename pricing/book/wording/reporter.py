"""Problems of a sheet in the words of its columns: what a figure is called, what it must be, what to type instead."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pricing import units
from pricing.book.declared.column import Column
from pricing.book.typed.conversion import converted, fifteen_digits
from pricing.book.wording.sentences import listed, number_text, sentence
from pricing.problems import Problems

#: Above this upper bound a range is too wide to be told whole.
_WIDE = 1e6


@dataclass(frozen=True, slots=True)
class Reporter:
    """Puts problems of one sheet into the list."""

    problems: Problems
    sheet: str

    def report(self, code: str, cell: str = "", *, warning: bool = False, **words: object) -> None:
        """Add a problem with its sentence."""
        self.problems.add(code, sentence(code, **words), sheet=self.sheet, cell=cell, warning=warning)


def spoken(column: Column) -> str:
    """The heading as it stands in a sentence: ``pack price``.

    >>> spoken(Column("Pack price", "number", ""))
    'pack price'
    """
    return column.heading[:1].lower() + column.heading[1:]


def range_words(column: Column, value: float = -math.inf) -> str:
    """What a figure of this column must be: ``between 10 mm and 12000 mm``, ``0 or more``, ``at most 1000000``.

    Parameters
    ----------
    value : the figure that is not [unit of the column]; of a wide range only the end is told that it lies beyond
    """

    if column.upper <= _WIDE:
        return f"between {figure_words(column, column.lower)} and {figure_words(column, column.upper)}"
    return f"{figure_words(column, column.lower)} or more" if value < column.lower else f"at most {figure_words(column, column.upper)}"


def figure_words(column: Column, value: float) -> str:
    """A figure of a column as a maker reads it: in the unit of plain numbers, a share in per cent.

    Parameters
    ----------
    value : in the unit of the column

    >>> figure_words(Column("Saw kerf", "number", "", unit="m", shown="mm"), 0.003)
    '3 mm'
    """
    if column.kind == "percent":
        return f"{number_text(fifteen_digits(value * 100))} %"
    unit = units.unit_of(column.plain_unit) if column.unit and not column.is_money else ""
    declared = units.unit_of(column.unit) if column.unit else ""
    if isinstance(unit, str) or isinstance(declared, str):
        return _plain(value)
    return f"{_plain(converted(value, declared, unit))} {column.plain_unit}"


def _plain(figure: float) -> str:
    """A small figure without a power of ten."""
    return number_text(figure) if figure == 0 or figure >= 0.001 else f"{figure:.9f}".rstrip("0")


def example_for(column: Column, row_unit: str = "") -> str:
    """A figure or word that a maker may type into this column."""
    unit = row_unit if column.unit_rule not in ("", "basis") else "" if column.is_money or not column.unit else column.plain_unit
    if column.example:
        return column.example if unit in ("", "%") else f"{column.example} {unit}"
    if column.kind == "date":
        return "2025-03-01"
    if column.kind == "yes_no":
        return "yes or no"
    if column.choices:
        return listed(column.choices)
    if column.refers_to:
        return f"a name from the sheet {column.refers_to}"
    return "a name"
