"""The price of a line: own margins, discounts, levels, what is taken from the price, prices by measure, list prices from a run on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from books import DAY, set_cell, small_book, write_book
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.price_table import prices_by_quantity
from pricing.costing.run import at_quantities, cost_quotes
from pricing.register.kept.stored_model import restored, stored

Sheets = dict[str, list[list[Any]]]

HEADINGS = ["Quote", "Date", "Customer", "Product", "Quantity", "Unit price", "Margin", "Discount", "Description"]


def asked(*lines: tuple[Any, ...], **more: list[list[Any]]) -> Sheets:
    """The small workshop asked for some lines, each by the headings from Customer on."""
    sheets = small_book() | more
    sheets["Enquiries"] = [HEADINGS, *(["Q-1", DAY, *line, *[None] * (7 - len(line))] for line in lines)]
    return sheets


def with_setting(sheets: Sheets, name: str, value: Any) -> Sheets:
    sheets["Workshop"].append([name, value, None])
    return sheets


def costed(folder: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


def test_a_typed_price_is_the_price(tmp_path: Path) -> None:
    """The customer's discount is taken off the list price, not off what was typed; a discount typed beside it is."""
    costing = costed(tmp_path, asked(
        ("Brook House", "Block", 10), ("Brook House", "Block", 10, 80), ("Brook House", "Block", 10, 80, None, "5 %")))
    assert costing.line("line_net").tolist() == [950.0, 800.0, 760.0]
    assert costing.line("discount_rate").tolist() == [0.1, 0.0, 0.05]
    assert costing.quote("discount")[0] == 95.0
    assert costing.quote("goods_net")[0] == 855.0 + 800.0 + 760.0
    assert [line["discount"] for line in costing.as_json()["quotes"][0]["lines"]] == [0.1, 0.0, 0.05]


def test_a_line_has_a_margin_of_its_own(tmp_path: Path) -> None:
    """It stands in place of the target margin, and of a list price."""
    costing = costed(tmp_path, asked(("Ada Field", "Block", 10), ("Ada Field", "Block", 10, None, "50 %")))
    cost = costing.line("unit_cost")
    assert costing.line("unit_price")[0] == 95
    assert costing.line("unit_price")[1] == pytest.approx(cost[1] / 0.5, abs=1.0)
    assert costing.line("discounted_margin")[1] >= 0.5


def test_what_is_taken_from_the_price_stands_in_it_and_not_in_the_cost(tmp_path: Path) -> None:
    """The price is higher by its share, the cost of a piece the same, and what is left is still the margin that was wanted."""
    before = costed(tmp_path, asked(("Ada Field", "Slab 1000", 4)))
    after = costed(tmp_path, with_setting(asked(("Ada Field", "Slab 1000", 4)), "Taken from the price", "5 %"))
    assert after.line("unit_cost")[0] == before.line("unit_cost")[0]
    assert after.line("target_price")[0] == pytest.approx(before.line("unit_cost")[0] / 0.55, rel=1e-12)
    net, cost = after.line("discounted_net")[0], after.line("line_cost")[0]
    assert after.line("discounted_margin")[0] == pytest.approx((net * 0.95 - cost) / net, rel=1e-12)
    assert after.line("discounted_margin")[0] >= 0.4
    assert after.quote("quote_cost")[0] == pytest.approx(cost + 45 + net * 0.05, rel=1e-12)


LEVELS = [["Level", "Product", "Discount", "Price"], ["Trade", None, "15 %", None], ["Trade", "Block", None, 70]]


def test_levels(tmp_path: Path) -> None:
    """A level has a price for a product, or a discount for all others; what the line says comes first."""
    sheets = asked(
        ("Brook House", "Block", 10), ("Brook House", "Shelf 800", 2), ("Brook House", "Shelf 800", 2, None, None, "3 %"),
        ("Ada Field", "Block", 10), Levels=LEVELS)
    sheets["Customers"] = [[*row, level] for row, level in zip(sheets["Customers"], ("Level", None, "Trade"), strict=True)]
    sheets["Enquiries"][4][0] = "Q-2"
    costing = costed(tmp_path, sheets)
    assert costing.line("unit_price")[[0, 3]].tolist() == [70.0, 95.0]
    assert costing.line("discount_rate").tolist() == [0.0, 0.15, 0.03, 0.0]
    lines = costing.model.tables["lines"]
    assert [lines.place("given_price", 0), lines.place("own_discount", 1)] == ["Levels!D3", "Levels!C2"]


@pytest.mark.parametrize(("per", "measure"), [
    ("m2", 0.5), ("m", 1.0), ("kg", None), ("piece", 1.0), ("ft2", 0.5 / 0.09290304), ("ft", 1 / 0.3048)])
def test_a_price_may_be_for_a_measure(tmp_path: Path, per: str, measure: float | None) -> None:
    """Two hundred slabs are charged by the square metre or foot, the metre or foot, or the kilogram, measured to two decimal places (the
    foot of the international agreement of 1959)."""
    sheets = asked(("Ada Field", "Slab 1000", 200))
    sheets["Products"] = [[*row, more] for row, more in zip(sheets["Products"], ("Price per", per, None, None), strict=True)]
    set_cell(sheets, "Products", "Slab 1000", "List price", 88.5)
    set_cell(sheets, "Delivery", "Near", "Up to", 1e6)
    costing = costed(tmp_path, sheets)
    each = measure if measure is not None else float(costing.line("mass")[0])
    assert costing.line("unit_price")[0] == pytest.approx(88.5 * each, rel=1e-12)
    assert costing.line("line_net")[0] == round(round(200 * each, 2) * 88.5 + 1e-9, 2)
    again = restored(stored(costing.model))
    assert again is not None
    assert again.tables["lines"].spec == costing.model.tables["lines"].spec


def test_a_list_price_from_the_usual_run(tmp_path: Path) -> None:
    """It holds for the product's usual run and more, and the calculated price for fewer."""
    lines = [("Brook House", "Block", quantity) for quantity in (9, 10, 40)]
    costing = costed(tmp_path, with_setting(asked(*lines), "List price holds", "from the usual run"))
    assert costing.line("price_is_given").tolist() == [0.0, 1.0, 1.0]
    assert costing.line("unit_price")[1:].tolist() == [95.0, 95.0]


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(1, 60), st.sampled_from(["Block", "Slab 1000", "Shelf 800"]), st.sampled_from([None, 12.5, 400.0]),
       st.sampled_from(["at any quantity", "at the usual run", "from the usual run"]))
def test_a_price_table_never_contradicts_its_quote(tmp_path: Path, quantity: int, product: str, typed: float | None, holds: str) -> None:
    """Where fewer pieces are ordered, none costs less than the quote says; where more are, none costs more."""
    costing = costed(tmp_path, with_setting(asked(("Brook House", product, quantity, typed)), "List price holds", holds))
    numbers = (1, 5, quantity, 100)
    shown = dict(zip(numbers, prices_by_quantity(costing, 0, at_quantities(costing, numbers)), strict=True))
    own = costing.line("unit_price")[0]
    assert shown[quantity] == own
    assert all((price - own) * (quantity - number) >= 0 for number, price in shown.items())


def test_bad_input_has_a_place_a_sentence_and_a_remedy(tmp_path: Path) -> None:
    """All problems in one pass."""
    sheets = asked(("Ada Field", "Block", 1, None, "97 %"), ("Ada Field", "Block", 1, 50, "30 %"),
                   Levels=[*LEVELS, ["Shop", None, None, None]])
    with_setting(sheets, "Taken from the price", "5 %")
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    codes = ("empty-level", "nothing-left", "unused-value")
    told = [(problem.code, problem.sheet, problem.cell) for problem in problems if problem.code in codes]
    assert sorted(told) == sorted([
        ("empty-level", "Levels", "C4"), ("nothing-left", "Enquiries", "G2"), ("unused-value", "Enquiries", "G3")])
    assert "together they must be below 100 %" in str(next(each for each in problems if each.code == "nothing-left"))
