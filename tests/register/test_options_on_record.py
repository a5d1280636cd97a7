"""Options and alternatives on record: kept with the quote, ordered by the number of their line, and taken back with the order."""

from __future__ import annotations

import contextlib
import datetime
import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import DAY, set_cell, small_book, write_book
from click.testing import CliRunner, Result

import pricing
from pricing.api import explain
from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book
from pricing.cli import main
from pricing.costing.run import cost_quotes
from pricing.register.kept.quote_snapshot import snapshot_of
from pricing.register.payments import accounts
from pricing.register.promised import differences
from pricing.register.register import Register

HEADINGS = ["Quote", "Date", "Customer", "Product", "Quantity", "Unit price", "Offer"]

#: Two lines, an option, two alternatives to the second line, a second option.
LINES: list[tuple[Any, ...]] = [
    ("Block", 2, None, None), ("Shelf 800", 3, 60, None), ("Block", 4, None, "option"), ("Block", 1, 200, "instead of 2"),
    ("Slab 1000", 3, None, "option"), ("Slab 1000", 1, None, "instead of 2"),
]


def sheets() -> dict[str, list[list[Any]]]:
    """A workshop with a smallest order and carriage by weight; the option of a second quote is its third line too."""
    made = small_book()
    set_cell(made, "Workshop", "Smallest order", "Value", 500)
    made["Delivery"] = [["Zone", "Up to", "Charge"], ["Near", 80, 20], ["Near", 900, 45]]
    set_cell(made, "Customers", "Brook House", "Delivery zone", "Near")
    made["Enquiries"] = [HEADINGS, *(["Q-1", DAY, "Brook House", *line] for line in LINES)]
    made["Enquiries"] += [["Q-2", DAY, "Ada Field", *line] for line in (("Block", 9, None, None), ("Block", 1, None, "option"))]
    return made


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(each) for each in arguments], catch_exceptions=False)


@pytest.fixture(scope="module")
def issued(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """The folder of a book whose quotes were issued, and what was printed of the first."""
    folder = tmp_path_factory.mktemp("offered")
    result = run("quote", write_book(folder / "book.xlsx", sheets()), "--out", folder, "--json")
    assert result.exit_code == 0, result.output
    return folder, next(quote for quote in json.loads(result.stdout)["quotes"] if quote["quote"] == "Q-1")


@pytest.fixture
def book(issued: tuple[Path, dict[str, Any]], tmp_path: Path) -> Path:
    for name in ("book.xlsx", "book.register.sqlite"):
        shutil.copy(issued[0] / name, tmp_path / name)
    return tmp_path / "book.xlsx"


def on_record(book: Path, number: str = "Q-1") -> dict[str, Any]:
    found: dict[str, Any] = next(
        each for each in json.loads(run("register", book, "--json", "--date", "2026-03-20").stdout)["quotes"] if each["number"] == number)
    return found


def order(book: Path, *lines: str) -> Result:
    return run("register", book, "--mark", "Q-1=ordered", "--date", "2026-03-10", *(part for line in lines for part in ("--with", line)))


def test_an_order_comes_to_what_the_page_said(issued: tuple[Path, dict[str, Any]], book: Path) -> None:
    """To the cent: the total of the quote and what the option adds, small order charge and carriage among it; taking back undoes it."""
    told = issued[1]
    assert (told["small_order_charge"], told["carriage"]) == (149, 20)
    before = on_record(book)
    for option in told["options"]:
        result = order(book, str(option["line"]))
        assert (result.exit_code, result.stdout) == (0, f"Q-1: ordered with {option['line']} since 2026-03-10\n")
        ordered = on_record(book)
        assert ordered["net"] == round(told["net"] + option["adds"], 2)
        assert ordered["with"] == [option["line"]]
        assert round(sum(stage["amount"] for stage in ordered["stages"]), 2) == ordered["payable"] == ordered["open"]
        (account,) = pricing.recorded(book, stages=False).accounts.values()
        assert (account.open, account.stages) == (ordered["open"], ())
        assert run("register", book, "--mark", "Q-1=issued").exit_code == 0
        assert {name: value for name, value in on_record(book).items() if name not in ("history", "since")} == {
            name: value for name, value in before.items() if name not in ("history", "since")}


def test_everything_knows_what_was_ordered(issued: tuple[Path, dict[str, Any]], book: Path, tmp_path: Path) -> None:
    """List, lines, account, papers, workshop, explanation and look-through: lines 3 and 4 are in, line 2 is out, numbers stay."""
    assert order(book, "4,3").exit_code == 0
    assert "ordered with 3, 4" in run("register", book).stdout
    with Register.open(book, to_read=True) as register:
        quote = register.marked("Q-1")
        assert [(line.product, line.quantity) for line in register.lines(quote)] == [("Block", 2), ("Block", 4), ("Block", 1)]
        lines = sum(line.net for line in register.lines(quote))
        assert quote.totals["lines_net"] == lines == 190 + 380 + 200
        model = register.model(quote)
        assert model is not None
        assert model.tables["lines"].given["quantity"].tolist() == [2, 4, 1]
        assert accounts(register, [quote])[quote.key].open == quote.totals["payable"]
    result = run("papers", book, "--quote", "Q-1", "--out", tmp_path / "papers", "--date", "2026-03-12")
    assert result.exit_code == 0, result.output
    confirmation, delivery = (
        [[cell for cell in row if cell is not None] for row in openpyxl.load_workbook(tmp_path / "papers" / f"Q-1 {name}.xlsx",
                                                                                   data_only=True).worksheets[0].iter_rows(values_only=True)]
        for name in ("order confirmation", "delivery note"))
    assert [row[0] for row in confirmation if row[-1:] in ([190], [380], [200])] == [1, 3, 4]
    assert quote.totals["payable"] in [row[-1] for row in confirmation if row]
    assert [row[0] for row in delivery if row and isinstance(row[0], int)] == [1, 3, 4]
    made = run("workshop", book, "--out", tmp_path / "workshop")
    assert made.exit_code == 0, made.output
    assert explain(book, "Q-1", 4, "line_net").value == 200
    assert explain(book, "Q-1", None, "payable").value == quote.totals["payable"]
    assert "nothing is damaged" in run("register", book, "--check").stdout
    assert [row[5] for row in _exported(book, tmp_path)] == ["ordered with 3, 4", "issued"]
    assert order(book).exit_code == 0  # nothing is said of options: what was ordered stays
    assert on_record(book)["with"] == [3, 4]


def _exported(book: Path, folder: Path) -> list[list[Any]]:
    run("register", book, "--export", folder / "list.xlsx", "--date", "2026-03-20")
    rows = openpyxl.load_workbook(folder / "list.xlsx").worksheets[0].iter_rows(values_only=True)
    return [list(row) for row in rows if row[0] in ("Q-1", "Q-2")]


@pytest.mark.parametrize(("arguments", "code", "said"), [
    (("--mark", "Q-1=ordered", "--with", "2"), 1, "quote Q-1 has no option 2; it offers 3 (Block, option), 4 (Block, instead of 2), 5"),
    (("--mark", "Q-2=ordered", "--with", "5"), 1, "quote Q-2 has no option 5; it offers 2 (Block, option)"),
    (("--mark", "Q-1=ordered", "--with", "4,6"), 1, "lines 4 and 6 of quote Q-1 both stand instead of line 2; order one of them"),
    (("--mark", "Q-1=refused", "--with", "3"), 2, "such as --mark Q-1041=ordered --with 4"),
    (("--with", "3"), 2, "such as --mark Q-1041=ordered --with 4"),
    (("--mark", "Q-1=ordered", "--mark", "Q-2=ordered", "--with", "3"), 2, "options are ordered with one quote"),
    (("--mark", "Q-1=ordered", "--with", "the face mix"), 2, "such as 4 or 4,5"),
    (("--mark", "Q-1=ordered", "--with", "0"), 2, "such as 4 or 4,5"),
])
def test_bad_input_is_told_and_changes_nothing(arguments: tuple[str, ...], code: int, said: str, book: Path) -> None:
    """A line that is no option, an option of another quote, two alternatives of one line, lines without an order."""
    result = run("register", book, *arguments, "--date", "2026-03-10")
    assert (result.exit_code, said in result.stderr) == (code, True), result.stderr
    assert {(quote["state"], tuple(quote["with"])) for quote in (on_record(book), on_record(book, "Q-2"))} == {("issued", ())}


def test_a_reissued_quote_shows_its_options_again(book: Path, tmp_path: Path) -> None:
    """At the prices of the day, on its page and on record; its rows need not stand on the sheet any more."""
    made = sheets()
    made["Enquiries"] = [row for row in made["Enquiries"] if row[0] != "Q-1"]
    write_book(book, made)
    result = run("reprice", book, "--reissue", "--quote", "Q-1", "--out", tmp_path / "again", "--date", "2026-03-20")
    assert result.exit_code == 0, result.output
    page = openpyxl.load_workbook(tmp_path / "again" / "Q-1 revision 2 quote.xlsx", data_only=True).worksheets[0]
    told = [cell for row in page.iter_rows(values_only=True) for cell in row if cell is not None]
    with Register.open(book, to_read=True) as register:
        first, second = (register.offers(register.marked("Q-1", revision)) or [] for revision in (1, 2))
    assert [(each.number, each.offer, each.line.net, each.adds) for each in second] == [
        (each.number, each.offer, each.line.net, each.adds) for each in first]
    assert {each.adds for each in second} <= set(told)
    assert "Instead of line 2." in "\n".join(str(each) for each in told)


def otherwise(book: Path, made: PriceBook) -> list[str]:
    """What the first quote of a book would promise otherwise than it does on record."""
    with Register.open(book, to_read=True) as register:
        quote = register.marked("Q-1")
        snapshot = snapshot_of(cost_quotes(made), "Q-1", promise_alone=True)
        return differences(quote, register.lines(quote), register.said(quote), snapshot, register.offers(quote))


def test_a_dearer_option_is_another_promise(book: Path) -> None:
    """What differs is said of the option, and nothing of the lines in the total; an option that is gone is missed."""
    assert otherwise(book, load_price_book(book)) == []
    made = sheets()
    made["Enquiries"][4][5] = 210
    dearer = ["price of line 4: 200.00 then, 210.00 now", "net of line 4: 200.00 then, 210.00 now"]
    assert otherwise(book, load_price_book(write_book(book, made)))[:2] == dearer
    del made["Enquiries"][5]
    assert 'offer in line 5: "option" then, "instead of 2" now' in otherwise(book, load_price_book(write_book(book, made)))


@pytest.mark.parametrize(("change", "said"), [
    ("UPDATE offers SET adds = 'much' WHERE line = 3", 'what is added by line 3 is "much", which is no number'),
    ("UPDATE ordered_with SET options = '4'", "the list of what it is ordered with cannot be read"),
])
def test_a_damaged_option_is_found(change: str, said: str, book: Path) -> None:
    """A look through the register names the quote and says why; nothing else stops."""
    assert order(book, "3").exit_code == 0
    with contextlib.closing(sqlite3.connect(book.with_name("book.register.sqlite"))) as connection:
        connection.execute(change)
        connection.commit()
    result = run("register", book, "--check")
    assert (result.exit_code, said in result.output) == (1, True), result.output
    assert "Q-2" in run("register", book).stdout


def test_a_register_that_kept_no_options_stays_readable(tmp_path: Path) -> None:
    """It was written by the version before: nothing is promised otherwise, an order is made as before, and options are refused."""
    for file in (Path(__file__).parent / "kept" / "options").iterdir():
        shutil.copy(file, tmp_path / file.name)
    book = tmp_path / "options.xlsx"
    with Register.open(book, to_read=True) as register:
        assert [(quote.name, quote.marked, register.offers(quote)) for quote in register.quotes()] == [
            ("Q-1", "issued", None), ("Q-2", "ordered", None)]
    assert otherwise(book, load_price_book(book)) == []
    refused = order(book, "3")
    assert (refused.exit_code, "was recorded by a version that kept no options; issue it again" in refused.stderr) == (1, True)
    assert order(book).exit_code == 0
    assert "nothing is damaged" in run("register", book, "--check").stdout


def test_what_a_line_has_of_its_own_keeps_its_line_when_the_quote_is_priced_anew(tmp_path: Path) -> None:
    """A cut-out of the third line stays there beside an option that is the second; a reissued quote has it, and what is bought for it;
    an order with options is not said to have moved by prices that stand."""
    made = small_book()
    made["Enquiries"] = [HEADINGS, *(["Q-1", DAY, "Ada Field", "Slab 1000", number, None, offer] for number, offer in ((4, None),
                         (1, "option"), (2, None)))]
    made["Cut-outs"] = [["Quote", "Line", "Form", "Diameter (mm)"], ["Q-1", 3, "round", 300]]
    made["Extras"] = [["Product", "Quote", "Material", "Amount", "Per"], [None, "Q-1", "Brackets", 7, "quote"]]
    book = write_book(tmp_path / "book.xlsx", made)
    assert pricing.quote(book, out=tmp_path, record="issued").problems.errors == []
    for again in (False, ["Q-1"]):
        done = pricing.reprice(book, day=DAY + datetime.timedelta(days=1), out=tmp_path, reissue=again)
        assert done.repricing is not None
        assert not done.problems.errors
        quote = done.repricing.quotes[0]
        assert (quote.cost.new, quote.net.new, quote.cost.parts) == (quote.cost.old, quote.net.old, {})
    first, second = pricing.recorded(book, every_revision=True, day=DAY).quotes
    assert first.totals == second.totals
    pricing.mark(book, "Q-1", "ordered", options=[2], day=DAY)
    assert "  (as it was promised)\nThis price stands as it was promised." in run("explain", book, "--quote", "Q-1", "--line", "2").stdout
    assert "has no line 4; its lines are 1, 2 and 3" in run("explain", book, "--quote", "Q-1", "--line", "4").stderr
    done = pricing.reprice(book, day=DAY)
    assert done.repricing is not None
    assert [each.cost.parts for each in done.repricing.ordered] == [{}]
    assert not done.repricing.causes


def test_a_row_of_a_set_that_is_no_longer_needed_is_named_once(tmp_path: Path) -> None:
    """It stands in the sheet once, however many parts the set has."""
    made = small_book()
    made["Sets"] = [["Set", "Description", "Product", "Quantity"], ["Pair", "Two", "Slab 1000", 1], ["Pair", None, "Shelf 800", 1]]
    made["Enquiries"] = [HEADINGS, ["Q-1", DAY, "Ada Field", "Pair", 1]]
    book = write_book(tmp_path / "book.xlsx", made)
    assert pricing.quote(book, out=tmp_path, record="issued").problems.errors == []
    pricing.mark(book, "Q-1", "ordered", day=DAY)
    assert pricing.no_longer_needed(book) == [f"Enquiries row 2: Q-1, ordered since {DAY}"]
