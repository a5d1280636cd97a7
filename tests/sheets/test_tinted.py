"""Every tinted cell of the margin workbook is an input: whatever is typed there does what it does in the price book.

A workbook of a price book that uses every sheet is changed in many cells at once, and so is the price book; a spreadsheet program
recalculates the one, the engine costs the other.
"""

from __future__ import annotations

import re
import zipfile
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import trimesh
from books import write_book
from every_sheet_book import Share, every_sheet_book
from referee import without_results
from test_live_model import disagreements, figures, parts_of, recalculate

from pricing.book.declared.column import Column
from pricing.book.declared.settings import SETTINGS
from pricing.book.declared.sheets import SHEETS
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.workbook import write_sheets
from pricing.reports.shared.styles import TINT

#: Cells that are changed together: few enough that no change hides behind another, many enough that few workbooks are recalculated.
TOGETHER = 48

#: What is typed under some headings, and what where the price book has nothing, or 0: by the unit that stands in the brackets.
TYPED: dict[str, tuple[Any, ...]] = {
    "Learning": (0.88,), "Seen long edges": (1, 2), "Seen short edges": (1, 2), "Grooves": (1, 3),
    "List price holds": ("at the usual run",), "Share": (0.5,),
}
BY_UNIT = {"mm": 6, "kg": 0.2, "percent": 0.04, "": 2}

#: A second lip of a top that is seen at one long edge, which cannot be.
CANNOT_BE = "Products!H3"


def workshop(path: Path) -> Path:
    """The price book on disk, its shares in a percentage format, and beside it the model of a piece that is measured."""
    sheets = every_sheet_book()
    path.with_name("basin.stl").write_bytes(trimesh.creation.box((500, 400, 200)).export(file_type="stl"))
    products, headings = sheets["Products"], [str(heading).partition(" (")[0] for heading in sheets["Products"][0]]
    for row in products:
        row.append(None)
    products[0][-1] = "Model"
    basin = {"Product": "A basin", "Shape": "solid", "Mix": "Grey", "Labour plan": "Plain", "Finish": "Sealed", "Rejects": Share(0.04),
             "Made for": "order", "Usual run": 3, "Model": "basin.stl (mm)"}
    products.append([basin.get(heading) for heading in [*headings, "Model"]])
    sheets["Enquiries"].append([*sheets["Enquiries"][-1][:3], "A basin", 3, *[None] * (len(sheets["Enquiries"][0]) - 5)])
    write_book(path, sheets)
    book = openpyxl.load_workbook(path)
    for name, rows in sheets.items():
        for number, row in enumerate(rows, 1):
            for column, cell in enumerate(row, 1):
                if isinstance(cell, Share):
                    book[name].cell(number, column).number_format = "0.00%"
    book.save(path)
    return path


@dataclass
class Made:
    """A price book, its costing and its margin workbook."""

    source: Path
    costing: Costing
    margin: MarginBook
    blank: Path
    places: dict[str, tuple[str, str]]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The workshop that uses every sheet; and by its place in the price book, the sheet and cell of each tinted figure."""
    folder = tmp_path_factory.mktemp("tinted")
    source = workshop(folder / "book.xlsx")
    book = load_price_book(source)
    costing = cost_lines(book, enquired(book))
    assert not costing.problems.errors
    margin = MarginBook(costing, folder / "margin.xlsx", bare=True)
    write_sheets(margin)
    without_results(folder / "margin.xlsx", folder / "blank.xlsx")
    tinted = tinted_cells(folder / "margin.xlsx")
    places = {place: (sheet, cell.replace("$", "")) for place, (sheet, cell, _) in margin.blocks.origins.items()}
    return Made(source, costing, margin, folder / "blank.xlsx", {place: at for place, at in places.items() if at in tinted})


def tinted_cells(path: Path) -> set[tuple[str, str]]:
    """The cells of a workbook that are tinted as inputs."""
    found = set()
    for sheet in openpyxl.load_workbook(path).worksheets:
        for row in sheet.iter_rows():
            found |= {(sheet.title, cell.coordinate) for cell in row if str(cell.fill.fgColor.rgb).endswith(TINT.lstrip("#"))
                      and not cell.protection.locked}
    return found


def test_the_book_uses_every_sheet(made: Made) -> None:
    """Each sheet of the price book has rows, so that no input is left out because a sheet is."""
    names = openpyxl.load_workbook(made.source).sheetnames
    assert {sheet.name for sheet in SHEETS} == set(names)


def test_every_tinted_cell_has_one_place_in_the_price_book(made: Made) -> None:
    """All of them, but the numbers of moulds, which are the program's choice; and what a cell rests on is typed nowhere else."""
    block = made.margin.layout.blocks["lines"]
    chosen = {(block.sheet, f"{block.letters['moulds_at_once']}{block.first + row}") for row in range(len(made.costing.lines))}
    tinted = tinted_cells(made.blank)
    assert len(tinted) > 350
    assert tinted == {*made.places.values(), *chosen}


def column_of(book: Any, place: str) -> Column:
    """The declaration of a cell of the price book: of a column, or of a setting."""
    sheet, _, cell = place.partition("!")
    at = book[sheet][cell]
    if sheet == "Workshop":
        label = book[sheet].cell(at.row, 1).value
        return next(each for each in SETTINGS if each.heading == label)
    heading = str(book[sheet].cell(1, at.column).value).partition(" (")[0]
    return next(each for one in SHEETS if one.name == sheet for each in one.columns if each.heading == heading)


def another(book: Any, place: str, figure: float) -> Any:
    """What is typed instead: another word of the list, a little more, or something where there is nothing."""
    sheet, _, cell = place.partition("!")
    value, column = book[sheet][cell].value, column_of(book, place)
    if column.choices:
        return next(word for word in TYPED.get(column.heading, column.choices) if word != value)
    if column.kind == "yes_no":
        return "no" if figure else "yes"
    if isinstance(value, int | float) and value and column.heading not in TYPED:
        return value + 1 if column.whole else value * (0.98 if sheet == "Cut-outs" else 1.02)  # a cut-out has to keep its rim
    if column.heading in TYPED:
        return next(number for number in TYPED[column.heading] if number != (figure if value is None else value))
    unit = str(book[sheet].cell(1, book[sheet][cell].column).value).partition("(")[2].rstrip(")")
    return BY_UNIT.get("percent" if column.kind == "percent" else unit, 2)


def changed(made: Made, changes: dict[str, Any], out: Path) -> Costing | list[str]:
    """The price book with some cells changed, costed with as many moulds at once as stand in the workbook; or what is wrong with it."""
    book = openpyxl.load_workbook(made.source)
    for place, value in changes.items():
        sheet, _, cell = place.partition("!")
        book[sheet][cell].value = value
    book.save(out)
    read, problems = read_price_book(out)
    if read is None:
        return [str(problem) for problem in problems.errors]
    costing = cost_lines(read, enquired(read), problems)
    if problems.errors:
        return [str(problem) for problem in problems.errors]
    model = costing.model.with_given("lines", {"moulds_at_once": made.costing.model.tables["lines"].given["moulds_at_once"]})
    return replace(costing, model=model, values=evaluate(model))


def typed_at(costing: Costing) -> dict[str, float]:
    """The figure of each place of the price book, in the units of the workbook; of a word, the first that follows from it."""
    found: dict[str, float] = {}
    for rows in costing.model.tables.values():
        for name, places in rows.places.items():
            for row, place in enumerate(places):
                if place:
                    found.setdefault(place, float(rows.given[name][row]))
    return found


def typed_into(made: Made, figures_of: dict[str, float], out: Path) -> None:
    """A copy of the workbook in which the cells of some places hold other figures."""
    parts = parts_of(made.blank)
    by_part: dict[str, dict[str, float]] = {}
    for place, figure in figures_of.items():
        sheet, cell = made.places[place]
        by_part.setdefault(parts[sheet], {})[cell] = figure
    with zipfile.ZipFile(made.blank) as given, zipfile.ZipFile(out, "w") as target:
        for member in given.infolist():
            content = given.read(member)
            for cell, figure in by_part.get(member.filename, {}).items():
                typed = re.compile(rf'(<c r="{cell}"[^>]*>)<v>[^<]*</v>')
                text, count = typed.subn(rf"\g<1><v>{float(f'{figure:.15g}')!r}</v>", content.decode())
                assert count == 1, f"{member.filename} has no typed number in {cell}"
                content = text.encode()
            target.writestr(member.filename, content)


def in_reading_order(place: str) -> tuple[str, int, str]:
    """By sheet, row and column, so that what belongs together is changed together."""
    sheet, _, cell = place.partition("!")
    letters = cell.rstrip("0123456789")
    return sheet, int(cell.removeprefix(letters)), letters.rjust(3)


@pytest.mark.usefixtures("requires_office")
def test_whatever_is_typed_into_a_tinted_cell_does_what_it_does_in_the_price_book(made: Made, tmp_path: Path) -> None:
    """Every one of them is changed, four dozen to a workbook, and the numbers of moulds: it gives what the engine gives."""
    book, now = openpyxl.load_workbook(made.source), typed_at(made.costing)
    order = sorted(made.places.keys() - {CANNOT_BE}, key=in_reading_order)
    groups = [list(group) for group in (order[at:at + TOGETHER] for at in range(0, len(order), TOGETHER))]
    expected, copies = [], []
    for number, group in enumerate(groups):
        costing = changed(made, {place: another(book, place, now[place]) for place in group}, made.source.with_name("changed.xlsx"))
        assert isinstance(costing, Costing), f"{group}: {costing}"
        then = typed_at(costing)
        assert [place for place in group if then[place] == now[place]] == []
        typed_into(made, {place: then[place] for place in group}, tmp_path / f"{number}.xlsx")
        expected.append(costing)
        copies.append(tmp_path / f"{number}.xlsx")
    more = made.costing.line("moulds_at_once") + made.costing.line("has_mould")
    block = made.margin.layout.blocks["lines"]
    cells = {f"line {row}": (block.sheet, f"{block.letters['moulds_at_once']}{block.first + row}") for row in range(len(more))}
    typed_into(replace(made, places=cells), dict(zip(cells, more.tolist(), strict=True)), tmp_path / "moulds.xlsx")
    model = made.costing.model.with_given("lines", {"moulds_at_once": more})
    groups, copies = [*groups, list(cells)], [*copies, tmp_path / "moulds.xlsx"]
    expected.append(replace(made.costing, model=model, values=evaluate(model)))
    wrong = {}
    for group, costing, result in zip(groups, expected, recalculate(copies, tmp_path), strict=True):
        found = disagreements(figures(result, made.margin), costing)
        if found:
            wrong[f"{group[0]} to {group[-1]}"] = found[:3]
    assert wrong == {}
