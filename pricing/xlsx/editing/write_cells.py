"""Values written into the maker's own workbook: those cells change, everything else stays byte for byte.

The new bytes of each cell are put into its worksheet part in place; all other members of the zip are copied as they
are. What a written cell makes stale is not left to be shown: formulas that may depend on it lose their stored results,
and the workbook asks to be computed afresh when it is opened. Charts and pivot tables keep what they
last drew until then.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from itertools import product
from pathlib import Path
from typing import TypeAlias

from pricing.problems import Problems
from pricing.xlsx.editing import replace_file as files
from pricing.xlsx.editing.addresses import Area, CellWrite, RefusedError, cell_name, cell_position, number_text
from pricing.xlsx.editing.archive import open_package
from pricing.xlsx.editing.comparison import compare_packages
from pricing.xlsx.editing.parts import (
    Sheet,
    Workbook,
    pivot_areas,
    read_workbook,
    unlocked_styles,
    with_recalculation,
)
from pricing.xlsx.editing.refusals import CellGuard, refuse_value
from pricing.xlsx.editing.sheet import Found, Position, SheetFacts, read_sheet
from pricing.xlsx.editing.splice import SheetChange, Value, rewrite_sheet
from pricing.xlsx.editing.stale_results import stale_results
from pricing.xlsx.editing.xml_source import plain_text

__all__ = ["CellWrite", "file_fingerprint", "write_cells"]

_HAS_FORMULA = re.compile(rb"<(?:[^\s<>:/]+:)?f[\s/>]")
_SMALL_AREA = 4096

_Wanted: TypeAlias = dict[int, dict[Position, Value]]


def write_cells(
    path: Path,
    writes: Sequence[CellWrite],
    problems: Problems,
    *,
    backup: bool = True,
    fingerprint: str | None = None,
    now: datetime | None = None,
) -> Path | None:
    """Write values into cells of a workbook, or change nothing at all.

    Only those cells change, each keeping its format. Formulas that may depend on them lose their stored results, by
    the rule of :mod:`pricing.xlsx.editing.formula_references`, and the workbook is marked to be computed when it is opened.
    A cell that already holds its value is left alone; if all do, the file is not touched. At every moment the file is
    whole.

    Parameters
    ----------
    path : the workbook, .xlsx or .xlsm
    writes : the values and their cells; a cell may be named once only, unless with the same value
    problems : takes every reason for a refusal, with sheet, cell and remedy
    backup : whether to keep the old file beside the new one as ``<stem> backup <YYYY-MM-DD HHMMSS>.xlsx``
    fingerprint : what :func:`file_fingerprint` gave when the workbook was read; a file changed since is refused
    now : date and time for the backup's name; the clock's by default

    Returns the backup's path when the values were written with a backup, the workbook's path when they were written
    without one or stood there already, None when the writing was refused.

    Example: ``write_cells(Path("price-book.xlsx"), [CellWrite("Products", "F14", 42.5)], problems)``.
    """
    try:
        return _write_cells(path, writes, problems, backup, fingerprint, now)
    except RefusedError as refusal:
        problems.add(refusal.code, refusal.message, sheet=refusal.sheet, cell=refusal.cell)
        return None


def file_fingerprint(path: Path) -> str:
    """The SHA-256 fingerprint of a file, by which :func:`write_cells` knows whether it was changed since."""
    return files.fingerprint(path.read_bytes())


def _write_cells(
    path: Path,
    writes: Sequence[CellWrite],
    problems: Problems,
    backup: bool,
    fingerprint: str | None,
    now: datetime | None,
) -> Path | None:
    real = Path(os.path.realpath(path))
    files.refuse_open_file(Path(path), real)
    old = files.read_whole(real)
    if fingerprint is not None and files.fingerprint(old) != fingerprint:
        raise files.changed_since()
    package = open_package(old)
    workbook = read_workbook(package)
    before = len(problems.errors)
    wanted = _wanted(workbook, writes, problems)
    facts = _read_sheets(workbook, wanted)
    for number, cells in wanted.items():
        _judge(workbook, workbook.sheets[number], facts[number], cells, problems)
    if len(problems.errors) > before:
        return None
    new_values = {
        number: {position: value for position, value in cells.items() if not _stands(facts[number], position, value)}
        for number, cells in wanted.items()
    }
    if not any(new_values.values()):
        return path
    changes = _changes(workbook, facts, new_values)
    changed: dict[str, bytes] = {}
    for number, change in changes.items():
        sheet = workbook.sheets[number]
        changed[sheet.part] = rewrite_sheet(package.read(sheet.part), sheet.part, sheet.name, facts[number], change)
    changed[workbook.part] = with_recalculation(package.read(workbook.part), workbook.part)
    new = package.rebuilt({part: data for part, data in changed.items() if data != package.read(part)})
    by_member = {package.members[workbook.sheets[number].part].name: change for number, change in changes.items()}

    def check(read_back: bytes) -> None:
        if read_back != new:
            text = "the new file was not stored as it was written; check the disk, and repeat"
            raise RefusedError("comparison-failed", text)
        compare_packages(old, read_back, by_member, package.members[workbook.part].name)

    kept = files.replace_contents(real, old, new, check, (now or datetime.now()) if backup else None)
    return kept if kept is not None else path


def _wanted(workbook: Workbook, writes: Sequence[CellWrite], problems: Problems) -> _Wanted:
    """The values by sheet and cell; what cannot be placed or stored becomes a problem."""
    wanted: _Wanted = {}
    for write in writes:
        sheet, position = workbook.sheet(write.sheet), cell_position(write.cell)
        refused = refuse_value(write.value)
        if sheet is None:
            names = ", ".join(sheet.name for sheet in workbook.sheets)
            text = f"there is no sheet of that name, only {names}; correct the name"
            problems.add("sheet-missing", text, sheet=write.sheet, cell=write.cell)
        elif sheet.kind != "worksheet":
            text = "the sheet has no cells (it is a chart, dialog or macro sheet); name a worksheet"
            problems.add("not-a-worksheet", text, sheet=sheet.name, cell=write.cell)
        elif position is None:
            text = "that is no cell of a sheet; give one such as F14"
            problems.add("bad-cell", text, sheet=sheet.name, cell=write.cell)
        elif refused:
            problems.add(*refused, sheet=sheet.name, cell=write.cell)
        else:
            value = _clean(write.value)
            cells = wanted.setdefault(sheet.number, {})
            if position in cells and cells[position] != value:
                text = "two different values are to be written into the cell; give one"
                problems.add("written-twice", text, sheet=sheet.name, cell=write.cell)
            cells[position] = value
    return wanted


def _clean(value: Value) -> Value:
    return (value or None) if isinstance(value, str) or value is None else float(number_text(float(value)))


def _read_sheets(workbook: Workbook, wanted: _Wanted) -> dict[int, SheetFacts]:
    """The facts of every worksheet that is written to or has formulas."""
    facts = {}
    for sheet in workbook.sheets:
        if sheet.kind != "worksheet":
            continue
        cells = wanted.get(sheet.number, {})
        data = workbook.package.read(sheet.part)
        if cells or b"\0" in data[:4] or _HAS_FORMULA.search(data):
            facts[sheet.number] = read_sheet(data, sheet.part, sheet.name, cells.keys())
    return facts


def _judge(
    workbook: Workbook, sheet: Sheet, facts: SheetFacts, cells: Mapping[Position, Value], problems: Problems
) -> None:
    tables = [table for table in workbook.tables.values() if table.sheet == sheet.number]
    unlocked = unlocked_styles(workbook) if facts.protected else set()
    guard = CellGuard(facts, tables, pivot_areas(workbook.package, sheet), unlocked)
    for position, value in cells.items():
        place = cell_name(*position)
        for refusal in guard.refusals(position, value):
            problems.add(refusal.code, refusal.message, sheet=sheet.name, cell=place)
        for warning in guard.warnings(position, value):
            problems.add(warning.code, warning.message, sheet=sheet.name, cell=place, warning=True)


def _stands(facts: SheetFacts, position: Position, value: Value) -> bool:
    """Whether the cell holds the value already."""
    found = facts.found.get(position, Found({}, None, None))
    kind = found.attributes.get("t", "n")
    if value is None or found.text is None:
        return value is None and found.text is None
    if isinstance(value, str):
        return kind == "inlineStr" and plain_text(found.text) == value
    try:
        return kind == "n" and number_text(float(found.text)) == number_text(value)
    except ValueError:
        return False


def _changes(
    workbook: Workbook, facts: Mapping[int, SheetFacts], new_values: Mapping[int, Mapping[Position, Value]]
) -> dict[int, SheetChange]:
    """What changes in each worksheet: its values, and the stored results that go stale."""
    formulas = {number: found.formulas for number, found in facts.items()}
    stale = stale_results(formulas, workbook.reader(), new_values)
    changes = {}
    for number in sorted(stale.keys() | {number for number, cells in new_values.items() if cells}):
        values = {cell: (value, facts[number].style(*cell)) for cell, value in new_values.get(number, {}).items()}
        cleared: set[Position] = set()
        areas: list[Area] = []
        for area in stale.get(number, []):
            if area.size > _SMALL_AREA:
                areas.append(area)
            else:
                cleared.update(product(range(area.top, area.bottom + 1), range(area.left, area.right + 1)))
        changes[number] = SheetChange(values, cleared, areas)
    return changes
