"""The new file compared with the old one, by a reading of its own: what should have changed did, and nothing else."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Mapping
from dataclasses import field
from xml.etree import ElementTree

from pricing.dataclass import dataclass
from pricing.xlsx.addresses import Position, address, cell_position
from pricing.xlsx.cells import number_text
from pricing.xlsx.editing.splice import SheetChange, Value
from pricing.xlsx.package.markup import true, unescaped
from pricing.xlsx.refused import RefusedError

_BLOCK = 2**20


def compare_packages(old: bytes, new: bytes, sheets: Mapping[str, SheetChange], workbook: str) -> None:
    """Compare a whole workbook with what it was before.

    Parameters
    ----------
    old, new : the two files
    sheets : what was meant to change, by the name of the worksheet's member
    workbook : the name of the member that lists the sheets

    Problems raised: ``comparison-failed``.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(old)) as before, zipfile.ZipFile(io.BytesIO(new)) as after:
            _compare(before, after, sheets, workbook)
    except (zipfile.BadZipFile, ElementTree.ParseError, ValueError, KeyError, NotImplementedError) as error:
        raise failed(f"it cannot be read back ({error})") from None


def _compare(before: zipfile.ZipFile, after: zipfile.ZipFile, sheets: Mapping[str, SheetChange], workbook: str) -> None:
    if before.comment != after.comment or len(before.infolist()) != len(after.infolist()):
        raise failed("it has other members")
    for was, now in zip(before.infolist(), after.infolist(), strict=True):
        if _described(was) != _described(now):
            raise failed(f"its member {now.filename} is described otherwise")
        if was.filename in sheets:
            compare_sheets(before.read(was), after.read(now), sheets[was.filename])
        elif was.filename == workbook:
            _compare_workbooks(before.read(was), after.read(now))
        elif not _same(before, was, after, now):
            raise failed(f"its member {now.filename} differs")


def _described(member: zipfile.ZipInfo) -> tuple[object, ...]:
    return member.filename, member.date_time, member.compress_type, member.external_attr, member.comment


def _same(before: zipfile.ZipFile, was: zipfile.ZipInfo, after: zipfile.ZipFile, now: zipfile.ZipInfo) -> bool:
    """Whether the contents of two members are the same, byte for byte."""
    with before.open(was) as first, after.open(now) as second:
        while block := first.read(_BLOCK):
            if second.read(len(block)) != block:
                return False
        return not second.read(1)


@dataclass(slots=True)
class _Outline:
    """A worksheet without the cells that may differ, as a fingerprint, and those cells."""

    rest: str = ""
    cells: dict[Position, _CellSeen] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _CellSeen:
    attributes: dict[str, str]
    kind: str
    formula: tuple[tuple[tuple[str, str], ...], str] | None
    value: str | None


def compare_sheets(old: bytes, new: bytes, change: SheetChange) -> None:
    """Compare a worksheet part with what it was before. Problems raised: ``comparison-failed``.

    Parameters
    ----------
    old, new : the two parts
    change : what was meant to change
    """
    before, after = _outline(old, change), _outline(new, change)
    if before.rest != after.rest:
        raise failed("more than the cells meant differs in a sheet")
    for position, (value, style) in change.values.items():
        seen = after.cells.get(position)
        if not _holds(seen, value) or (seen and (seen.attributes.get("s", "0") != (style or "0") or seen.formula)):
            raise failed(f"the cell {address(*position)} does not hold its value")
    for position, was in before.cells.items():
        if position in change.values:
            continue
        now = after.cells.get(position)
        if now is None or now.value is not None or (now.attributes, now.formula) != (was.attributes, was.formula):
            raise failed(f"the formula of {address(*position)} is not what it was")
    if extra := after.cells.keys() - before.cells.keys() - change.values.keys():
        raise failed(f"the cell {address(*min(extra))} was added")


def _holds(seen: _CellSeen | None, value: Value) -> bool:
    if value is None:
        return seen is None or seen.value is None
    if seen is None or seen.value is None:
        return False
    if isinstance(value, str):
        return seen.kind == "inlineStr" and unescaped(seen.value) == value
    return seen.kind == "n" and float(seen.value) == float(number_text(value))


def _outline(data: bytes, change: SheetChange) -> _Outline:
    """Read a worksheet part with the standard library's own reader; nothing of the writing is used here."""
    outline, digest, depth, column = _Outline(), hashlib.sha256(), 0, 0
    row, in_data, plain_row = 0, False, True
    written_rows = {row for row, _ in change.values}
    ancestors: list[ElementTree.Element] = []
    for event, item in ElementTree.iterparse(io.BytesIO(data), ("start-ns", "start", "end")):
        if event == "start-ns":
            digest.update(repr(item).encode())
            continue
        local = item.tag.rpartition("}")[2]
        if event == "start":
            depth += 1
            ancestors.append(item)
            if depth == 2:
                in_data = local == "sheetData"
            elif in_data and depth == 3:
                row, column, plain_row = int(item.get("r", row + 1)), 0, True
            continue
        if in_data and depth == 4:
            place = cell_position(item.get("r", "")) or (row, column + 1)
            column = place[1]
            if local == "c" and change.touches(place):
                outline.cells[place] = _seen(item)
            else:
                plain_row = False
                _add(digest, item)
            ancestors[-2].remove(item)
        elif in_data and depth == 3:
            hints = {"spans"} if row in written_rows else set()
            attributes = {name: value for name, value in item.items() if name not in hints}
            if not plain_row or attributes.keys() - {"r"}:
                digest.update(repr((row, sorted(attributes.items()))).encode())
            ancestors[-2].remove(item)
        elif depth == 2 and not in_data:
            if local == "dimension":
                item.attrib.pop("ref", None)
            _add(digest, item)
            item.clear()
        elif depth == 1:
            digest.update(repr((item.tag, sorted(item.items()))).encode())
        depth -= 1
        ancestors.pop()
    outline.rest = digest.hexdigest()
    return outline


def _seen(cell: ElementTree.Element) -> _CellSeen:
    attributes = {name: value for name, value in cell.items() if name not in ("r", "t", "vm")}
    formula, value = None, None
    for child in cell:
        local = child.tag.rpartition("}")[2]
        if local == "f":
            formula = tuple(sorted(child.items())), child.text or ""
        elif local == "v":
            value = child.text or ""
        elif local == "is":
            value = "".join(child.itertext())
    return _CellSeen(attributes, cell.get("t", "n"), formula, value)


def _compare_workbooks(old: bytes, new: bytes) -> None:
    seen = []
    for data in (old, new):
        digest, settings = hashlib.sha256(), {}
        root = ElementTree.fromstring(data)
        digest.update(repr((root.tag, sorted(root.items()))).encode())
        for child in root:
            if child.tag.rpartition("}")[2] == "calcPr":
                settings = dict(child.items())
            else:
                _add(digest, child)
        recalculated = true(settings.pop("fullCalcOnLoad", None))
        seen.append((digest.hexdigest(), settings, recalculated))
    if seen[0][:2] != seen[1][:2] or not seen[1][2]:
        raise failed("its list of sheets differs")


def _add(digest: hashlib._Hash, element: ElementTree.Element) -> None:
    for node in element.iter():
        digest.update(repr((node.tag, sorted(node.items()), node.text, len(node))).encode("utf-8", "surrogatepass"))


def failed(what: str) -> RefusedError:
    """The refusal of a new file that is not what was meant."""
    text = f"the new file was compared with the old one and {what}, so the old one was kept as it is"
    return RefusedError(
        "comparison-failed", f"{text}; save the workbook again from the spreadsheet program, and repeat"
    )
