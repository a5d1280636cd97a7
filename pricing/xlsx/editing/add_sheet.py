"""A worksheet put into the maker's own workbook, and values into cells of the others; everything else stays as it is.

The new worksheet is a part of its own. Of what is there only three lists get an entry more: the sheets of the workbook, its
relations and the content types. Formats are those of cells that the workbook has already.
"""

from __future__ import annotations

import copy
import io
import os
import re
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import datetime
from pathlib import Path
from xml.etree import ElementTree

from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.xlsx.addresses import Position, address, cell_position, column_letters
from pricing.xlsx.cells import CellWrite
from pricing.xlsx.editing import replace_file as files
from pricing.xlsx.editing import xml_source as xml
from pricing.xlsx.editing.comparison import compare_packages, failed
from pricing.xlsx.editing.sheet import read_sheet
from pricing.xlsx.editing.surroundings import refuse_untouchable
from pricing.xlsx.editing.write_cells import LARGEST_SHEET, changes_of, rebuilt
from pricing.xlsx.package.archive import Package, open_package, part_key
from pricing.xlsx.package.parts import Listing, listing
from pricing.xlsx.refused import RefusedError

_TYPES = "[Content_Types].xml"
_SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"


@dataclass(frozen=True)
class NewSheet:
    """A worksheet that is to be added.

    Parameters
    ----------
    name : of its tab
    cells : text and look of each cell; the look is a name of *looks*, or empty
    widths : of its columns [characters]
    looks : by name a sheet and a cell of the workbook whose format it is
    lists : cells with a drop-down list, such as ``A5:A505``, and the list's formula
    frozen : rows and columns that stay in sight
    """

    name: str
    cells: Mapping[Position, tuple[str, str]]
    widths: Sequence[float]
    looks: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    lists: Sequence[tuple[str, str]] = ()
    frozen: tuple[int, int] = (0, 0)


def add_to_workbook(
    path: Path, sheets: Sequence[NewSheet], writes: Sequence[CellWrite], problems: Problems, *, now: datetime | None = None
) -> Path | None:
    """Add worksheets to a workbook and write values into cells of the others, or change nothing at all.

    Parameters
    ----------
    path : the workbook, .xlsx or .xlsm
    sheets : what is added, behind the sheets that it has
    writes : values for cells of those
    problems : takes every reason for a refusal
    now : date and time for the backup's name; the clock's by default

    Returns the backup's path; None where it was refused.
    """
    try:
        real = Path(os.path.realpath(path))
        files.refuse_open_file(Path(path), real)
        old = files.read_whole(real)
        written, check = _with_values(old, real.name, writes, problems)
        if problems.errors:
            return None
        new = _with_sheets(written, real.name, sheets)

        def compare(read_back: bytes) -> None:
            if read_back != new:
                raise failed("it was not stored as it was written")
            if check is not None:
                compare_packages(old, written, *check)
            _compare(written, read_back, len(sheets))

        return files.replace_contents(real, old, new, compare, now or datetime.now())
    except RefusedError as refusal:
        problems.add(refusal.code, refusal.message, sheet=refusal.sheet, cell=refusal.cell)
        return None


def _with_values(old: bytes, name: str, writes: Sequence[CellWrite], problems: Problems) -> tuple[bytes, tuple[dict, str] | None]:  # type: ignore[type-arg]
    with open_package(io.BytesIO(old), name) as package:
        refuse_untouchable(package, listing(package))
        made = changes_of(package, writes, problems) if writes else None
    if made is None or not made[1]:
        return old, None
    return made[0], (made[1], made[2])


def _with_sheets(data: bytes, name: str, sheets: Sequence[NewSheet]) -> bytes:
    if not sheets:
        return data
    with open_package(io.BytesIO(data), name) as package:
        book = listing(package)
        workbook, relations, types = package.read(book.part), package.read(_relations_of(book.part)), package.read(_TYPES)
        if re.search(rb"workbookProtection[^>]*lockStructure\s*=\s*[\"'](1|true)", workbook):
            raise RefusedError("protected", "the workbook is protected, so that no sheet can be added; take the protection off, and repeat")
        taken = {tab.name.casefold() for tab in book.tabs}
        parts: dict[str, bytes] = {}
        for sheet in sheets:
            if sheet.name.casefold() in taken:
                raise RefusedError("sheet-there", f"there is a sheet {sheet.name} already; rename it, or use it")
            part = _free_part(package, parts)
            parts[part] = _worksheet(package, book, sheet)
            identifier = _free(relations, "rId")
            relations = _appended(relations, "Relationships", "Relationship", {
                "Id": identifier, "Type": _relation_type(relations), "Target": "/" + part})
            types = _appended(types, "Types", "Override", {"PartName": "/" + part, "ContentType": _SHEET_TYPE})
            number = max([int(each) for each in re.findall(rb"sheetId\s*=\s*[\"'](\d+)", workbook)], default=0) + 1
            prefix = re.search(rb"<(?:[^\s<>:/]+:)?sheet\s[^>]*?([^\s:\"'=]+):id\s*=", workbook)
            if prefix is None:
                raise _odd(book.part)
            own = re.search(rb"<(?:[^\s<>:/]+:)?sheet\s[^>]*?xmlns:" + re.escape(prefix[1]) + rb"\s*=\s*[\"']([^\"']+)[\"']", workbook)
            declared = {f"xmlns:{prefix[1].decode()}": own[1].decode()} if own else {}  # where each sheet says what its prefix means
            named = declared | {"name": sheet.name, "sheetId": str(number), f"{prefix[1].decode()}:id": identifier}
            workbook = _appended(workbook, "sheets", "sheet", named)
        changed = {part_key(book.part): workbook, part_key(_relations_of(book.part)): relations, part_key(_TYPES): types}
        whole = rebuilt(package, changed)
        like = copy.copy(package.members[part_key(book.part)])
    target = io.BytesIO(whole)
    with zipfile.ZipFile(target, "a") as archive:
        for part, content in parts.items():
            member = zipfile.ZipInfo(part, like.date_time)
            member.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(member, content)
    return target.getvalue()


def _relations_of(part: str) -> str:
    folder, _, name = part.lstrip("/").rpartition("/")
    return f"{folder}/_rels/{name}.rels".lstrip("/")


def _relation_type(relations: bytes) -> str:
    for tag in re.findall(rb"<[^<>]*Relationship\s[^<>]*>", relations):
        found = re.search(rb"Type\s*=\s*[\"']([^\"']*/worksheet)[\"']", tag)
        if found:
            return str(found[1].decode())
    raise _odd("the list of its parts")


def _odd(part: str) -> RefusedError:
    return RefusedError("odd-workbook", f"{part} is written in a way that is not known here; save the workbook again from the "
                        "spreadsheet program, and repeat")


def _free(data: bytes, stem: str) -> str:
    number = 1
    while f'"{stem}{number}"'.encode() in data or f"'{stem}{number}'".encode() in data:
        number += 1
    return f"{stem}{number}"


def _free_part(package: Package, others: Mapping[str, bytes]) -> str:
    number = 1
    while f"xl/worksheets/sheet{number}.xml" in package or f"xl/worksheets/sheet{number}.xml" in others:
        number += 1
    return f"xl/worksheets/sheet{number}.xml"


def _appended(data: bytes, parent: str, name: str, attributes: Mapping[str, str]) -> bytes:
    """A part with an empty element more, the last of its parent's."""
    found = list(re.finditer(rb"</([^\s<>:/]+:)?" + parent.encode() + rb"\s*>", data))
    if not found:
        raise _odd(parent)
    tag = b"<" + (found[-1][1] or b"") + name.encode()
    tag += b"".join(b' %s="%s"' % (key.encode(), xml.escape_attribute(value).encode()) for key, value in attributes.items()) + b"/>"
    place = found[-1].start()
    return data[:place] + tag + data[place:]


def _styles(package: Package, book: Listing, looks: Mapping[str, tuple[str, str]]) -> dict[str, str]:
    """The number of the format of each look; none where its cell has none."""
    found: dict[str, str] = {}
    tabs = {tab.name.casefold(): tab for tab in book.tabs}
    for name, (sheet, cell) in looks.items():
        tab, place = tabs.get(sheet.casefold()), cell_position(cell)
        if tab is None or place is None:
            continue
        facts = read_sheet(package.read(tab.part, LARGEST_SHEET), tab.part, tab.name, {place})
        style = facts.style(*place)
        if style:
            found[name] = style
    return found


def _worksheet(package: Package, book: Listing, sheet: NewSheet) -> bytes:
    styles = _styles(package, book, sheet.looks)
    space = re.match(r"\{(.*)\}", ElementTree.fromstring(package.read(book.part)).tag)
    root = space[1] if space else ""
    rows: dict[int, list[str]] = {}
    for (row, column), (text, look) in sorted(sheet.cells.items()):
        style = f' s="{styles[look]}"' if look in styles else ""
        place = f'<c r="{address(row, column)}"{style}'
        value = f' t="inlineStr"><is><t xml:space="preserve">{xml.escape(xml.stored_text(text))}</t></is></c>' if text else "/>"
        rows.setdefault(row, []).append(place + value)
    widths = "".join(f'<col min="{place}" max="{place}" width="{width:g}" customWidth="1"/>' for place, width in enumerate(sheet.widths, 1))
    lists = "".join(
        f'<dataValidation type="list" errorStyle="information" allowBlank="1" showErrorMessage="1" sqref="{cells}">'
        f"<formula1>{xml.escape(formula)}</formula1></dataValidation>" for cells, formula in sheet.lists
    )
    down, across = sheet.frozen
    corner = f"{column_letters(across + 1)}{down + 1}"
    pane = f'<pane xSplit="{across}" ySplit="{down}" topLeftCell="{corner}" activePane="bottomRight" state="frozen"/>'
    body = "".join(f'<row r="{row}">{"".join(cells)}</row>' for row, cells in rows.items())
    return (
        f'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<worksheet xmlns="{root}"><sheetViews>'
        f'<sheetView showGridLines="0" workbookViewId="0">{pane if down and across else ""}</sheetView></sheetViews><cols>{widths}</cols>'
        f"<sheetData>{body}</sheetData>"
        + (f'<dataValidations count="{len(sheet.lists)}">{lists}</dataValidations>' if lists else "") + "</worksheet>"
    ).encode()


def _compare(before: bytes, after: bytes, sheets: int) -> None:
    """Every member is what it was; the three lists have just the new entries more. Problems raised: ``comparison-failed``."""
    with open_package(io.BytesIO(after), "new") as package:
        book = listing(package)
        lists = {part_key(name) for name in (book.part, _relations_of(book.part), _TYPES)}
        if any(tab.part not in package for tab in book.tabs):
            raise failed("a sheet of it is missing")
    with zipfile.ZipFile(io.BytesIO(before)) as old, zipfile.ZipFile(io.BytesIO(after)) as new:
        if old.namelist() != new.namelist()[: len(old.namelist())] or len(new.namelist()) != len(old.namelist()) + sheets:
            raise failed("it has other members")
        for name in old.namelist():
            if part_key(name) not in lists or not sheets:
                if old.read(name) != new.read(name):
                    raise failed(f"its member {name} differs")
            elif _elements(new.read(name), sheets) != _elements(old.read(name), 0):
                raise failed(f"its member {name} has more than the new entries")


def _elements(data: bytes, less: int) -> list[tuple[str, list[tuple[str, str]]]]:
    """The elements of a part in their order, without the last of those that a new sheet adds."""
    found = [(node.tag, sorted(node.items())) for node in ElementTree.fromstring(data).iter()]
    for _ in range(less):
        last = max(place for place, (tag, _) in enumerate(found) if tag.rpartition("}")[2] in ("sheet", "Relationship", "Override"))
        del found[last]
    return found
