"""Why one cell may not be written: what a spreadsheet program would refuse, and what a value would destroy."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence, Set
from itertools import chain
from numbers import Real
from typing import Generic, TypeVar

from pricing.xlsx.addresses import Area, Position, address, area_name
from pricing.xlsx.cells import number_text
from pricing.xlsx.editing.sheet import SheetFacts, Validation
from pricing.xlsx.editing.splice import Value
from pricing.xlsx.package.markup import true
from pricing.xlsx.package.parts import Table
from pricing.xlsx.refused import RefusedError

MOST_WORK = 5_000_000  # areas looked at, over all cells
_HIGH = 16  # rows from which an area is looked at for every cell
LARGEST_NUMBER = 9.99999999999999e307  # the largest that can be typed into a cell
LONGEST_TEXT = 32_767  # characters that a cell holds, counted in UTF-16 units

Thing = TypeVar("Thing")

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[Ee][+-]?[0-9]+)?")


def refuse_value(value: object) -> tuple[str, str] | None:
    """The code and sentence for a value that no cell can hold, or None."""
    if value is None or value == "":
        return None
    if isinstance(value, str):
        try:
            units = len(value.encode("utf-16-le")) // 2
        except UnicodeEncodeError:
            return "bad-value", "the text has half a character in it and cannot be stored; type the text again"
        if units > LONGEST_TEXT:
            return "bad-value", f"the text has {units} characters and a cell holds {LONGEST_TEXT}; shorten it"
        return None
    if isinstance(value, bool) or not isinstance(value, Real):
        return "bad-value", f"the value {value!r:.40} is neither a number nor a text; give one of these"
    try:
        finite = math.isfinite(float(value))
    except OverflowError:
        finite = False
    if not finite or abs(float(value)) > LARGEST_NUMBER:
        return "bad-value", f"the value {value!r:.40} is not a number that a cell can hold; give a finite one"
    return None


class _ByRow(Generic[Thing]):
    """Things with the areas in which they hold, found by a cell."""

    def __init__(self, things: Iterable[tuple[Area, Thing]]) -> None:
        self._low: dict[int, list[tuple[Area, Thing]]] = {}
        self._high: list[tuple[Area, Thing]] = []
        self._work = 0
        for area, thing in things:
            if area.bottom - area.top >= _HIGH:
                self._high.append((area, thing))
                continue
            for row in range(area.top, area.bottom + 1):
                self._low.setdefault(row, []).append((area, thing))

    def at(self, row: int, column: int) -> Iterator[tuple[Area, Thing]]:
        """Those that hold at a cell. Problems raised: ``file-too-large`` where that takes too long."""
        near = self._low.get(row, [])
        self._work += len(near) + len(self._high)
        if self._work > MOST_WORK:
            text = "the sheet has more merged cells and data validations than can be looked at"
            raise RefusedError("file-too-large", f"{text}; remove what does not belong to the price book")
        for area, thing in chain(near, self._high):
            if area.covers(row, column):
                yield area, thing


class CellGuard:
    """Judges the cells of one worksheet.

    Parameters
    ----------
    facts : what the sheet holds, with the cells to be judged watched
    tables : the tables that stand on it
    pivots : the areas of its pivot tables
    unlocked : the formats that may be changed on a protected sheet
    """

    def __init__(self, facts: SheetFacts, tables: Sequence[Table], pivots: Sequence[Area], unlocked: Set[str]) -> None:
        self._facts, self._tables, self._pivots, self._unlocked = facts, tables, pivots, unlocked
        arrays = (formula for formula in facts.formulas if formula.kind in ("array", "dataTable"))
        self._arrays = _ByRow((formula.area, formula) for formula in arrays if formula.area)
        self._merges = _ByRow((area, area) for area in facts.merges)
        self._validations_at = _ByRow((area, rule) for rule in facts.validations for area in rule.areas)

    def refusals(self, position: Position, value: Value) -> Iterator[RefusedError]:
        """Every reason, with its sentence, why the value may not go into the cell."""
        for code, message in (*self._contents(position), *self._places(position), *self._rules(position, value)):
            yield RefusedError(code, message)

    def warnings(self, position: Position, value: Value) -> Iterator[RefusedError]:
        """What the maker should know though the value is written: a validation that only warns."""
        for validation in self._validations(position):
            if _shows(validation) and not _stops(validation) and not permits(validation, value):
                text = f"the cell's data validation may warn of {_shown(value)}; look whether the value is meant"
                yield RefusedError("validation-warns", text)

    def _contents(self, position: Position) -> Iterator[tuple[str, str]]:
        found = self._facts.found.get(position)
        if found and found.formula:
            formula = found.formula
            if formula.kind == "shared" and formula.area:
                text = f"the formula of this cell also serves the cells {area_name(formula.area)}"
                yield "shared-formula", f"{text}; leave this cell out, or replace the formulas there by values first"
            elif formula.kind not in ("array", "dataTable"):
                shown = formula.text[:60] or "shared with others"
                text = f"the cell holds a formula ({shown}), which a value would destroy"
                yield "formula", f"{text}; clear the cell first, or leave it out"
        for area, formula in self._arrays.at(*position):
            what = "data table" if formula.kind == "dataTable" else "array formula"
            text = f"the cell belongs to the {what} in {area_name(area)}, which is changed only as a whole"
            yield "array", f"{text}; leave the cell out, or clear the whole area first"
        if found and found.attributes.keys() & {"cm", "vm"}:
            text = "the cell holds a picture, a linked data type or a spilling formula"
            yield "rich-value", f"{text}; clear the cell first, or leave it out"

    def _places(self, position: Position) -> Iterator[tuple[str, str]]:
        row, column = position
        for area, _ in self._merges.at(row, column):
            if position != (area.top, area.left):
                first = address(area.top, area.left)
                text = f"the cell is hidden in the merged cells {area_name(area)}"
                yield "merged", f"{text}; write into {first}, or undo the merge"
        for table in self._tables:
            if not table.area.covers(row, column):
                continue
            if row < table.area.top + table.headings:
                text = "the cell is a heading of a table, and formulas know the column by it"
                yield "table-heading", f"{text}; change it in the spreadsheet program"
            elif row > table.area.bottom - table.totals:
                text = "the cell is in the totals row of a table"
                yield "table-totals", f"{text}; leave it out, or switch the row off first"
        for area in self._pivots:
            if area.covers(row, column):
                text = f"the cell lies in the pivot table in {area_name(area)}, which is filled by the program itself"
                yield "pivot-table", f"{text}; leave it out, or move the pivot table"
        if self._facts.protected and (self._facts.style(row, column) or "0") not in self._unlocked:
            text = "the sheet is protected and the cell is locked"
            yield "protected", f"{text}; unprotect the sheet, or unlock the cell in its format"

    def _rules(self, position: Position, value: Value) -> Iterator[tuple[str, str]]:
        for validation in self._validations(position):
            if _stops(validation) and not permits(validation, value):
                text = f"the cell's data validation ({_rule(validation)}) does not let {_shown(value)} in"
                yield "validation", f"{text}, as far as can be told; change the validation, or leave the cell out"

    def _validations(self, position: Position) -> Iterator[Validation]:
        yield from {id(rule): rule for _, rule in self._validations_at.at(*position)}.values()


def permits(validation: Validation, value: Value) -> bool:
    """Whether a data validation surely lets a value in; where its limits are formulas, the answer is no.

    Parameters
    ----------
    validation : as it is stored
    value : what is to be written; an empty cell is always let in
    """
    kind = validation.attributes.get("type", "none")
    if value is None or kind == "none":
        return True
    if kind == "list":
        return _in_list(validation.first, value)
    if kind == "textLength":
        return _within(validation, float(len(value if isinstance(value, str) else number_text(value))))
    if kind in ("whole", "decimal", "date", "time") and not isinstance(value, str):
        written = float(number_text(value))
        return _within(validation, written) and (kind != "whole" or written.is_integer())
    return False


def _in_list(items: str, value: Value) -> bool:
    if len(items) < 2 or not (items.startswith('"') and items.endswith('"')):
        return False
    words = [word.strip() for word in items[1:-1].replace('""', '"').split(",")]
    if isinstance(value, str):
        return value in words
    return value is not None and any(_literal(word) == float(number_text(value)) for word in words)


def _within(validation: Validation, number: float) -> bool:
    low, high = _literal(validation.first), _literal(validation.second)
    operator = validation.attributes.get("operator", "between")
    if low is None:
        return False
    if operator in ("between", "notBetween"):
        return high is not None and (low <= number <= high) == (operator == "between")
    return {
        "equal": number == low,
        "notEqual": number != low,
        "lessThan": number < low,
        "lessThanOrEqual": number <= low,
        "greaterThan": number > low,
        "greaterThanOrEqual": number >= low,
    }.get(operator, False)


def _literal(text: str) -> float | None:
    return float(text) if _NUMBER.fullmatch(text.strip()) else None


def _shows(validation: Validation) -> bool:
    return true(validation.attributes.get("showErrorMessage"))


def _stops(validation: Validation) -> bool:
    return _shows(validation) and validation.attributes.get("errorStyle", "stop") == "stop"


def _rule(validation: Validation) -> str:
    attributes = validation.attributes
    words = [attributes.get("type", ""), attributes.get("operator", ""), validation.first[:40], validation.second[:40]]
    return " ".join(word for word in words if word)


def _shown(value: Value) -> str:
    return f'"{value[:40]}"' if isinstance(value, str) else number_text(value) if value is not None else "an empty cell"
