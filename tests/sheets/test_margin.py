"""The margin workbook against the engine, with a spreadsheet program as the referee."""

from __future__ import annotations

import math
import re
from pathlib import Path

import openpyxl
import pytest
from books import SMALL, small_book, write_book
from referee import differences, formulas_of, recalculated, stored, with_stored_result

from pricing.book.reading.read import load_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.reports.margin.workbook import write_margin

DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Costing, Path]:
    """The small workshop costed, and its margin workbook."""
    folder = tmp_path_factory.mktemp("margin")
    costing = cost_quotes(load_price_book(write_book(folder / "small.xlsx", SMALL)))
    write_margin(costing, folder / "margin summary.xlsx")
    return costing, folder / "margin summary.xlsx"


@pytest.mark.usefixtures("requires_office")
@pytest.mark.parametrize("book", ["small", "demo"])
def test_every_figure_is_what_a_spreadsheet_makes_of_its_formula(book: str, tmp_path: Path) -> None:
    """Computed from blank stored results, every cell of the margin workbook has the engine's figure."""
    source = write_book(tmp_path / "small.xlsx", SMALL) if book == "small" else DEMO
    path = tmp_path / "margin summary.xlsx"
    write_margin(cost_quotes(load_price_book(source)), path)
    assert len(formulas_of(path)) > 500
    assert differences(stored(path), recalculated(path)) == []


@pytest.mark.usefixtures("requires_office")
def test_a_planted_wrong_result_is_found(small: tuple[Costing, Path], tmp_path: Path) -> None:
    """The referee computes: a stored result that its formula does not give is noticed."""
    _, path = small
    book = openpyxl.load_workbook(path)
    number = book.sheetnames.index("Totals") + 1
    cell = next(c for (sheet, c), text in formulas_of(path).items() if sheet == "Totals" and text.startswith("=ROUND("))
    planted = tmp_path / "planted.xlsx"
    with_stored_result(path, planted, f"xl/worksheets/sheet{number}.xml", cell, 123.45)
    assert [line for line in differences(stored(planted), recalculated(planted)) if line.startswith(f"Totals!{cell}:")]


@pytest.mark.usefixtures("requires_office")
def test_money_is_equal_and_not_close(small: tuple[Costing, Path]) -> None:
    """Every money-rounded figure that the spreadsheet computes equals the engine's, to the last bit it prints."""
    costing, path = small
    sheet = recalculated(path)["Totals"]
    headings = {cell.value.partition("\n")[0]: cell.column for cell in sheet[5] if cell.value}
    for name, heading in (("net", "Net"), ("tax", "Tax"), ("payable", "Payable"), ("deposit", "Deposit"), ("discount", "Discount")):
        columns = [column for text, column in headings.items() if text == heading]
        computed = [sheet.cell(6 + row, columns[-1]).value for row in range(len(costing.quotes))]
        assert computed == costing.quote(name).tolist()


def test_the_checks_are_zero(small: tuple[Costing, Path]) -> None:
    """Each check takes a figure by two ways, and both ways are the same."""
    sheet = stored(small[1])["Checks"]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=7, max_col=4)]
    assert len(rows) >= 10
    for claim, left, right, difference in rows:
        assert math.isclose(left, right, rel_tol=1e-9, abs_tol=1e-9), claim
        assert difference == 0


def test_every_column_has_one_formula(small: tuple[Costing, Path]) -> None:
    """Down a column of the build-up the formula is the same, but for the row it stands in."""
    sheet = openpyxl.load_workbook(small[1])["Build-up"]
    for column in sheet.iter_cols(min_row=7):
        shapes = {re.sub(rf"(?<=[A-Z]){cell.row}\b", "#", cell.value) for cell in column if str(cell.value).startswith("=")}
        assert len(shapes) <= 1, column[0].coordinate


def test_prices_used_lead_back_to_the_price_book(small: tuple[Costing, Path], tmp_path: Path) -> None:
    """Each price names its supplier, its day and the cell of the price book that holds it."""
    prices = stored(small[1])["Prices used"]
    source = openpyxl.load_workbook(write_book(tmp_path / "again.xlsx", small_book()))
    seen = 0
    for row in prices.iter_rows(min_row=6):
        place, pack_price = row[4].value, row[7].value
        if place and "!" in str(place):
            sheet, _, cell = place.partition("!")
            assert source[sheet][cell].value == pack_price
            seen += 1
    assert seen == len(SMALL["Materials"]) - 1


def test_the_workbook_is_written_beside_and_moved(small: tuple[Costing, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A run that fails half-way leaves the earlier workbook as it was, and nothing besides."""
    costing, _ = small
    target = tmp_path / "margin summary.xlsx"
    write_margin(costing, target)
    before = target.read_bytes()
    monkeypatch.setattr("pricing.reports.margin.workbook.write_checks", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        write_margin(costing, target)
    assert target.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["margin summary.xlsx"]


def test_the_same_costing_gives_the_same_bytes(small: tuple[Costing, Path], tmp_path: Path) -> None:
    """Written twice, the margin workbook is the same file."""
    costing, path = small
    write_margin(costing, tmp_path / "again.xlsx")
    assert (tmp_path / "again.xlsx").read_bytes() == path.read_bytes()


def test_words_behind_figures_keep_clear_of_them(small: tuple[Costing, Path]) -> None:
    """On the summary the notes of quotes and lines begin indented, whatever unit stands before them."""
    sheet = openpyxl.load_workbook(small[1])["Summary"]
    headings = [cell for row in sheet.iter_rows() for cell in row if cell.value == "Note"]
    assert len(headings) == 2
    assert all(cell.alignment.horizontal == "left" and cell.alignment.indent for cell in headings)


def test_names_of_customers_and_of_lines_with_their_sets_are_whole() -> None:
    """In the demo's summary none ends in dots."""
    sheet = openpyxl.load_workbook(DEMO.parent / "demo" / "margin summary.xlsx", read_only=True)["Summary"]
    named = [str(cell) for row in sheet.iter_rows(max_col=2, values_only=True) for cell in row if cell]
    assert {"Q-1045  Planter 400 (Terrace set)", "Sloe & Pennick Interiors"} <= set(named)
    assert not [name for name in named if name.endswith("…")]


def test_the_sentence_agrees_with_its_number(small: tuple[Costing, Path]) -> None:
    """One line falls, two or none fall: in the sentence's formula and in its stored result."""
    few = int(small[0].line("below_lowest").sum())
    said = str(stored(small[1])["Summary"]["A2"].value)
    assert said.startswith(f"{few} of {len(small[0].lines)} lines {'falls' if few == 1 else 'fall'} below the lowest margin of ")
    assert 'IF(SUM(' in str(openpyxl.load_workbook(small[1])["Summary"]["A2"].value)


def test_rules_below_headings_have_no_gaps(small: tuple[Costing, Path]) -> None:
    """Every cell between the first heading of a table of the summary and its last has the rule."""
    sheet = openpyxl.load_workbook(small[1])["Summary"]
    for cell in sheet["A"]:
        if cell.value in ("Quote", "Part"):
            last = max(each.column for each in sheet[cell.row] if each.value and each.column <= 12)
            assert all(each.border.bottom.style for each in sheet[cell.row][:last])


def test_both_margins_are_told(small: tuple[Costing, Path]) -> None:
    """That of the quotes, with carriage and after discount, and that of the pieces alone, and a sentence on what they are."""
    sheet, quote = stored(small[1])["Summary"], small[0].quote
    of_quotes, alone = (1 - quote(cost).sum() / quote(net).sum() for net, cost in (("net", "quote_cost"), ("lines_net", "line_cost_sum")))
    assert [sheet["E6"].value, sheet["G6"].value] == pytest.approx([of_quotes, alone])
    assert of_quotes != pytest.approx(alone)
    assert "with carriage" in sheet["A7"].value


def test_what_line_it_is_stays_in_sight_beside_the_sentences_of_the_build_up(small: tuple[Costing, Path]) -> None:
    """Number, quote and product are frozen, and the sentences begin beside them."""
    sheet = openpyxl.load_workbook(small[1])["Build-up"]
    assert str(sheet.freeze_panes).startswith("D")
    assert [cell.value for row in sheet["A2:C3"] for cell in row if cell.value] == []
    assert str(sheet["D2"].value).startswith("One row per line")
