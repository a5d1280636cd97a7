"""On what terms a quote is sold: tax by category and rate, stages of payment, terms of its own, and how all adds up."""

from __future__ import annotations

import datetime
from dataclasses import replace
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
from pricing.register.kept.quote_snapshot import snapshot_of
from pricing.register.kept.stored_model import restored


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> PriceBook:
    return load_price_book(write_book(tmp_path_factory.mktemp("terms") / "book.xlsx", terms_book()))


@pytest.fixture(scope="module")
def costing(book: PriceBook) -> Costing:
    return cost_quotes(book)


def quotes(costing: Costing) -> dict[str, dict[str, Any]]:
    return {each["quote"]: each for each in costing.as_json()["quotes"]}


def test_a_quote_of_three_rates_by_hand(costing: Costing) -> None:
    """Lines of 464 and 258 less 3 %, one of 33.33 whose price is typed, carriage of 45: 27.61, 15.35 and 2.04 of it by value, and tax
    once on each base."""
    assert [(each["category"], each["rate"], each["base"], each["amount"]) for each in quotes(costing)["Q-1"]["taxes"]] == [
        ("S", 0.20, 477.69, 95.54), ("S", 0.05, 265.61, 13.28), ("Z", 0.0, 35.37, 0.0),
    ]
    assert quotes(costing)["Q-1"]["tax"] == 108.82


def test_what_is_exempt_stays_so_at_a_rate_of_the_customer(tmp_path: Path) -> None:
    """A customer's rate is that of what is taxed: 10 % on a slab, and nothing on a block that is exempt."""
    sheets = terms_book()
    sheets["Products"][3][-1] = "Exempt"
    costing = cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", sheets)))
    taxes = quotes(costing)["Q-2"]["taxes"]
    assert {(each["category"], each["rate"]) for each in taxes} == {("S", 0.10), ("E", 0.0)}


def test_stages_by_hand(costing: Costing) -> None:
    """487.70 in thirds: two coins are left of three times 162.56, for the largest remainders; the last falls due after 14 days."""
    assert quotes(costing)["Q-3"]["payments"] == [
        {"stage": "First third", "amount": 162.57, "due": "with the order"},
        {"stage": "Second third", "amount": 162.56, "due": "7 days before delivery"},
        {"stage": "Last third", "amount": 162.57, "due": "14 days after delivery"},
    ]
    assert quotes(costing)["Q-3"]["deposit"] == 162.57


def test_a_quote_has_terms_of_its_own(costing: Costing) -> None:
    """Its discount, deposit and validity stand before those of its customer and of the workshop, and its plan before a deposit."""
    own = quotes(costing)
    assert own["Q-1"]["discount"] == pytest.approx(722.00 * 0.03, abs=0.01)
    assert [(each["stage"], each["due"]) for each in own["Q-1"]["payments"]] == [("Deposit", "with the order"), ("Balance", "on delivery")]
    assert own["Q-1"]["payments"][0]["amount"] == round(own["Q-1"]["payable"] * 0.3, 2)
    assert costing.own_terms.valid_until("Q-1", DAY) - DAY == datetime.timedelta(60)
    assert costing.own_terms.valid_until("Q-1 revision 2", DAY) - DAY == datetime.timedelta(60)
    assert costing.own_terms.valid_until("Q-2", DAY) - DAY == datetime.timedelta(30)
    assert [each["stage"] for each in own["Q-2"]["payments"]] == ["Half", "Other half"]
    assert own["Q-4"]["payments"][-1]["due"] == "30 days after delivery"


def test_what_is_promised_changes_with_the_terms(costing: Costing) -> None:
    """Other words or another plan make another promise, though no amount changes."""
    book = costing.book
    quotes_table = book.tables["Quotes"]
    other = replace(quotes_table, columns={**quotes_table.columns, "reference": np.array(["Kitchen 8", ""], dtype=object)})
    changed = cost_quotes(replace(book, tables={**book.tables, "Quotes": other}))
    assert snapshot_of(changed, "Q-1").content != snapshot_of(costing, "Q-1").content
    assert snapshot_of(changed, "Q-2").content == snapshot_of(costing, "Q-2").content


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
    assert {"Taxes!B2", "Workshop!B5", "Quotes!D2"} <= places


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
    assert sum(round(each["amount"] * 100) for each in quote["payments"]) == cents["payable"]
    exact = made.values.value("quote taxes", "amount_to_share") * made.values.value("quote taxes", "share")
    assert (abs(shared - exact) < 0.01 + 1e-9).all()


FAULTS: list[tuple[str, int, int, Any, str, list[str]]] = [
    ("Payments", 2, 2, "90 %", "C4", ["Thirds", "123.3333 %", "100 %"]),
    ("Payments", 2, 2, None, "C4", ["Thirds", "row 3", "one of them"]),
    ("Payments", 1, 3, "soon", "D2", ["not one of the words", "with the order"]),
    ("Quotes", 2, 5, "20 %", "F3", ["plan of payments", "keep one"]),
    ("Taxes", 1, 1, None, "B2", ["category S", "19 %"]),
    ("Taxes", 2, 1, "5 %", "B3", ["category Z", "5 %", "clear"]),
    ("Taxes", 3, 3, None, "D4", ["exempt", "reason"]),
    ("Taxes", 1, 2, "X", "C2", ["not one of the words", "S (taxed), Z"]),
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
    """Reverse charge without the workshop's tax number, a reason that is not printed, and terms of no quote are warnings."""
    sheets = terms_book()
    sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] != "Tax number"]
    sheets["Taxes"][2][3] = "books"
    sheets["Quotes"][2][0] = "Q-22"
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    told = {(each.sheet, each.cell) for each in problems if each.code in ("no-tax-number", "reason-not-printed", "terms-of-no-quote")}
    assert told == {("Taxes", "C5"), ("Taxes", "D3"), ("Quotes", "A3")}
    assert not problems.errors
