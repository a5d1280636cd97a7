"""Values written into the maker's own workbook: those cells change, everything else stays byte for byte.

The new bytes of each cell are put into its worksheet part in place; the contents of all other members of the zip stay as
they are. What a written cell makes stale is not left to be shown: formulas that may depend on it lose their stored results,
and the workbook asks to be computed afresh when it is opened. Charts and pivot tables keep what they
last drew until then.
"""

from __future__ import annotations

import copy
import io
import os
import re
import shutil
import zipfile
from collections.abc import Mapping, Sequence
from datetime import datetime
from itertools import product
from pathlib import Path
from typing import TypeAlias

from pricing.problems import Problems
from pricing.xlsx.addresses import Area, Position, address, cell_position
from pricing.xlsx.cells import CellWrite, number_text
from pricing.xlsx.editing import replace_file as files
from pricing.xlsx.editing.comparison import compare_packages
from pricing.xlsx.editing.formula_references import Reader
from pricing.xlsx.editing.refusals import CellGuard, refuse_value
from pricing.xlsx.editing.sheet import Found, SheetFacts, read_sheet
from pricing.xlsx.editing.splice import SheetChange, Value, rewrite_sheet
from pricing.xlsx.editing.stale_results import stale_results
from pricing.xlsx.editing.surroundings import defined_names, pivot_areas, refuse_untouchable, unlocked_styles, with_recalculation
from pricing.xlsx.package.archive import Package, open_package, part_key, unpacking
from pricing.xlsx.package.limits import MEBIBYTE, MOST_INFLATED
from pricing.xlsx.package.markup import unescaped
from pricing.xlsx.package.parts import Listing, Tab, Table, listing, tables
from pricing.xlsx.refused import RefusedError

LARGEST_SHEET = 256 * MEBIBYTE  # that is held in memory to be changed

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
    with open_package(io.BytesIO(old), real.name) as package:
        made = changes_of(package, writes, problems)
    if made is None:
        return None
    new, sheets, workbook = made
    if not sheets:
        return path

    def check(read_back: bytes) -> None:
        if read_back != new:
            text = "the new file was not stored as it was written; check the disk, and repeat"
            raise RefusedError("comparison-failed", text)
        compare_packages(old, read_back, sheets, workbook)

    kept = files.replace_contents(real, old, new, check, (now or datetime.now()) if backup else None)
    return kept if kept is not None else path


def changes_of(package: Package, writes: Sequence[CellWrite], problems: Problems) -> tuple[bytes, dict[str, SheetChange], str] | None:
    """The new file, what changes in each member that is a sheet, and the member that lists them; None where it is refused."""
    book = listing(package)
    refuse_untouchable(package, book)
    before = len(problems.errors)
    wanted = _wanted(book, writes, problems)
    facts = _read_sheets(package, book, wanted, writes)
    _borrow_formats(book, writes, facts)
    found = {number: list(tables(package, tab)) for number, tab in enumerate(book.tabs)}
    for number, cells in wanted.items():
        _judge(package, book, book.tabs[number], facts[number], [table for _, table in found[number]], cells, problems)
    if len(problems.errors) > before:
        return None
    new_values = {
        number: {position: value for position, value in cells.items() if not _stands(facts[number], position, value)}
        for number, cells in wanted.items()
    }
    if not any(new_values.values()):
        return b"", {}, ""
    worksheets = frozenset(tab.number for tab in book.tabs if tab.kind == "worksheet")
    named = {name.lower(): table for own in found.values() for name, table in own}
    reader = Reader([tab.name for tab in book.tabs], worksheets, defined_names(package, book.part), named)
    changes = _changes(facts, reader, new_values)
    changed: dict[str, bytes] = {}
    for number, change in changes.items():
        tab = book.tabs[number]
        changed[part_key(tab.part)] = rewrite_sheet(package.read(tab.part, LARGEST_SHEET), tab.part, tab.name, facts[number], change)
    changed[part_key(book.part)] = with_recalculation(package.read(book.part), book.part)
    by_member = {package.members[part_key(book.tabs[number].part)].filename: change for number, change in changes.items()}
    return rebuilt(package, changed), by_member, package.members[part_key(book.part)].filename


def rebuilt(package: Package, changed: Mapping[str, bytes]) -> bytes:
    """The zip with new contents for some members; the contents of all others, their order, names and dates are kept.

    Parameters
    ----------
    changed : new contents by key
    """
    members = package.archive.infolist()
    if sum(member.file_size for member in members) > MOST_INFLATED:
        text = f"the parts of this file unpack to more than {MOST_INFLATED // MEBIBYTE} MiB"
        raise RefusedError("file-too-large", f"{text}; move what does not belong to the price book into another file")
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as new:
        new.comment = package.archive.comment
        for member in members:
            kept = copy.copy(member)
            kept.extra = b""  # it says where the old bytes lay, and how large they were
            with unpacking(member.filename), package.archive.open(member) as source, new.open(kept, "w") as sink:
                if (key := part_key(member.filename)) in changed:
                    sink.write(changed[key])
                else:
                    shutil.copyfileobj(source, sink, MEBIBYTE)
            kept.external_attr = member.external_attr  # the library gives rights to what has none
    return target.getvalue()


def _wanted(book: Listing, writes: Sequence[CellWrite], problems: Problems) -> _Wanted:
    """The values by sheet and cell; what cannot be placed or stored becomes a problem."""
    wanted: _Wanted = {}
    by_name = {tab.name.lower(): tab for tab in reversed(book.tabs)}
    for write in writes:
        tab, position = by_name.get(write.sheet.lower()), cell_position(write.cell)
        refused = refuse_value(write.value)
        if tab is None:
            names = ", ".join(tab.name for tab in book.tabs)
            text = f"there is no sheet of that name, only {names}; correct the name"
            problems.add("sheet-missing", text, sheet=write.sheet, cell=write.cell)
        elif tab.kind != "worksheet":
            text = "the sheet has no cells (it is a chart, dialog or macro sheet); name a worksheet"
            problems.add("not-a-worksheet", text, sheet=tab.name, cell=write.cell)
        elif position is None:
            text = "that is no cell of a sheet; give one such as F14"
            problems.add("bad-cell", text, sheet=tab.name, cell=write.cell)
        elif refused:
            problems.add(*refused, sheet=tab.name, cell=write.cell)
        else:
            value = _clean(write.value)
            cells = wanted.setdefault(tab.number, {})
            if position in cells and cells[position] != value:
                text = "two different values are to be written into the cell; give one"
                problems.add("written-twice", text, sheet=tab.name, cell=write.cell)
            cells[position] = value
    return wanted


def _clean(value: Value) -> Value:
    return (value or None) if isinstance(value, str) or value is None else float(number_text(float(value)))


def _read_sheets(package: Package, book: Listing, wanted: _Wanted, writes: Sequence[CellWrite]) -> dict[int, SheetFacts]:
    """The facts of every worksheet that is written to or has formulas."""
    facts = {}
    for tab in book.tabs:
        if tab.kind != "worksheet":
            continue
        likes = {cell_position(write.like) for write in writes if write.like and write.sheet.lower() == tab.name.lower()}
        cells = {*wanted.get(tab.number, {}), *(place for place in likes if place)}
        data = package.read(tab.part, LARGEST_SHEET)
        if cells or b"\0" in data[:4] or _HAS_FORMULA.search(data):
            facts[tab.number] = read_sheet(data, tab.part, tab.name, cells)
    return facts


def _borrow_formats(book: Listing, writes: Sequence[CellWrite], facts: Mapping[int, SheetFacts]) -> None:
    """Give cells that are not there yet the formats of those that they are to look like."""
    numbers = {tab.name.lower(): tab.number for tab in book.tabs}
    for write in writes:
        place, like = cell_position(write.cell), cell_position(write.like)
        own = facts.get(numbers.get(write.sheet.lower(), -1))
        if own is not None and place and like and (style := own.style(*like)):
            own.borrowed[place] = style


def _judge(
    package: Package, book: Listing, tab: Tab, facts: SheetFacts, own: Sequence[Table], cells: Mapping[Position, Value], problems: Problems
) -> None:
    unlocked = unlocked_styles(package, book.styles) if facts.protected else set()
    guard = CellGuard(facts, own, pivot_areas(package, tab), unlocked)
    for position, value in cells.items():
        place = address(*position)
        for refusal in guard.refusals(position, value):
            problems.add(refusal.code, refusal.message, sheet=tab.name, cell=place)
        for warning in guard.warnings(position, value):
            problems.add(warning.code, warning.message, sheet=tab.name, cell=place, warning=True)


def _stands(facts: SheetFacts, position: Position, value: Value) -> bool:
    """Whether the cell holds the value already."""
    found = facts.found.get(position, Found({}, None, None))
    kind = found.attributes.get("t", "n")
    if value is None or found.text is None:
        return value is None and found.text is None
    if isinstance(value, str):
        return kind == "inlineStr" and unescaped(found.text) == value
    try:
        return kind == "n" and number_text(float(found.text)) == number_text(value)
    except ValueError:
        return False


def _changes(
    facts: Mapping[int, SheetFacts], reader: Reader, new_values: Mapping[int, Mapping[Position, Value]]
) -> dict[int, SheetChange]:
    """What changes in each worksheet: its values, and the stored results that go stale."""
    formulas = {number: found.formulas for number, found in facts.items()}
    stale = stale_results(formulas, reader, new_values)
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
