"""The customer's price list: the engine's prices at each quantity, and nothing that a customer must not see."""

from __future__ import annotations

import datetime
from pathlib import Path

import openpyxl
import pytest
from books import set_cell, small_book, write_book

from pricing.book.price_book import load_price_book
from pricing.costing.costing import cost_catalogue
from pricing.sheets.leaks import LeakError
from pricing.sheets.price_list import write_price_list

DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"
DAY = datetime.date(2026, 3, 2)


def texts_of(path: Path) -> list[str]:
    """Every text of a workbook's cells."""
    book = openpyxl.load_workbook(path, rich_text=True)
    return [str(cell.value) for sheet in book.worksheets for row in sheet.iter_rows() for cell in row if cell.data_type == "s"]


def rows_of(path: Path) -> list[list[float]]:
    """Number, weight and prices of each piece."""
    sheet = openpyxl.load_workbook(path)["Price list"]
    found = []
    for row in sheet.iter_rows(values_only=True):
        if isinstance(row[0], int | float):
            found.append([float(value) for value in row if isinstance(value, int | float)])
    return found


@pytest.mark.parametrize("quantities", [(1.0, 5.0, 10.0, 25.0), (2.0,)])
def test_prices_are_those_of_the_engine(quantities: tuple[float, ...], tmp_path: Path) -> None:
    """Each price is what the catalogue costs out at for that many, to the coin; a list price does not stand in its way."""
    book = load_price_book(DEMO)
    path = tmp_path / "price list.xlsx"
    write_price_list(book, DAY, path, quantities)
    costing = cost_catalogue(book, DAY, quantities)
    expected = costing.line("rounded_price").reshape(-1, len(quantities)).tolist()
    rows = rows_of(path)
    assert [row[-len(quantities):] for row in rows] == expected  # fmt: skip
    assert [row[0] for row in rows] == list(range(1, len(rows) + 1))


def test_a_drawing_for_each_shape_that_has_one(tmp_path: Path) -> None:
    """Two of the three pieces of the small workshop are drawn; the one that is given by its figures is not."""
    path = tmp_path / "price list.xlsx"
    write_price_list(load_price_book(write_book(tmp_path / "book.xlsx", small_book())), DAY, path)
    assert len(openpyxl.load_workbook(path)["Price list"]._images) == 2  # type: ignore[attr-defined]


def test_what_the_list_says(tmp_path: Path) -> None:
    """Date, currency, the tax that is not in the prices, how to order, and the usual cautions; no supplier, no customer, no cost."""
    path = tmp_path / "price list.xlsx"
    write_price_list(load_price_book(write_book(tmp_path / "book.xlsx", small_book())), DAY, path)
    said = "\n".join(texts_of(path))
    for words in ("Price list of 2 March 2026", "in EUR, without VAT", "Carriage is charged by weight", "How to order", "silica dust"):
        assert words in said
    for words in ("Hill Merchants", "Ada Field", "Brook House", "margin", "cost", "Q-1"):
        assert words not in said


def test_a_description_that_gives_something_away(tmp_path: Path) -> None:
    """A description that names a supplier stops the list; nothing is delivered."""
    sheets = small_book()
    set_cell(sheets, "Products", "Block", "Description", "A block with cement of Hill Merchants")
    book = load_price_book(write_book(tmp_path / "book.xlsx", sheets))
    with pytest.raises(LeakError, match="hill merchants"):
        write_price_list(book, DAY, tmp_path / "price list.xlsx")
    assert [path.name for path in tmp_path.iterdir()] == ["book.xlsx"]


def test_the_same_bytes_again(tmp_path: Path) -> None:
    """Written twice, the list is the same to the byte."""
    book = load_price_book(write_book(tmp_path / "book.xlsx", small_book()))
    write_price_list(book, DAY, tmp_path / "one.xlsx")
    write_price_list(book, DAY, tmp_path / "two.xlsx")
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()


def test_too_many_quantities(tmp_path: Path) -> None:
    """The page has room for four."""
    book = load_price_book(write_book(tmp_path / "book.xlsx", small_book()))
    with pytest.raises(ValueError, match="one to 4"):
        write_price_list(book, DAY, tmp_path / "price list.xlsx", (1, 2, 3, 4, 5))
