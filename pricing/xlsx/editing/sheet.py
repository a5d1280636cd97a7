"""One worksheet part, read with the place of every row and cell, and what is found in it."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import field
from typing import NamedTuple
from xml.parsers import expat

from pricing.dataclass import dataclass
from pricing.xlsx.addresses import LAST_COLUMN, LAST_ROW, Area, Position, address, area_of, cell_position
from pricing.xlsx.package.markup import MAIN, Feeder, true
from pricing.xlsx.refused import RefusedError

_SAVE_AGAIN = "save the workbook again from the spreadsheet program, and repeat"


class Formula(NamedTuple):
    """A formula as it is stored: its cell, text, kind, number of its group, area of its results, and whether they spill over that."""

    row: int
    column: int
    text: str
    kind: str
    group: str
    area: Area | None
    spills: bool = False


class Found(NamedTuple):
    """What stands in a cell: its attributes, its formula, and its value or result as stored."""

    attributes: Mapping[str, str]
    formula: Formula | None
    text: str | None


@dataclass(slots=True)
class Validation:
    """A data validation: its attributes, its formulas and its areas."""

    attributes: Mapping[str, str]
    first: str = ""
    second: str = ""
    areas: list[Area] = field(default_factory=list)


@dataclass(slots=True)
class SheetFacts:
    """What a worksheet holds, as far as writing into it has to know."""

    formulas: list[Formula] = field(default_factory=list)
    merges: list[Area] = field(default_factory=list)
    validations: list[Validation] = field(default_factory=list)
    columns: list[tuple[int, int, str]] = field(default_factory=list)
    row_styles: dict[int, str] = field(default_factory=dict)
    found: dict[Position, Found] = field(default_factory=dict)
    protected: bool = False
    #: Formats that cells which are not there yet take from others.
    borrowed: dict[Position, str] = field(default_factory=dict)

    def style(self, row: int, column: int) -> str | None:
        """The number of the format that a cell has, or that a new one takes from its row or its column."""
        if found := self.found.get((row, column)):
            return found.attributes.get("s")
        if (row, column) in self.borrowed:
            return self.borrowed[row, column]
        if row in self.row_styles:
            return self.row_styles[row]
        return next((style for first, last, style in self.columns if first <= column <= last), None)


class SheetWalk:
    """Goes through a worksheet part and calls the methods below with the place of each row and cell."""

    def __init__(self, data: bytes, part: str, sheet: str) -> None:
        self.data, self.part, self.sheet = data, part, sheet
        self.depth = 0
        self.namespace = self.row_name = self.cell_name = ""
        self.in_data = self.seen_data = False
        self.row = self.column = 0
        self.parser: expat.XMLParserType

    def run(self) -> None:
        """Go through the part."""
        feeder = Feeder(self.part, utf_8=True)
        self._prepare(feeder.parser)
        feeder.feed(self.data, True)
        if not self.seen_data:
            raise RefusedError("not-a-worksheet", f"its part {self.part} has no cells; {_SAVE_AGAIN}", sheet=self.sheet)

    def _prepare(self, parser: expat.XMLParserType) -> None:
        self.parser = parser
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end

    @property
    def place(self) -> int:
        """Where in the part it is [bytes]: at a start tag, at a closing tag, or behind an element with none."""
        return self.parser.CurrentByteIndex

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        depth = self.depth
        if self.in_data:
            if depth == 3:
                if name != self.row_name:
                    raise self.bad("damaged-file", "something stands between its rows that is not a row")
                self.row = self._next_row(attributes.get("r"))
                self.column = 0
                self.row_start(attributes)
            elif depth == 4:
                if name == self.cell_name:
                    self.column = self._next_column(attributes.get("r"))
                    self.cell_start(attributes)
                elif name.rpartition(" ")[2] == "c":
                    raise self.bad("damaged-file", f"row {self.row} has a cell of an unknown kind")
            elif depth >= 5:
                self.child_start(name.rpartition(" ")[2], attributes, depth - 4)
            return
        namespace, _, local = name.rpartition(" ")
        if depth == 1:
            if namespace not in MAIN or local != "worksheet":
                raise self.bad("not-a-worksheet", f"its part {self.part} is not a worksheet")
            self.namespace = namespace
            self.row_name, self.cell_name = f"{namespace} row", f"{namespace} c"
        elif depth == 2 and local == "sheetData" and namespace == self.namespace:
            if self.seen_data:
                raise self.bad("damaged-file", "it has two sets of cells")
            self.in_data = self.seen_data = True
            self.data_start()
        else:
            self.other_start(local, attributes, depth)

    def _end(self, name: str) -> None:
        depth = self.depth
        self.depth -= 1
        if not self.in_data:
            self.other_end(name.rpartition(" ")[2], depth)
        elif depth == 2:
            self.in_data = False
            self.data_end()
        elif depth == 3:
            self.row_end()
        elif depth == 4 and name == self.cell_name:
            self.cell_end()
        elif depth >= 5:
            self.child_end(name.rpartition(" ")[2], depth - 4)

    def _next_row(self, given: str | None) -> int:
        if given is None:
            return self.row + 1
        if not (given.isascii() and given.isdigit() and 1 <= int(given[:9]) <= LAST_ROW):
            raise self.bad("bad-reference", f"it has a row numbered {given[:20]!r}")
        if int(given) == self.row:
            raise self.bad("duplicate-cells", f"row {given} is present twice")
        if int(given) < self.row:
            raise self.bad("out-of-order", f"row {given} comes after row {self.row}")
        return int(given)

    def _next_column(self, given: str | None) -> int:
        if given is None:
            if self.column >= LAST_COLUMN:
                raise self.bad("bad-reference", f"row {self.row} has too many cells")
            return self.column + 1
        position = cell_position(given)
        if position is None or position[0] != self.row:
            raise self.bad("bad-reference", f"row {self.row} has a cell named {given[:20]!r}")
        if position[1] == self.column:
            raise self.bad("duplicate-cells", "the cell is present twice", cell=given)
        if position[1] < self.column:
            raise self.bad("out-of-order", f"the cell comes after {address(self.row, self.column)}", cell=given)
        return position[1]

    def bad(self, code: str, what: str, cell: str = "") -> RefusedError:
        """The refusal of a damaged sheet."""
        return RefusedError(code, f"{what}, so the sheet is damaged; {_SAVE_AGAIN}", sheet=self.sheet, cell=cell)

    def data_start(self) -> None:
        """The cells begin."""

    def data_end(self) -> None:
        """The cells end."""

    def row_start(self, attributes: Mapping[str, str]) -> None:
        """Row ``self.row`` begins."""

    def row_end(self) -> None:
        """The row ends."""

    def cell_start(self, attributes: Mapping[str, str]) -> None:
        """The cell in ``self.row``, ``self.column`` begins."""

    def cell_end(self) -> None:
        """The cell ends."""

    def child_start(self, name: str, attributes: Mapping[str, str], level: int) -> None:
        """An element inside a cell begins; level 1 stands directly in it."""

    def child_end(self, name: str, level: int) -> None:
        """An element inside a cell ends."""

    def other_start(self, name: str, attributes: Mapping[str, str], depth: int) -> None:
        """An element outside of the cells begins; depth 2 stands directly in the worksheet."""

    def other_end(self, name: str, depth: int) -> None:
        """An element outside of the cells ends."""


class _Reading(SheetWalk):
    """Collects the facts of a sheet."""

    def __init__(self, data: bytes, part: str, sheet: str, watched: Set[Position]) -> None:
        super().__init__(data, part, sheet)
        self.facts = SheetFacts()
        self.watched = watched
        self.watched_rows = {row for row, _ in watched}
        self.text: list[str] = []
        self.attributes: Mapping[str, str] = {}
        self.formula: Formula | None = None
        self.formula_attributes: Mapping[str, str] = {}
        self.value: str | None = None
        self.validation: Validation | None = None
        self.phonetic = 0

    def _prepare(self, parser: expat.XMLParserType) -> None:
        super()._prepare(parser)
        parser.CharacterDataHandler = self.text.append

    def row_start(self, attributes: Mapping[str, str]) -> None:
        if self.row in self.watched_rows and true(attributes.get("customFormat")) and "s" in attributes:
            self.facts.row_styles[self.row] = attributes["s"]

    def cell_start(self, attributes: Mapping[str, str]) -> None:
        self.attributes, self.formula, self.value = attributes, None, None

    def child_start(self, name: str, attributes: Mapping[str, str], level: int) -> None:
        self.text.clear()
        if level == 1 and name == "f":
            self.formula_attributes = attributes
        elif name == "rPh":
            self.phonetic = level

    def child_end(self, name: str, level: int) -> None:
        if level == 1 and name == "f":
            self.formula = self._formula("".join(self.text))
        elif (level == 1 and name == "v") or (level > 1 and name == "t" and not self.phonetic):
            self.value = (self.value or "") + "".join(self.text)
        elif name == "rPh" and level == self.phonetic:
            self.phonetic = 0
        self.text.clear()

    def _formula(self, text: str) -> Formula:
        attributes = self.formula_attributes
        area = attributes.get("ref")
        place = area_of(area) if area else None
        if area and place is None:
            here = address(self.row, self.column)
            raise self.bad("bad-reference", f"its formula covers {area[:30]!r}, which is no area", cell=here)
        kind = attributes.get("t", "normal")
        if place and not place.covers(self.row, self.column):
            here = address(self.row, self.column)
            raise self.bad("bad-reference", f"its formula covers {area}, not its own cell", cell=here)
        return Formula(self.row, self.column, text, kind, attributes.get("si", ""), place, kind == "array" and "cm" in self.attributes)

    def cell_end(self) -> None:
        if self.formula:
            self.facts.formulas.append(self.formula)
        if (self.row, self.column) in self.watched:
            self.facts.found[self.row, self.column] = Found(dict(self.attributes), self.formula, self.value)

    def other_start(self, name: str, attributes: Mapping[str, str], depth: int) -> None:
        self.text.clear()
        if name == "sheetProtection" and depth == 2:
            self.facts.protected = true(attributes.get("sheet"))
        elif name == "mergeCell" and depth == 3:
            self.facts.merges.append(self._area(attributes.get("ref", "")))
        elif name == "col" and depth == 3 and "style" in attributes:
            first, last = attributes.get("min", ""), attributes.get("max", "")
            if not (first.isascii() and first.isdigit() and last.isascii() and last.isdigit()):
                raise self.bad("bad-reference", "the format of a column does not say for which")
            self.facts.columns.append((int(first[:9]), int(last[:9]), attributes["style"]))
        elif name == "dataValidation":
            self.validation = Validation(dict(attributes))
            self._places(attributes.get("sqref", ""))

    def other_end(self, name: str, depth: int) -> None:
        text = "".join(self.text).strip()
        self.text.clear()
        if self.validation is None:
            return
        if name == "dataValidation":
            self.facts.validations.append(self.validation)
            self.validation = None
        elif name == "formula1":
            self.validation.first = self.validation.first or text
        elif name == "formula2":
            self.validation.second = self.validation.second or text
        elif name == "f":
            if self.validation.first:
                self.validation.second = text
            else:
                self.validation.first = text
        elif name == "sqref":
            self._places(text)

    def _places(self, text: str) -> None:
        if self.validation is not None:
            for word in text.split():
                self.validation.areas.append(self._area(word))

    def _area(self, name: str) -> Area:
        area = area_of(name)
        if area is None:
            raise self.bad("bad-reference", f"the place {name[:30]!r} is no area")
        return area


def read_sheet(data: bytes, part: str, sheet: str, watched: Set[Position] = frozenset()) -> SheetFacts:
    """The facts of a worksheet.

    Parameters
    ----------
    data, part, sheet : the part, its name and the sheet's name
    watched : the cells whose contents are wanted

    Problems raised: ``not-a-worksheet``, ``bad-reference``, ``duplicate-cells``, ``out-of-order``, and those of
    reading XML.
    """
    reading = _Reading(data, part, sheet, watched)
    reading.run()
    return reading.facts
