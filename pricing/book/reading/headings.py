"""Finding a declared sheet's headings, and which of its rows are data."""

from __future__ import annotations

import re
from collections.abc import Container
from dataclasses import field

import numpy as np

from pricing import units
from pricing.arrays import distinct, is_among
from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.typed.conversion import tidy
from pricing.book.wording.reporter import Reporter
from pricing.book.wording.sentences import listed, quoted
from pricing.dataclass import dataclass
from pricing.text import fold
from pricing.xlsx.addresses import address, column_letters
from pricing.xlsx.cells import DATE, NUMBER, TEXT, Cell
from pricing.xlsx.reading.grid import Grid, Indices

#: A text longer than this is no heading [characters].
LONGEST_HEADING = 250

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
    asked : the cells of headings that were asked about, by the heading that each is spelled much like
    """

    row: int
    places: dict[str, int] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    faulty: set[str] = field(default_factory=set)
    asked: dict[str, Cell] = field(default_factory=dict)

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
        texts = [cell for cell in row if cell.kind == "text" and len(str(cell.value)) <= LONGEST_HEADING]
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
    needed = {column.heading for column in declared.columns if column.needed}
    guesses: dict[str, str] = {}
    for cell in unknown:
        near = report.near(split_heading(str(cell.value))[0], absent, 1)
        if near:
            guesses[near[0]] = quoted(cell.value)
        if near and near[0] not in needed:  # of one that is needed it is told that it is missing
            found.asked[near[0]] = cell
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
    if column.is_money and not currency and units.is_money(text.split("/")[0].strip()):
        return ""  # the currency is in doubt itself, and told of once
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


#: What a row with one text in merged cells is, and the remedy.
_SECTION = "a title across the columns", "unmerge its cells if it is a row of the sheet"


def data_rows(grid: Grid, found: Headings, declared: SheetDeclaration, report: Reporter) -> Indices:
    """The numbers of the rows that hold data, in order: no blank rows, totals or footnotes.

    Problems: hidden-rows, merged-cells; not-data where a row is left out that was not declared as a total; column-without-heading
    where figures between the columns of the sheet have none, as after headings were merged.
    """
    filled = grid.filled() & (grid.rows > found.row) & is_among(grid.columns, found.places.values())
    indices = np.flatnonzero(filled)
    numbers, starts, counts = np.unique(grid.rows[indices], return_index=True, return_counts=True)
    keep = ~is_among(numbers, grid.sheet.totals_rows)
    last = int(np.max(np.flatnonzero(keep & (counts > 1)), initial=-1))
    alone = sum(column.needed for column in declared.columns) == 1
    texts = indices[grid.kinds[indices] == TEXT]
    totals = {text for text in {grid.values[index] for index in texts.tolist()} if len(text) < 16 and fold(text) in _TOTALS}
    sections = {address(top, left) for top, left, bottom, right in grid.sheet.merged if top == bottom and left < right}
    for position in _odd_rows(grid, numbers, counts, texts, totals):
        if keep[position]:
            cells = indices[starts[position] : starts[position] + counts[position]]
            apart = not alone and position > 0 and numbers[position] > numbers[position - 1] + 1
            across = len(cells) == 1 and grid.address(int(cells[0])) in sections
            taken, remedy = _SECTION if across else _what_else(grid, cells, totals, position > last, bool(apart))
            if taken:
                keep[position] = False
                report.report("not-data", grid.address(int(cells[0])), warning=True, taken=taken, remedy=remedy)
    rows: Indices = numbers[keep].astype(np.int64)
    _report_hidden(grid, rows, report)
    _report_merged(grid, rows, found, report)
    _report_without_heading(grid, rows, found, report)
    return rows


def _odd_rows(grid: Grid, numbers: Indices, counts: Indices, texts: Indices, totals: Container[str]) -> list[int]:
    """Positions of the rows worth a look: those with one cell only, without a text, or with the word of a total.

    Parameters
    ----------
    texts : indices of all cells that hold a text
    totals : the texts that stand for a total
    """
    odd = (counts == 1) | ~np.isin(numbers, grid.rows[texts])
    with_word = [grid.rows[index] for index in texts.tolist() if grid.values[index] in totals] if totals else []
    odd[np.searchsorted(numbers, with_word)] = True
    found: list[int] = np.flatnonzero(odd).tolist()
    return found


def _what_else(grid: Grid, cells: Indices, totals: Container[str], below: bool, apart: bool) -> tuple[str, str]:
    """What a row is if it is no data, and the remedy; empty where it is data.

    Parameters
    ----------
    cells : indices of those of the row that are filled
    totals : the texts that stand for a total
    below : the row stands below every row with several cells
    apart : a blank row stands above it, on a sheet whose rows have several cells
    """
    first = int(cells[0])
    text = grid.values[first] if grid.kinds[first] == TEXT else ""
    if text in totals:
        return "a total", "give it another name if it is no total"
    if not text and np.all(grid.formulas[cells] & (grid.kinds[cells] & 7 == NUMBER)):
        return "a total", "fill in its name if it is a row of the sheet"
    if text and len(cells) == 1 and below and (apart or _FOOTNOTE.match(text)):
        return "a footnote", "fill in the other columns if it is a row of the sheet"
    return "", ""


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
    data = set(rows.tolist())
    for top, left, bottom, right in grid.sheet.merged:
        if not data.isdisjoint(range(top, min(bottom, int(rows[-1])) + 1)) and any(left <= place <= right for place in places):
            cells = f"{address(top, left)}:{address(bottom, right)}"
            report.report("merged-cells", address(top, left), cells=cells)


def _report_without_heading(grid: Grid, rows: Indices, found: Headings, report: Reporter) -> None:
    places = sorted(found.places.values())
    headed = [cell.column for cell in grid.sheet.row(found.row) if _is_filled(cell)]
    bare = {*range(places[0], places[-1])}.difference(headed)  # a column outside them may hold the maker's own figures
    if not len(bare) or not len(rows):
        return
    inside = (grid.rows >= rows[0]) & (grid.rows <= rows[-1]) & is_among(grid.columns, bare)
    for place in distinct(grid.columns[inside & np.isin(grid.kinds, (NUMBER, DATE))]).tolist():
        report.report("column-without-heading", address(found.row, place), warning=True, letters=column_letters(place))
