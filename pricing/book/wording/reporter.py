"""Problems of a sheet in the words of its columns: what a figure is called, what it must be, what to type instead."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from pricing import units
from pricing.book.declared.column import Column
from pricing.book.typed.conversion import converted, fifteen_digits
from pricing.book.wording.sentences import MOST_COMPARED, listed, near_matches, number_text, sentence
from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.xlsx.refused import RefusedError

#: Errors with which the reading of a price book ends: a budget of work, for nobody mends as many one by one.
MOST_ERRORS = 20_000

#: Things of one kind to look at on a sheet that are told one by one; of the others only how many there are.
MOST_ALIKE = 50_000

#: Guesses of what was meant, in one price book, and names that are looked through for all of them.
MOST_GUESSES, MOST_LOOKED_THROUGH = 25, 10 * MOST_COMPARED

#: Above this upper bound a range is too wide to be told whole.
_WIDE = 1e6

#: An example in another unit is whole from so much on, and comes to quarters below that.
_WHOLE_FROM, _PART = 10.0, 0.25

#: Characters of a figure from which on it is told in short.
_MANY_DIGITS = 7


@dataclass(frozen=True, slots=True)
class Reporter:
    """Puts problems of one sheet into the list."""

    problems: Problems
    sheet: str

    def report(
        self, code: str, cell: str = "", *, warning: bool = False, together: str = "", short: str = "", **words: object
    ) -> None:
        """Add a problem with its sentence, and with what is said of several together.

        Problems raised: RefusedError where there are more errors than anybody mends.
        """
        if code == "unknown-name" and words["sheet"] in self.problems.unread:
            return
        if warning:
            told = self.problems.told[code, self.sheet] = self.problems.told[code, self.sheet] + 1
            if told > MOST_ALIKE:
                return
        self.problems.add(code, sentence(code, **words), sheet=self.sheet, cell=cell, warning=warning, together=together, short=short)
        if self.problems.error_count > MOST_ERRORS:
            raise RefusedError("too-many-problems", "there are many more problems; mend these first", self.sheet)

    def near(self, text: str, names: Iterable[str], count: int = 3) -> list[str]:
        """Names that may have been meant; none any more when it was asked often, for nobody reads a thousand guesses."""
        if self.problems.guesses >= MOST_GUESSES or self.problems.looked_through >= MOST_LOOKED_THROUGH:
            return []
        every = list(names)
        self.problems.guesses += 1
        self.problems.looked_through += min(len(every), MOST_COMPARED)
        return near_matches(text, every, count)


def report_rest(problems: Problems) -> None:
    """Say of what there was too much to tell one by one how much more there is."""
    for (code, sheet), told in problems.told.items():
        if told > MOST_ALIKE:
            problems.add(code, f"{told - MOST_ALIKE:,} more such things are not told one by one", sheet=sheet, warning=True)


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

    lower, upper = (figure_words(column, end, in_short=True) for end in (column.lower, column.upper))
    if column.upper <= _WIDE:
        return f"between {lower} and {upper}"
    return f"{lower} or more" if value < column.lower else f"at most {upper}"


def in_unit_of(column: Column, unit: str) -> Column:
    """The column of a book whose heading has another unit: its example, and every figure of it that is told, stands in that.

    Parameters
    ----------
    unit : in the brackets of the heading; the column stays as it is where that is no unit of the same kind

    >>> in_unit_of(Column("Length", "number", "", unit="m", shown="mm", example="1200"), "in").example
    '47'
    """
    shown, other = (units.unit_of(each) if each else "no unit" for each in (column.plain_unit, unit))
    if isinstance(shown, str) or isinstance(other, str) or shown.dimension != other.dimension or shown.factor == other.factor:
        return column
    example = converted(float(column.example), shown, other) if column.example else 0.0
    step = 1.0 if example >= _WHOLE_FROM else _PART
    return replace(column, shown=unit, example=number_text(max(step, round(example / step) * step)) if column.example else "")


def figure_words(column: Column, value: float, *, in_short: bool = False) -> str:
    """A figure of a column as a maker reads it: in the unit of plain numbers, a share in per cent.

    Parameters
    ----------
    value : in the unit of the column
    in_short : True where three digits say enough of a figure that has many in the unit of plain numbers

    >>> figure_words(Column("Saw kerf", "number", "", unit="m", shown="mm"), 0.003)
    '3 mm'
    """
    if column.kind == "percent":
        return f"{number_text(fifteen_digits(value * 100))} %"
    unit = units.unit_of(column.plain_unit) if column.unit and not column.is_money else ""
    declared = units.unit_of(column.unit) if column.unit else ""
    if isinstance(unit, str) or isinstance(declared, str):
        return _plain(value)
    figure = converted(value, declared, unit)
    if in_short and len(number_text(figure)) > _MANY_DIGITS:
        figure = float(f"{figure:.3g}")
    return f"{_plain(figure)} {'day' if figure == 1 and column.plain_unit == 'days' else column.plain_unit}"


def _plain(figure: float) -> str:
    """A small figure without a power of ten.

    >>> _plain(0.0005), _plain(-20000.0)
    ('0.0005', '-20000')
    """
    return number_text(figure) if figure == 0 or abs(figure) >= 0.001 else f"{figure:.9f}".rstrip("0")


def example_for(column: Column, row_unit: str = "", standing: str = "") -> str:
    """What is expected in this column, and what such a cell looks like: ``a length, such as 40 mm``; no figure is given as an order.

    Parameters
    ----------
    row_unit : the unit of the row's figure where it differs from row to row
    standing : what stands elsewhere in the column of the book, or of the sheet that it names; a figure of no book where empty
    """
    unit = row_unit if column.unit_rule not in ("", "basis") else "" if column.is_money or not column.unit else column.plain_unit
    if column.refers_to:
        return f"a name of the sheet {column.refers_to}" + (f', such as "{standing}"' if standing else "")
    if column.choices:
        return f"one of {listed(column.explained_choices)}"
    if column.kind == "yes_no":
        return "yes or no"
    if column.kind == "date":
        return f"a date, such as {standing or '2025-03-01'}"
    if not column.is_number:
        return "a name" if column.kind == "name" else "a text"
    shown = shown_for(column, row_unit, standing)
    return f"{_kind_words(column, unit)}{f', such as {shown}' if shown else ''}"


def shown_for(column: Column, row_unit: str = "", standing: str = "") -> str:
    """What a cell of this column may look like: ``40 mm``; parameters as for :func:`example_for`."""
    unit = row_unit if column.unit_rule not in ("", "basis") else "" if column.is_money or not column.unit else column.plain_unit
    if standing or not column.example:
        return standing
    return column.example if unit in ("", "%") else f"{column.example} {unit}"


def _kind_words(column: Column, unit: str) -> str:
    """What kind of figure a column takes: ``a length``, ``a percentage``, ``an amount of money``."""
    if column.kind == "percent" or unit == "%":
        return "a percentage"
    if column.is_money:
        return "an amount of money"
    known = units.unit_of(unit) if unit else "no unit"
    return "a whole number" if column.whole else "a number" if isinstance(known, str) else units.dimension_name(known.dimension)
