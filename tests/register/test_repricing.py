"""When prices change: the list against what it was, each quote against what it was made with."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from books import set_cell, small_book, write_book

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book
from pricing.costing.run import cost_quotes
from pricing.problems import BookError
from pricing.register.kept.quote_snapshot import snapshot_of
from pricing.register.register import Register
from pricing.repricing.changes import NOT_ISSUED, Change
from pricing.repricing.reprice import last_change, reprice

Sheets = dict[str, list[list[Any]]]
DAY = datetime.date(2026, 3, 2)
LATER = datetime.date(2026, 3, 20)
CEMENT = ["Cement", "binder", 25, "kg", 11.2, 0, "0 %", 3150, 1500, None, None, None, "Hill Merchants", datetime.date(2026, 3, 10)]

#: Kilograms of cement in a cubic metre of Grey: 1 : 2 : 0.4 by mass with 2 % air.
GREY = 0.98 / (1 / 3150 + 2 / 2650 + 0.4 / 1000)


def book_of(folder: Path, edit: Callable[[Sheets], None] = lambda sheets: None, name: str = "book.xlsx") -> PriceBook:
    """The small workshop after an edit."""
    sheets = small_book()
    edit(sheets)
    return load_price_book(write_book(folder / name, sheets))


def dearer(sheets: Sheets) -> None:
    """Cement costs 11.20 instead of 10 from 10 March on."""
    sheets["Materials"].append(CEMENT)


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    """Both quotes of the small workshop, issued on their day."""
    costing = cost_quotes(book_of(tmp_path))
    with Register.open(tmp_path / "book.xlsx") as opened:
        for quote in costing.quotes:
            opened.issue(snapshot_of(costing, quote), tmp_path / f"{quote}.xlsx", lambda path: path.write_bytes(b"x") and None, today=DAY)
        yield opened


def sums(moved: Change) -> float:
    """The parts and the rounding."""
    return sum(moved.parts.values()) + moved.rounding


def test_a_dearer_bag_of_cement_by_hand(register: Register, tmp_path: Path) -> None:
    """Q-1 takes four slabs at 5 % rejects and three shelves: its cost rises by the cement in them, and by nothing else."""
    found = reprice(book_of(tmp_path, dearer), LATER, register=register)
    first = found.quotes[0]
    shelf = next(line for line in register.lines(register.quotes()[0]) if line.product == "Shelf 800")
    shelf_volume = 0.8 * 0.25 * 0.025 + 0.8 * 0.04 * 0.025
    assert shelf.asked["drop"] == 0.04
    cement = 4 * 0.02 * 1.1 * GREY / 0.95 + 3 * shelf_volume * 1.1 * 500
    assert first.cost.parts == {("material", "Cement"): pytest.approx(cement * 1.2 / 25, rel=1e-12)}
    assert sums(first.cost) == pytest.approx(first.cost.change, abs=1e-9)
    assert [(c.old, c.new, c.place) for c in found.causes["material", "Cement"].cells] == [(10.0, 11.2, "Materials!E14")]


def test_old_figures_are_those_that_were_promised(register: Register, tmp_path: Path) -> None:
    """Whatever the book says by now, a quote is compared with what the register recorded."""

    def other(sheets: Sheets) -> None:
        set_cell(sheets, "Materials", "Cement", "Pack price", 14)
        set_cell(sheets, "Enquiries", "Q-1", "Quantity", 40)

    entries = register.quotes()
    found = reprice(book_of(tmp_path, other), DAY, register=register)
    for entry, quote in zip(entries, found.quotes, strict=True):
        assert quote.cost.old == pytest.approx(entry.totals["quote_cost"], rel=1e-12)
        assert quote.net.old == entry.totals["net"]
        assert sums(quote.net) == pytest.approx(quote.net.change, abs=1e-9)
    assert list(found.causes) == [("material", "Cement")]


def test_the_new_net_is_what_a_revision_would_come_to(register: Register, tmp_path: Path) -> None:
    """A quote's net now is the engine's own, for the same lines at the prices of the day."""
    book = book_of(tmp_path, dearer)
    found = reprice(book, LATER, register=register)
    today = cost_quotes(book, day=LATER)
    assert [quote.net.new for quote in found.quotes] == today.quote("net").tolist()
    assert [quote.cost.new for quote in found.quotes] == pytest.approx(today.quote("quote_cost").tolist(), rel=1e-12)


def test_ordered_quotes_are_held(register: Register, tmp_path: Path) -> None:
    """An ordered quote keeps its net and shows its new cost; a refused one is left out."""
    register.mark("Q-1", "ordered", DAY)
    register.mark("Q-2", "refused", DAY)
    found = reprice(book_of(tmp_path, dearer), LATER, register=register)
    assert found.quotes == []
    ordered = found.ordered[0]
    net = register.quotes(number="Q-1")[0].totals["net"]
    assert (ordered.net.old, ordered.net.new, ordered.net.parts) == (net, net, {})
    assert ordered.cost.change > 0


def test_quotes_that_were_never_issued(tmp_path: Path) -> None:
    """Without a register, the quotes of the Enquiries sheet are compared with the prices of their own date."""
    found = reprice(book_of(tmp_path, dearer), LATER)
    assert [(quote.number, quote.state) for quote in found.quotes] == [("Q-1", NOT_ISSUED), ("Q-2", NOT_ISSUED)]
    assert found.quotes[0].cost.parts.keys() == {("material", "Cement")}


def test_a_product_that_is_gone(register: Register, tmp_path: Path) -> None:
    """A quote for a product that the book no longer has says so, and keeps its old figures."""

    def gone(sheets: Sheets) -> None:
        sheets["Products"] = [row for row in sheets["Products"] if row[0] != "Block"]
        sheets["Enquiries"] = [row for row in sheets["Enquiries"] if row[3] != "Block"]

    found = reprice(book_of(tmp_path, gone), LATER, register=register)
    assert [quote.reason for quote in found.quotes] == ["", 'product "Block" is no longer in the price book']
    assert found.quotes[1].cost.change == 0
    assert [product.product for product in found.products] == ["Slab 1000", "Shelf 800"]


def test_the_list_before_the_last_change(tmp_path: Path) -> None:
    """Without being told what with, the list is compared with the day before the last change of prices."""
    book = book_of(tmp_path, dearer)
    assert last_change(book, LATER) == datetime.date(2026, 3, 9)
    assert last_change(book, DAY) == DAY
    found = reprice(book, LATER)
    slab, shelf, block = found.products
    assert slab.cost.parts == {("material", "Cement"): pytest.approx(0.02 * 1.1 * GREY / 0.95 * 1.2 / 25, rel=1e-12)}
    assert (block.listed, block.price.change, block.price.parts) == (True, 0.0, {})
    for product in found.products:
        assert sums(product.cost) == pytest.approx(product.cost.change, abs=1e-12)
        assert sums(product.price) == pytest.approx(product.price.change, abs=1e-12)
    assert shelf.wanted == shelf.price.new
    assert "2026-03-09" in found.compared_with


def test_the_list_of_another_day_or_another_book(tmp_path: Path) -> None:
    """Since a day, and against an older book: the same change from either."""
    new = book_of(tmp_path, dearer)
    old = book_of(tmp_path, name="old.xlsx")
    since, against = reprice(new, LATER, since=DAY), reprice(new, LATER, against=old)
    assert [p.cost for p in since.products] == [p.cost for p in against.products]
    assert "old.xlsx" in against.compared_with
    with pytest.raises(BookError, match="has no price yet"):
        reprice(new, LATER, since=datetime.date(2020, 1, 1))


def test_what_is_only_supposed(register: Register, tmp_path: Path) -> None:
    """What-if moves the list and the quotes together, and says that it is supposed."""
    book = book_of(tmp_path)
    found = reprice(book, LATER, changes=["Cement=+12%", "Maker=+5%"], register=register)
    assert found.what_if == ("Cement +12%", "Maker +5%")
    assert set(found.causes) == {("material", "Cement"), ("wage", "Maker")}
    assert all(set(product.cost.parts) == set(found.causes) for product in found.products)
    assert found.quotes[0].cost.parts.keys() == set(found.causes)
    assert book.tables["Materials"].columns["pack_price"][0] == 10.0


def test_list_prices_from_now_on_at_the_usual_run_alone(register: Register, tmp_path: Path) -> None:
    """A quote of twelve blocks at the list price of ten comes to the calculated price, and the setting is the whole reason."""
    def at_the_usual_run(sheets: Sheets) -> None:
        sheets["Workshop"].append(["List price holds", "at the usual run", None])

    found = reprice(book_of(tmp_path, at_the_usual_run, "now.xlsx"), DAY, register=register)
    blocks = next(quote for quote in found.quotes if quote.number == "Q-2")
    assert set(blocks.net.parts) == {("setting", "List price holds at the usual run")}
    assert blocks.net.new < blocks.net.old
    assert sums(blocks.net) == pytest.approx(blocks.net.new - blocks.net.old, rel=1e-12)
    assert blocks.cost.parts == {}


def test_nothing_changed(register: Register, tmp_path: Path) -> None:
    """On the day of the quotes nothing has moved, and no cause is made up."""
    found = reprice(book_of(tmp_path), DAY, register=register)
    assert found.causes == {}
    assert all(product.cost.change == 0 and product.price.change == 0 for product in found.products)
    assert [quote.net.change for quote in found.quotes] == [0.0, 0.0]
