"""The second demo workshop, in inches, pounds and US gallons: read, priced end to end, and equal to its metric twin."""

from __future__ import annotations

import copy
import re
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import set_cell, small_book
from books import write_book as written

from pricing.api import price_quotes, review
from pricing.book.declared.settings import SETTINGS
from pricing.book.declared.sheets import SHEETS
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.book.starter.demo_imperial import DEMO_IMPERIAL, MEASURES, write_demo_imperial
from pricing.book.starter.write import write_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.reports.quote.workbook import write_quote

BOOK = Path(__file__).parents[2] / "workbooks" / "demo price book imperial.xlsx"

#: What one of each is in the unit of the metric book. Source: the international yard and pound agreement of 1959 (yard 0.9144 m,
#: pound 0.45359237 kg); US gallon 231 cubic inches, fluid ounce 1/128 gallon; horsepower 550 foot-pounds a second (standard gravity).
INCH, POUND = 0.0254, 0.45359237
FOOT, GALLON = 12 * INCH, 231 * INCH**3 * 1000
OUNCE = GALLON / 128
ONE: dict[str, float] = {
    "in": INCH * 1000, "ft": FOOT, "ft2": FOOT**2, "gal (US)": GALLON, "lb": POUND, "lb/ft3": POUND / FOOT**3,
    "ft2/gal (US)": FOOT**2 / GALLON, "hp": 550 * FOOT * POUND * 9.80665 / 1000,
}

#: The same for what stands in a cell: the figure in the unit of the row.
IN_CELLS: dict[str, float] = {
    "lb": POUND, "US gal": GALLON, "US fl oz": OUNCE, "ft": FOOT, "ft2": FOOT**2, "ft3": FOOT**3 * 1000,
    "lb/yd3": POUND / (3 * FOOT) ** 3, "US gal/yd3": GALLON / (3 * FOOT) ** 3, "US fl oz/lb": OUNCE * 1000 / POUND,
    "ft2/each": FOOT**2, "ft/each": FOOT, "ft2/US gal": FOOT**2 / GALLON,
}

#: The words that count by the foot and the pound.
COUNTED: dict[str, tuple[str, float]] = {"ft2": ("m2", FOOT**2), "ft": ("m", FOOT), "lb": ("kg", POUND)}

_TYPED = re.compile(r"^([\d.]+) (.+)$")


def metric(value: Any, unit: str) -> Any:
    """A cell of the imperial book as the metric one has it."""
    if isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        return value * ONE[unit] if unit else value
    if value == "8 ft":
        return 96 * INCH * 1000
    if value == "4 ft 6 in":
        return 54 * INCH * 1000
    if isinstance(value, str) and (typed := _TYPED.match(value)) and typed[2] in IN_CELLS:
        return float(typed[1]) * IN_CELLS[typed[2]]
    return value


def twin() -> dict[str, list[dict[str, Any]]]:
    """The same book in millimetres, kilograms and litres, by this file's own factors."""
    data: dict[str, list[dict[str, Any]]] = copy.deepcopy(DEMO_IMPERIAL)
    for declared in SHEETS:
        columns = SETTINGS if declared.name == "Workshop" else declared.columns
        units = {column.heading: MEASURES.get(column.plain_unit, "") if column.unit else "" for column in columns}
        for row in data.get(declared.name, []):
            for heading, value in row.items():
                row[heading] = metric(value, units[heading])
            _by_the_metre(row)
    return data


def _by_the_metre(row: dict[str, Any]) -> None:
    """A row whose word counts by the foot or the pound, by the metre or the kilogram; what covers says its own unit."""
    for heading in ("Per", "Surface"):
        unit, _, of = str(row.get(heading) or "").partition(" ")
        if unit in COUNTED:
            word, one = COUNTED[unit]
            row[heading] = f"{word} {of}".strip()
            row |= {name: row[name] / one for name in ("Minutes", "Amount") if name in row}


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Costing, Costing]:
    """All quotes of the imperial book and of its twin, costed."""
    path = tmp_path_factory.mktemp("twin") / "metric.xlsx"
    write_book(path, twin())
    return cost_quotes(load_price_book(BOOK)), cost_quotes(load_price_book(path))


@pytest.mark.parametrize("column", ["unit_cost", "unit_price", "line_net", "mass", "labour_hours", "concrete_cost", "mould_cost",
                                    "finish_cost", "machine_cost", "extras_cost"])
def test_the_metric_twin_costs_the_same(both: tuple[Costing, Costing], column: str) -> None:
    """To nine digits in every line: no unit is lost on the way."""
    imperial, other = both
    assert other.line(column).tolist() == pytest.approx(imperial.line(column).tolist(), rel=1e-9)


def test_the_totals_are_equal_to_the_cent(both: tuple[Costing, Costing]) -> None:
    """Net, sales tax and payable are the same amounts; the reseller pays no tax."""
    for name in ("net", "tax", "payable", "deposit", "carriage"):
        assert both[0].quote(name).tolist() == both[1].quote(name).tolist()
    assert both[0].quote("tax")[0] > 0
    assert both[0].quote("tax")[1] == 0


def test_it_is_read_without_a_problem() -> None:
    """94 lb in a pack unit of kg, 710 lb/yd3 in kg/m3, 360 ft2/US gal for a litre: each is converted, nothing is guessed."""
    book, problems = read_price_book(BOOK)
    assert [str(problem) for problem in problems] == []
    assert book is not None
    materials = book.tables["Materials"]
    row = materials["material"].tolist().index("White portland")
    assert materials["pack_size"][row] == pytest.approx(94 * POUND, rel=1e-14)
    assert materials["density"][row] == pytest.approx(194 * POUND / FOOT**3, rel=1e-14)
    assert book.settings["mixer_load"] == pytest.approx(18 * GALLON, rel=1e-14)


def test_examples_stand_in_the_units_of_the_book(tmp_path: Path) -> None:
    """What is to be typed, and between what, is told in the unit of the heading; and in inches and pounds where no heading says it."""
    sheets = small_book()
    sheets["Workshop"] += [["Measures", "inches and pounds", None]]
    sheets["Workshop"][14:15] = [["Mixer load (gal (US))", "ten", None]]
    sheets["Products"][0] = [str(each).replace("h (mm)", "h (in)") for each in sheets["Products"][0]]
    sheets["Products"][1][3:6], sheets["Products"][2][3:6] = [40, "wide", "thick"], [9999, None, 25]
    set_cell(sheets, "Materials", "Cement", "Pack size", "a bag")
    set_cell(sheets, "Materials", "Sand", "Density", None)
    _, problems = read_price_book(written(tmp_path / "book.xlsx", sheets))
    said = {f"{each.sheet}!{each.cell}": each.message for each in problems.errors}
    expected = {
        "Workshop!B15": "16 gal (US)", "Materials!C2": "25 lb", "Materials!H3": "165 lb/ft3", "Products!E2": "16 in",
        "Products!F2": "25 mm", "Products!E3": "16 in",
    }
    assert {cell: said[cell].rpartition("such as ")[2] for cell in expected} == expected
    assert "between 0.394 in and 472 in" in said["Products!D3"]


def test_headings_say_the_units() -> None:
    """Every figure of a length, mass or volume stands under inches or pounds, on paper of the country."""
    workbook = openpyxl.load_workbook(BOOK)
    headings = {cell.value for sheet in workbook.worksheets for cell in sheet[4] if cell.value}
    assert {"Length (in)", "Density (lb/ft3)", "Up to (lb)", "Unit mass (lb)", "Power (hp)"} <= headings
    assert not [text for text in headings if re.search(r"\((mm|kg|L|m2|kW|kg/m3)\)", str(text))]
    assert {str(sheet.page_setup.paperSize) for sheet in workbook.worksheets} == {"1"}


def test_the_book_in_the_folder_is_the_one_that_is_written(tmp_path: Path) -> None:
    """Part by part; python -m pricing.book.starter.demo_imperial "workbooks/demo price book imperial.xlsx" writes it anew."""
    write_demo_imperial(tmp_path / "demo.xlsx")
    with zipfile.ZipFile(tmp_path / "demo.xlsx") as one, zipfile.ZipFile(BOOK) as other:
        assert one.namelist() == other.namelist()
        assert [name for name in one.namelist() if one.read(name) != other.read(name)] == []


def test_quotes_speak_inches_and_pounds(tmp_path: Path) -> None:
    """Sizes, weights, the weight in all and the caution; not a kilogram or a millimetre on the page."""
    costing = cost_quotes(load_price_book(BOOK))
    write_quote(costing, "T-202", tmp_path / "quote.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "quote.xlsx")["Quote"]
    cells = [cell for row in sheet.iter_rows() for cell in row if cell.value is not None]
    words = "\n".join(str(cell.value) for cell in cells)
    assert '88 1/2" × 25 1/2" × 1 3/4"' in words
    assert "Weight\neach (lb)" in words
    assert "which is more than one person should lift" in words
    assert re.search(r"weigh about [\d.]+ to [\d.]+ lb each", words)
    assert not re.search(r"\b(kg|mm)\b", words)
    assert any(cell.number_format == '#,##0" lb"' for cell in cells)
    masses = [cell.value for cell in cells if cell.number_format == "#,##0.0"]
    assert masses == pytest.approx([mass / POUND for mass in costing.line("mass")[2:].tolist()], rel=1e-12)


def test_it_prices_end_to_end(tmp_path: Path) -> None:
    """Two quotes and the margin workbook, warned of weights in pounds."""
    done = price_quotes(BOOK, out=tmp_path)
    assert [path.name for path in done.written] == ["T-201 quote.xlsx", "T-202 quote.xlsx", "margin summary.xlsx"]
    heavy = [problem.message for problem in done.problems if problem.code == "heavy-piece"]
    assert heavy
    assert all("more than the 50 lb that one person should lift" in message for message in heavy)


def test_a_finished_job_is_reviewed() -> None:
    """Records in pounds and gallons are held against what was allowed; an order is looked ahead at."""
    found = review(BOOK, quotes=["T-201", "T-202"])
    assert found.review is not None
    assert found.capacity is not None
    items = {item["item"]: item for item in found.review.items()[0] if item["recorded"]}
    assert items["White portland"]["taken"] == pytest.approx(43 * POUND)
    assert items["Densifying sealer"]["taken"] == pytest.approx(0.075 * GALLON)
    assert not found.problems.errors


@pytest.mark.parametrize(("measures", "size", "unit"), [
    ("metric", "914.4", "kg"), ("inches and pounds", '36" ×', "lb"), ("", '36" ×', "kg"),
])
def test_measures_are_the_makers_choice(tmp_path: Path, measures: str, size: str, unit: str) -> None:
    """The setting decides; where it is blank, sizes are as they were typed and weights in kg."""
    data = copy.deepcopy(DEMO_IMPERIAL)
    data["Workshop"][0]["Measures"] = measures
    write_book(tmp_path / "book.xlsx", data, measures=MEASURES)
    costing = cost_quotes(load_price_book(tmp_path / "book.xlsx"))
    write_quote(costing, "T-201", tmp_path / "quote.xlsx")
    words = "\n".join(
        str(cell.value) for row in openpyxl.load_workbook(tmp_path / "quote.xlsx")["Quote"].iter_rows() for cell in row if cell.value)
    assert size in words
    assert f"Weight\neach ({unit})" in words
