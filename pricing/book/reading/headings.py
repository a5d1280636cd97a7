"""Finding a declared sheet's headings, and which of its rows are data."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np

from pricing import units
from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.typed.conversion import tidy
from pricing.book.wording.reporter import Reporter
from pricing.book.wording.sentences import listed, near_matches, quoted
from pricing.text import fold
from pricing.xlsx.addresses import address, column_letters
from pricing.xlsx.cells import DATE, NUMBER, TEXT, Cell
from pricing.xlsx.reading.grid import Grid, Indices

#: How far down the headings may stand [rows that hold something].
DEEPEST_HEADING = 40

_BRACKETED = re.compile(r"^(.*?)\s*[(\[]([^()\[\]]*(?:\([^()]*\))?)[)\]]\s*\*?$", re.DOTALL)
_TOTALS = {"total", "totals", "sum", "subtotal", "sub-total", "grand total", "total:", "sum:", "totals:"}
_FOOTNOTE = re.compile(r"^\s*(?:[*†‡§¹²³(]|\d\)|notes?\b|nb\b|n\.b\.|source\b|see\b)", re.IGNORECASE)


@dataclass
class Headings:
    """Where a sheet's headings stand.

    Parameters
    ----------
    row : of the headings
    places : column numbers by name of the declared column
    units : the unit in the brackets of a heading by name, where there is one
    faulty : names of the columns whose unit in brackets was reported
    """

    row: int
    places: dict[str, int] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    faulty: set[str] = field(default_factory=set)

    def address(self, name: str) -> str:
        """The address of a heading."""
        return address(self.row, self.places[name])

    def letters(self) -> dict[str, str]:
        """The letters of each column by name."""
        return {name: column_letters(place) for name, place in self.places.items()}


def split_heading(text: str) -> tuple[str, str]:
    """A heading and the unit in its brackets.

    >>> split_heading("Length (mm)"), split_heading("Mixer load (gal (US))"), split_heading("Kind")
    (('Length', 'mm'), ('Mixer load', 'gal (US)'), ('Kind', ''))
    """
    text = tidy(text)
    match = _BRACKETED.match(text)
    return (match[1], match[2].strip()) if match and match[1] else (text, "")


def find_headings(grid: Grid, declared: SheetDeclaration, report: Reporter) -> Headings | None:
    """The row of headings, and a problem for each needed column that is not in it.

    Parameters
    ----------
    grid : the sheet
    declared : its declaration
    report : where problems go

    Returns
    -------
    None, with a problem, where no row has headings of this sheet

    Problems: missing-headings, missing-column, duplicate-column, unknown-column.
    """
    wanted = {fold(heading): column for column in reversed(declared.columns) for heading in reversed(column.headings)}
    best: list[Cell] = []
    most = 0
    for row in grid.first_rows(DEEPEST_HEADING):
        texts = [cell for cell in row if cell.kind == "text"]
        matches = len({fold(split_heading(str(cell.value))[0]) for cell in texts} & wanted.keys())
        if matches > most and (matches > 1 or matches == len(texts)):
            best, most = texts, matches
    needed = [column for column in declared.columns if column.needed]
    if not best:
        report.report("missing-headings", headings=listed([column.heading for column in needed], "and"))
        return None
    found = Headings(best[0].row)
    unknown: list[Cell] = []
    for cell in best:
        name, unit = split_heading(str(cell.value))
        column = wanted.get(fold(name)) or wanted.get(fold(str(cell.value)))
        if column is None:
            unknown.append(cell)
        elif column.name in found.places:
            other = found.address(column.name)
            report.report("duplicate-column", cell.address, heading=quoted(cell.value), other=other)
        else:
            found.places[column.name] = cell.column
            if unit:
                found.units[column.name] = unit
    _report_missing(found, declared, unknown, report)
    return found


def _report_missing(found: Headings, declared: SheetDeclaration, unknown: list[Cell], report: Reporter) -> None:
    absent = [column.heading for column in declared.columns if column.name not in found.places]
    guesses: dict[str, str] = {}
    for cell in unknown:
        near = near_matches(split_heading(str(cell.value))[0], absent, 1)
        if near:
            guesses[near[0]] = quoted(cell.value)
            report.report("unknown-column", cell.address, warning=True, heading=quoted(cell.value), near=near[0])
    for column in declared.columns:
        if column.needed and column.name not in found.places:
            near_heading = guesses.get(column.heading)
            near_words = f' (is "{near_heading}" meant?)' if near_heading else ""
            report.report(
                "missing-column",
                address(found.row, min(found.places.values())),
                heading=column.heading,
                near=near_words,
            )


def check_heading_units(found: Headings, declared: SheetDeclaration, report: Reporter, currency: str) -> None:
    """Look at the units in the brackets; those that say nothing about the figures are left out.

    Parameters
    ----------
    found : the headings; units that are no units of this column are removed from it
    declared : the sheet
    report : where problems go
    currency : ISO 4217 code of the book

    Problems: unknown-heading-unit.
    """
    for column in declared.columns:
        text = found.units.get(column.name)
        if text is None:
            continue
        if column.is_money and text.casefold().startswith("per "):
            text = found.units[column.name] = f"{currency or 'currency'}/{text[4:].strip()}"
        counted = not column.unit and fold(text) == fold(column.shown)
        if not column.is_number or counted or column.kind == "yes_no":
            del found.units[column.name]
            continue
        reason = _heading_reason(column, text, currency)
        if reason is None:
            continue
        del found.units[column.name]
        if reason:
            found.faulty.add(column.name)
            example = (
                "%" if column.kind == "percent" else column.plain_unit.replace("currency", currency or "GBP") or "kg"
            )
            report.report(
                "unknown-heading-unit", found.address(column.name), heading=f"{column.heading} ({text})", reason=reason,
                example=example,
            )


def _heading_reason(column: Column, text: str, currency: str) -> str | None:
    """Why a unit in a heading does not fit; empty where it says nothing, None where it fits."""
    if column.kind == "percent":
        return None if text == "%" else "a percentage is needed"
    unit = units.unit_of(text, currency)
    if column.unit_rule:
        return unit if isinstance(unit, str) else None
    if not column.unit:
        if isinstance(unit, str) or unit.dimension in (units.PLAIN, units.COUNT):
            return ""
        return f"{text} is {units.dimension_name(unit.dimension)}; a plain number is needed"
    if isinstance(unit, str):
        return unit
    declared = units.unit_of(column.unit, currency)
    if isinstance(declared, str) or unit.dimension == declared.dimension:
        return None
    if column.is_money and unit.dimension == units.CURRENCY:
        return None
    return f"{text} is {units.dimension_name(unit.dimension)}; {units.dimension_name(declared.dimension)} is needed"


def data_rows(grid: Grid, found: Headings, declared: SheetDeclaration, report: Reporter) -> Indices:
    """The numbers of the rows that hold data, in order: no blank rows, totals or footnotes.

    Problems: hidden-rows, merged-cells; not-data where a row is left out that was not declared as a total; column-without-heading
    where figures between the columns of the sheet have none, as after headings were merged.
    """
    filled = grid.filled() & (grid.rows > found.row) & np.isin(grid.columns, list(found.places.values()))
    numbers, counts = np.unique(grid.rows[filled], return_counts=True)
    totals = np.isin(numbers, sorted(grid.sheet.totals_rows))
    numbers, counts = numbers[~totals], counts[~totals]
    keep = np.ones(len(numbers), dtype=bool)
    for position in _odd_rows(grid, numbers, counts, filled):
        taken, place, remedy = _what_else(grid, numbers, counts, position, found, declared)
        if taken:
            keep[position] = False
            report.report("not-data", place, warning=True, taken=taken, remedy=remedy)
    rows: Indices = numbers[keep].astype(np.int64)
    _report_hidden(grid, rows, report)
    _report_merged(grid, rows, found, report)
    _report_without_heading(grid, rows, found, report)
    return rows


def _odd_rows(
    grid: Grid, numbers: Indices, counts: Indices, filled: np.ndarray[tuple[int], np.dtype[np.bool_]]
) -> list[int]:
    """Positions of the rows worth a look: those with one cell only, without a text, or with the word of a total."""
    with_text = np.unique(grid.rows[filled & (grid.kinds == TEXT)])
    odd = set(np.flatnonzero(counts == 1).tolist()) | set(np.flatnonzero(~np.isin(numbers, with_text)).tolist())
    for index in np.flatnonzero(filled & (grid.kinds == TEXT)).tolist():
        text = grid.values[index]
        if len(text) < 16 and text[:1] in "tTsSgG" and fold(text) in _TOTALS:
            odd.add(int(np.searchsorted(numbers, grid.rows[index])))
    return sorted(position for position in odd if position < len(numbers))


def _what_else(
    grid: Grid, numbers: Indices, counts: Indices, position: int, found: Headings, declared: SheetDeclaration
) -> tuple[str, str, str]:
    """What a row is if it is no data, its first cell and the remedy; empty where it is data."""
    row = int(numbers[position])
    places = set(found.places.values())
    cells = [cell for cell in grid.sheet.row(row) if cell.column in places and _is_filled(cell)]
    first = cells[0]
    if first.kind == "text" and fold(str(first.value)) in _TOTALS:
        return "a total", first.address, "give it another name if it is no total"
    if all(cell.formula is not None and cell.kind == "number" for cell in cells):
        return "a total", first.address, "fill in its name if it is a row of the sheet"
    if len(cells) == 1 and first.kind == "text" and position > int(np.max(np.flatnonzero(counts > 1), initial=-1)):
        complete = sum(column.needed for column in declared.columns) == 1
        apart = position > 0 and row > int(numbers[position - 1]) + 1
        if _FOOTNOTE.match(str(first.value)) or (apart and not complete):
            return "a footnote", first.address, "fill in the other columns if it is a row of the sheet"
    return "", "", ""


def _is_filled(cell: Cell) -> bool:
    """True where a cell holds more than spaces, as ``Grid.filled`` has it."""
    return (cell.kind != "blank" or not cell.stored) and not (cell.kind == "text" and not str(cell.value).strip())


def _report_hidden(grid: Grid, rows: Indices, report: Reporter) -> None:
    hidden = [int(row) for row in rows if int(row) in grid.sheet.hidden_rows] if grid.sheet.hidden_rows else []
    if hidden:
        one = len(hidden) == 1
        shown = listed([str(row) for row in hidden[:8]], "and") if len(hidden) <= 8 else f"{len(hidden)} rows"
        words = f"row {shown} is" if one else (f"rows {shown} are" if len(hidden) <= 8 else f"{shown} are")
        report.report("hidden-rows", warning=True, rows=words, are="is" if one else "are", them="it" if one else "them")
    if grid.sheet.state != "visible" and len(rows):
        report.report("hidden-sheet", warning=True)


def _report_merged(grid: Grid, rows: Indices, found: Headings, report: Reporter) -> None:
    if not grid.sheet.merged or not len(rows):
        return
    places = sorted(found.places.values())
    first, last = int(rows[0]), int(rows[-1])
    for top, left, bottom, right in grid.sheet.merged:
        if bottom >= first and top <= last and any(left <= place <= right for place in places):
            cells = f"{address(top, left)}:{address(bottom, right)}"
            report.report("merged-cells", address(top, left), cells=cells)


def _report_without_heading(grid: Grid, rows: Indices, found: Headings, report: Reporter) -> None:
    places = sorted(found.places.values())
    headed = [cell.column for cell in grid.sheet.row(found.row) if _is_filled(cell)]
    bare = np.setdiff1d(np.arange(places[0], places[-1]), headed)  # a column outside them may hold the maker's own figures
    if not len(bare) or not len(rows):
        return
    inside = (grid.rows >= rows[0]) & (grid.rows <= rows[-1]) & np.isin(grid.columns, bare)
    for place in np.unique(grid.columns[inside & np.isin(grid.kinds, (NUMBER, DATE))]).tolist():
        report.report("column-without-heading", address(found.row, place), warning=True, letters=column_letters(place))
