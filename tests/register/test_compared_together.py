"""Many quotes repriced together say exactly what each says by itself."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from books import small_book, write_book

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book
from pricing.costing.run import cost_quotes
from pricing.register.kept.quote_snapshot import snapshot_of
from pricing.register.register import Register
from pricing.repricing import many_quotes as together
from pricing.repricing.changes import Change, Repricing
from pricing.repricing.reprice import reprice

Sheets = dict[str, list[list[Any]]]
EARLY, LATE, TODAY = datetime.date(2026, 1, 20), datetime.date(2026, 3, 2), datetime.date(2026, 3, 20)
FEBRUARY, MARCH = datetime.date(2026, 2, 1), datetime.date(2026, 3, 10)
NOTHING = Change(0.0, 0.0)
PRODUCTS = ("Slab 1000", "Shelf 800", "Block")


def quoted(sheets: Sheets) -> None:
    """Sixty quotes on two days, between which sand became dearer; some lines have a length or a price of their own."""
    sheets["Materials"].append(["Sand", "aggregate", 25, "kg", 2.9, 0, "0 %", 2650, 1600, None, None, None, "Hill Merchants", FEBRUARY])
    rows = []
    for number in range(60):
        day, customer = (EARLY if number % 2 else LATE), ("Ada Field", "Brook House")[number % 3 == 0]
        for line in range(1 + number % 3):
            product = PRODUCTS[(number + line) % 3]
            length = 900 + number if product == "Slab 1000" and number % 4 == 0 else None
            price = 170 if number % 7 == 0 else None
            rows.append([f"Q-{number}", day, customer, product, 1 + number % 5, length, None, price, None])
    sheets["Enquiries"] = [sheets["Enquiries"][0], *rows]


def dearer_cement(sheets: Sheets) -> None:
    """Cement from 10 March on."""
    sheets["Materials"].append(["Cement", "binder", 25, "kg", 11.2, 0, "0 %", 3150, 1500, None, None, None, "Hill Merchants", MARCH])


def dearer(sheets: Sheets) -> None:
    """Cement from 10 March on, and a wage that is typed over."""
    dearer_cement(sheets)
    sheets["Trades"][1][1] = 25.5


def another_recipe(sheets: Sheets) -> None:
    """A pinch of pigment in the mix of every slab: rows that were not there before."""
    sheets["Mixes"].append(["Grey", "Black", "1 %", "% of binder"])


def without_blocks(sheets: Sheets) -> None:
    """A product that is no longer made, and every quote that has it."""
    sheets["Products"] = [row for row in sheets["Products"] if row[0] != "Block"]
    sheets["Enquiries"] = [row for row in sheets["Enquiries"] if row[3] != "Block"]


def another_setting(sheets: Sheets) -> None:
    """A margin of 45 %."""
    next(row for row in sheets["Workshop"] if row[0] == "Target margin")[1] = "45 %"


def book_of(folder: Path, *edits: Callable[[Sheets], None], name: str = "book.xlsx") -> PriceBook:
    sheets = small_book()
    for edit in (quoted, *edits):
        edit(sheets)
    return load_price_book(write_book(folder / name, sheets))


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a price book and the register of its sixty quotes; three of them are ordered, one is refused."""
    folder = tmp_path_factory.mktemp("together")
    costing = cost_quotes(book_of(folder))
    with Register.open(folder / "book.xlsx") as opened:
        for quote in costing.quotes:
            opened.issue(snapshot_of(costing, quote), folder / f"{quote}.xlsx", lambda path: path.write_bytes(b"x") and None, today=LATE)
        for quote in ("Q-3", "Q-4", "Q-8"):
            opened.mark(quote, "ordered", LATE, late=True)
        opened.mark("Q-5", "refused", LATE)
    return folder


def both(home: Path, monkeypatch: pytest.MonkeyPatch, book: PriceBook, **more: Any) -> tuple[Repricing, Repricing, int]:
    """A repricing of all together and one by one, and how many quotes were together."""
    counted: list[int] = []
    real = together.compared_together

    def counting(*arguments: Any) -> Any:
        found = real(*arguments)
        counted.append(len(found))
        return found

    with Register.open(home / "book.xlsx", to_read=True) as opened:
        monkeypatch.setattr("pricing.repricing.reprice.compared_together", counting)
        one = reprice(book, TODAY, register=opened, **more)
        monkeypatch.setattr(together, "WORTH_WHILE", 1_000_000)
        other = reprice(book, TODAY, register=opened, **more)
    return one, other, counted[0]


CASES: dict[str, tuple[tuple[Callable[[Sheets], None], ...], dict[str, Any], int]] = {
    "nothing": ((), {}, 59),
    "a price that is supposed": ((), {"changes": ["Cement=+12%"]}, 59),
    "two that are supposed": ((), {"changes": ["Cement=+12%", "Sealer=-5%"]}, 59),
    "a price of a later day": ((dearer_cement,), {}, 59),
    "a price and a wage that was typed over": ((dearer,), {}, 0),
    "another recipe": ((another_recipe,), {}, 20),
    "a product that is gone": ((without_blocks,), {"changes": ["Cement=+12%"]}, 20),
    "another margin": ((another_setting,), {}, 9),
}


def same(one: Change, other: Change) -> None:
    """The same amounts, and the same parts but for the order in which a mean over several causes is added up."""
    assert (one.old, one.new) == (other.old, other.new)
    assert one.parts == {name: pytest.approx(part, rel=1e-12, abs=1e-12) for name, part in other.parts.items()}
    assert one.rounding == pytest.approx(other.rounding, abs=1e-9)


@pytest.mark.parametrize("kind", CASES)
def test_together_and_one_by_one_say_the_same(kind: str, home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cost and net of every quote are the same to the last bit, every part to 1e-12, and so are the cells that changed.

    What the book no longer yields is compared by itself: a typed-over wage belongs to every quote, so that none is left;
    another margin leaves the quotes together all of whose prices were typed.
    """
    edits, more, many = CASES[kind]
    one, other, counted = both(home, monkeypatch, book_of(tmp_path, *edits), **more)
    assert counted == many
    for here, there in zip([*one.quotes, *one.ordered], [*other.quotes, *other.ordered], strict=True):
        assert replace(here, cost=NOTHING, net=NOTHING) == replace(there, cost=NOTHING, net=NOTHING)
        same(here.cost, there.cost)
        same(here.net, there.net)
    assert {name: cause.cells for name, cause in one.causes.items()} == {name: cause.cells for name, cause in other.causes.items()}
    assert len(one.quotes) + len(one.ordered) >= 59


def test_parts_add_up(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Old amount, parts and rounding make the new amount; an ordered quote keeps its net and shows what it costs now."""
    found, _, counted = both(home, monkeypatch, book_of(tmp_path), changes=["Cement=+12%", "Sand=+5%"])
    assert counted == 59
    for quote in found.quotes:
        for moved in (quote.cost, quote.net):
            assert moved.old + sum(moved.parts.values()) + moved.rounding == pytest.approx(moved.new, abs=1e-9)
    assert len(found.ordered) == 3
    assert all(quote.net.old == quote.net.new and quote.cost.new > quote.cost.old for quote in found.ordered)


def test_many_causes_are_split_quote_by_quote(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where more causes meet than can be weighed for all quotes at once, each quote is weighed with its own."""
    monkeypatch.setattr(together, "MOST_CAUSES", 1)
    _, _, counted = both(home, monkeypatch, book_of(tmp_path), changes=["Cement=+12%", "Sealer=-5%"])
    assert counted == 0
