"""Capacity and cash over ordered quotes: hours and mould-days by hand, the bottleneck and its ranking, and the weeks."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import Any

import pytest
from books import DAY, small_book, write_book
from scarce_hours import made_in_order

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book
from pricing.costing.jobs.capacity import BALANCE, DEPOSIT, HANDS, MATERIALS, MOULD_PLACES, Capacity, Order, capacity_of, weeks_of
from pricing.costing.run import cost_quotes
from pricing.costing.time.lead_time import lead_time_days
from pricing.costing.workshop.work import prepare, shopping_for
from pricing.problems import Problems


def book_with(folder: Path, *settings: tuple[str, Any]) -> PriceBook:
    sheets = small_book()
    sheets["Workshop"] += [[name, value, None] for name, value in settings]
    return load_price_book(write_book(folder / "small.xlsx", sheets))


def looked_ahead(book: PriceBook, *quotes: str, ordered: datetime.date = DAY) -> Capacity:
    orders = []
    for quote in quotes or ("Q-1", "Q-2"):
        costing = cost_quotes(book, [quote])
        orders.append(Order(costing, ordered, float(costing.quote("payable")[0]), float(costing.quote("deposit")[0])))
    return capacity_of(book, orders, Problems())


def resource(capacity: Capacity, name: str, column: str) -> float:
    return float(capacity.values.value("resources", column)[capacity.resources().index(name)])


@pytest.mark.parametrize(("settings", "hands"), [
    ((), 40.0), ((("People", 3),), 120.0), ((("Hours per day", 6), ("Working week", "Monday to Saturday")), 36.0),
])
def test_a_week_has_so_many_hours(tmp_path: Path, settings: tuple[tuple[str, Any], ...], hands: float) -> None:
    """Hours per day times the days of the week times people."""
    sheets = small_book()
    replaced = dict(settings)
    sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] not in replaced] + [[name, value, None] for name, value in settings]
    book = load_price_book(write_book(tmp_path / "small.xlsx", sheets))
    assert resource(looked_ahead(book), HANDS, "resource_per_week") == hands


def test_hours_and_mould_days_by_hand(tmp_path: Path) -> None:
    """Four slabs at 5 % rejects stand 4 / 0.95 times two days in a mould, on average; three shelves three times; blocks have no mould."""
    book = book_with(tmp_path, ("Mould places", 2))
    capacity = looked_ahead(book)
    assert resource(capacity, MOULD_PLACES, "resource_wanted") == pytest.approx((4 / 0.95 + 3 + 1 / 0.95) * 48)
    assert resource(capacity, MOULD_PLACES, "resource_per_week") == 2 * 7 * 24
    costing = cost_quotes(book)
    worked = float((costing.line("labour_hours") * costing.line("quantity")).sum())
    assert resource(capacity, HANDS, "resource_wanted") == pytest.approx(worked)
    assert capacity.bottleneck == MOULD_PLACES
    assert capacity.free == ["Block"]


def test_moulds_are_no_limit_where_there_is_always_room(tmp_path: Path) -> None:
    """Without the setting, hands or a machine are what is scarce."""
    capacity = looked_ahead(book_with(tmp_path))
    assert MOULD_PLACES not in capacity.resources()
    assert capacity.bottleneck == HANDS


def test_the_ranking_is_the_best_use_of_what_is_scarce(tmp_path: Path) -> None:
    """Pieces stand in the order in which scarce hours earn most; half the hours are filled from the top."""
    capacity = looked_ahead(book_with(tmp_path))
    values = {name: capacity.values.value("ranking", name) for name in (
        "contribution_per_piece", "bottleneck_hours_per_piece", "quantity", "contribution_per_bottleneck_hour")}
    each = values["contribution_per_bottleneck_hour"].tolist()
    assert each == sorted(each, reverse=True)
    assert each == pytest.approx((values["contribution_per_piece"] / values["bottleneck_hours_per_piece"]).tolist())
    hours = float((values["bottleneck_hours_per_piece"] * values["quantity"]).sum()) / 2
    made = made_in_order(*(values[name] for name in ("contribution_per_piece", "bottleneck_hours_per_piece", "quantity")), hours)
    filled = (made / values["quantity"]).tolist()
    assert filled == sorted(filled, reverse=True)


def test_contributions_are_those_of_the_lines(tmp_path: Path) -> None:
    """Contribution of a piece times pieces is the line's contribution after discount."""
    book = book_with(tmp_path)
    ranked = looked_ahead(book).values
    total = float((ranked.value("ranking", "contribution_per_piece") * ranked.value("ranking", "quantity")).sum())
    assert total == pytest.approx(float(cost_quotes(book).line("contribution").sum()))


def test_cash_by_hand(tmp_path: Path) -> None:
    """Deposits on the day of the order, balances a lead time later, materials in whole packs with the first order."""
    book = book_with(tmp_path)
    capacity = looked_ahead(book, "Q-1")
    costing = cost_quotes(book, ["Q-1"])
    paid = {payment.what: payment for payment in capacity.payments}
    payable = float(costing.quote("payable")[0])
    assert paid[DEPOSIT].amount + paid[BALANCE].amount == pytest.approx(payable)
    assert paid[DEPOSIT].day == DAY
    days, day = lead_time_days(costing, "Q-1"), DAY
    while days:
        day += datetime.timedelta(days=1)
        days -= day.weekday() < 5
    assert paid[BALANCE].day == day
    bought = {each.material: each for each in capacity.shopping.rows}
    assert bought["Brackets"].purchase.counts == (1,)
    assert bought["Cement"].purchase.counts == (math.ceil(bought["Cement"].need / 25),)
    assert paid[MATERIALS].amount == pytest.approx(-sum(each.purchase.cost for each in capacity.shopping.rows))
    assert {payment.week.weekday() for payment in capacity.payments} == {0}
    assert weeks_of(capacity.payments) == sorted({payment.week for payment in capacity.payments})


def test_stages_of_payment_have_their_days(tmp_path: Path) -> None:
    """A plan of three stages: one after the order, one before it is ready, one after; they come to what is payable."""
    sheets = small_book()
    sheets["Payments"] = [["Payments", "Stage", "Share", "When", "Days"], ["Thirds", "First", 1 / 3, "with the order", 7],
                          ["Thirds", "Second", 1 / 3, "before delivery", 3], ["Thirds", "Last", 1 / 3, "after delivery", 30]]
    sheets["Customers"][0].append("Payments")
    for row in sheets["Customers"][1:]:
        row += [None] * (len(sheets["Customers"][0]) - 1 - len(row)) + ["Thirds"]
    book = load_price_book(write_book(tmp_path / "small.xlsx", sheets))
    capacity, costing = looked_ahead(book, "Q-1"), cost_quotes(book, ["Q-1"])
    stages = {payment.stage: payment for payment in capacity.payments if payment.stage}
    assert [stages[name].what for name in ("First", "Second", "Last")] == [DEPOSIT, BALANCE, BALANCE]
    assert sum(payment.amount for payment in stages.values()) == pytest.approx(float(costing.quote("payable")[0]))
    assert stages["First"].day == DAY + datetime.timedelta(days=7)
    assert stages["Last"].day - stages["Second"].day == datetime.timedelta(days=33)


def test_what_is_in_stock_is_not_bought(tmp_path: Path) -> None:
    """The column In stock is taken off before packs are counted."""
    sheets = small_book()
    sheets["Materials"][0].append("In stock")
    for row in sheets["Materials"][1:]:
        row.append(1000)
    book = load_price_book(write_book(tmp_path / "small.xlsx", sheets))
    capacity = looked_ahead(book)
    assert {each.purchase.counts for each in capacity.shopping.rows} == {(0,)}
    assert MATERIALS not in {payment.what for payment in capacity.payments}


@pytest.mark.parametrize(("name", "quotes"), [
    ("demo price book.xlsx", ("Q-1042", "Q-1044", "Q-1045")), ("demo price book imperial.xlsx", ("T-201",)),
])
def test_what_has_to_be_bought_is_one_list(name: str, quotes: tuple[str, ...]) -> None:
    """The cash forecast buys what the shopping list of the workshop says for the same orders: packs, sheets and cost."""
    book = load_price_book(Path(__file__).parents[2] / "workbooks" / name)
    capacity = looked_ahead(book, *quotes)
    shopping = shopping_for([prepare(cost_quotes(book, [quote]), quote) for quote in quotes], Problems())
    assert capacity.shopping == shopping
    assert [row.material for row in shopping.rows if row.by_sheets]
    out = [payment.amount for payment in capacity.payments if payment.what == MATERIALS]
    assert out == [-shopping.cost]
