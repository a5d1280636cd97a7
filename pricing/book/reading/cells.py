"""What one cell of a declared column means, or the problem with it: the careful reading, one cell at a time."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from pricing import units
from pricing.book.declared.column import Column
from pricing.book.typed.conversion import converted, feet_and_inches, fifteen_digits, tidy
from pricing.book.typed.figures import may_be_thousands
from pricing.book.typed.yes_no import (
    DATE_REASONS,
    FIGURE_REASONS,
    Figure,
    date_from_text,
    figure_from_text,
    fold,
    unit_in_format,
    yes_no_from_cell,
)
from pricing.book.wording.reporter import Reporter, example_for, figure_words, range_words, shown_for, spoken
from pricing.book.wording.sentences import listed, number_text, quoted
from pricing.xlsx.cells import Cell
from pricing.xlsx.number_formats import HIDDEN, MILLIONS, THOUSANDS, TIME

#: The longest name or word [characters]; what is longer is a note.
LONGEST_NAME = 1_000

#: The first and last day that a price book can speak of.
FIRST_DAY, LAST_DAY = datetime.date(1990, 1, 1), datetime.date(2100, 12, 31)


class CellReader:
    """Reads cells of one sheet; every problem is reported and comes back as None.

    Parameters
    ----------
    reporter : of the sheet
    currency : ISO 4217 code of the book, empty where it is not known
    doubtful : True where zeros of formulas may never have been calculated
    commas : says whether figures of the book have decimal commas, where that is asked
    shown : the units in which examples of a row's unit are given, where the book shows others
    """

    def __init__(
        self, reporter: Reporter, currency: str, doubtful: bool, commas: Callable[[], bool] = lambda: False,
        shown: Mapping[str, str] = MappingProxyType({}),
    ) -> None:
        self.report = reporter.report
        self.near = reporter.near
        self.problems = reporter.problems
        self.currency = currency
        #: A sound figure or name of the column that is read, as it stands in the book; empty where there is none.
        self.standing = ""
        self._examples: dict[tuple[str, str, str], str] = {}
        self._long: dict[str, tuple[str, int]] = {}
        self.doubtful = doubtful
        self.commas = commas
        self.shown = shown

    def usable(self, cell: Cell, column: Column) -> bool:
        """False, with a problem, where a formula has no result or shows an error."""
        if not cell.stored:
            self.report("formula-without-result", cell.address, what=spoken(column))
        elif cell.kind == "error":
            self.report("error-value", cell.address, what=spoken(column), found=quoted(cell.value))
        elif self.doubtful and cell.formula is not None and cell.kind == "number" and cell.value == 0:
            self.report("doubtful-zero", cell.address, what=spoken(column))
        else:
            return True
        return False

    def number(self, cell: Cell, column: Column, heading_unit: str = "", row_unit: str = "") -> float | None:
        """A figure in the column's unit; None where there is none, with a problem unless the cell is blank."""
        if column.kind == "percent" or row_unit == "%":
            value = self.percent(cell, column, heading_unit, by_basis=row_unit == "%")
        else:
            value = self._figure(cell, column, heading_unit, row_unit)
        return None if value is None else self.within(value, cell, column)

    def _figure(self, cell: Cell, column: Column, heading_unit: str, row_unit: str) -> float | None:
        figure = self._typed(cell, column, heading_unit, row_unit)
        if figure is None:
            return None
        return self._in_unit(figure, cell, column, heading_unit, row_unit)

    def _typed(self, cell: Cell, column: Column, heading_unit: str, row_unit: str) -> Figure | None:
        """The number of a cell with the unit that it carries itself."""
        if not self.usable(cell, column):
            return None
        if cell.kind == "number" and isinstance(cell.value, float):
            return Figure(fifteen_digits(cell.value), self._printed(cell, column, heading_unit or row_unit))
        what, example = spoken(column), self._example(column, row_unit)
        if cell.kind in ("bool", "date"):
            found = quoted(cell.value if cell.kind == "bool" else str(cell.value)[:10]).upper()
            reason = f"is {'yes or no' if cell.kind == 'bool' else 'a date'}, not a number"
            self.report("not-a-number", cell.address, what=what, found=found, reason=reason, example=example)
            return None
        text = str(cell.value or "")
        figure = (feet_and_inches(text) if column.unit == "m" else None) or figure_from_text(text)
        if isinstance(figure, Figure) and may_be_thousands(text) and self.commas():
            figure = "ambiguous-thousands"
        if isinstance(figure, str):
            code = "ambiguous-number" if figure.startswith("ambiguous") else "not-a-number"
            if figure == "empty":
                return None
            if code == "ambiguous-number":
                example = " or ".join(_two_readings(text))
            self.report(
                code, cell.address, what=what, found=quoted(text), reason=FIGURE_REASONS[figure], example=example
            )
            return None
        return figure

    def _example(self, column: Column, row_unit: str) -> str:
        """What is expected in a column, put together once for all of its cells."""
        wanted = column.name, row_unit, self.standing
        if wanted not in self._examples:
            self._examples[wanted] = example_for(column, self.shown.get(row_unit, row_unit), self.standing)
        return self._examples[wanted]

    def _needed(self, column: Column, declared: units.Unit, row_unit: str) -> tuple[str, str]:
        """What kind of figure a column takes, and what it may look like."""
        dimension = _comparable(declared.dimension)
        shown = shown_for(column, self.shown.get(row_unit, row_unit), self.standing)
        return units.dimension_name(dimension), shown or units.example_of(dimension)

    def _printed(self, cell: Cell, column: Column, expected: str) -> str:
        """The unit that a number's format prints beside it; formats that only scale or hide are reported here."""
        printed = unit_in_format(cell.number_format)
        what = spoken(column)
        if printed in (THOUSANDS, MILLIONS):
            self.report(
                "scaled-format", cell.address, warning=True, what=what, found=quoted(cell.value), printed=printed
            )
            return ""
        if printed == HIDDEN:
            self.report("hidden-figure", cell.address, warning=True, what=what, found=quoted(cell.value))
            return ""
        return printed

    def _in_unit(self, figure: Figure, cell: Cell, column: Column, heading_unit: str, row_unit: str) -> float | None:
        declared = units.unit_of(row_unit or column.unit, self.currency) if row_unit or column.unit else _NUMBER
        if isinstance(declared, str):
            return figure.value  # a currency that is itself in doubt, reported with the setting
        own = figure.unit.removesuffix(" binder")
        by_format = bool(own) and cell.kind == "number"
        if own or heading_unit:
            given = units.unit_of(own or heading_unit, self.currency)
        elif row_unit or not column.unit:
            given = declared
        else:
            given = units.unit_of(column.plain_unit, self.currency)
        if isinstance(given, str):
            return self._unknown_unit(figure, given, cell, column, declared, row_unit)
        money = declared.dimension[:1] == units.CURRENCY and given.dimension == units.CURRENCY
        if _comparable(given.dimension) != _comparable(declared.dimension) and not money:
            if column.unit_rule and not row_unit:  # what says its unit is no word that is known, and told there
                return figure.value
            self._wrong_dimension(cell, column, given, declared, heading_unit, by_format, row_unit)
            return None
        heading = units.unit_of(heading_unit, self.currency) if heading_unit else None
        if by_format and isinstance(heading, units.Unit) and heading.factor != given.factor:
            self._contradiction(cell, column, own, f"the heading says {heading_unit}")
            return None
        return figure.value if money else converted(figure.value, given, declared)

    def _unknown_unit(
        self, figure: Figure, reason: str, cell: Cell, column: Column, declared: units.Unit, row_unit: str
    ) -> float | None:
        own = figure.unit
        what, found = spoken(column), _found(cell)
        if cell.kind == "number" and not units.is_money(own) and own not in ("%", TIME):
            if _comparable(declared.dimension) == units.PLAIN:
                return figure.value  # a word printed beside a plain number says nothing that matters
            self._contradiction(cell, column, own, reason)
        elif units.is_money(own.split("/")[0].strip()) and column.is_money and not self.currency:
            return figure.value  # the currency is in doubt itself, and told of once
        elif units.is_money(own.split("/")[0].strip()) and column.is_money:
            self.report(
                "wrong-currency", cell.address, what=what, found=_with(found, own, cell), currency=self.currency
            )
        elif units.is_money(own):
            needed, example = self._needed(column, declared, row_unit)
            self.report(
                "wrong-dimension", cell.address, what=what, found=_with(found, own, cell), is_a="an amount of money",
                needed=needed, example=example,
            )
        elif own == TIME:
            self._contradiction(cell, column, "a time of day", "a plain number is needed")
        else:
            self.report(
                "unknown-unit",
                cell.address,
                what=what,
                found=found,
                reason=reason,
                example=self._example(column, row_unit),
            )
        return None

    def _wrong_dimension(
        self,
        cell: Cell,
        column: Column,
        given: units.Unit,
        declared: units.Unit,
        heading: str,
        by_format: bool,
        row_unit: str,
    ) -> None:
        needed, example = self._needed(column, declared, row_unit)
        if by_format:
            printed = unit_in_format(cell.number_format)
            self._contradiction(cell, column, printed, f"{needed} is needed, such as {example}")
            return
        found = _found(cell) if cell.kind == "text" or not heading else f"{_found(cell)} {heading}"
        self.report(
            "wrong-dimension", cell.address, what=spoken(column), found=found,
            is_a=units.dimension_name(given.dimension), needed=needed, example=example,
        )

    def _contradiction(self, cell: Cell, column: Column, printed: str, instead: str) -> None:
        self.report(
            "format-contradicts",
            cell.address,
            what=spoken(column),
            found=_found(cell),
            printed=printed,
            instead=instead,
        )

    def percent(self, cell: Cell, column: Column, heading_unit: str, by_basis: bool = False) -> float | None:
        """A fraction; what may be read as 4 % and as 0.04 % or 400 % is reported."""
        if not self.usable(cell, column):
            return None
        figure = self._typed(cell, column, "", "%")
        if figure is None:
            return None
        unit = "%" if figure.unit.startswith("%") else figure.unit
        if unit == "%" and cell.kind == "number":
            return self._margin(figure.value, cell, column)
        if unit == "%":
            return self._margin(fifteen_digits(figure.value / 100), cell, column)
        if unit:
            self._not_a_percentage(figure, cell, column)
            return None
        in_percent = by_basis or heading_unit == "%"
        value = figure.value
        if column.name in ("target_margin", "lowest_margin") and value in (1.0, 100.0):
            return self._margin(1.0, cell, column)
        doubtful = 0 < value < (0.1 if by_basis else 1.0) if in_percent else value >= 1
        if doubtful:
            one, other = f"{number_text(value)} %", f"{number_text(fifteen_digits(value * 100))} %"
            types = (one, number_text(fifteen_digits(value / 100))) if value >= 1 else (one, other)
            self.report(
                "ambiguous-percentage", cell.address, what=spoken(column), found=_found(cell), one=one, other=other,
                type_one=types[0], type_other=types[1],
            )
            return None
        return self._margin(fifteen_digits(value / 100) if in_percent else value, cell, column)

    def _margin(self, value: float, cell: Cell, column: Column) -> float | None:
        if column.name in ("target_margin", "lowest_margin") and value >= 1:
            self.report("margin-of-100", cell.address, what=spoken(column), found=_found(cell))
            return None
        return value

    def _not_a_percentage(self, figure: Figure, cell: Cell, column: Column) -> None:
        unit = units.unit_of(figure.unit, self.currency)
        what, example = spoken(column), shown_for(column, "", self.standing) if column.example.endswith("%") else "4 %"
        if cell.kind == "number":
            self._contradiction(cell, column, figure.unit, f"a percentage is needed, such as {example}")
        elif isinstance(unit, str) and not units.is_money(figure.unit):
            wanted = f"a percentage, such as {example}"
            self.report("unknown-unit", cell.address, what=what, found=_found(cell), reason=unit, example=wanted)
        else:
            is_a = "an amount of money" if isinstance(unit, str) else units.dimension_name(unit.dimension)
            self.report(
                "wrong-dimension",
                cell.address,
                what=what,
                found=_found(cell),
                is_a=is_a,
                needed="a percentage",
                example=example,
            )

    def within(self, value: float, cell: Cell, column: Column) -> float | None:
        """The figure where it is within the column's bounds; None, with a problem, where it is not."""
        what, found = spoken(column), _found(cell)
        slip = "the decimal point or of the unit" if column.unit and not column.is_money else "the sign or of the decimal point"
        if not column.lower <= value <= column.upper:
            self.report("out-of-range", cell.address, what=what, found=found, must=range_words(column, value), slip=slip)
        elif column.whole and value != math.floor(value):
            below, above = (figure_words(column, end(value)) for end in (math.floor, math.ceil))
            self.report("not-whole", cell.address, what=what, found=found, below=below, above=above)
        else:
            return value
        return None

    def date(self, cell: Cell, column: Column) -> datetime.date | None:
        """A day; None where there is none, with a problem unless the cell is blank."""
        if not self.usable(cell, column):
            return None
        what, day = spoken(column), None
        if isinstance(cell.value, datetime.datetime):
            day = cell.value.date()
        elif cell.kind == "text":
            read = date_from_text(str(cell.value))
            if isinstance(read, datetime.date):
                day = read
            elif read != "empty":
                self.report("not-a-date", cell.address, what=what, found=_found(cell), reason=_bare(DATE_REASONS[read]))
                return None
            else:
                return None
        else:
            reason = "is a plain number, not a date" if cell.kind == "number" else "is not a date"
            self.report("not-a-date", cell.address, what=what, found=_found(cell), reason=reason)
            return None
        if not FIRST_DAY <= day <= LAST_DAY:
            self.report("date-out-of-range", cell.address, what=what, found=day.isoformat())
            return None
        return day

    def yes_no(self, cell: Cell, column: Column) -> float | None:
        """1 for yes, 0 for no; None where there is neither, with a problem unless the cell is blank."""
        if not self.usable(cell, column):
            return None
        read = yes_no_from_cell(cell)
        if isinstance(read, bool):
            return float(read)
        if read != "empty":
            self.report("not-yes-or-no", cell.address, what=spoken(column), found=_found(cell))
        return None

    def text(self, cell: Cell, column: Column) -> str | None:
        """A name, a word or a note; None where there is none, with a problem unless the cell is blank."""
        if not self.usable(cell, column):
            return None
        if isinstance(cell.value, bool | datetime.datetime):
            plain = ("yes" if cell.value else "no") if isinstance(cell.value, bool) else cell.value.date().isoformat()
            if column.kind == "note":
                return plain
            is_a = "yes or no" if isinstance(cell.value, bool) else "a date"
            self.report("not-a-name", cell.address, what=spoken(column), found=_found(cell), is_a=is_a)
            return None
        if isinstance(cell.value, float):
            return number_text(cell.value)
        if column.kind == "note":
            return tidy(str(cell.value or ""), lines=True) or None
        text, count = self._name(str(cell.value or ""))
        if count > LONGEST_NAME:
            self.report("long-name", cell.address, what=spoken(column), count=count, most=LONGEST_NAME)
            return None
        return text or None

    def _name(self, typed: str) -> tuple[str, int]:
        """A text without stray spaces, as far as a name may be long, and how long it is; a long one is looked through once."""
        if len(typed) <= LONGEST_NAME:
            text = tidy(typed)
            return text, len(text)
        if typed not in self._long:
            text = tidy(typed)
            self._long[typed] = text[:LONGEST_NAME], len(text)
        return self._long[typed]

    @staticmethod
    def known_word(text: str, column: Column) -> str | None:
        """The declared spelling of a word that may stand in the column; None where it may not."""
        wanted = fold(text)
        for choice in column.choices:
            if fold(choice) == wanted:
                return choice
        for twin in column.twins:
            if fold(twin) == wanted:
                return twin
        return next((choice for word, choice in column.other_words.items() if fold(word) == wanted), None)

    def word(self, text: str, address: str, column: Column) -> str:
        """The same; empty, with a problem, where it may not."""
        known = self.known_word(text, column)
        if known is not None:
            return known
        near = self.near(text, column.choices, 1)
        perhaps = f'perhaps "{near[0]}"; ' if near else ""
        if column.name == "pack_unit":
            perhaps = _pack_unit_instead(text, column.choices) or perhaps
        self.report(
            "unknown-word", address, what=spoken(column), found=quoted(text), near=perhaps, choices=listed(column.explained_choices),
        )
        return ""


#: A plain number; a count of pieces, casts or coats is one too.
_NUMBER = units.Unit("", units.PLAIN, 1.0)


def _pack_unit_instead(text: str, choices: Sequence[str]) -> str:
    """What to choose where the unit that is typed is another of the same kind; nothing where it is none."""
    typed = units.unit_of(text)
    for choice in choices:
        unit = units.unit_of(choice)
        if isinstance(unit, units.Unit) and isinstance(typed, units.Unit) and unit.dimension == typed.dimension:
            beside = f'choose "{choice}", and type {text} beside the pack size, such as 8 {text}; or '
            return f'perhaps "{choice}"; ' if unit.factor == typed.factor else beside
    return ""


def _comparable(dimension: units.Dimension) -> units.Dimension:
    return units.PLAIN if dimension == units.COUNT else dimension


def _found(cell: Cell) -> str:
    """What stands in the cell, as the maker sees it."""
    if isinstance(cell.value, bool):
        return "TRUE" if cell.value else "FALSE"
    if isinstance(cell.value, datetime.datetime):
        return cell.value.date().isoformat()
    if isinstance(cell.value, float) and unit_in_format(cell.number_format) == "%":
        return f"{number_text(fifteen_digits(cell.value * 100))} %"
    return quoted(cell.value)


def _with(found: str, unit: str, cell: Cell) -> str:
    return found if cell.kind == "text" else f"{found} {unit}"


def _bare(reason: str) -> str:
    return reason.partition(";")[0]


def _two_readings(text: str) -> tuple[str, str]:
    """The two ways in which a text such as ``1,234``, or ``1.234`` among decimal commas, can be typed so that it is read in one way."""
    digits = "".join(character for character in text if character.isdigit() or character in ",.")
    whole = digits.replace(",", "").replace(".", "")
    return whole, f"{digits}0".replace(".", ",") if "." in digits else digits.replace(",", ".")
