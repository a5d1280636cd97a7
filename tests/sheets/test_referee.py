"""The referee itself: it computes, and it can be seen to compute."""

from __future__ import annotations

from pathlib import Path

import pytest
import xlsxwriter
from referee import formulas_of, recalculated, recalculated_all, stored, with_stored_result, without_results


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "small.xlsx"
    with xlsxwriter.Workbook(str(path)) as made:
        sheet = made.add_worksheet("Sums")
        sheet.write_number("A1", 1.005)
        sheet.write_formula("B1", "ROUND(A1,2)", value=1.01)
        sheet.write_formula("B2", '"a < b"&" & c"', value="a < b & c")
    return path


def test_stored_results_are_taken_away(book: Path, tmp_path: Path) -> None:
    """A copy without results has the formulas and none of their values."""
    assert without_results(book, tmp_path / "blank.xlsx") == 2
    assert stored(tmp_path / "blank.xlsx")["Sums"]["B1"].value is None
    assert formulas_of(tmp_path / "blank.xlsx") == {("Sums", "B1"): "=ROUND(A1,2)", ("Sums", "B2"): '="a < b"&" & c"'}


@pytest.mark.usefixtures("requires_office")
def test_a_planted_stored_result_is_not_believed(book: Path, tmp_path: Path) -> None:
    """The referee gives what the formula gives, whatever result is stored beside it."""
    wrong = tmp_path / "wrong.xlsx"
    with_stored_result(book, wrong, "xl/worksheets/sheet1.xml", "B1", 999.0)
    assert stored(wrong)["Sums"]["B1"].value == 999
    assert recalculated(wrong)["Sums"]["B1"].value == 1.01


@pytest.mark.usefixtures("requires_office")
def test_several_books_of_one_name_are_computed_in_one_call(book: Path, tmp_path: Path) -> None:
    """Each workbook comes back under its own place, in order."""
    values = [made["Sums"]["B2"].value for made in recalculated_all([book, book])]
    assert values == ["a < b & c", "a < b & c"]
