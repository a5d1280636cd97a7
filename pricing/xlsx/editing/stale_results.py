"""Which stored results go stale when some cells get new values."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TypeAlias

from pricing.xlsx.addresses import LAST_COLUMN, LAST_ROW, Area, Position
from pricing.xlsx.editing.formula_references import Needs, Reader, shared_needs
from pricing.xlsx.editing.sheet import Formula

SMALL_AREA = 16
MOST_ELEMENTS = 4096  # results of a matrix formula that are followed one by one
MOST_OF_ALL = 65_536  # of all matrix formulas
MOST_WORK = 20_000_000
LETTER = 4  # what a letter of a formula costs, compared with a cell that is looked at

_EVERYTHING = Needs(everything=True)
_Place: TypeAlias = tuple[int, Area]


def stale_results(
    formulas: Mapping[int, Sequence[Formula]], reader: Reader, changed: Mapping[int, Iterable[Position]]
) -> dict[int, list[Area]]:
    """The cells whose stored results may no longer hold, by sheet.

    A formula goes stale if it reads a changed cell or a stale result, or may read anything (see
    :mod:`pricing.xlsx.editing.formula_references`); a matrix formula with all its results, unless each of them is made of the
    elements in its own place alone; a data table always. Where following
    the formulas would take too long, all of them do.

    Parameters
    ----------
    formulas : every formula of the workbook by the number of its sheet
    reader : reads what a formula needs
    changed : the cells with new values by the number of their sheet
    """
    following, left = _Following(), MOST_OF_ALL
    every = ((sheet, formula) for sheet, found in formulas.items() for formula in found)
    spills = {(sheet, each.row, each.column): each.area for sheet, each in every if each.kind == "array" and each.area}
    for sheet, found in formulas.items():
        masters: dict[str, Formula] = {}
        for formula in found:
            if formula.kind == "shared" and formula.area:
                twice = formula.group in masters
                masters[formula.group] = formula._replace(text="INDIRECT()") if twice else formula  # reads everything
        meant = {group: reader.needs(master.text, sheet, master.row) for group, master in masters.items()}
        for formula in found:
            following.work += LETTER * len(formula.text)
            needs = _EVERYTHING if following.tired else _needs(formula, sheet, reader, masters, meant)
            needs = needs.with_spills(spills)
            for area, own in _results(formula, needs, left):
                following.add((sheet, area), own)
                left -= area != formula.area
            if formula.spills and (needs.everything or needs.grows):
                following.may_grow(formula.row, formula.column)
    following.follow([(sheet, Area(*cell, *cell)) for sheet, cells in changed.items() for cell in cells])
    stale: dict[int, list[Area]] = {}
    for sheet, area in following.stale:
        stale.setdefault(sheet, []).append(area)
    return stale


def _results(formula: Formula, needs: Needs, most: int) -> Iterator[tuple[Area, Needs]]:
    """The areas in which a formula has results, and what those are made of: of a matrix formula each cell by itself, up to so many."""
    if formula.kind == "shared" or not formula.area:
        yield Area(formula.row, formula.column, formula.row, formula.column), needs
    elif formula.kind != "array" or needs.everything or not needs.by_element or formula.area.size > min(MOST_ELEMENTS, most):
        yield formula.area, needs
    else:
        top, left, bottom, right = formula.area
        for row in range(top, bottom + 1):
            for column in range(left, right + 1):
                yield Area(row, column, row, column), needs.of_element(row - top, column - left, formula.area)


def _needs(
    formula: Formula, sheet: int, reader: Reader, masters: Mapping[str, Formula], meant: Mapping[str, Needs]
) -> Needs:
    if formula.kind == "shared" and not formula.area:
        master = masters.get(formula.group)
        if formula.text or master is None:  # a shared formula with a text of its own, or without its master
            return reader.needs(formula.text, sheet, formula.row) if formula.text else Needs(everything=True)
        return shared_needs(meant[formula.group], formula.row - master.row, formula.column - master.column)
    if formula.kind == "shared":
        return meant[formula.group]
    if formula.kind == "dataTable":
        return Needs(everything=True)
    return reader.needs(formula.text, sheet, formula.row)


class _Following:
    """Results, and which others go stale with each."""

    def __init__(self) -> None:
        self.places: list[_Place] = []
        self.everything: list[int] = []
        self.cells: dict[tuple[int, int, int], list[int]] = {}
        self.wide: dict[int, dict[Area, list[int]]] = {}
        self.stale: list[_Place] = []
        self.spilling: dict[int, _Place] = {}
        self.work = 0

    @property
    def tired(self) -> bool:
        """Whether more would take too long."""
        return self.work > MOST_WORK

    def add(self, place: _Place, needs: Needs) -> None:
        number = len(self.places)
        self.places.append(place)
        if needs.everything:
            self.everything.append(number)
            return
        for reference in needs.references:
            area = reference.moved(0, 0)
            self.work += 1 if area is None else min(area.size, SMALL_AREA)
            if area is None:
                self.everything.append(number)
            elif area.size > SMALL_AREA:
                self.wide.setdefault(reference.sheet, {}).setdefault(area, []).append(number)
            else:
                for row in range(area.top, area.bottom + 1):
                    for column in range(area.left, area.right + 1):
                        self.cells.setdefault((reference.sheet, row, column), []).append(number)

    def may_grow(self, row: int, column: int) -> None:
        """The results that were added last, from a cell on, may spill over more cells below and to the right of it than they did."""
        number = len(self.places) - 1
        self.spilling[number] = self.places[number][0], Area(row, column, LAST_ROW, LAST_COLUMN)

    def follow(self, changed: list[_Place]) -> None:
        waiting, seen = list(changed), set(self.everything)
        waiting += [self.spilling.get(number, self.places[number]) for number in seen]
        while waiting:
            sheet, area = waiting.pop()
            wide = self.wide.get(sheet, {})
            self.work += 1 + len(wide) + min(area.size, len(self.cells))
            if self.tired:
                self.stale = self.places
                return
            hit = [other for other in wide if other.meets(area)]
            numbers = [number for other in hit for number in wide.pop(other)]
            numbers += self._readers(sheet, area)
            new = set(numbers) - seen
            seen |= new
            waiting += [self.spilling.get(number, self.places[number]) for number in new]
        self.stale = [self.places[number] for number in sorted(seen)]

    def _readers(self, sheet: int, area: Area) -> list[int]:
        if area.size > len(self.cells):
            return [n for (at, *cell), found in self.cells.items() if at == sheet and area.covers(*cell) for n in found]
        return [
            number
            for row in range(area.top, area.bottom + 1)
            for column in range(area.left, area.right + 1)
            for number in self.cells.get((sheet, row, column), ())
        ]
