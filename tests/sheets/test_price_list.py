"""The customer's price list: what a quote says at each quantity, and nothing that a customer must not see."""

from __future__ import annotations

import datetime
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from books import set_cell, small_book, write_book
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book
from pricing.costing.lines.enquiries import with_enquiries
from pricing.costing.run import cost_catalogue, cost_quotes
from pricing.reports.leaks.gate import LeakError
from pricing.reports.lists.price_list import write_price_list

DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"
DAY = datetime.date(2026, 6, 1)  # every material of the demo workshop has a price by then


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


def held(book: PriceBook, holds: str, list_prices: list[float] | None = None, usual_runs: list[float] | None = None) -> PriceBook:
    """The book with another way for list prices to hold, and with other list prices and usual runs."""
    table = book.tables["Products"]
    columns = dict(table.columns)
    for name, figures in (("list_price", list_prices), ("usual_run", usual_runs)):
        if figures is not None:
            columns[name] = np.array(figures, dtype=np.float64)
    tables = {**book.tables, "Products": replace(table, columns=columns)}
    return replace(book, tables=tables, settings={**book.settings, "list_price_holds": holds})


def quoted(book: PriceBook, quantities: tuple[float, ...]) -> list[list[float]]:
    """The unit price of a quote of each product alone at each quantity, on the day."""
    products = book.tables["Products"].columns["product"].tolist()
    rows = [
        {"quote": f"{product} {quantity:g}", "date": DAY, "product": product, "quantity": quantity}
        for product in products for quantity in quantities
    ]
    prices: list[list[float]] = cost_quotes(with_enquiries(book, rows)).line("unit_price").reshape(len(products), -1).tolist()
    return prices


SMALL = load_price_book(write_book(Path(tempfile.mkdtemp()) / "book.xlsx", small_book()))
HOLDS = ("at any quantity", "at the usual run")


@given(
    st.sampled_from(HOLDS), st.lists(st.sampled_from([float("nan"), 29.0, 95.0, 111.5, 0.335]), min_size=3, max_size=3),
    st.lists(st.sampled_from([float("nan"), 1.0, 4.0, 10.0]), min_size=3, max_size=3),
    st.lists(st.sampled_from([1.0, 2.0, 4.0, 5.0, 10.0, 37.0, 200.0]), min_size=1, max_size=4, unique=True).map(tuple),
)
@settings(max_examples=40, deadline=None)
def test_the_price_list_and_a_quote_say_the_same(
    holds: str, list_prices: list[float], usual_runs: list[float], quantities: tuple[float, ...]
) -> None:
    """Whatever the list prices and usual runs, each price is the unit price of a quote of that product and number on that day."""
    book = held(SMALL, holds, list_prices, usual_runs)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "price list.xlsx"
        write_price_list(book, DAY, path, quantities)
        shown = [row[2:] for row in rows_of(path)]
    expected = quoted(book, quantities)
    if len(shown[0]) < len(quantities):  # one column for all
        shown = [row * len(quantities) for row in shown]
    assert shown == expected


@pytest.mark.parametrize("quantities", [(1.0, 5.0, 10.0, 25.0), (2.0,)])
def test_prices_by_quantity(quantities: tuple[float, ...], tmp_path: Path) -> None:
    """Where list prices hold at the usual run, each other price is what the catalogue costs out at for that many, to the coin."""
    book = held(load_price_book(DEMO), "at the usual run")
    path = tmp_path / "price list.xlsx"
    write_price_list(book, DAY, path, quantities)
    costing = cost_catalogue(book, DAY, quantities)
    products = book.tables["Products"].columns
    run, price = (products[name][costing.lines.product] for name in ("usual_run", "list_price"))
    listed = (run == costing.lines.quantity) & costing.line("price_is_listed").astype(bool)
    expected = np.where(listed, price, costing.line("rounded_price"))
    rows = rows_of(path)
    assert [row[-len(quantities):] for row in rows] == expected.reshape(-1, len(quantities)).tolist()
    assert [row[0] for row in rows] == list(range(1, len(rows) + 1))
    assert "where so many of it are ordered at once" in "\n".join(texts_of(path))


def test_one_price_whatever_the_number(tmp_path: Path) -> None:
    """Where every product has a list price and it holds at any quantity, there is one column of them, and the list says so."""
    path = tmp_path / "price list.xlsx"
    write_price_list(held(SMALL, "at any quantity", [120.0, 80.0, 30.0]), DAY, path)
    assert [row[2:] for row in rows_of(path)] == [[120.0], [80.0], [30.0]]
    said = texts_of(path)
    assert "Price each" in said
    assert any("in EUR, without VAT, whatever the number." in text for text in said)
    assert not any("numbers on request" in text for text in said)


@pytest.mark.parametrize(("per", "heading"), [(("kg", "kg", "kg"), "Price per kg"), (("m", "m2", "piece"), "Price")])
def test_prices_by_a_measure_are_headed_so(per: tuple[str, ...], heading: str, tmp_path: Path) -> None:
    """One column of prices is called by what all of them are for, and no list of such prices says that they are of one piece."""
    sheets = small_book()
    sheets["Products"] = [[*row, more] for row, more in zip(sheets["Products"], ("Price per", *per), strict=True)]
    book = load_price_book(write_book(tmp_path / "book.xlsx", sheets))
    write_price_list(held(book, "at any quantity", [120.0, 80.0, 30.0]), DAY, tmp_path / "price list.xlsx")
    said = texts_of(tmp_path / "price list.xlsx")
    assert (heading in said, "Price each" in said) == (True, False)
    assert any(text.startswith("Prices of one piece, or one unit where it is said, in EUR") for text in said)


def test_some_prices_by_quantity(tmp_path: Path) -> None:
    """Where a product without a list price costs less by the dozen, all quantities are shown, and a list price stands in each."""
    path = tmp_path / "price list.xlsx"
    write_price_list(held(SMALL, "at any quantity", [float("nan"), 80.0, 30.0]), DAY, path)
    slab, shelf, block = (row[2:] for row in rows_of(path))
    assert slab[0] > slab[-1]
    assert (shelf, block) == ([80.0] * 4, [30.0] * 4)


def test_prices_that_come_out_alike(tmp_path: Path) -> None:
    """Four equal columns are one, which says for which numbers it holds."""
    path = tmp_path / "price list.xlsx"
    write_price_list(held(SMALL, "at the usual run", None, [4.0, 4.0, 10.0]), DAY, path, (100_000.0, 200_000.0))
    assert [len(row) for row in rows_of(path)] == [3, 3, 3]
    assert any("the same for 100,000 or 200,000 of it" in text for text in texts_of(path))


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
    for words in ("Price list of 1 June 2026", "in EUR, without VAT", "Carriage is charged by weight", "How to order", "silica dust"):
        assert words in said
    for words in ("Hill Merchants", "Ada Field", "Brook House", "margin", "cost", "Q-1"):
        assert words not in said


@pytest.mark.parametrize("language", ["en-GB", "de"])
def test_care_and_cautions_stand_with_prices(language: str, tmp_path: Path) -> None:
    """A short list is one page; a longer one has a price on its last page, in whatever language."""
    sheets, path = small_book(), tmp_path / "price list.xlsx"
    sheets["Workshop"].append(["Language", language, None])
    for further in (0, 14):
        sheets["Products"] += [[f"Slab {number}", *sheets["Products"][1][1:]] for number in range(further)]
        write_price_list(load_price_book(write_book(tmp_path / "book.xlsx", sheets)), DAY, path)
        sheet = openpyxl.load_workbook(path).worksheets[0]
        breaks = [each.id for each in sheet.row_breaks.brk]
        assert (sheet.page_setup.fitToHeight != 0, bool(breaks)) == (not further, bool(further))
        assert any(isinstance(row[0], int | float) for row in sheet.iter_rows(min_row=max(breaks, default=0) + 1, values_only=True))


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


@pytest.mark.parametrize("quantities", [(1.0,), (1.0, 5.0), (1.0, 5.0, 10.0, 25.0)], ids=["one", "two", "four"])
def test_no_sketch_lies_over_the_words(quantities: tuple[float, ...], tmp_path: Path) -> None:
    """Each picture begins and ends in the column of the sketches, however long the piece is."""
    book = held(load_price_book(DEMO), "at the usual run")
    write_price_list(book, DAY, tmp_path / "list.xlsx", quantities)
    pictures = openpyxl.load_workbook(tmp_path / "list.xlsx")["Price list"]._images
    assert len(pictures) > 5
    for picture in pictures:
        assert (picture.anchor._from.col, picture.anchor.to.col) == (1, 1)
