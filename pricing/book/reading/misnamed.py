"""Sheets that are meant to be sheets of the price book and are called otherwise: misspelt, or given another name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from pricing.book.declared.column import SheetDeclaration
from pricing.book.declared.sheets import SHEETS
from pricing.book.reading.headings import find_headings
from pricing.book.wording.reporter import Reporter
from pricing.book.wording.sentences import listed, near_matches, quoted
from pricing.problems import Problems
from pricing.text import fold
from pricing.xlsx.reading.cell_table import Sheet
from pricing.xlsx.reading.grid import Grid
from pricing.xlsx.reading.workbook import Workbook, read_workbook

#: Sheets that nothing names: without them a book is read as if there were none, so that they are known by their headings alone.
_UNNAMED = frozenset({"Enquiries", "Extras", "Actuals"})

#: So many sheets that are not of the price book are looked into.
_MOST_LOOKED_INTO = 20


def take_in(path: Path, workbook: Workbook, problems: Problems) -> bool:
    """Read the sheets that are meant as others, under the names that are meant, each with a problem; False for no price book at all.

    Parameters
    ----------
    path : of the workbook
    workbook : with the sheets that are called as those of a price book; others are added
    problems : where problems go

    Problems: not-a-price-book, misnamed-sheet.
    """
    there = {fold(sheet.name) for sheet in workbook.sheets}
    known = {fold(name) for declared in SHEETS for name in declared.names}
    others = [name for name in workbook.names if fold(name) not in known | there][:_MOST_LOOKED_INTO]
    absent = [declared for declared in SHEETS if not there & set(map(fold, declared.names))]
    near = {name: close for name in others if (close := [each for each in absent if _is_near(name, each)])}
    unnamed = [declared for declared in absent if declared.name in _UNNAMED]
    looked_into = list(near) if not unnamed else others
    found = list(_meant(path, looked_into, near, unnamed)) if looked_into else []
    if not there and not found:
        needed = listed([declared.name for declared in SHEETS if declared.always], "and")
        Reporter(problems, "").report("not-a-price-book", needed=needed)
        return False
    for sheet, declared in found:
        warning = not declared.in_starter
        Reporter(problems, sheet.name).report("misnamed-sheet", warning=warning, found=quoted(sheet.name), meant=declared.name)
        if not warning:
            workbook.sheets.append(replace(sheet, name=declared.name))
    return True


def _is_near(name: str, declared: SheetDeclaration) -> bool:
    return bool(near_matches(name, declared.names, 1))


def _meant(
    path: Path, names: Sequence[str], near: dict[str, list[SheetDeclaration]], unnamed: Sequence[SheetDeclaration]
) -> Iterator[tuple[Sheet, SheetDeclaration]]:
    """Sheets with what each is meant as: one that is called almost so and has some of its headings, or has all that are needed."""
    workbook = read_workbook(path, Problems(""), wanted={fold(name) for name in names})
    taken: set[str] = set()
    for sheet in workbook.sheets if workbook is not None else []:
        for declared in [*near.get(sheet.name, []), *unnamed]:
            headings = find_headings(Grid(sheet), declared, Reporter(Problems(""), sheet.name))
            needed = {column.name for column in declared.columns if column.needed}
            matched = set(headings.places) if headings is not None else set()
            close = declared in near.get(sheet.name, []) and len(matched) >= min(2, len(declared.columns))
            if declared.name not in taken and (close or (matched >= needed and len(matched) >= 3)):
                taken.add(declared.name)
                yield sheet, declared
                break
