"""Words of the price book that have changed go on being read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pricing.book.declared.sheets import SETTINGS, SHEETS
from pricing.book.reading.read import load_price_book
from pricing.book.starter.reference_page import reference
from pricing.problems import BookError
from tests.books import small_book, write_book

Sheets = dict[str, list[list[Any]]]


def _renamed(sheets: Sheets, sheet: str, old: str, new: str) -> None:
    sheets[sheet] = [[old if cell == new else cell for cell in row] for row in sheets[sheet]]


def _sheet(sheets: Sheets) -> None:
    sheets["Grades"] = sheets.pop("Trades")


def _heading(sheet: str, old: str, new: str) -> Callable[[Sheets], None]:
    return lambda sheets: _renamed(sheets, sheet, old, new)


#: What is done to a book of today so that it is one of before.
FORMER: list[Callable[[Sheets], None]] = [
    _sheet, _heading("Trades", "Grade", "Trade"), _heading("Labour", "Grade", "Trade"), _heading("Workshop", "Refit grade", "Refit trade"),
    _heading("Moulds", "Casts", "Lasts"), _heading("Labour", "order", "line"), _heading("Labour", "m2 top of mould", "m2 open side"),
    _heading("Extras", "ORDER", "line"), _heading("Finishes", "m2 top of mould", "m2 open side"),
    _heading("Products", "Open area (m2)", "Open side area (m2)"),
]


def _of_today() -> Sheets:
    sheets = small_book()
    sheets["Workshop"].append(["Refit trade", "Helper", None])
    sheets["Extras"][1][3] = "line"
    sheets["Finishes"].append(["Sealed", "Wax", 20, 1, "m2 open side"])
    sheets["Products"][0].append("Open side area (m2)")
    sheets["Products"][3].append(0.2)
    return sheets


def test_a_book_in_the_words_of_before_is_read_as_one_of_today(tmp_path: Path) -> None:
    """Each former word alone makes a book of before that says the same, table by table."""
    today = load_price_book(write_book(tmp_path / "today.xlsx", _of_today()))
    assert today.settings["refit_trade"] == "Helper"
    assert today.tables["Moulds"].columns["lasts"].tolist() == [10.0]
    assert np.nansum(today.tables["Products"].columns["open_side_area"]) == 0.2
    for number, change in enumerate(FORMER):
        sheets = _of_today()
        change(sheets)
        assert sheets != _of_today(), number
        before = load_price_book(write_book(tmp_path / f"before {number}.xlsx", sheets))
        for name, table in today.tables.items():
            for column, values in table.columns.items():
                if (name, column) != ("Workshop", "setting"):
                    np.testing.assert_array_equal(before.tables[name].columns[column], values, err_msg=f"{number} {name} {column}")
        assert before.settings == pytest.approx(today.settings, nan_ok=True)


def test_what_a_letter_means_may_be_typed_instead_of_it(tmp_path: Path) -> None:
    """A category of tax is typed as its letter or in words, or left blank where it is simply taxed; a message says what letters mean."""
    rows = [("Reduced", "10 %", None), ("Builders", None, "Reverse charge"), ("Abroad", None, "export"), ("Books", None, "Z")]
    sheets = {**small_book(), "Taxes": [["Tax", "Rate", "Category"], *map(list, rows)]}
    read = load_price_book(write_book(tmp_path / "words.xlsx", sheets))
    assert read.tables["Taxes"].columns["category"].tolist() == ["S", "AE", "G", "Z"]
    sheets["Taxes"][3][2] = "overseas"
    with pytest.raises(BookError) as caught:
        load_price_book(write_book(tmp_path / "letters.xlsx", sheets))
    assert "AE (reverse charge)" in str(caught.value)


def test_the_contract_says_what_is_also_read() -> None:
    """Every former heading, word and sheet name stands on the reference page."""
    page = reference()
    columns = [column for declared in SHEETS for column in declared.columns] + list(SETTINGS)
    assert sum(bool(column.formerly or column.former_words) for column in columns) >= 7
    for column in columns:
        for heading in column.formerly:
            assert f"heading `{heading}`" in page
        for word, now in column.other_words.items():
            assert now in column.choices
            assert word not in column.choices
            assert f"`{word}` for `{now}`" in page
    assert all(f"called {name} is read" in page for declared in SHEETS for name in declared.formerly)
