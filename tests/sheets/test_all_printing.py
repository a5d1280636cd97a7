"""What prints of every workbook of both demo workshops: type that can be read, headings that go on, and no small table divided."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import openpyxl
import pytest
from metric_words import metric_words
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet
from print_areas import area_of, width_of

import pricing
from pricing.reports.shared.paging import room_between_margins

WORKBOOKS = Path(__file__).parents[2] / "workbooks"

#: The smallest type that is printed [points], and the least height of a table that may be divided, as a share of a page.
SMALLEST, SMALL_TABLE = 6.0, 0.5

#: What a program may set narrower or wider than another [share].
SLACK = 1.01


@pytest.fixture(scope="module", params=[("demo price book", "Grey cement"), ("demo price book imperial", "Gray portland")])
def books(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Workbook]:
    """The quotes, the margin summary, the workshop workbooks, the repricing, the review and the price list, by their names."""
    name, material = request.param
    folder = tmp_path_factory.mktemp("all")
    book = Path(shutil.copy(WORKBOOKS / f"{name}.xlsx", folder / "book.xlsx"))
    out = folder / "out"
    made = pricing.quote(book, out=out, record="issued")
    assert made.costing is not None
    pricing.workshop(book, quotes=list(made.costing.quotes)[:1], out=out)
    pricing.reprice(book, changes={material: "+12%", "Release covers": "+10%"}, out=out)
    pricing.review(book, out=out)
    # A day of the month that is an hourly cost of the demo as well would not be delivered.
    pricing.publish(book, price_list=True, out=out, day=datetime.date(2026, 12, 1))
    paths = sorted(out.glob("*.xlsx"))
    kinds = {path.stem.rpartition(" ")[2] for path in paths}
    assert {"quote", "summary", "workshop", "repricing", "review", "list"} <= kinds, kinds
    return {path.stem: openpyxl.load_workbook(path) for path in paths}


@pytest.fixture(scope="module")
def sheets(books: dict[str, Workbook]) -> dict[str, Worksheet]:
    """Every sheet of them that prints."""
    return {f"{name}: {sheet.title}": sheet for name, book in books.items() for sheet in book.worksheets if area_of(sheet) is not None}


def scale_of(sheet: Worksheet) -> float:
    """How much smaller a sheet is printed than it is set."""
    area = area_of(sheet)
    assert area is not None
    first, top, last, bottom = area
    wide = width_of(sheet, first, last)
    paper = "A4" if int(sheet.page_setup.paperSize or 1) == 9 else "Letter"
    high, side = room_between_margins(paper, landscape=sheet.page_setup.orientation == "landscape")
    scales = [1.0, side * int(sheet.page_setup.fitToWidth or 1) / wide]
    if sheet.page_setup.fitToHeight in (None, 1):
        usual = sheet.sheet_format.defaultRowHeight or 15.0
        scales.append(high / sum(sheet.row_dimensions[row].height or usual for row in range(top, bottom + 1)))
    return min(scales)


def test_no_page_of_a_workshop_in_inches_names_a_metre_a_kilogram_or_a_litre(books: dict[str, Workbook]) -> None:
    """Headings, notes, number formats and texts of every sheet, and each on Letter paper; a metric workshop's do, on A4."""
    found = {name: metric_words(book) for name, book in books.items()}
    papers = {int(sheet.page_setup.paperSize or 1) for book in books.values() for sheet in book.worksheets}
    if any(name.startswith("T-") for name in books):
        assert {name: words[:5] for name, words in found.items() if words} == {}
        assert papers == {1}
    else:
        assert all(found[name] for name in ("margin summary", "repricing", "review"))
        assert papers == {9}


def test_nothing_is_printed_in_less_than_six_points(sheets: dict[str, Worksheet]) -> None:
    """The smallest type of each sheet, as small as its paper makes it."""
    found = {}
    for name, sheet in sheets.items():
        area = area_of(sheet)
        assert area is not None
        first, top, last, bottom = area
        cells = [cell for row in sheet.iter_rows(top, bottom, first, last) for cell in row if cell.value is not None]
        size = min(float(cell.font.sz or 10) for cell in cells) * scale_of(sheet)
        if size * SLACK < SMALLEST:
            found[name] = round(size, 2)
    assert not found


def test_every_page_is_fitted_and_numbered(sheets: dict[str, Worksheet]) -> None:
    """Each sheet is fitted to the width of its paper, with the page's number in its foot."""
    for name, sheet in sheets.items():
        assert sheet.sheet_properties.pageSetUpPr.fitToPage, name
        assert "&P" in str(sheet.oddFooter.right.text), name
        assert not sheet.sheet_view.showGridLines, name


def test_rows_that_are_repeated_are_headings(sheets: dict[str, Worksheet]) -> None:
    """What heads every further page is a row of headings: bold, with a rule below it, and within what prints."""
    seen = 0
    for name, sheet in sheets.items():
        if sheet.print_title_rows:
            row = int(str(sheet.print_title_rows).rpartition("$")[2])
            cells = [cell for cell in sheet[row] if cell.value is not None]
            assert cells, name
            assert all(cell.font.b for cell in cells), name
            seen += 1
    assert seen > 2


def test_no_page_is_nearly_empty(sheets: dict[str, Worksheet]) -> None:
    """What fills less than a sixth of a page is for the screen; the list of what to buy and that of the steel go to whoever fetches it."""
    for name, sheet in sheets.items():
        area = area_of(sheet)
        assert area is not None
        usual = sheet.sheet_format.defaultRowHeight or 15.0
        filled = sum(sheet.row_dimensions[row].height or usual for row in range(area[1], area[3] + 1)) * scale_of(sheet)
        paper = "A4" if int(sheet.page_setup.paperSize or 1) == 9 else "Letter"
        room = room_between_margins(paper, landscape=sheet.page_setup.orientation == "landscape")[0]
        assert filled > room / 6 or sheet.title in ("Shopping", "Steel"), (name, filled, room)


def test_no_line_touches_the_rule_of_its_headings(sheets: dict[str, Worksheet]) -> None:
    """The row below a rule is higher than its type by what keeps them apart."""
    seen = 0
    for name, sheet in sheets.items():
        area = area_of(sheet)
        assert area is not None
        for row in range(area[1], area[3]):
            below = [cell for cell in sheet[row + 1] if cell.value is not None]
            if not _is_heading(sheet, row) or not below:
                continue
            height = sheet.row_dimensions[row + 1].height or sheet.sheet_format.defaultRowHeight or 15.0
            assert height >= 1.35 * max(float(cell.font.sz or 10) for cell in below), (name, row)
            seen += 1
    assert seen > 20


def test_no_small_table_is_divided_by_a_break_of_ours(sheets: dict[str, Worksheet]) -> None:
    """A page of ours begins above headings or a title, unless what is divided fills more than half of a page."""
    for name, sheet in sheets.items():
        headings = [row for row in range(1, sheet.max_row + 1) if _is_heading(sheet, row)]
        usual = sheet.sheet_format.defaultRowHeight or 15.0
        paper = "A4" if int(sheet.page_setup.paperSize or 1) == 9 else "Letter"
        room = room_between_margins(paper, landscape=sheet.page_setup.orientation == "landscape")[0] / scale_of(sheet)
        for opening in (each.id + 1 for each in sheet.row_breaks.brk):
            above = max((row for row in headings if row < opening), default=0)
            below = next((row for row in headings if row >= opening), sheet.max_row + 1)
            rows = [row for row in range(opening, below) if any(cell.value is not None for cell in sheet[row])]
            before = [row for row in range(above + 1, opening) if any(cell.value is not None for cell in sheet[row])]
            divided = bool(rows) and bool(before) and below - opening > 3 and not _is_heading(sheet, opening)
            high = sum(sheet.row_dimensions[row].height or usual for row in range(above, below))
            assert not divided or high > SMALL_TABLE * room or sheet.cell(opening, 1).font.b or _is_title(sheet, opening), (name, opening)


def _is_heading(sheet: Worksheet, row: int) -> bool:
    cells = [cell for cell in sheet[row] if cell.value is not None]
    return len(cells) > 1 and all(cell.font.b and cell.border.bottom.style for cell in cells)


def _is_title(sheet: Worksheet, row: int) -> bool:
    cell = sheet.cell(row, 1)
    return bool(cell.border.top.style) or cell.value is None
