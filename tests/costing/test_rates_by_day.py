"""Wages, overhead and the electricity price hold from a day on, as prices of materials do, and everything sees the day."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import APRIL, DAY, JUNE, book_in_time, set_cell, write_book
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.book.changed_prices import differences
from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.catalogue.pricer import Pricer
from pricing.costing.comparison.what_if import with_changes
from pricing.costing.explain.explain import explain
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.standard_usage import allowances
from pricing.costing.run import cost_lines, cost_quotes
from pricing.problems import Problems
from pricing.register.kept.quote_snapshot import model_of_quote
from pricing.repricing.history import price_history
from pricing.repricing.reprice import last_change, reprice

Sheets = dict[str, list[list[Any]]]


def only(sheets: Sheets, day: datetime.date) -> Sheets:
    """The same book with what holds on a day alone, and no days of rates."""
    held = {name: [list(row) for row in rows] for name, rows in sheets.items()}
    newest: dict[str, dict[str, tuple[Any, Any]]] = {"Trades": {}, "Workshop": {}}
    for sheet, found in newest.items():
        for name, value, since, *_ in sheets[sheet][1:]:
            first = since or datetime.date(1, 1, 1)
            if first <= day and first >= found.get(str(name).casefold(), (datetime.date(1, 1, 1), None))[0]:
                found[str(name).casefold()] = first, [name, value, None]
        held[sheet] = [sheets[sheet][0][:3], *(row for _, row in found.values())]
    return held


@pytest.fixture(scope="module")
def in_time(tmp_path_factory: pytest.TempPathFactory) -> PriceBook:
    return load_price_book(write_book(tmp_path_factory.mktemp("rates") / "book.xlsx", book_in_time()))


def test_each_quote_is_made_at_the_rates_of_its_own_day(in_time: PriceBook) -> None:
    """In one run and alone a quote comes to the same; a dearer hour is a dearer piece."""
    together = cost_quotes(in_time)
    for number, quote in enumerate(together.quotes):
        alone = cost_quotes(in_time, [quote])
        assert alone.quote("quote_cost")[0] == together.quote("quote_cost")[number]
        assert alone.line("unit_price").tolist() == together.line("unit_price")[together.lines_of(quote)].tolist()
        assert "rates" not in alone.model.tables
        assert model_of_quote(together, quote).tables.keys() == alone.model.tables.keys()
    rates = together.model.tables["rates"]
    assert rates.text["rates"].tolist() == [str(DAY), "2026-05-04", "2026-07-06"]
    assert rates.given["electricity_price"].tolist() == [0.25, 0.31, 0.31]
    assert together.rate("applied_overhead_rate").tolist() == [10, 10, 10, 10, 10, 11]
    slab = together.line("unit_cost")[[0, 4, 5]]
    assert slab[0] < slab[1] < slab[2]


def test_a_wage_that_rose_costs_its_hours_more_and_nothing_else(in_time: PriceBook) -> None:
    """Between two days the cost of the slab differs by hours at the wage, hours of the mixer at its electricity, hours at the overhead."""
    early, late = (cost_quotes(in_time, ["Q-1"], day) for day in (APRIL - datetime.timedelta(days=1), JUNE))
    taken = [(each.kind, each.item, each.quantity) for each in allowances(early.model, early.values) if each.product == "Slab 1000"]
    maker = sum(quantity for kind, item, quantity in taken if (kind, item) == ("labour", "maker"))
    mixer = sum(quantity for kind, item, quantity in taken if (kind, item) == ("machine", "Mixer"))
    hours = sum(quantity for kind, _, quantity in taken if kind == "labour")
    rise = 4 * (late.line("unit_cost")[0] - early.line("unit_cost")[0])
    assert rise == pytest.approx(3 * maker + 1.6 * 0.06 * mixer + 1 * hours, rel=1e-12)


DAYS = st.dates(datetime.date(2026, 1, 1), datetime.date(2026, 8, 31))


@settings(max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(days=st.lists(DAYS, min_size=1, max_size=2, unique=True))
def test_a_quote_of_a_day_is_that_of_a_book_with_the_rows_of_that_day_alone(
    days: list[datetime.date], in_time: PriceBook, tmp_path: Path
) -> None:
    """Whatever the day, alone or among others."""
    for day in days:
        plain = load_price_book(write_book(tmp_path / "plain.xlsx", only(book_in_time(), day)))
        assert not plain.histories
        one, other = (cost_quotes(book, ["Q-1", "Q-2"], day) for book in (in_time, plain))
        for name in ("unit_cost", "unit_price", "line_net", "overhead_cost", "machine_cost", "mould_cost", "labour_cost"):
            assert one.line(name).tolist() == other.line(name).tolist()
    lines = enquired(in_time, ["Q-1"])
    lines.day = np.repeat(np.array(days, dtype="datetime64[D]"), 2)[: len(lines)]
    mixed = cost_lines(in_time, lines)
    assert mixed.line("overhead_cost").tolist() == [
        mixed.line("labour_hours")[line] * (11.0 if day >= np.datetime64(JUNE) else 10.0) for line, day in enumerate(lines.day)]


FAULTS: list[tuple[list[tuple[str, list[Any]]], str, str, str]] = [
    ([("Trades", ["Maker", 26, APRIL])], "duplicate-key", "Trades!A6", "stands in row 5"),
    ([("Trades", ["Maker", 26, None])], "duplicate-key", "Trades!A6", "type under From the day"),
    ([("Trades", ["Maker", 26, "soon"])], "not-a-date", "Trades!C6", "type a date"),
    ([("Trades", ["Maker", None, DAY])], "missing-value", "Trades!B6", "hourly cost is missing"),
    ([("Workshop", ["Electricity price", 0.4, APRIL])], "same-day", "Workshop!A22", "row 20 and again here from the same day on"),
    ([("Workshop", ["Electricity price", 0.4, None])], "same-day", "Workshop!A22", "row 16 and again here"),
    ([("Workshop", ["Electricity price", None, JUNE])], "missing-setting", "Workshop!B22", "Electricity price"),
    ([("Workshop", ["Electricity price", 0.4, "soon"])], "not-a-date", "Workshop!C22", "type a date"),
    ([("Workshop", ["Saw kerf", 3, JUNE])], "no-day-here", "Workshop!C22", "clear it"),
    ([("Workshop", ["Target margin", "30 %", None])], "duplicate-setting", "Workshop!A22", "keep one of them"),
    ([("Workshop", ["Overhead per year", 9000, DAY]), ("Workshop", ["Productive hours per year", 600, None])], "two-overheads",
     "Workshop!B8", "10"),
]


@pytest.mark.parametrize(("rows", "code", "place", "words"), FAULTS, ids=[f"{code} {place}" for _, code, place, _ in FAULTS])
def test_what_is_wrong_with_days_is_told_at_its_cell(
    tmp_path: Path, rows: list[tuple[str, list[Any]]], code: str, place: str, words: str
) -> None:
    """Two rows of one day, a day that is none, a value that is missing, a day where none can stand."""
    sheets = book_in_time()
    for sheet, row in rows:
        sheets[sheet].append(row)
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    found = [each for each in problems.errors if each.code == code]
    assert [f"{each.sheet}!{each.cell}" for each in found] == [place]
    assert words in found[0].message


@pytest.mark.parametrize(("heading", "told"), [("Form", ("misspelt-column", "C1")), ("Since", ("duplicate-key", "A3"))])
def test_a_misspelt_from_is_one_fault(tmp_path: Path, heading: str, told: tuple[str, str]) -> None:
    """Not a heading that is left alone and, for the same reason, a trade that stands twice."""
    sheets = book_in_time()
    sheets["Trades"][0][2] = heading
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    found, *more = (each for each in problems if each.sheet == "Trades" and each.code != "spelt-otherwise")
    assert (found.code, found.cell) == told
    assert {each.code for each in more} == ({"duplicate-key"} if heading == "Since" else set())
    assert 'rename it to "From"' in found.message if heading == "Form" else "add a column From with the day" in found.message


def test_a_day_before_the_first_wage_has_no_price(tmp_path: Path) -> None:
    """As for a material without a price yet: told at the date of the quote, with the day from which there is one, and only where used."""
    sheets = book_in_time()
    for row in sheets["Trades"][2:4]:
        row[2] = APRIL
    sheets["Trades"][4][2] = JUNE - datetime.timedelta(days=1)
    sheets["Trades"].append(["Painter", 30, JUNE])
    set_cell(sheets, "Workshop", "Electricity price", "From", DAY + datetime.timedelta(days=1))
    book = load_price_book(write_book(tmp_path / "book.xlsx", sheets))
    problems = cost_lines(book, enquired(book, ["Q-1"]), Problems(book.file)).problems.errors
    assert [(each.code, each.sheet, each.cell) for each in problems] == [("no-rate-yet", "Enquiries", "B2")] * 3
    assert [each.message.partition(" is not known")[0] for each in problems] == [
        'date 2026-03-02: the wage of "Helper"', 'date 2026-03-02: the wage of "maker"', "date 2026-03-02: the electricity price"]
    assert "holds from 2026-04-01 (Trades!C4)" in problems[0].message
    assert not cost_lines(book, enquired(book, ["Q-4"]), Problems(book.file)).problems.errors


def test_repricing_tells_wage_overhead_and_electricity_apart(in_time: PriceBook) -> None:
    """Each is a cause with its own share; together they are the whole rise of the list."""
    found = reprice(in_time, JUNE, since=APRIL - datetime.timedelta(days=1))
    slab = found.products[0].cost
    assert set(slab.parts) == {("wage", "maker"), ("setting", "Overhead"), ("setting", "Electricity price")}
    assert all(part > 0 for part in slab.parts.values())
    assert sum(slab.parts.values()) == pytest.approx(slab.change, rel=1e-12)
    cells = {(cell.place, cell.old, cell.new) for cause in found.causes.values() for cell in cause.cells}
    assert cells >= {("Trades!B2", 24, 27), ("Workshop!B21", 10, 11), ("Workshop!B20", 0.25, 0.31)}
    assert last_change(in_time, DAY) == DAY
    assert last_change(in_time, JUNE) == JUNE - datetime.timedelta(days=1)


def test_what_is_supposed_moves_every_row(in_time: PriceBook) -> None:
    """A tenth more on a wage or on the electricity is a tenth more on any day; the book itself stays."""
    moved = with_changes(in_time, ["Maker=+10%", "Electricity price=+10%", "Overhead per labour hour=12"])
    for day, wage in ((DAY, 26.4), (JUNE, 29.7)):
        costing = cost_quotes(moved, ["Q-1"], day)
        trades = costing.model.tables["trades"]
        assert trades.given["hourly_cost"][trades.text["trade"].tolist().index("maker")] == pytest.approx(wage, rel=1e-12)
        assert costing.setting("applied_overhead_rate") == 12
    assert [each.value for each in in_time.histories["electricity_price"]] == [0.25, 0.31]
    assert [each.value for each in moved.histories["electricity_price"]] == [0.275, 0.341]


def test_an_explanation_says_since_when(in_time: PriceBook) -> None:
    """The wage and the overhead that a price rests on name their cell and their day; what always held names none."""
    traces = [trace for trace in explain(cost_quotes(in_time, ["Q-4"]), "Q-4").all() if trace.place]
    told = {(trace.name, trace.value): (trace.place, trace.words) for trace in traces}
    assert told["hourly_cost", 27.0] == ("Trades!B2", "holds from 2026-06-01")
    assert told["overhead_per_labour_hour", 11.0] == ("Workshop!B21", "holds from 2026-06-01")
    assert told["hourly_cost", 18.0] == ("Trades!B4", "as the price book has it")
    several = {trace.place for trace in explain(cost_quotes(in_time), "Q-4").all()}
    assert {"Trades!B2", "Workshop!B21", "Workshop!B20"} <= several


def test_a_catalogue_of_several_days_takes_each_at_its_rates(in_time: PriceBook) -> None:
    """A column of days, and a factor on a wage, make what single quotes make."""
    days = np.array([DAY, APRIL, JUNE], dtype="datetime64[D]")
    variants = {"product": np.array(["Slab 1000"] * 3, dtype=object), "quantity": np.full(3, 4.0), "date": days}
    costs = Pricer(in_time, DAY).priced(variants)["unit_cost"]
    assert costs.tolist() == [Pricer(in_time, day).priced({**variants, "date": np.repeat(np.datetime64(day), 3)})["unit_cost"][0]
                              for day in days.astype(object)]
    dearer = Pricer(in_time, DAY).priced({**variants, "wage of maker": np.full(3, 1.1)})["unit_cost"]
    assert (dearer > costs).all()


def test_the_history_holds_wages_and_rates(in_time: PriceBook) -> None:
    """Its days are those on which anything moved, and what moved stands in it: here two rates and a wage, and no material."""
    found = price_history(in_time, JUNE)
    assert found is not None
    assert found.days == (datetime.date(2026, 1, 1), APRIL, JUNE)
    assert dict(zip(found.materials, found.prices.tolist(), strict=True)) == {
        "maker": [24, 25.5, 27], "Overhead": [10, 10, 11], "Electricity": [0.25, 0.31, 0.31]}
    assert found.units == ("h", "h", "kWh")


def test_what_changed_in_the_book_names_the_day(tmp_path: Path, in_time: PriceBook) -> None:
    """A new row of a setting and a new wage are told with their day and cell."""
    sheets = book_in_time()
    sheets["Workshop"].append(["Electricity price", 0.33, JUNE])
    sheets["Trades"].append(["Helper", 19, JUNE])
    newer = load_price_book(write_book(tmp_path / "book.xlsx", sheets))
    assert differences(in_time, newer) == ["Workshop!B22 electricity price from 2026-06-01 0.33 is new", "Trades row 6 Helper is new"]
    assert differences(newer, in_time) == ["Workshop electricity price from 2026-06-01 is gone", "Trades row 6 Helper is gone"]
