"""On what terms a quote is sold: tax by category and rate, and what of it adds up."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import DAY, write_book
from hypothesis import given, settings
from hypothesis import strategies as st
from terms_book import terms_book

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.explain.explain import explain
from pricing.costing.lines.enquiries import with_enquiries
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.register.quote_snapshot import snapshot_of
from pricing.register.stored_model import restored


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> PriceBook:
    return load_price_book(write_book(tmp_path_factory.mktemp("terms") / "book.xlsx", terms_book()))


@pytest.fixture(scope="module")
def costing(book: PriceBook) -> Costing:
    return cost_quotes(book)


def quotes(costing: Costing) -> dict[str, dict[str, Any]]:
    return {each["quote"]: each for each in costing.as_json()["quotes"]}


def test_a_quote_of_three_rates_by_hand(costing: Costing) -> None:
    """Lines of 464, 258 and 33.33 with carriage of 45: 27.64, 15.37 and 1.99 of it by value, and tax once on each base."""
    assert [(each["category"], each["rate"], each["base"], each["amount"]) for each in quotes(costing)["Q-1"]["taxes"]] == [
        ("S", 0.20, 491.64, 98.33), ("S", 0.05, 273.37, 13.67), ("Z", 0.0, 35.32, 0.0),
    ]
    assert quotes(costing)["Q-1"]["tax"] == 112.0


@pytest.mark.parametrize(("quote", "category"), [("Q-2", "S"), ("Q-3", "AE"), ("Q-4", "E")])
def test_a_tax_of_the_customer_stands_before_that_of_the_product(costing: Costing, quote: str, category: str) -> None:
    """A rate of the customer, reverse charge and exemption hold for all lines, whatever their products name."""
    (tax,) = quotes(costing)[quote]["taxes"]
    assert tax["category"] == category
    assert tax["base"] == quotes(costing)[quote]["net"]
    assert tax["amount"] == quotes(costing)[quote]["tax"]


def test_a_quote_is_told_of_what_its_tax_is_made(costing: Costing) -> None:
    """The explanation of the tax goes down to the rate in the sheet Taxes."""
    places = {trace.place for trace in explain(costing, "Q-1", figure="tax").all()}
    assert {"Taxes!B2", "Workshop!B5"} <= places


def test_a_record_has_the_taxes_that_were_promised(costing: Costing) -> None:
    """Costed again from what the register keeps, every quote has its tax."""
    for number, quote in enumerate(costing.quotes):
        model = restored(snapshot_of(costing, quote).inputs)
        assert model is not None
        assert evaluate(model).value("quotes", "tax")[0] == costing.quote("tax")[number]
        assert evaluate(model).value("quotes", "payable")[0] == costing.quote("payable")[number]


LINES = st.lists(st.tuples(
    st.sampled_from(["Slab 1000", "Shelf 800", "Block"]), st.integers(1, 30),
    st.one_of(st.just(0.0), st.integers(1, 2_000_000).map(lambda cents: cents / 100)),
), min_size=1, max_size=6)


@given(LINES, st.sampled_from(["Ada Field", "Brook House", "Lindgrün GmbH", "School of Reeds"]))
@settings(max_examples=15, deadline=None)
def test_tax_by_category_sums_to_the_tax(book: PriceBook, lines: list[tuple[str, int, float]], customer: str) -> None:
    """Of any lines: the bases are the net, the taxes the tax, the goods and charges what was sold and charged, all to the cent."""
    rows = [
        {"quote": "Q-9", "customer": customer, "date": np.datetime64(DAY, "D"), "product": product, "quantity": float(quantity),
         "unit_price": price}
        for product, quantity, price in lines
    ]
    made = cost_quotes(with_enquiries(book, rows))
    (quote,) = made.as_json()["quotes"]
    cents = {name: round(quote[name] * 100) for name in ("net", "tax", "carriage", "small_order_charge", "payable")}
    assert sum(round(each["base"] * 100) for each in quote["taxes"]) == cents["net"]
    assert sum(round(each["amount"] * 100) for each in quote["taxes"]) == cents["tax"]
    assert cents["payable"] == cents["net"] + cents["tax"]
    shared = made.values.value("quote taxes", "shared_amount")
    assert sum(round(each * 100) for each in shared.tolist()) == cents["carriage"] + cents["small_order_charge"]
    exact = made.values.value("quote taxes", "amount_to_share") * made.values.value("quote taxes", "share")
    assert (abs(shared - exact) < 0.01 + 1e-9).all()


FAULTS: list[tuple[str, int, int, Any, str, list[str]]] = [
    ("Taxes", 1, 1, None, "B2", ["category S", "19 %"]),
    ("Taxes", 2, 1, "5 %", "B3", ["category Z", "5 %", "clear"]),
    ("Taxes", 3, 3, None, "D4", ["exempt", "reason"]),
    ("Taxes", 1, 2, "X", "C2", ["not one of the words", "S, Z"]),
    ("Products", 3, 17, "Out of scope", "D4", ["out of the scope", "row 2", "EN 16931"]),
    ("Products", 3, 17, "Zero", "R4", ["Zero", "not on the sheet Taxes", "choose"]),
    ("Customers", 3, 3, "7 %", "F4", ["Lindgrün", "Tax rate", "keep one"]),
]


@pytest.mark.parametrize(("sheet", "row", "column", "value", "cell", "words"), FAULTS, ids=[f"{each[0]} {each[4]}" for each in FAULTS])
def test_a_tax_that_cannot_be_is_reported(
    sheet: str, row: int, column: int, value: Any, cell: str, words: list[str], tmp_path: Path
) -> None:
    """The one problem names the cell, what is wrong, and the remedy."""
    sheets = terms_book()
    sheets[sheet][row][column] = value
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    (problem,) = problems.errors
    assert problem.cell == cell
    assert all(word in str(problem) for word in words), str(problem)


def test_what_a_quote_has_to_say_and_does_not_is_told(tmp_path: Path) -> None:
    """Reverse charge without the workshop's tax number, and a reason that is not printed, are warnings."""
    sheets = terms_book()
    sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] != "Tax number"]
    sheets["Taxes"][2][3] = "books"
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    told = {(each.sheet, each.cell) for each in problems if each.code in ("no-tax-number", "reason-not-printed")}
    assert told == {("Taxes", "C5"), ("Taxes", "D3")}
    assert not problems.errors
