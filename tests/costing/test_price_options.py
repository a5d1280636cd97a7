"""What the options of the price book do to a price: learning, interest, board by whole sheets, solids of admixtures."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import set_cell, small_book, write_book
from referee import formulas_of, recalculated, stored

from pricing.book.reading.read import load_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_catalogue, cost_quotes
from pricing.problems import BookError
from pricing.reports.margin.workbook import write_margin
from pricing.rules.shapes import SHAPES

DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"
MAKER, OVERHEAD = 24 / 60, 10 / 60
MIXER = (2000 - 200) / 3000 + 0.4 + 1.6 * 0.25
CASTS = 4 / 0.95  # of four slabs at 5 % rejects

Sheets = dict[str, list[list[Any]]]


def costed(folder: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)), ["Q-1"])


def taught(step: str, slope: str, form: str) -> Sheets:
    """The small workshop in which one step is learnt."""
    sheets = small_book()
    sheets["Labour"][0].append("Learning")
    for row in sheets["Labour"][1:]:
        row.append(slope if row[1] == step else None)
    sheets["Workshop"].append(["Learning form", form, None])
    return sheets


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    """The small workshop without any option."""
    return costed(tmp_path_factory.mktemp("plain"), small_book())


def crawford(slope: float, repetitions: float) -> float:
    """Average time of so many repetitions in the unit form, added up one by one."""
    power = math.log2(slope)
    whole = int(repetitions)
    total = sum(number**power for number in range(1, whole + 1)) + (repetitions - whole) * (whole + 1) ** power
    return total / repetitions


@pytest.mark.parametrize(
    ("step", "minutes", "repetitions", "count"),
    [
        ("Cast", 12, CASTS, CASTS / 4),  # a cast is repeated with every cast
        ("Grind", 20, 4, 0.5 / 0.95),  # what is counted by area is repeated with every piece; rejected pieces are ground too
        ("Build mould", 60, 1, 1 / 4),  # one mould: nothing is learnt
        ("Set out", 30, 1, 1 / 4),
    ],
)
@pytest.mark.parametrize(("form", "slope"), [("unit", 0.9), ("cumulative average", 0.8), ("unit", 1.0)])
def test_learning(
    plain: Costing, tmp_path: Path, step: str, minutes: float, repetitions: float, count: float, form: str, slope: float
) -> None:
    """A step that is learnt takes its minutes times the average over the run, in wages and in overhead, and nothing else changes."""
    costing = costed(tmp_path, taught(step, f"{slope:.0%}", form))
    average = crawford(slope, repetitions) if form == "unit" else repetitions ** math.log2(slope)
    saved = minutes * count * (1 - average)
    column = "mould_cost" if step == "Build mould" else "labour_cost"
    assert costing.line(column)[0] == pytest.approx(plain.line(column)[0] - saved * MAKER, rel=1e-12)
    assert costing.line("unit_cost")[0] == pytest.approx(plain.line("unit_cost")[0] - saved * (MAKER + OVERHEAD), rel=1e-12)
    assert costing.line("unit_price")[0] == math.ceil(round(costing.line("unit_cost")[0] / 0.6, 6))


def test_interest_on_machines(plain: Costing, tmp_path: Path) -> None:
    """A mixer of 2000, resold for 200 after ten years of 300 hours, at 6 %: 23.8 cents an hour more.

    Average investment over ten years, by the mean of the values at the start of each: ((10 - 1) x 1.1 + 2) / 20 = 0.595.
    """
    sheets = small_book()
    sheets["Workshop"].append(["Interest rate", "6 %", None])
    sheets["Machines"][0].append("Hours per year")
    sheets["Machines"][1].append(300)
    costing = costed(tmp_path, sheets)
    interest = 2000 * 0.595 * 0.06 / 300
    hours = 15 * (4 / 0.95) / 4 / 60  # one mould: a load on each of the days of casting, for four slabs
    assert interest == pytest.approx(0.238, abs=1e-12)
    assert costing.line("machine_cost")[0] == pytest.approx(hours * (MIXER + interest), rel=1e-12)
    assert costing.line("unit_cost")[0] == pytest.approx(plain.line("unit_cost")[0] + hours * interest, rel=1e-12)


def test_interest_without_hours_per_year(tmp_path: Path) -> None:
    """Where nothing is said of the year there is no interest to reckon with: the hours are asked for."""
    sheets = small_book()
    sheets["Workshop"].append(["Interest rate", "6 %", None])
    with pytest.raises(BookError, match="Mixer has no Hours per year"):
        costed(tmp_path, sheets)


def test_board_by_whole_sheets(plain: Costing, tmp_path: Path) -> None:
    """One mould of 0.678 square metres pays for the sheet of five square metres that it is cut from."""
    sheets = small_book()
    sheets["Workshop"].append(["Board bought by", "sheets", None])
    costing = costed(tmp_path, sheets)
    board = 0.5 + 2 * (1.036 * 0.058) + 2 * (0.5 * 0.058)
    more = (2.5 * 2.0 - board) * 50 / 5 * 1.2 / 4
    assert costing.line("board_charged")[0] == 5.0
    assert costing.line("mould_cost")[0] == pytest.approx(plain.line("mould_cost")[0] + more, rel=1e-12)
    assert costing.line("unit_cost")[0] == pytest.approx(plain.line("unit_cost")[0] + more, rel=1e-12)


@pytest.mark.parametrize(("kerf", "sheets_bought"), [(1, 1), (None, 2), (3, 2)])
def test_the_kerf_of_the_saw_may_take_another_sheet(tmp_path: Path, kerf: float | None, sheets_bought: int) -> None:
    """Base, two sides and a row of two ends are 500 + 58 + 58 + 58 wide: three cuts of 1 mm fit into 680, of 3 mm do not.

    A blank kerf is 3 mm.
    """
    sheets = small_book()
    sheets["Workshop"] += [["Board bought by", "sheets", None], *([["Saw kerf (mm)", kerf, None]] if kerf else [])]
    set_cell(sheets, "Products", "Slab 1000", "Rejects", "0 %")
    set_cell(sheets, "Materials", "Melamine", "Sheet length", 1040)
    set_cell(sheets, "Materials", "Melamine", "Sheet width", 680)
    assert costed(tmp_path, sheets).line("board_charged")[0] == pytest.approx(sheets_bought * 1.04 * 0.68, rel=1e-12)


@pytest.mark.parametrize(("solids", "water"), [(None, 220.0), ("30 %", 220 + 0.7 * 4.32), ("100 %", 220.0)])
def test_water_of_admixtures(tmp_path: Path, solids: str | None, water: float) -> None:
    """Eight millilitres for each of 500 kg of cement are 4 litres, 4.32 kg; what is not solids counts as water, and costs no more."""
    sheets = small_book()
    sheets["Materials"][0].append("Solids")
    for row in sheets["Materials"][1:]:
        row.append(solids if row[0] == "Flow" else None)
    costing = costed(tmp_path, sheets)
    row = costing.model.tables["mixes"].text["mix"].tolist().index("Dark")
    assert costing.values.value("mixes", "water_binder_ratio")[row] == pytest.approx(water / 500, rel=1e-12)
    price = 500 * 0.4 + 1450 * 0.1 + 220 * 0.002 + 20 * 6 + 4 * 8
    assert costing.values.value("mixes", "mix_price")[row] == pytest.approx(price, rel=1e-12)


def with_all_options(folder: Path) -> Path:
    """The demo price book with every option: learning, interest, whole sheets, solids."""
    book = openpyxl.load_workbook(DEMO)

    def add(sheet: str, heading: str, value: Any) -> None:
        cells = book[sheet]
        top = next(cell for row in cells.iter_rows() for cell in row if cell.value and str(cell.value).partition(" (")[0] == FIRST[sheet])
        there = (cell.column for cell in cells[top.row] if str(cell.value).partition(" (")[0] == heading)
        column = next(there, cells.max_column + 1)
        cells.cell(top.row, column, heading)
        for row in range(top.row + 1, cells.max_row + 1):
            name = cells.cell(row, top.column + (1 if sheet == "Labour" else 0)).value
            if name and (found := value(name)) is not None:
                cells.cell(row, column, found)

    add("Labour", "Learning", {"Fill the mould": 0.92, "Screw the mould together": 0.9, "Polish the face": 0.95}.get)
    add("Machines", "Hours per year", lambda machine: 400)
    add("Materials", "Solids", {"Acrylic polymer": 0.45, "Superplasticiser": 0.3}.get)
    workshop = book["Workshop"]
    top = next(cell for row in workshop.iter_rows() for cell in row if cell.value == "Setting")
    written = {str(workshop.cell(row, top.column).value).partition(" (")[0]: row for row in range(top.row + 1, workshop.max_row + 1)}
    for name, value in (
        ("Interest rate", "6 %"), ("Learning form", "cumulative average"), ("Board bought by", "sheets"),
        ("List price holds", "at the usual run"),
    ):
        workshop.cell(written[name], top.column + 1, value)
    book.save(folder / "options.xlsx")
    return folder / "options.xlsx"


#: The first heading of a sheet.
FIRST = {"Labour": "Labour plan", "Machines": "Machine", "Materials": "Material"}


@pytest.mark.usefixtures("requires_office")
def test_a_spreadsheet_agrees_on_every_shape_with_every_option(tmp_path: Path) -> None:
    """A margin workbook with all shapes, all bases and all options has the engine's figure in every cell, computed afresh."""
    book = load_price_book(with_all_options(tmp_path))
    costing = cost_catalogue(book, book.tables["Enquiries"].columns["date"].max().astype("datetime64[D]").astype(object))
    shapes = set(book.tables["Products"].columns["shape"].tolist())
    assert shapes == set(SHAPES)
    assert set(book.tables["Mixes"].columns["basis"].tolist()) == {
        "parts by mass", "parts by volume", "kg/m3", "L/m3", "% of binder", "mL/kg binder", "% of volume"}
    assert (costing.values.value("steps", "average_minutes_factor") < 1).any()
    assert costing.values.value("machines", "machine_rate_with_interest")[1] > costing.values.value("machines", "machine_rate")[1]
    assert costing.setting("board_by_sheets") == 1
    assert costing.setting("cumulative_average") == 1
    assert costing.setting("list_at_usual_run") == 1
    path = tmp_path / "margin summary.xlsx"
    write_margin(costing, path)
    assert len(formulas_of(path)) > 3000
    mine, theirs = stored(path), recalculated(path)
    wrong = []
    for sheet in mine.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                one, other = cell.value, theirs[sheet.title][cell.coordinate].value
                if isinstance(one, int | float) and isinstance(other, int | float):
                    same = math.isclose(one, other, rel_tol=1e-12, abs_tol=1e-15)
                else:
                    same = (one or None) == (other or None)
                if not same:
                    wrong.append(f"{sheet.title}!{cell.coordinate}: {one!r} is not {other!r}")
    assert wrong == []
