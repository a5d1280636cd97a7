"""Break-even of lines against books that hold one quote for every quantity, and against a published case."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import DAY, set_cell, small_book, write_book

from pricing.book.reading.read import load_price_book
from pricing.costing.analysis.break_even import break_even, margins_at
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.rules.bottleneck import contribution_per_piece

Sheets = dict[str, list[list[Any]]]
MOST = 40


def cost(path: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(path, sheets)))


def enquire(sheets: Sheets, rows: list[tuple[str, str, str, float, float | None]]) -> Sheets:
    """Replace the enquiries: quote, customer, product, quantity, unit price."""
    sheets["Enquiries"] = [sheets["Enquiries"][0]] + [
        [quote, DAY, customer, product, quantity, None, None, price, None] for quote, customer, product, quantity, price in rows
    ]
    return sheets


def with_few_casts() -> Sheets:
    """The small workshop, its moulds good for three casts and nothing delivered."""
    sheets = small_book()
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 3)
    for row in sheets["Customers"][1:]:
        row[4] = None
    return sheets


@pytest.mark.parametrize(
    ("product", "customer", "price"),
    [
        ("Slab 1000", "Ada Field", 110.0), ("Slab 1000", "Ada Field", 72.0), ("Slab 1000", "Brook House", 92.0),
        ("Slab 1000", "Ada Field", 40.0), ("Shelf 800", "Ada Field", 56.5), ("Shelf 800", "Brook House", 61.0),
        ("Block", "Ada Field", 17.0), ("Block", "Brook House", 95.0), ("Block", "Ada Field", 15.5),
    ],
)
def test_break_even_is_where_a_book_of_all_quantities_has_it(product: str, customer: str, price: float, tmp_path: Path) -> None:
    """The smallest quantity whose own quote loses nothing, and the next at which it loses again, are those found."""
    rows = [(f"Q-{number}", customer, product, float(number), price) for number in range(1, MOST + 1)]
    everything = cost(tmp_path / "all.xlsx", enquire(with_few_casts(), rows))
    gains = everything.line("discounted_margin") >= -1e-9
    result = break_even(cost(tmp_path / "one.xlsx", enquire(with_few_casts(), [("Q-1", customer, product, 2, price)])))

    def first(flags: Any, start: int = 0) -> float:
        found = np.flatnonzero(flags[start:])
        return float(found[0] + start + 1) if len(found) else math.nan

    def within(quantity: float) -> float:
        return quantity if quantity <= MOST else math.nan

    expected = first(gains)
    assert within(result.quantity[0]) == pytest.approx(expected, nan_ok=True)
    if not math.isnan(expected):
        assert within(result.short_again[0]) == pytest.approx(first(~gains, int(expected)), nan_ok=True)


def test_a_second_mould_makes_a_line_fall_short_again(tmp_path: Path) -> None:
    """Between one whole number of moulds and the next, a thin price pays for three pieces but not for four."""
    book = enquire(with_few_casts(), [("Q-1", "Ada Field", "Slab 1000", 2, 73.0)])
    set_cell(book, "Products", "Slab 1000", "Rejects", "0 %")
    result = break_even(cost(tmp_path / "book.xlsx", book))
    assert (result.quantity[0], result.short_again[0]) == (3, 4)


def test_the_break_even_price_earns_nothing(tmp_path: Path) -> None:
    """Quoted at its break-even price, each line's margin is nothing but the rounding of its net."""
    base = cost(tmp_path / "base.xlsx", small_book())
    prices = break_even(base)
    for wanted, all_costs in ((prices.price, True), (prices.own_price, False)):
        sheets = small_book()
        sheets["Enquiries"][0].append("Discount")
        for row, price, discount in zip(sheets["Enquiries"][1:], wanted.tolist(), base.line("discount_rate").tolist(), strict=True):
            row[7] = price
            row.append(f"{discount:.0%}")
        there = cost(tmp_path / "there.xlsx", sheets)
        left = there.line("discounted_net") - there.line("line_cost") if all_costs else there.line("contribution")
        assert left == pytest.approx(np.zeros(len(left)), abs=0.006)


#: Saylor Academy 2012, Managerial Accounting (open), chapter 6: (price, variable cost, fixed costs, pieces).
PUBLISHED = [(250, 150, 50_000, 500), (275, 150, 50_000, 400), (15, 2, 5_000, 385)]


@pytest.mark.parametrize(("price", "variable", "fixed", "pieces"), PUBLISHED)
def test_published_cases(price: float, variable: float, fixed: float, pieces: int, tmp_path: Path) -> None:
    """A price of 250, a variable cost of 150 and 50,000 of fixed cost break even at 500 pieces; and other published cases."""
    sheets = small_book()
    for name in ("Cement", "Sand", "Water"):
        set_cell(sheets, "Materials", name, "Pack price", 0)
    set_cell(sheets, "Workshop", "Overhead per labour hour", "Value", 0)
    set_cell(sheets, "Trades", "Maker", "Hourly cost", 60)
    sheets["Labour"] = [sheets["Labour"][0], ["Plain", "Set up", "Maker", fixed, "order"], ["Plain", "Make", "Maker", variable, "piece"]]
    sheets["Labour"] = [row + [None] * (len(sheets["Labour"][0]) - len(row)) for row in sheets["Labour"]]
    result = break_even(cost(tmp_path / "book.xlsx", enquire(sheets, [("Q-1", "Ada Field", "Block", 7, float(price))])))
    assert result.quantity[0] == pieces
    assert result.fixed_cost[0] == pytest.approx(fixed, rel=1e-9)
    assert result.next_piece[0] == pytest.approx(variable, rel=1e-9)


def test_without_steps_the_textbook_formula_holds(tmp_path: Path) -> None:
    """Where nothing but the order's own work is fixed, break-even is fixed cost over contribution, rounded up."""
    sheets = small_book()
    sheets["Labour"] = [row for row in sheets["Labour"] if row[4] != "batch"]
    made = cost(tmp_path / "book.xlsx", enquire(sheets, [("Q-1", "Ada Field", "Block", 3, 17.0), ("Q-2", "Ada Field", "Block", 9, 14.2)]))
    result = break_even(made)
    for line in range(2):
        each = contribution_per_piece(made.line("unit_price")[line], result.next_piece[line])
        assert result.quantity[line] == math.ceil(result.fixed_cost[line] / each - 1e-9)
    assert result.fixed_cost[0] == pytest.approx(result.fixed_cost[1], rel=1e-9)


def test_fixed_cost_and_further_pieces_add_up(tmp_path: Path) -> None:
    """Fixed cost and the pieces at what one more costs are the cost of the line as an order of its own."""
    rows = [("Q-1", "Ada Field", "Slab 1000", 4, None), ("Q-2", "Ada Field", "Shelf 800", 7, None), ("Q-3", "Ada Field", "Block", 12, None)]
    made = cost(tmp_path / "book.xlsx", enquire(with_few_casts(), rows))
    result = break_even(made)
    assert result.fixed_cost + made.line("quantity") * result.next_piece == pytest.approx(made.line("line_cost"), rel=1e-12)


def test_what_never_pays_has_no_break_even(tmp_path: Path) -> None:
    """A price below what a further piece costs is reached by no quantity."""
    result = break_even(cost(tmp_path / "book.xlsx", enquire(small_book(), [("Q-1", "Ada Field", "Slab 1000", 4, 5.0)])))
    assert np.isnan(result.quantity[0])


@pytest.mark.parametrize("holds", ["at any quantity", "at the usual run"])
def test_margins_at_other_quantities(tmp_path: Path, holds: str) -> None:
    """Each line at each quantity earns what a quote for just that earns: a typed price stands, a list price where it holds for so many."""
    setting = ["List price holds", holds, None]
    sheets = small_book()
    sheets["Workshop"].append(setting)
    base = cost(tmp_path / "base.xlsx", sheets)
    quantities = (1, 6, 10, 20)
    prices, margins, _ = margins_at(base, quantities)
    assert (prices[2] == 95).tolist() == [holds == "at any quantity", holds == "at any quantity", True, holds == "at any quantity"]
    for place, quantity in enumerate(quantities):
        sheets = small_book()
        sheets["Workshop"].append(setting)
        for number, row in enumerate(sheets["Enquiries"][1:]):
            row[0], row[4] = f"Q-{number}", quantity
            row[1], row[2] = DAY, ("Ada Field", "Ada Field", "Brook House", "Brook House")[number]
        sheets["Delivery"].append(["Near", 5000, 90])
        there = cost(tmp_path / "there.xlsx", sheets)
        assert prices[:, place].tolist() == there.line("unit_price").tolist()
        assert margins[:, place] == pytest.approx(there.line("discounted_margin"), abs=1e-12)
