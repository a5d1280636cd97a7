"""Which cells a formula reads, found from its text with care rather than finesse.

The rule: a formula reads the areas, names and table columns that it mentions; its text is taken apart by a library. Where
that does not tell, it counts as reading everything: ``INDIRECT``, ``OFFSET``, functions that are not in ``PLAIN``, a range made by a
function, an unknown name, anything that is not understood. Source of the notation: ECMA-376 part 1, section 18.17.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import TYPE_CHECKING, NamedTuple

from pricing.dataclass import dataclass
from pricing.xlsx.addresses import LAST_COLUMN, LAST_ROW, Area, area_of, cell_position
from pricing.xlsx.editing.formula_functions import BY_ELEMENT, GROWING, PLAIN, STRETCHING
from pricing.xlsx.package.parts import Table

if TYPE_CHECKING:
    from openpyxl.formula.tokenizer import Token

LONGEST_FORMULA = 32_768  # characters; a spreadsheet takes 8,192, the stored text may be somewhat longer
MOST_REFERENCES = 50_000
MOST_BRACKETS = 200  # the library looks through the rest of a formula at each
_DEEPEST = 50

_OPERAND = re.compile(
    r"""(?P<sheet>'(?:[^']|'')*'!|[^'!\s]*!)?
    (?:(?P<area>\$?[A-Z]{1,3}\$?[0-9]{1,7}(?::\$?[A-Z]{1,3}\$?[0-9]{1,7})?|\$?[A-Z]{1,3}:\$?[A-Z]{1,3}|\$?[0-9]{1,7}:\$?[0-9]{1,7})
    |(?P<name>(?:[^\W\d]|\\)[\w.\\?]*)(?P<bracket>\[(?:[^\[\]']|'.|\[(?:[^\[\]']|'.)*\])*\])?)""",
    re.VERBOSE | re.IGNORECASE | re.DOTALL,
)
_PREFIXES = re.compile(r"^(?:_xlfn\.|_xlws\.)+", re.IGNORECASE)
_PARTS = re.compile(r"(\$?)([A-Z]+)?(\$?)([0-9]+)?", re.IGNORECASE)
_COLUMN_ITEM = re.compile(r"\[((?:[^\[\]'#@]|'.)*)\]")


class Reference(NamedTuple):
    """An area that a formula reads, which of its sides stay when the formula moves, and whether all that spills from it is meant."""

    sheet: int
    area: Area
    fixed: tuple[bool, bool, bool, bool]
    spilled: bool = False

    def moved(self, down: int, right: int) -> Area | None:
        """The area as a cell so far away reads it, or None where it would leave the sheet."""
        top, left, bottom, right_side = (
            side if fixed else side + by
            for side, fixed, by in zip(self.area, self.fixed, (down, right, down, right), strict=True)
        )
        if min(top, left, bottom, right_side) < 1 or max(top, bottom) > LAST_ROW or max(left, right_side) > LAST_COLUMN:
            return None
        return Area(min(top, bottom), min(left, right_side), max(top, bottom), max(left, right_side))


@dataclass(slots=True)
class Needs:
    """What a formula reads: everything, or these areas; and whether moving the formula moves the areas as they are."""

    everything: bool = False
    references: list[Reference] = field(default_factory=list)
    movable: bool = True
    by_element: bool = True  # as a matrix formula, each of its results is made of the elements in its own place alone
    grows: bool = False  # spilled, it may have more results than it had

    def with_spills(self, spills: Mapping[tuple[int, int, int], Area]) -> Needs:
        """The same, with all results of a formula where what spills from its cell is meant.

        Parameters
        ----------
        spills : the results of each matrix formula, by the sheet, row and column of its cell
        """
        if not any(each.spilled for each in self.references):
            return self
        areas = [(each.moved(0, 0) or each.area, each) for each in self.references]
        wide = [each._replace(area=spills.get((each.sheet, area.top, area.left), area)) if each.spilled else each for area, each in areas]
        return Needs(self.everything, wide, False, self.by_element, self.grows)

    def of_element(self, down: int, right: int, whole: Area) -> Needs:
        """What one result of a matrix formula reads.

        Parameters
        ----------
        down, right : its place among the results, counted from 0
        whole : the area of all of them
        """
        if self.everything or not self.by_element:
            return self
        areas = [each.moved(0, 0) or each.area for each in self.references]
        parts = [_element(area, down, right, whole) for area in areas]
        return Needs(references=[each._replace(area=part) for each, part in zip(self.references, parts, strict=True)])


class Reader:
    """Reads the formulas of one workbook.

    Parameters
    ----------
    sheets : names of all sheets in their order
    worksheets : the numbers of those that are worksheets
    names : text of each defined name by the number of its sheet (None for the workbook) and its name in lower case
    tables : the tables by name in lower case
    """

    def __init__(
        self,
        sheets: Sequence[str],
        worksheets: frozenset[int],
        names: Mapping[tuple[int | None, str], str],
        tables: Mapping[str, Table],
    ) -> None:
        self._sheets = {name.lower(): number for number, name in enumerate(sheets)}
        self._worksheets, self._names, self._tables = worksheets, names, tables
        self._local_names = {name for sheet, name in names if sheet is not None}
        self._known: dict[tuple[int | None, str], Needs] = {}
        self._depth = 0

    def needs(self, text: str, home: int | None, row: int = 0) -> Needs:
        """What a formula reads.

        Parameters
        ----------
        text : the formula without its equals sign
        home : the number of its sheet; None for a name, whose areas always name their sheet
        row : its row, for what a table calls this row
        """
        from openpyxl.formula import Tokenizer
        from openpyxl.formula.tokenizer import Token, TokenizerError

        everything = Needs(everything=True)
        if len(text) > LONGEST_FORMULA or text.count("[") > MOST_BRACKETS:
            return everything
        try:
            tokens = Tokenizer(f"={text}").items
        except (TokenizerError, IndexError):
            return everything
        found, stretch, spilled = Needs(), False, False
        for number, token in enumerate(tokens):
            if token.type == Token.FUNC and token.subtype == Token.OPEN:
                name = _PREFIXES.sub("", token.value[:-1]).upper()
                stretch = stretch or name in STRETCHING
                found.by_element = found.by_element and name in BY_ELEMENT
                found.everything = name not in PLAIN
                found.grows = found.grows or name in GROWING
                spilled = name == "ANCHORARRAY"
            elif (token.type == Token.WSPACE and _cuts(tokens, number)) or (token.type == Token.OP_IN and token.value == ","):
                found.by_element = False  # it may join areas, or cut them with each other
            elif token.type == Token.OPERAND and token.subtype == Token.RANGE:
                before = len(found.references)
                self._add_operand(found, token.value, home, row)
                if spilled:
                    found.references[before:] = [each._replace(spilled=True) for each in found.references[before:]]
            elif token.subtype == Token.CLOSE:
                spilled = False
            if found.everything or len(found.references) > MOST_REFERENCES:
                return everything
        if stretch and found.references:
            _stretch(found)
        return found

    def _add_operand(self, found: Needs, word: str, home: int | None, row: int) -> None:
        """What an operand that is neither a number nor a text adds."""
        if word.upper().endswith("#REF!"):
            return  # what it read is gone
        operand = _OPERAND.fullmatch(word)
        if operand is None:
            found.everything = True
            return
        sheets: Sequence[int] | None = None  # those that its qualifier names
        if operand["sheet"]:
            external, sheets = self._qualifier(operand["sheet"][:-1])
            if external:
                return
        if operand["area"]:
            here = () if home is None else (home,)
            self._add_area(found, word := operand["area"], here if sheets is None else sheets)
            if {(home, word.lower()), (None, word.lower())} & self._names.keys():
                found.everything = True  # a name that looks like a cell
        else:
            self._add_name(found, operand["name"], operand["bracket"] or "", home, sheets, row)

    def _qualifier(self, word: str) -> tuple[bool, Sequence[int]]:
        """Whether a qualifier points to another workbook, and otherwise the sheets that it names, none if unknown."""
        name = word[1:-1].replace("''", "'") if word.startswith("'") else word
        if book := re.match(r"(?:.*[\\/])?\[([^\]]*)\]", name):
            if book[1] != "0":
                return True, ()
            name = name[book.end() :]
        name = name.lower()
        if name in self._sheets:
            return False, (self._sheets[name],)
        first, _, last = name.partition(":")
        if first in self._sheets and last in self._sheets:
            start, end = sorted((self._sheets[first], self._sheets[last]))
            return False, range(start, end + 1)
        return False, ()

    def _add_area(self, found: Needs, word: str, sheets: Sequence[int]) -> None:
        area = area_of(word)
        first, _, last = word.partition(":")
        start, end = _PARTS.fullmatch(first), _PARTS.fullmatch(last or first)
        if area is None or start is None or end is None or not sheets or not self._worksheets.issuperset(sheets):
            found.everything = True
            return
        if start[4] is None:  # whole columns
            fixed = (True, bool(start[1]), True, bool(end[1]))
        elif start[2] is None:  # whole rows, whose only sign comes first
            fixed = (bool(start[1]), True, bool(end[1]), True)
        else:
            fixed = (bool(start[3]), bool(start[1]), bool(end[3]), bool(end[1]))
            # each corner keeps its own sides, and they may pass each other when the formula moves
            (top, left), (bottom, right) = (cell_position(name) or (1, 1) for name in (first, last or first))
            area = Area(top, left, bottom, right)
        found.references += [Reference(sheet, area, fixed) for sheet in sheets]

    def _add_name(
        self, found: Needs, word: str, bracket: str, home: int | None, sheets: Sequence[int] | None, row: int
    ) -> None:
        key = word.lower()
        if key in ("true", "false") or key.startswith("_xlpm."):
            return
        if key in self._tables:
            found.references.append(_part_of(self._tables[key], bracket, home, row))
            return
        scope = home if sheets is None else sheets[0] if len(sheets) == 1 else None
        owner = scope if (scope, key) in self._names else None
        unsure = scope is None and key in self._local_names  # a name used inside a name may be its sheet's own
        if bracket or unsure or (owner, key) not in self._names:
            found.everything = True
            return
        meant = self._defined(owner, key)
        found.by_element = found.by_element and meant.by_element
        found.grows = found.grows or meant.grows
        found.everything = found.everything or meant.everything
        found.references += meant.references

    def _defined(self, owner: int | None, key: str) -> Needs:
        """What a defined name stands for; a side that moves with the cell that uses the name may be anywhere."""
        known = self._known.get((owner, key))
        if known is not None:
            return known
        self._known[owner, key] = Needs(everything=True)  # for a name that leads back to itself
        if self._depth >= _DEEPEST:
            return self._known[owner, key]
        self._depth += 1
        text = self._names[owner, key].lstrip("=")
        meant = self.needs(text, None)
        self._depth -= 1
        wide = []
        for reference in meant.references:
            area, fixed = reference.moved(0, 0) or reference.area, reference.fixed
            top, bottom = (area.top, area.bottom) if fixed[0] and fixed[2] else (1, LAST_ROW)
            left, right = (area.left, area.right) if fixed[1] and fixed[3] else (1, LAST_COLUMN)
            wide.append(Reference(reference.sheet, Area(top, left, bottom, right), (True,) * 4, reference.spilled))
        operand = _OPERAND.fullmatch(text)
        is_area = bool(operand and operand["area"])  # it may as well stand for a sum
        self._known[owner, key] = Needs(meant.everything, list(dict.fromkeys(wide)), by_element=is_area, grows=meant.grows)
        return self._known[owner, key]


def _cuts(tokens: Sequence[Token], number: int) -> bool:
    """Whether a space stands between two areas, and not beside an operator, a bracket or a separator."""
    before, after = tokens[number - 1 : number], tokens[number + 1 : number + 2]
    if not before or not after:
        return False
    operators = ("OPERATOR-INFIX", "OPERATOR-PREFIX", "OPERATOR-POSTFIX", "SEP")
    return not (before[0].type in operators or after[0].type in operators or before[0].subtype == "OPEN" or after[0].subtype == "CLOSE")


def _element(area: Area, down: int, right: int, whole: Area) -> Area:
    """The part of an area that a result in one place is made of: its row or column where it has as many as the results."""
    top, bottom, left, right_side = area.top, area.bottom, area.left, area.right
    if bottom - top == whole.bottom - whole.top:
        top = bottom = top + down
    if right_side - left == whole.right - whole.left:
        left = right_side = left + right
    return Area(top, left, bottom, right_side)


def shared_needs(master: Needs, down: int, right: int) -> Needs:
    """What a cell reads that shares a formula with another one so many rows and columns away."""
    if master.everything or not master.movable:
        return Needs(everything=True)
    moved = []
    for reference in master.references:
        area = reference.moved(down, right)
        if area is None:
            return Needs(everything=True)
        moved.append(reference._replace(area=area))
    return Needs(False, moved, grows=master.grows)


def _stretch(found: Needs) -> None:
    """Every area grows to the height and width of the largest, to the right and downwards."""
    areas = [reference.moved(0, 0) or reference.area for reference in found.references]
    height = max(area.bottom - area.top for area in areas)
    width = max(area.right - area.left for area in areas)
    for index, area in enumerate(areas):
        fixed = found.references[index].fixed
        bottom, right = area.top + height, area.left + width
        if fixed[0] != fixed[2] or fixed[1] != fixed[3] or bottom > LAST_ROW or right > LAST_COLUMN:
            found.movable = False  # its size changes with the place of the formula
        grown = Area(area.top, area.left, min(bottom, LAST_ROW), min(right, LAST_COLUMN))
        found.references[index] = found.references[index]._replace(area=grown)


def _part_of(table: Table, bracket: str, home: int | None, row: int) -> Reference:
    """The columns of a table that a bracket names, in this row where it says so; the whole table where in doubt."""
    area, fixed = table.area, (True, True, True, True)
    columns = [name.lower() for name in table.columns]
    inner = bracket if bracket.startswith("[[") else f"[{bracket}]"
    body = inner[1:-1]
    named = [re.sub(r"'(.)", r"\1", item).lower() for item in _COLUMN_ITEM.findall(body)]
    rest = re.sub(r"\[#[^\[\]]*\]", "", _COLUMN_ITEM.sub("", body)).strip(" ,:")
    if named and not rest and all(name in columns for name in named):
        numbers = [columns.index(name) for name in named]
        top, bottom = (area.top, area.bottom) if "[#" in body else (area.top + table.headings, area.bottom - table.totals)
        area = Area(top, area.left + min(numbers), max(top, bottom), area.left + max(numbers))
    body_row = table.area.top + table.headings <= row <= table.area.bottom - table.totals
    if "[#this row]" in body.lower() and home == table.sheet and body_row:
        area, fixed = Area(row, area.left, row, area.right), (False, True, False, True)
    return Reference(table.sheet, area, fixed)
