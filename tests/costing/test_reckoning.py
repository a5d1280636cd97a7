"""What an independent reckoning of many books found besides: each claim once failed."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import DAY, set_cell, small_book, write_book
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import pricing
from pricing import money
from pricing.book.price_book import OrderedWork, PriceBook
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.cli import main
from pricing.costing.engine.packed_columns import DictionaryColumn
from pricing.costing.method.standard_usage import MATERIAL, allowances
from pricing.costing.moulds.cheapest import with_moulds
from pricing.costing.moulds.numbers import price_against_lead_time
from pricing.costing.run import cost_catalogue, cost_quotes
from pricing.costing.time.lead_time import days_to_start, lead_time_days
from pricing.costing.workshop.batch_sheets import batch_sheets
from pricing.costing.workshop.cut_list import cut_list
from pricing.costing.workshop.steps import work_calendar, work_steps
from pricing.costing.workshop.work import prepare
from pricing.reports.workshop.overview import if_one_fails

Sheets = dict[str, list[list[Any]]]

_DRAWN = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def free_of_charge() -> Sheets:
    """The small workshop in which nothing costs anything."""
    sheets = small_book()
    for row in sheets["Materials"][1:]:
        row[4] = row[5] = 0
    for row in (*sheets["Trades"][1:], *sheets["Machines"][1:]):
        row[1] = 0
    sheets["Machines"][1][2] = sheets["Machines"][1][4] = 0
    for name in ("Overhead per labour hour", "Electricity price"):
        set_cell(sheets, "Workshop", name, "Value", 0)
    sheets["Enquiries"][-1][7] = 0
    return sheets


def test_a_book_whose_costs_are_all_0_is_priced_and_written(tmp_path: Path) -> None:
    """Nothing costs anything: quotes, margins and work plans are written, lines without a price are told, and nothing breaks."""
    path = write_book(tmp_path / "book.xlsx", free_of_charge())
    priced = pricing.quote(path, out=tmp_path / "quotes")
    assert not priced.problems.errors
    assert priced.costing is not None
    assert priced.costing.line("unit_cost").tolist() == [0, 0, 0, 0]
    assert len(priced.written) >= 3
    work = pricing.workshop(path, quotes=["Q-1", "Q-2"], out=tmp_path / "work")
    assert not work.problems.errors


def in_forints(tmp_path: Path, coin: float | None) -> PriceBook:
    """The small workshop in forints, with a smallest coin or without."""
    sheets = small_book()
    set_cell(sheets, "Workshop", "Currency", "Value", "HUF")
    set_cell(sheets, "Workshop", "Price step", "Value", None)
    if coin is not None:
        sheets["Workshop"].append(["Smallest coin", coin, None])
    return load_price_book(write_book(tmp_path / "book.xlsx", sheets))


@pytest.mark.parametrize(("coin", "places"), [(None, 2), (1, 0), (0.1, 1), (0.01, 2), (0.05, 2), (0.001, 3)])
def test_the_smallest_coin_says_how_many_places_money_has(tmp_path: Path, coin: float | None, places: int) -> None:
    """Forints have two places by ISO 4217; invoiced without any, every price, tax and total is whole, and written so."""
    costing = cost_quotes(in_forints(tmp_path, coin))
    assert costing.setting("minor_digits") == places
    assert money.minor_units(costing.currency) == places
    assert costing.currency == "HUF"
    for name in ("tax", "payable", "deposit"):
        assert costing.quote(name).tolist() == money.round_half_away(costing.quote(name), places).tolist()
    assert costing.line("unit_price")[0] == pytest.approx(costing.line("target_price")[0], abs=10.0**-places)
    assert costing.setting("price_step") == 10.0**-places


def test_the_register_writes_amounts_with_the_places_of_the_smallest_coin(tmp_path: Path) -> None:
    """A quote in whole forints stands in the register's list, and in what is told of a mark and a payment, without decimal places."""
    book = in_forints(tmp_path, 1)
    record = pricing.quote(book.path, quotes=["Q-1"], out=tmp_path, record="issued", day=datetime.date.today())
    assert not record.problems.errors
    listed = CliRunner().invoke(main, ["register", str(book.path)]).output
    payable = record.costing.quote("payable")[0] if record.costing else 0
    assert f" {payable:,.0f} " in listed
    assert ".00" not in listed
    pricing.mark(book.path, "Q-1", "ordered")
    told = CliRunner().invoke(main, ["register", str(book.path), "--paid", f"Q-1={payable + 7:.0f}"]).output
    assert "7 HUF more are paid than is payable" in told


def test_a_deposit_is_a_share_of_what_is_payable_after_the_cash_step(tmp_path: Path) -> None:
    """A payable amount of whole fives, and half of that as the deposit, rounded to the currency's coin."""
    sheets = small_book()
    sheets["Workshop"].append(["Cash step", 5, None])
    costing = cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", sheets)))
    assert (costing.quote("payable") % 5).tolist() == [0] * len(costing.quotes)
    assert (costing.quote("payable") != costing.quote("gross")).any()
    assert costing.quote("deposit").tolist() == money.round_half_away(costing.quote("payable") / 2, 2).tolist()


def test_units_that_are_not_stated_are_told_on_one_line_of_a_book(tmp_path: Path) -> None:
    """Headings without a unit on several sheets make one line that names each of them."""
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", small_book()))
    (told,) = [each.message for each in problems if each.code == "unit-not-stated"]
    assert told.startswith("no unit stands beside ")
    assert all(f"{sheet}: " in told for sheet in ("Machines", "Labour", "Delivery"))


def test_damp_sand_is_counted_as_it_lies_in_batch_sheet_cost_and_shopping_list(tmp_path: Path) -> None:
    """Sand at 5 % moisture: the loads weigh what the shopping list needs and the price carries, wet, and more than dry."""
    wet = small_book()
    wet["Materials"][0].append("Moisture")
    for row in wet["Materials"][1:]:
        row.append("5 %" if row[0] == "Sand" else None)
    counted = []
    for name, sheets in (("dry", small_book()), ("wet", wet)):
        costing = cost_quotes(load_price_book(write_book(tmp_path / f"{name}.xlsx", sheets)), ["Q-1"])
        carried = sum(each.quantity for each in allowances(costing.model, costing.values) if each.item == "Sand")
        work = prepare(costing, "Q-1")
        needed = next(row.need for row in work.shopping.rows if row.material == "Sand")
        weighed = sum(
            weighing.mass_as_it_lies * load.count for sheet in batch_sheets(costing) for load in sheet.loads
            for ingredient, weighing in zip(sheet.ingredients, load.weighings, strict=True) if ingredient.material == "Sand")
        assert weighed <= needed * (1 + 1e-9) <= carried * (1 + 2e-9)
        counted.append((carried, needed, weighed))
    assert [more / less for less, more in zip(*counted, strict=True)] == pytest.approx([1.05] * 3, rel=1e-9)


def test_a_blank_usual_run_is_1(tmp_path: Path) -> None:
    """Where a product says nothing of its usual run, its list price is that of one piece."""
    sheets = small_book()
    set_cell(sheets, "Products", "Slab 1000", "Usual run", None)
    book = load_price_book(write_book(tmp_path / "book.xlsx", sheets))
    listed, single = cost_catalogue(book, DAY), cost_catalogue(book, DAY, [1])
    assert listed.line("quantity")[0] == 1
    assert listed.line("unit_cost")[0] == single.line("unit_cost")[0]


def test_same_as_costs_the_named_material_and_tells_of_the_cheaper_pack(tmp_path: Path) -> None:
    """Cement at 0.40 a kg is what the mix names and what is costed; the big bag at 0.30 is a quarter less, and told at its price."""
    plain = cost_quotes(load_price_book(write_book(tmp_path / "plain.xlsx", small_book())))
    sheets = small_book()
    sheets["Materials"][0].append("Same as")
    for row in sheets["Materials"][1:]:
        row.append(None)
    big = [*sheets["Materials"][1]]
    big[0], big[2], big[4], big[-1] = "Cement, big bag", 1000, 300, "Cement"
    sheets["Materials"].append(big)
    costing = cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", sheets)))
    assert costing.line("unit_cost").tolist() == plain.line("unit_cost").tolist()
    (told,) = [problem for problem in costing.problems if problem.code == "cheaper-pack"]
    assert told.place == f"Materials!E{len(sheets['Materials'])}"
    assert "0.3 EUR a kg" in told.message
    assert "25.0% less" in told.message


def with_orders(book: PriceBook, *orders: tuple[str, float]) -> PriceBook:
    """The book beside a register with such quotes ordered, one a day."""
    book.ordered = tuple(OrderedWork(quote, DAY + datetime.timedelta(days=day), hours) for day, (quote, hours) in enumerate(orders))
    return book


@pytest.mark.parametrize(
    ("quote", "hours", "days"),
    [
        ("Q-9", [], 5),  # five working days until work starts, where the workshop says nothing else
        ("Q-9", [40.0], 5),  # a week's work is done by then
        ("Q-9", [40.0, 41.0], 11),  # 81 hours are ten days and an hour
        ("Q-B", [40.0, 41.0], 5),  # ordered itself: only what was ordered before it comes first
    ],
)
def test_what_is_ordered_comes_first(tmp_path: Path, quote: str, hours: list[float], days: int) -> None:
    """Working days to the start of work, by hand, of one person who works eight hours a day."""
    book = load_price_book(write_book(tmp_path / "book.xlsx", small_book()))
    orders = list(zip(("Q-A", "Q-B"), hours, strict=False))
    assert days_to_start(with_orders(book, *orders), quote) == days


@_DRAWN
@given(st.lists(st.floats(0, 500), max_size=5), st.floats(0, 500))
def test_work_of_ordered_quotes_never_shortens_the_calendar(tmp_path: Path, hours: list[float], more: float) -> None:
    """One order more, whatever it takes, and a quote is ready no sooner, by its promise and by the days of its work."""
    costing = cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", small_book())), ["Q-1"])
    orders = [(f"O-{number}", each) for number, each in enumerate(hours)]
    with_orders(costing.book, *orders)
    promised, last = lead_time_days(costing, "Q-1"), work_calendar(costing, work_steps(costing)).last
    with_orders(costing.book, *orders, ("O-more", more))
    assert lead_time_days(costing, "Q-1") >= promised
    assert work_calendar(costing, work_steps(costing)).last >= last


def test_an_ordered_quote_of_the_register_comes_first_until_it_is_done(tmp_path: Path) -> None:
    """A quote of many hours is recorded and ordered: the others start later, until what it took stands in Actuals."""
    sheets = small_book()
    sheets["Delivery"].append(["Near", 1e6, 60])
    sheets["Enquiries"][1][4] = 60
    path = write_book(tmp_path / "book.xlsx", sheets)
    plain = pricing.quote(path, quotes=["Q-2"], out=tmp_path / "quotes", record="issued")
    pricing.quote(path, quotes=["Q-1"], out=tmp_path / "quotes", record="issued")
    pricing.mark(path, "Q-1", "ordered", late=True)
    behind = pricing.quote(path, quotes=["Q-2"])
    assert plain.costing is not None
    assert behind.costing is not None
    hours = float(behind.costing.book.ordered[0].hours)
    assert hours > 40
    assert lead_time_days(behind.costing, "Q-2") > lead_time_days(plain.costing, "Q-2")
    sheets["Actuals"] = [["Quote", "Product", "Item", "Kind", "Quantity", "Cost"], ["Q-1", None, "Maker", "labour", 50, 1200]]
    done = pricing.quote(write_book(tmp_path / "book.xlsx", sheets), quotes=["Q-2"])
    assert done.costing is not None
    assert lead_time_days(done.costing, "Q-2") == lead_time_days(plain.costing, "Q-2")


@_DRAWN
@given(st.integers(2, 60), st.integers(1, 20), st.floats(12, 100))
def test_more_moulds_never_lengthen_the_calendar(tmp_path: Path, quantity: int, casts: int, wait: float) -> None:
    """Of the numbers of moulds that are offered, a larger one is ready sooner: one that would not be is not offered."""
    sheets = small_book()
    sheets["Delivery"].append(["Near", 1e6, 60])
    sheets["Enquiries"] = sheets["Enquiries"][:2]
    sheets["Enquiries"][1][4] = quantity
    set_cell(sheets, "Moulds", "Melamine", "Lasts", casts)
    next(row for row in sheets["Labour"] if row[1] == "Cast")[6] = wait
    rows = price_against_lead_time(cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", sheets))), 0)
    assert [row.moulds for row in rows] == sorted({row.moulds for row in rows})
    assert [row.ready for row in rows] == sorted({row.ready for row in rows}, reverse=True)


@_DRAWN
@given(st.integers(1, 25), st.floats(1, 400), st.floats(12, 100), st.integers(1, 3))
def test_any_more_moulds_never_lengthen_the_calendar(tmp_path: Path, quantity: int, cast: float, wait: float, refits: int) -> None:
    """Whatever number of moulds stands at once: with one more the piece is ready no later, the work of building moulds aside."""
    sheets = small_book()
    sheets["Delivery"].append(["Near", 1e6, 60])
    sheets["Enquiries"] = sheets["Enquiries"][:2]
    sheets["Enquiries"][1][4] = quantity
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 100)
    set_cell(sheets, "Moulds", "Melamine", "Refit every", refits)
    sheets["Labour"] = [row for row in sheets["Labour"] if row[4] not in ("mould", "m2 mould")]
    row = next(row for row in sheets["Labour"] if row[1] == "Cast")
    row[3], row[6] = cast, wait
    costing = cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", sheets)))
    because = DictionaryColumn.of(costing.model.tables["lines"].text["moulds_because"])
    with_each = [with_moulds(costing, np.array([float(number)]), because) for number in range(1, quantity + 2)]
    days = [lead_time_days(each, "Q-1") for each in with_each]
    assert days == sorted(days, reverse=True)
    last = [work_calendar(each, work_steps(each)).last for each in with_each]
    assert last == sorted(last, reverse=True)


@_DRAWN
@given(st.integers(1, 30), st.floats(0, 25), st.integers(1, 12))
def test_what_is_built_cut_and_bought_is_what_the_price_carries_or_less(tmp_path: Path, quantity: int, rejects: float, lasts: int) -> None:
    """Moulds, panels and materials of the workshop are those of the price, or fewer; where fewer, the piece that may fail is named."""
    sheets = small_book()
    sheets["Delivery"].append(["Near", 1e6, 60])
    sheets["Enquiries"] = sheets["Enquiries"][:2]
    sheets["Enquiries"][1][4] = quantity
    set_cell(sheets, "Products", "Slab 1000", "Rejects", f"{rejects:.12g} %")
    set_cell(sheets, "Moulds", "Melamine", "Lasts", lasts)
    set_cell(sheets, "Materials", "Melamine", "Pack unit", "m2")
    costing = cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", sheets)))
    built, charged = float(costing.line("moulds_built")[0]), float(costing.line("moulds_charged")[0])
    assert built <= charged * (1 + 1e-12)
    assert {row.count for row in cut_list(costing, 0.1).rows if row.panel == "base"} == {built}
    work = prepare(costing, "Q-1")
    assert bool(if_one_fails(work, 0)) == (rejects > 0)
    cast = sum(load.litres * load.count for sheet in batch_sheets(costing) for load in sheet.loads)
    assert cast == pytest.approx(1000 * costing.line("good_volume").sum(), rel=1e-9)  # what is poured is the good pieces' alone
    carried: dict[str, float] = {}
    for each in allowances(costing.model, costing.values):
        if each.kind == MATERIAL:
            carried[each.item] = carried.get(each.item, 0.0) + each.quantity
    assert len(work.shopping.rows) > 5
    assert [row.material for row in work.shopping.rows if row.need > carried[row.material] * (1 + 1e-9)] == []
