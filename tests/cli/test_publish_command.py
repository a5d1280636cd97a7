"""``pricing publish``: computed list prices into the maker's own workbook, and nothing else in it."""

from __future__ import annotations

import datetime
import itertools
import math
import zipfile
from pathlib import Path

import openpyxl
import pytest
from books import set_cell, small_book, write_book
from click.testing import CliRunner, Result

from pricing.api import price_quotes
from pricing.book.reading.read import load_price_book
from pricing.cli import main


def run(*arguments: str | Path) -> Result:
    """The command line, as typed."""
    return CliRunner().invoke(main, [str(each) for each in arguments], catch_exceptions=False)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """The small workshop's price book: two products without a list price, one at 95."""
    return write_book(tmp_path / "book.xlsx", small_book())


def listed(book: Path) -> list[float]:
    """The List price column."""
    prices: list[float] = load_price_book(book).tables["Products"].columns["list_price"].tolist()
    return prices


def worked_out(folder: Path) -> list[float]:
    """What a quote of each product in its usual run comes to, a piece, where no list price stands."""
    sheets = small_book()
    products = sheets["Products"][1:]
    sheets["Enquiries"] = [["Quote", "Date", "Customer", "Product", "Quantity"]]
    for number, row in enumerate(products):
        row[-1] = None
        sheets["Enquiries"].append([f"Q-{number}", datetime.date(2026, 3, 2), "Ada Field", row[0], row[-2]])
    costing = price_quotes(write_book(folder / "usual runs.xlsx", sheets)).costing
    assert costing is not None
    prices: list[float] = costing.line("unit_price").tolist()
    return prices


def test_prices_are_written_where_they_belong(book: Path) -> None:
    """Each list price is what the product works out at for its usual run; a backup keeps the old book; only one part changed."""
    before = book.read_bytes()
    assert [math.isnan(price) for price in listed(book)] == [True, True, False]
    result = run("publish", book, "--date", "2026-03-02")
    assert result.exit_code == 0, result.stderr
    assert "3 list prices" in result.stdout
    assert listed(book) == worked_out(book.parent)
    backup = next(book.parent.glob("book backup *.xlsx"))
    assert backup.read_bytes() == before
    with zipfile.ZipFile(backup) as old, zipfile.ZipFile(book) as new:
        changed = [name for name in old.namelist() if old.read(name) != new.read(name)]
    assert len([name for name in changed if name.startswith("xl/worksheets/")]) == 1
    assert set(changed) - {"xl/workbook.xml"} == {name for name in changed if name.startswith("xl/worksheets/")}


def test_the_prices_of_a_quote_follow(book: Path) -> None:
    """Once published, a list price stands where a line overrides nothing."""
    run("publish", book, "--product", "block", "--date", "2026-03-02")
    result = run("publish", book, "--show", "--date", "2026-03-02")
    block = next(line for line in result.stdout.splitlines() if line.startswith("Block"))
    assert block.split()[-3:] == ["29.00", "29.00", block.split()[-1]]


def test_only_what_was_asked_for(book: Path) -> None:
    """--product writes that price alone; --show writes nothing; a second run finds nothing to do."""
    before = book.read_bytes()
    assert "Products!Q2" in run("publish", book, "--show", "--date", "2026-03-02").stdout
    assert book.read_bytes() == before
    assert "written: 1 list price into" in run("publish", book, "--product", "block", "--date", "2026-03-02").stdout
    assert listed(book)[2] == worked_out(book.parent)[2]
    assert math.isnan(listed(book)[0])
    again = run("publish", book, "--product", "Block", "--date", "2026-03-02")
    assert "every list price stands as it works out; nothing was written" in again.stdout
    assert len(list(book.parent.glob("book backup *.xlsx"))) == 1


@pytest.mark.parametrize(
    ("typed", "arguments", "words"),
    [
        ({}, [], "1 of the 3 list prices that change stood there already and is written over: "
         "largest fall Block 95 to {block:.0f} ({block_change:+.1%}); "
         "to keep one that was typed by hand, name the others with --product"),
        ({"Slab 1000": 100}, [], "2 of the 3 list prices that change stood there already and are written over: "
         "largest fall Block 95 to {block:.0f} ({block_change:+.1%}), largest rise Slab 1000 100 to {slab:.0f} ({slab_change:+.1%})"),
        ({"Slab 1000": 100, "Shelf 800": 50, "Block": 20}, [], "3 of the 3 list prices that change stood there already and are written "
         "over: largest rise Shelf 800 50 to {shelf:.0f} ({shelf_change:+.1%})"),
        ({}, ["--product", "Block"], "the list price that changes stood there already and is written over: largest fall Block 95 to "
         "{block:.0f}"),
        ({"Block": 29}, [], ""), ({}, ["--product", "Slab 1000"], ""),
    ],
    ids=["one of three", "a fall and a rise", "rises only", "one alone", "the same figure", "an empty cell"],
)
@pytest.mark.parametrize("shown", [True, False], ids=["shown", "written"])
def test_a_price_that_stood_there_is_not_lost_in_silence(
    typed: dict[str, float], arguments: list[str], words: str, shown: bool, tmp_path: Path
) -> None:
    """How many list prices are written over, and by how much at most, is said before anything is written, and with --show too."""
    sheets = small_book()
    for product, price in typed.items():
        set_cell(sheets, "Products", product, "List price", price)
    path = write_book(tmp_path / "book.xlsx", sheets)
    slab, shelf, block = worked_out(tmp_path)
    words = words.format(slab=slab, shelf=shelf, block=block, slab_change=slab / 100 - 1, shelf_change=shelf / 50 - 1,
                         block_change=block / 95 - 1)
    result = run("publish", path, "--date", "2026-03-02", *arguments, *(["--show"] if shown else []))
    assert result.exit_code == 0, result.stderr
    assert [line[: len("look at: ") + len(words)] for line in result.stderr.splitlines()] == ([f"look at: {words}"] if words else [])


def test_a_price_list_as_well(book: Path) -> None:
    """--list writes the customer's price list for the quantities named."""
    result = run("publish", book, "--list", "--breaks", "1,10", "--out", book.parent / "out", "--date", "2026-03-02")
    assert "price list.xlsx" in result.stdout
    assert openpyxl.load_workbook(book.parent / "out" / "price list.xlsx").sheetnames == ["Price list"]


def _enquire(book: Path, quantities: list[int]) -> None:
    """An enquiry of each product for each number, in place of the others."""
    workbook = openpyxl.load_workbook(book)
    sheet, products = workbook["Enquiries"], [row[0].value for row in workbook["Products"].iter_rows(min_row=2)]
    sheet.delete_rows(2, sheet.max_row)
    for number, (product, quantity) in enumerate(itertools.product(products, quantities)):
        sheet.append([f"Q-{number + 1}", datetime.date(2026, 3, 2), "Brook House", product, quantity])
    workbook.save(book)


@pytest.mark.parametrize("holds", ["at any quantity", "at the usual run"])
def test_the_price_list_is_what_a_quote_says_afterwards(tmp_path: Path, holds: str) -> None:
    """Customers who hold the new price list beside a quote of the same day see the same prices, at every number."""
    sheets = small_book()
    sheets["Workshop"].append(["List price holds", holds, None])
    book = write_book(tmp_path / "book.xlsx", sheets)
    result = run("publish", book, "--list", "--out", tmp_path / "out", "--date", "2026-03-02")
    _enquire(book, [1, 5, 10, 25])
    priced = price_quotes(book)
    assert priced.costing is not None, list(map(str, priced.problems))
    prices = priced.costing.line("unit_price").reshape(3, 4).tolist()
    rows = openpyxl.load_workbook(tmp_path / "out" / "price list.xlsx")["Price list"].iter_rows(values_only=True)
    listed = [[value for value in row if isinstance(value, int | float)][2:] for row in rows if isinstance(row[0], int)]
    at_any = holds == "at any quantity"
    assert prices == [row * (4 if at_any else 1) for row in listed]
    assert ('set List price holds to "at the usual run"' in result.stdout) == at_any


def _formula(path: Path) -> None:
    workbook = openpyxl.load_workbook(path)
    workbook["Products"]["Q2"] = "=90+5"
    workbook.save(path)


@pytest.mark.parametrize(
    ("edit", "arguments", "words"),
    [
        (lambda path: path.with_name("~$book.xlsx").touch(), [], "open in a spreadsheet program"),
        (lambda path: path.with_name(".~lock.book.xlsx#").touch(), [], "open in a spreadsheet program"),
        (lambda path: None, ["--product", "Blok"], "near it is Block"),
        (lambda path: None, ["--date", "2019-01-01"], "has no price yet"),
        (_formula, [], "Q2"),
    ],
    ids=["open in one program", "open in another", "misspelt", "before all prices", "a formula in the cell"],
)
def test_what_cannot_be_written_is_said(edit: object, arguments: list[str], words: str, book: Path) -> None:
    """Each refusal is a sentence, and the book stays as it is, to the byte."""
    assert callable(edit)
    edit(book)
    before = book.read_bytes()
    result = run("publish", book, *arguments)
    assert result.exit_code == 1
    assert words in result.stderr
    assert book.read_bytes() == before
    assert not list(book.parent.glob("book backup *"))


def test_a_book_without_the_column(tmp_path: Path) -> None:
    """Where there is no List price column, the maker is told to make one."""
    sheets = small_book()
    for row in sheets["Products"]:
        row.pop()
    path = write_book(tmp_path / "book.xlsx", sheets)
    result = run("publish", path)
    assert result.exit_code == 1
    assert "head an empty column so" in result.stderr


def test_a_price_list_that_would_give_something_away(book: Path) -> None:
    """A description that names a supplier stops the price list in a sentence."""
    sheets = small_book()
    set_cell(sheets, "Products", "Block", "Description", "A block with cement of Hill Merchants")
    write_book(book, sheets)
    result = run("publish", book, "--list", "--out", book.parent / "out", "--date", "2026-03-02")
    assert result.exit_code == 1
    assert "hill merchants" in result.stderr
    assert not list(book.parent.glob("out/*"))


def test_what_is_sold_by_measure_is_told_to_be(tmp_path: Path) -> None:
    """Cost and price of such a product are of a square metre, which stands beside its name."""
    sheets = small_book()
    sheets["Products"][0].append("Price per")
    sheets["Products"][1].append("m2")
    shown = run("publish", write_book(tmp_path / "book.xlsx", sheets), "--show").stdout
    assert "Slab 1000 (each m2) " in shown
    assert "Shelf 800  " in shown
