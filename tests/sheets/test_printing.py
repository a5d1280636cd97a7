"""What prints of the maker's workbooks: the pages that a maker keeps, in type that can be read; the rest says that it is for the screen."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet
from print_areas import area_of, width_of

from pricing.book.reading.read import load_price_book
from pricing.costing.run import cost_quotes
from pricing.reports.margin.workbook import write_margin
from pricing.reports.shared.paging import SIZES, room_between_margins
from pricing.reports.shared.report_book import SCREEN
from pricing.xlsx.writing.text_width import text_width

WORKBOOKS = Path(__file__).parents[2] / "workbooks"

#: The smallest type that is printed [points].
SMALLEST = 6.0


@pytest.fixture(scope="module", params=["demo price book", "demo price book imperial"])
def margin(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The margin workbook of a demo price book."""
    path = tmp_path_factory.mktemp("printing") / "margin.xlsx"
    write_margin(cost_quotes(load_price_book(WORKBOOKS / f"{request.param}.xlsx")), path)
    return path


def smallest_type(sheet: Worksheet) -> float:
    """The size in which the smallest type of a sheet is printed, made as narrow as its paper [points]."""
    area = area_of(sheet)
    assert area is not None
    first, _, last, bottom = area
    wide = width_of(sheet, first, last)
    paper = "A4" if int(sheet.page_setup.paperSize) == 9 else "Letter"
    side = room_between_margins(paper, landscape=sheet.page_setup.orientation == "landscape")[1] * int(sheet.page_setup.fitToWidth or 1)
    cells = [cell for row in sheet.iter_rows(first, bottom, first, last) for cell in row if cell.value is not None]
    return min(float(cell.font.sz or 10) for cell in cells) * min(1.0, side / wide)


def test_three_sheets_of_the_margin_summary_print(margin: Path) -> None:
    """The summary, what the margin hangs on and why each price is what it is; every other sheet says that it is for the screen."""
    book = openpyxl.load_workbook(margin)
    assert [sheet.title for sheet in book.worksheets if area_of(sheet)] == ["Summary", "Sensitivity", "Why"]
    for sheet in book.worksheets:
        told = SCREEN in " ".join(str(cell.value) for cell in sheet[3])
        assert told == (area_of(sheet) is None), sheet.title


def test_no_type_that_prints_is_too_small(margin: Path) -> None:
    """Nothing is printed in less than six points."""
    sizes = {sheet.title: smallest_type(sheet) for sheet in openpyxl.load_workbook(margin).worksheets if area_of(sheet)}
    assert min(sizes.values()) >= SMALLEST - 0.01, sizes


def test_what_the_margin_hangs_on_is_told_whole(margin: Path) -> None:
    """The longest name of what is moved ends before what kind it is of begins."""
    sheet = openpyxl.load_workbook(margin, data_only=True)["Sensitivity"]
    first = next(row for row in range(1, sheet.max_row) if sheet.cell(row, 1).value == "Input") + 1
    names = [str(sheet.cell(row, 1).value) for row in range(first, first + 10)]
    assert "Kind" not in names
    assert max(text_width(name, 10) for name in names) < width_of(sheet, 1, 1) / 0.75


def test_papers_are_those_of_the_standards() -> None:
    """A4 is 210 by 297 mm (ISO 216), Letter 8.5 by 11 inches (ANSI/ASME Y14.1, from memory), to the nearest point."""
    assert {"A4": (round(297 / 25.4 * 72), round(210 / 25.4 * 72)), "Letter": (11 * 72, 8.5 * 72)} == SIZES
