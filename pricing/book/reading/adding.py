"""What an existing price book gets when an option or a shape is added to it later: the sheets and columns that it does not have."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path

from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.declared.options import OF_SHAPES, is_column_wanted
from pricing.book.declared.sheets import SHEETS
from pricing.book.reading.headings import Headings, find_headings
from pricing.book.starter.write import FIRST_ROW, HEADING_ROW, LISTED_ROWS, PURPOSE_ROW, SPARE_ROWS, TITLE_ROW
from pricing.book.wording.reporter import Reporter
from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.text import fold
from pricing.xlsx.addresses import Position, address, column_letters
from pricing.xlsx.cells import CellWrite
from pricing.xlsx.editing.add_sheet import NewSheet
from pricing.xlsx.reading.cell_table import Sheet
from pricing.xlsx.reading.grid import Grid
from pricing.xlsx.reading.workbook import read_workbook

#: Columns of Materials from whose first cells a new sheet takes its formats.
_MODELS = {"text": "material", "figure": "pack_price", "date": "priced_on"}


@dataclass(frozen=True)
class Additions:
    """What is to be added to a price book.

    Parameters
    ----------
    sheets : new ones
    headings : of new columns, each with its cell
    """

    sheets: tuple[NewSheet, ...]
    headings: tuple[CellWrite, ...]

    def words(self) -> list[str]:
        """What is added, for a maker: ``sheet Layers``, ``Products: Use``."""
        return [f"sheet {sheet.name}" for sheet in self.sheets] + [f"{each.sheet}: {each.value}" for each in self.headings]


@dataclass(frozen=True)
class _Found:
    """A sheet of the book with its headings."""

    declared: SheetDeclaration
    sheet: Sheet
    grid: Grid
    headings: Headings


def additions(path: Path, options: Collection[str], shapes: Collection[str], problems: Problems) -> Additions:
    """What is missing in a price book for some options and shapes.

    Parameters
    ----------
    path : of the price book
    options : of a new book
    shapes : whose dimensions are wanted
    problems : collects why the book cannot be read
    """
    workbook = read_workbook(path, problems)
    if workbook is None:
        return Additions((), ())
    chosen = {*options, *(OF_SHAPES[shape] for shape in shapes if shape in OF_SHAPES)}
    found = {each.declared.name: each for each in _found(workbook.sheets)}
    units = _units(found.values())
    sheets, headings = [], []
    for declared in SHEETS:
        wanted = replace(declared, columns=tuple(_in(units, column) for column in declared.columns))
        if declared.name in found:
            headings += list(_columns(found[declared.name], wanted, chosen, shapes))
        elif declared.option in chosen and declared.option:
            sheets.append(_sheet(wanted, chosen, found))
    return Additions(tuple(sheets), tuple(headings))


def _found(sheets: Collection[Sheet]) -> list[_Found]:
    there = {fold(sheet.name): sheet for sheet in reversed(list(sheets))}
    made = []
    for declared in SHEETS:
        sheet = next((there[fold(name)] for name in declared.names if fold(name) in there), None)
        if sheet is not None:
            grid = Grid(sheet)
            headings = find_headings(grid, declared, Reporter(Problems(""), sheet.name))
            if headings is not None:
                made.append(_Found(declared, sheet, grid, headings))
    return made


def _units(found: Collection[_Found]) -> dict[str, str]:
    """Units that the headings of the book say where others are usual: inches, where its lengths are in inches."""
    return {
        column.plain_unit: each.headings.units[column.name]
        for each in found
        for column in each.declared.columns
        if column.name in each.headings.units and column.plain_unit and column.kind == "number" and not column.is_money
    }


def _in(units: Mapping[str, str], column: Column) -> Column:
    unit = units.get(column.plain_unit)
    return replace(column, shown=unit) if unit and column.unit else column


def _columns(found: _Found, wanted: SheetDeclaration, chosen: Collection[str], shapes: Collection[str]) -> list[CellWrite]:
    """The headings of the columns that a sheet lacks, to the right of those that it has."""
    last = max(found.headings.places.values())
    taken = set(found.grid.columns[found.grid.filled()].tolist())
    made: list[CellWrite] = []
    for column in wanted.columns:
        usual = not column.option and column.name not in _dimension_names(wanted)
        if usual or column.name in found.headings.places or not is_column_wanted(wanted, column, chosen, shapes):
            continue
        place = next(each for each in range(last + 1, last + len(taken) + len(made) + 2) if each not in taken)
        taken.add(place)
        like = address(found.headings.row, last)
        made.append(CellWrite(found.sheet.name, address(found.headings.row, place), column.headed(), like))
    return made


def _dimension_names(declared: SheetDeclaration) -> tuple[str, ...]:
    from pricing.book.declared.dimensions import DIMENSION_NAMES

    return DIMENSION_NAMES if declared.name in ("Products", "Enquiries") else ()


def _sheet(declared: SheetDeclaration, chosen: Collection[str], found: Mapping[str, _Found]) -> NewSheet:
    """A new sheet that looks like those of the book."""
    columns = [column for column in declared.columns if is_column_wanted(declared, column, chosen, ())]
    cells: dict[Position, tuple[str, str]] = {
        (TITLE_ROW + 1, 1): (declared.name, "title"), (PURPOSE_ROW + 1, 1): (declared.purpose, "purpose"),
    }
    lists = []
    for place, column in enumerate(columns, 1):
        cells[HEADING_ROW + 1, place] = (column.headed(), "heading")
        look = "date" if column.kind == "date" else "figure" if column.is_number and column.kind != "yes_no" else "text"
        cells |= {(FIRST_ROW + 1 + row, place): ("", look) for row in range(SPARE_ROWS)}
        letters = column_letters(place)
        if formula := _list(column, found):
            lists.append((f"{letters}{FIRST_ROW + 1}:{letters}{FIRST_ROW + LISTED_ROWS}", formula))
    widths = [max(column.width, len(column.headed()) * 1.15 + 3, 9.0) + 2 for column in columns]
    return NewSheet(declared.name, cells, widths, _looks(found), lists, (HEADING_ROW + 1, declared.frozen))


def _list(column: Column, found: Mapping[str, _Found]) -> str:
    """The formula of a drop-down list; empty where a column has none."""
    target = found.get(column.refers_to)
    if target is not None and target.declared.columns[0].name in target.headings.places:
        letters = column_letters(target.headings.places[target.declared.columns[0].name])
        first = target.headings.row + 1
        name = target.sheet.name.replace("'", "''")
        return f"'{name}'!${letters}${first}:${letters}${first + LISTED_ROWS}"
    words = list(column.choices) or (["yes", "no"] if column.kind == "yes_no" else [])
    listed = ",".join(words)
    return f'"{listed}"' if words and len(listed) <= 255 else ""


def _looks(found: Mapping[str, _Found]) -> dict[str, tuple[str, str]]:
    """The cells of Materials whose formats a new sheet takes: title, heading, text, figure and day."""
    if "Materials" not in found:
        return {}
    materials = found["Materials"]
    row, name = materials.headings.row, materials.sheet.name
    looks = {look: (name, address(row + 1, materials.headings.places[column])) for look, column in _MODELS.items()
             if column in materials.headings.places}
    looks["heading"] = (name, address(row, materials.headings.places.get("material", 1)))
    if row > 1:
        looks |= {"title": (name, "A1"), "purpose": (name, "A2")}
    return looks
