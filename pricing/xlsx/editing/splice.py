"""New values put into a worksheet part by replacing only the bytes of their cells."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import field
from typing import TypeAlias

from pricing.dataclass import dataclass
from pricing.xlsx.addresses import LAST_ROW, Area, Position, address, area_name, area_of
from pricing.xlsx.cells import number_text
from pricing.xlsx.editing import xml_source as xml
from pricing.xlsx.editing.sheet import SheetFacts, SheetWalk

Value: TypeAlias = float | str | None


@dataclass(frozen=True, slots=True)
class SheetChange:
    """What was meant to change in one worksheet: values with the format of their cells, and results taken out."""

    values: Mapping[Position, tuple[Value, str | None]]
    cleared: Set[Position]
    cleared_areas: Sequence[Area]

    def touches(self, position: Position) -> bool:
        """Whether the cell was meant to change."""
        return (
            position in self.values
            or position in self.cleared
            or any(area.covers(*position) for area in self.cleared_areas)
        )


@dataclass(slots=True)
class _Cell:
    """The place of a cell [bytes]: of the cell, of the children that hold its value, and of all its children."""

    start: int
    end: int = 0
    results: list[tuple[int, int]] = field(default_factory=list)
    inner: tuple[int, int] = (0, 0)


class _Placing(SheetWalk):
    """Notes what to replace for new values and for stored results that are taken out."""

    def __init__(
        self,
        data: bytes,
        part: str,
        sheet: str,
        facts: SheetFacts,
        change: SheetChange,
    ) -> None:
        super().__init__(data, part, sheet)
        self.facts, self.change = facts, change
        self.writes = {position: value for position, (value, _) in change.values.items()}
        self.edits: list[xml.Edit] = []
        self.by_row: dict[int, list[int]] = {}
        for row, column in sorted(self.writes, reverse=True):
            self.by_row.setdefault(row, []).append(column)
        self.rows_left = sorted(self.by_row, reverse=True)
        self.waiting: list[int] = []  # columns of the row still to come, the last first
        self.own: tuple[int, ...] = ()  # all written columns of the row
        self.row_tag = self.data_tag = 0
        self.spans = ""
        self.cell: _Cell | None = None
        self.child = 0

    # rows and cells that are not there yet

    def data_start(self) -> None:
        self.data_tag = self.place

    def row_start(self, attributes: Mapping[str, str]) -> None:
        self.row_tag, self.spans = self.place, attributes.get("spans", "")
        self._new_rows(self.row, self.place)
        self.waiting = []
        if self.rows_left and self.rows_left[-1] == self.row:
            self.rows_left.pop()
            self.waiting = self.by_row[self.row]
        self.own = tuple(self.waiting)

    def row_end(self) -> None:
        if not self.own:
            return
        tag = xml.tag_at(self.data, self.row_tag)
        prefix = xml.prefix_of(tag)
        new = b"".join(self._new_cell(prefix, self.row, column) for column in reversed(self.waiting))
        filled = [column for column in self.own if self.writes[self.row, column] is not None]
        changed = _with_spans(tag, self.spans, min(filled), max(filled)) if filled else tag
        after = self.row_tag + len(tag)
        if tag.endswith(b"/>") and new:
            self.edits.append((self.row_tag, after, xml.opened(changed) + new + b"</" + prefix + b"row>"))
            return
        if changed != tag:
            self.edits.append((self.row_tag, after, changed))
        if new:
            self.edits.append((self.place, self.place, new))

    def data_end(self) -> None:
        tag = xml.tag_at(self.data, self.data_tag)
        prefix = xml.prefix_of(tag)
        if not tag.endswith(b"/>"):
            self._new_rows(LAST_ROW + 1, self.place)
        elif new := self._rows_before(LAST_ROW + 1, prefix):
            after = self.data_tag + len(tag)
            self.edits.append((self.data_tag, after, xml.opened(tag) + new + b"</" + prefix + b"sheetData>"))

    def _new_rows(self, before: int, place: int) -> None:
        if self.rows_left and self.rows_left[-1] < before:
            new = self._rows_before(before, xml.prefix_of(xml.tag_at(self.data, self.data_tag)))
            if new:
                self.edits.append((place, place, new))

    def _rows_before(self, before: int, prefix: bytes) -> bytes:
        made = []
        while self.rows_left and self.rows_left[-1] < before:
            row = self.rows_left.pop()
            cells = [self._new_cell(prefix, row, column) for column in reversed(self.by_row[row])]
            if any(cells):
                made.append(b'<%srow r="%d">%s</%srow>' % (prefix, row, b"".join(cells), prefix))
        return b"".join(made)

    def _new_cell(self, prefix: bytes, row: int, column: int) -> bytes:
        return _cell(prefix, row, column, self.facts.style(row, column), self.writes[row, column])

    # cells that are there

    def cell_start(self, attributes: Mapping[str, str]) -> None:
        here = self.row, self.column
        while self.waiting and self.waiting[-1] < self.column:
            prefix = xml.prefix_of(xml.tag_at(self.data, self.row_tag))
            self.edits.append((self.place, self.place, self._new_cell(prefix, self.row, self.waiting.pop())))
        self.cell = None
        if self.change.touches(here):
            self.cell = _Cell(self.place)

    def child_start(self, name: str, attributes: Mapping[str, str], level: int) -> None:
        if level == 1:
            self.child = self.place

    def child_end(self, name: str, level: int) -> None:
        if self.cell and level == 1 and name in ("v", "is"):
            self.cell.results.append((self.child, xml.element_end(self.data, self.child, self.place)))

    def cell_end(self) -> None:
        if self.cell is None:
            return
        tag = xml.tag_at(self.data, self.cell.start)
        after = self.cell.start + len(tag)
        plain = xml.with_attribute(tag, "t", None)
        if (self.row, self.column) not in self.writes:
            if self.cell.results:
                self.edits.append((self.cell.start, after, xml.with_attribute(plain, "vm", None)))
                self.edits += [(start, end, b"") for start, end in self.cell.results]
            return
        self.waiting.pop()
        prefix = xml.prefix_of(tag)
        kind, content = _content(prefix, self.writes[self.row, self.column])
        changed = xml.with_attribute(plain, "t", kind) if kind else plain
        if tag.endswith(b"/>"):
            whole = xml.opened(changed) + content + b"</" + prefix + b"c>" if content else changed
            self.edits.append((self.cell.start, after, whole))
            return
        self.edits.append((self.cell.start, after, changed + content))
        self.edits += [(start, end, b"") for start, end in self.cell.results]

    def other_start(self, name: str, attributes: Mapping[str, str], depth: int) -> None:
        if name != "dimension" or depth != 2:
            return
        filled = [position for position, value in self.writes.items() if value is not None]
        if not filled:
            return
        area = area_of(attributes.get("ref", ""))
        if area is None:
            raise self.bad("bad-reference", "the size that it states is no area")
        rows, columns = {row for row, _ in filled}, {column for _, column in filled}
        wide = Area(min(area.top, *rows), min(area.left, *columns), max(area.bottom, *rows), max(area.right, *columns))
        if wide != area:
            tag = xml.tag_at(self.data, self.place)
            changed = xml.with_attribute(tag, "ref", area_name(wide))
            self.edits.append((self.place, self.place + len(tag), changed))


def rewrite_sheet(
    data: bytes,
    part: str,
    sheet: str,
    facts: SheetFacts,
    change: SheetChange,
) -> bytes:
    """The worksheet part with new values and without the stored results that they make stale.

    Only the bytes of those cells change, and where needed the ``spans`` of their rows and the sheet's ``dimension``.

    Parameters
    ----------
    data, part, sheet : the part, its name and the sheet's name
    facts : what :func:`read_sheet` found in it, with the written cells watched
    change : the new values, and the cells whose stored results are taken out
    """
    placing = _Placing(data, part, sheet, facts, change)
    placing.run()
    return xml.spliced(data, placing.edits)


def _cell(prefix: bytes, row: int, column: int, style: str | None, value: Value) -> bytes:
    """A cell that was not there before; nothing where it would be empty."""
    kind, content = _content(prefix, value)
    if not content:
        return b""
    tag = xml.with_attribute(b"<" + prefix + b"c>", "r", address(row, column))
    tag = xml.with_attribute(tag, "s", style) if style not in (None, "0") else tag
    tag = xml.with_attribute(tag, "t", kind) if kind else tag
    return tag + content + b"</" + prefix + b"c>"


def _content(prefix: bytes, value: Value) -> tuple[str | None, bytes]:
    """The kind of a cell and the element that holds its value."""
    if value is None:
        return None, b""
    if isinstance(value, str):
        text = xml.stored_text(value)
        space = b' xml:space="preserve"' if text != text.strip() or "\n" in text or "\t" in text else b""
        inner = xml.escape(text).encode()
        return "inlineStr", b"<%sis><%st%s>%s</%st></%sis>" % (prefix, prefix, space, inner, prefix, prefix)
    return None, b"<%sv>%s</%sv>" % (prefix, number_text(value).encode(), prefix)


def _with_spans(tag: bytes, given: str, first: int, last: int) -> bytes:
    """A row's tag whose ``spans`` hint takes in the written columns, if it has one."""
    pairs = [pair.split(":") for pair in given.split()]
    if not pairs or not all(len(pair) == 2 and all(end.isdigit() for end in pair) for pair in pairs):
        return tag
    spans = [(int(start), int(end)) for start, end in pairs]
    if any(start <= first and last <= end for start, end in spans):
        return tag
    low, high = min(first, *(start for start, _ in spans)), max(last, *(end for _, end in spans))
    return xml.with_attribute(tag, "spans", f"{low}:{high}")
