"""Reading a workbook with care: what stands in each cell, where it stands, and how far it can be trusted."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import field
from pathlib import Path
from xml.parsers import expat

from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.text import fold
from pricing.xlsx.package.archive import Package, inspect
from pricing.xlsx.package.parts import Listing, Tab, listing, styles
from pricing.xlsx.reading.cell_table import Sheet
from pricing.xlsx.reading.shared_strings import Strings, read_strings
from pricing.xlsx.reading.sheet import read_sheet
from pricing.xlsx.reading.stored_cells import StoredCells
from pricing.xlsx.refused import RefusedError, shown

LONGEST_NAME = 255  # characters of the name of a sheet that are looked at; programs allow 31


@dataclass
class Workbook:
    """A workbook as it was read.

    Parameters
    ----------
    path : of the file
    sheets : its worksheets in the order of their tabs; chart sheets are left out
    date_1904 : True where its dates count from 1 January 1904
    results_doubtful : True where the file asks to be calculated anew: stored results may never have been calculated
    has_macros : True where it carries macros, which are never run
    """

    path: Path
    sheets: list[Sheet] = field(default_factory=list)
    date_1904: bool = False
    results_doubtful: bool = False
    has_macros: bool = False
    names: list[str] = field(default_factory=list)


def read_workbook(path: Path, problems: Problems, *, wanted: Container[str] | None = None) -> Workbook | None:
    """Read an .xlsx or .xlsm workbook; None, with the reason as a problem, where it cannot be read at all.

    Parameters
    ----------
    path : of the file
    problems : where everything found is put
    wanted : folded names of the sheets to read; the others are listed in none of the results; None for all

    A cell that cannot be understood is a problem of its own and comes back as an error cell; the reading goes on.
    Format: ECMA-376 part 1, strict and transitional.

    Problems: those of ``archive.inspect``, damaged-cell, duplicate-cell, duplicate-sheet, bad-number, bad-value,
    bad-date, long-text, odd-characters, beyond-grid, external-links, too-many-problems, no-sheets.

    >>> found = Problems("nothing.xlsx")
    >>> read_workbook(Path("nothing.xlsx"), found) is None and str(found.errors[0])
    'nothing.xlsx  there is no such file; look at its name and folder'
    """
    path = Path(path)
    problems.file = problems.file or path.name
    package = inspect(path, problems)
    if package is None:
        return None
    try:
        with package:
            return _read(path, package, problems, wanted)
    except RefusedError as refusal:
        problems.add(refusal.code, refusal.message, sheet=refusal.sheet, cell=refusal.cell)
    except (
        expat.ExpatError,
        OSError,
        ValueError,
        LookupError,
        OverflowError,
        MemoryError,
        RecursionError,
        TypeError,
    ) as error:
        problems.add(
            "damaged-file",
            f"this file cannot be read ({type(error).__name__}); save it again from your spreadsheet program",
        )
    return None


def _read(path: Path, package: Package, problems: Problems, wanted: Container[str] | None) -> Workbook:
    found = listing(package)
    tabs = _tabs(found, problems, wanted)
    if found.outside_links:
        problems.add(
            "external-links",
            "this workbook takes figures from other files; those it stored are used, and may be old",
            warning=True,
        )
    formats = styles(package, found.styles)
    strings = read_strings(package, found.strings) if tabs else Strings()
    names = [tab.name for tab in found.tabs if tab.kind == "worksheet"]
    workbook = Workbook(path, [], found.date_1904, found.results_doubtful, found.has_macros, names)
    for tab in tabs:
        reader = StoredCells(tab, formats, strings, found.date_1904, package.budget, problems)
        try:
            workbook.sheets.append(read_sheet(package, reader))
        except RefusedError as error:
            error.sheet = error.sheet or shown(tab.name)
            raise
    return workbook


def _tabs(found: Listing, problems: Problems, wanted: Container[str] | None) -> list[Tab]:
    worksheets = [tab for tab in found.tabs if tab.kind == "worksheet"]
    if not worksheets:
        raise RefusedError("no-sheets", "this workbook has no worksheet; choose the price book")
    seen: set[str] = set()
    kept: list[Tab] = []
    for tab in worksheets:
        name = fold(tab.name[:LONGEST_NAME])
        if name in seen:
            problems.add("duplicate-sheet", "two sheets have this name; rename one", sheet=shown(tab.name))
        elif wanted is None or name in wanted:
            kept.append(tab)
        seen.add(name)
    return kept
