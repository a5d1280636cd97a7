"""Chosen standards written into the price book: those cells change and nothing else, and the book is read again first.

The figure goes into a copy to begin with, and the copy is read as any price book is. Only where the reading gives the
figure that was meant, and nothing is wrong that was not wrong before, does the maker's own file change.
"""

from __future__ import annotations

import math
import shutil
from collections.abc import Sequence
from pathlib import Path

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import read_price_book
from pricing.book.wording.sentences import near_matches, number_text
from pricing.costing.jobs.proposals import Proposal
from pricing.dataclass import dataclass
from pricing.files.hidden_folders import hidden_folder
from pricing.problems import Problems
from pricing.text import fold
from pricing.xlsx.addresses import cell_position
from pricing.xlsx.cells import Cell, CellWrite
from pricing.xlsx.editing.replace_file import disk_faults
from pricing.xlsx.editing.write_cells import write_cells
from pricing.xlsx.number_formats import unit_in_format
from pricing.xlsx.reading.workbook import read_workbook
from pricing.xlsx.refused import RefusedError


@dataclass(frozen=True, slots=True)
class Accepted:
    """What accepting came to: the proposals written, and the copy of the file as it was before."""

    proposals: tuple[Proposal, ...]
    backup: Path | None


def chosen_proposals(proposals: Sequence[Proposal], wanted: Sequence[str], problems: Problems) -> list[Proposal]:
    """The proposals that are asked for, by cell (``Labour!D7``) or by name, in any letter case.

    Parameters
    ----------
    problems : takes a sentence for each that is not among the proposals, and for each of which nothing new is known
    """
    known = {fold(each.place): each for each in proposals} | {fold(each.name): each for each in proposals}
    found: dict[str, Proposal] = {}
    for text in wanted:
        each = known.get(fold(text.replace("$", "")))
        if each is not None:
            if each.nothing_new:
                jobs = "the finished job that speaks" if each.jobs_in_it == 1 else f"the {each.jobs_in_it} finished jobs that speak"
                problems.add("nothing-new", f"{each.place} {each.name}: nothing new is known; {jobs} of it went into it "
                             "when it was accepted")
            found[each.place] = each
            continue
        names = [each.name for each in proposals] + [each.place for each in proposals]
        near = near_matches(text, names, 2)
        hint = f'is "{near[0]}" meant?' if near else "the sheet Standards of review.xlsx lists all of them" if proposals else (
            "no finished job says anything of a standard")
        problems.add("no-proposal", f'there is no proposal for "{text}"; {hint}')
    return list(found.values())


def accept_standards(
    book: PriceBook, proposals: Sequence[Proposal], problems: Problems, *, fingerprint: str | None = None
) -> Accepted | None:
    """Write proposed standards into the price book, or change nothing at all.

    Parameters
    ----------
    book : as it was read
    proposals : what is to be written
    problems : takes the reasons where it is refused
    fingerprint : of the file when it was read; a file that changed since is refused

    Returns
    -------
    Accepted, with the backup of the old file; None where nothing was written
    """
    before = len(problems.errors)
    cells = _typed(book, proposals, problems)
    if len(problems.errors) > before:
        return None
    writes = [CellWrite(book.tables[each.sheet].sheet_as_written, each.cell, _content(each, cells[each.place])) for each in proposals]
    if not writes:
        return Accepted((), None)
    try:
        with disk_faults(f"the file {book.path.name} cannot be written"), hidden_folder(book.path.parent, "accepting") as folder:
            copy = folder / book.path.name
            shutil.copyfile(book.path, copy)
            if write_cells(copy, writes, problems, backup=False) is None:
                return None
            _check(copy, book, proposals, problems)
    except RefusedError as refusal:
        problems.add(refusal.code, refusal.message)
    if len(problems.errors) > before:
        return None
    kept = write_cells(book.path, writes, problems, fingerprint=fingerprint)
    return None if kept is None else Accepted(tuple(proposals), kept if kept != book.path else None)


def _typed(book: PriceBook, proposals: Sequence[Proposal], problems: Problems) -> dict[str, Cell | None]:
    """What stands in each cell now."""
    sheets = {fold(book.tables[each.sheet].sheet_as_written) for each in proposals}
    workbook = read_workbook(book.path, found := Problems(book.file), wanted=sheets)
    if workbook is None:
        for problem in found.errors:
            problems.add(problem.code, problem.message, sheet=problem.sheet, cell=problem.cell)
        return {}
    by_name = {fold(sheet.name): sheet for sheet in workbook.sheets}
    found_cells: dict[str, Cell | None] = {}
    for each in proposals:
        position, sheet = cell_position(each.cell), by_name.get(fold(book.tables[each.sheet].sheet_as_written))
        found_cells[each.place] = sheet.cells.get(position) if position and sheet else None
    return found_cells


def _content(proposal: Proposal, cell: Cell | None) -> float | str:
    """The new figure in the way in which the old one was typed: a number in the same unit, or a figure with its unit."""
    value, today = proposal.written, proposal.today
    if cell is not None and isinstance(cell.value, float) and cell.kind == "number":
        if today:
            return float(f"{cell.value * (value / today):.6g}") if cell.value != today else value
        if proposal.unit != "%" or unit_in_format(cell.number_format) == "%":
            return value
    shown = number_text(float(f"{value * 100:.6g}")) if proposal.unit == "%" else number_text(value)
    return f"{shown} {proposal.unit}" if proposal.unit else value


def _check(copy: Path, book: PriceBook, proposals: Sequence[Proposal], problems: Problems) -> None:
    """Read the changed copy as any price book and look for the figures that were meant."""
    read, found = read_price_book(copy)
    if read is None:
        for problem in found.errors:
            problems.add(problem.code, problem.message, sheet=problem.sheet, cell=problem.cell)
        return
    columns = {"Labour": "minutes", "Finishes": "covers", "Products": "rejects", "Moulds": "lasts"}
    for each in proposals:
        column, table = columns[each.sheet], read.tables[each.sheet]
        row = next((row for row in range(len(table)) if table.cell(column, row) == each.cell), None)
        if row is None or not math.isclose(float(table.columns[column][row]), each.written, rel_tol=1e-5):
            text = f"{number_text(each.written)} {each.unit}".strip()
            problems.add("not-read-back", f"{text} would not be read again as it is meant; type it into the cell by hand",
                         sheet=each.sheet, cell=each.cell)
