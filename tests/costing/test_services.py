"""Services and what is bought for one quote: no mass, no mix, no mould, and their place in the calendar."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from books import DAY, set_cell, small_book, write_book
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from referee import formulas_of, need_office, recalculated, stored

from pricing.api.work_plans import effort_of
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.explain.explain import explain
from pricing.costing.list_prices import list_prices
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.costing.time.lead_time import lead_time_days
from pricing.costing.workshop.work import prepare
from pricing.problems import Problems
from pricing.register.kept.stored_model import restored
from pricing.register.kept.stored_model import stored as kept
from pricing.reports.margin.workbook import write_margin
from pricing.reports.quote.workbook import write_quote

Sheets = dict[str, list[list[Any]]]

SERVICES = [
    ["Service", "Description", "Labour plan", "Price", "When"],
    ["Template", "Measuring and a template", "Visit", 95, "before"], ["Fitting", "Fitting by two", "Fit", None, "after"],
]
WORK = [["Visit", "Measure", "Maker", 120, "line", None, None, "no"], ["Fit", "Drive and fit", "Maker", 300, "line", None, None, "no"]]


def served(*lines: tuple[Any, ...], extras: tuple[list[Any], ...] = ()) -> Sheets:
    """The small workshop with two services, asked for some lines of product and quantity."""
    sheets = small_book()
    sheets["Services"] = [list(row) for row in SERVICES]
    sheets["Labour"] += [list(row) for row in WORK]
    sheets["Extras"] = [["Product", "Quote", "Material", "Amount", "Per"], ["Shelf 800", None, "Brackets", 2, "piece"], *extras]
    sheets["Enquiries"] = [["Quote", "Date", "Customer", "Product", "Quantity"], *(["Q-1", DAY, "Brook House", *line] for line in lines)]
    return sheets


def costed(folder: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


PIECES = (("Slab 1000", 4), ("Shelf 800", 3))
ALL = (("Template", 1), *PIECES, ("Fitting", 2))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("services")


@pytest.fixture(scope="module")
def costing(folder: Path) -> Costing:
    return costed(folder, served(*ALL, extras=([None, "Q-1", "Sealer", 1, "quote"], ["Fitting", None, "Silicone", 0.3, "line"])))


def test_a_service_costs_its_work_and_what_it_uses_up(costing: Costing) -> None:
    """By hand: five hours at 24 and 10 of overhead for each of two fittings counted by the line, and 0.3 L of silicone at 20."""
    sealer = 22 / 4  # a litre for the quote, at 20 and a tenth wasted, in equal parts for its four lines
    assert costing.line("line_cost")[3] == pytest.approx(5 * 34 + 0.3 * 20 + sealer, rel=1e-12)
    assert costing.line("unit_price")[0] == 95
    assert costing.line("given_price")[0] == 95
    assert costing.model.tables["lines"].place("given_price", 0) == "Services!D2"
    assert costing.line("extras_cost")[1] * 4 == pytest.approx(sealer, rel=1e-12)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.sampled_from(["Template", "Fitting"]), min_size=1, max_size=3), st.integers(1, 5), st.booleans())
def test_a_service_has_no_mass_no_mix_and_no_mould(tmp_path: Path, names: list[str], quantity: int, alone: bool) -> None:
    """And a quote has the loads, the weight and the pieces' costs that it has without its services."""
    services = [(name, quantity) for name in names]
    with_them = costed(tmp_path, served(*([] if alone else PIECES), *services))
    own = slice(0 if alone else 2, None)
    for column in ("mass", "cast_volume", "concrete_cost", "mould_cost", "moulds_built", "loads_of_line", "rounds"):
        assert not with_them.line(column)[own].any(), column
    told = [line["service"] for line in with_them.as_json()["quotes"][0]["lines"]]
    assert told == [*([] if alone else [False, False]), *[True] * len(names)]
    if alone:
        assert with_them.quote("quote_mass")[0] == 0
        assert with_them.loads_of("Q-1") == {}
    else:
        without = costed(tmp_path, served(*PIECES))
        assert with_them.loads_of("Q-1") == without.loads_of("Q-1")
        assert with_them.quote("quote_mass")[0] == without.quote("quote_mass")[0]
        assert with_them.line("unit_cost")[:2].tolist() == without.line("unit_cost").tolist()


def test_a_service_stands_before_the_first_cast_or_after_the_last_wait(costing: Costing) -> None:
    """Nothing is cast before the template, the fitting begins when all pieces are ready, and nothing is promised too early."""
    work = prepare(costing, "Q-1", seconds=0.1)
    bars = work.calendar.bars
    cast = [bar for bar in bars if bar.kind == "in the mould"]
    assert {bar.line for bar in cast} == {1, 2}
    template, fitting = ([bar for bar in bars if bar.line == line] for line in (0, 3))
    assert max(bar.ends for bar in template) <= min(bar.begins for bar in cast)
    assert min(bar.begins for bar in fitting) > max(bar.ends for bar in bars if bar.line in (1, 2))
    assert {bar.kind for bar in (*template, *fitting)} == {"work"}
    assert [sheet.mix for sheet in work.batches] == ["Grey", "Dark"]
    assert effort_of(work).pieces == 4 + 3  # no service among them
    ready = work.calendar.ready
    assert (ready[3] - DAY).days <= lead_time_days(costing, "Q-1") * 7 / 5 + 2


def test_a_service_without_work_of_ours_comes_after_the_pieces_too(tmp_path: Path) -> None:
    """A fitter who is hired at a price fits on the working day after the last piece is ready, as the quote's lead time has it."""
    sheets = served(*PIECES, ("Fitting", 1))
    set_cell(sheets, "Services", "Fitting", "Labour plan", None)
    set_cell(sheets, "Services", "Fitting", "Price", 420)
    made = costed(tmp_path, sheets)
    ready = prepare(made, "Q-1", seconds=0.1).calendar.ready
    assert 1 <= (ready[2] - max(ready[0], ready[1])).days <= 3
    assert lead_time_days(made, "Q-1") == lead_time_days(costed(tmp_path, served(*PIECES)), "Q-1") + 1


def test_services_are_in_no_list_of_products(costing: Costing) -> None:
    """Prices are worked out for products alone."""
    problems = Problems("book.xlsx")
    found = list_prices(costing.book, DAY, problems)
    assert [price.product for price in found] == ["Slab 1000", "Shelf 800", "Block"]
    assert costing.book.counts()["products"] == 3


def test_a_recorded_service_is_one_when_it_is_read_again(costing: Costing) -> None:
    """The model that the register keeps is the one that was priced; a service's price is told as any other."""
    again = restored(kept(costing.model))
    assert again is not None
    assert again.tables["lines"].spec == costing.model.tables["lines"].spec
    assert explain(costing, "Q-1", 4, "unit_cost").value == costing.line("unit_cost")[3]


def test_the_workbooks_add_up_by_themselves(costing: Costing, folder: Path) -> None:
    """A spreadsheet program gives every figure of the margin workbook and of the quote, services and bought-in things among it."""
    need_office()
    margin, quote = folder / "margin.xlsx", folder / "quote.xlsx"
    write_margin(costing, margin)
    write_quote(costing, "Q-1", quote)
    for path in (margin, quote):
        again, now = recalculated(path), stored(path)
        for (sheet, cell) in formulas_of(path):
            expected = now[sheet][cell].value
            assert again[sheet][cell].value == (pytest.approx(expected, rel=1e-9, abs=1e-9) if isinstance(expected, float) else expected)


def test_bad_input_has_a_place_a_sentence_and_a_remedy(tmp_path: Path) -> None:
    """An extra of nothing and of both, for no quote; a service that is a product, and one that costs nothing; an unknown one."""
    sheets = served(("Fiting", 1), extras=(
        [None, None, "Sealer", 1, "line"], ["Block", "Q-1", "Sealer", 1, "line"], [None, "Q-7", "Sealer", 1, "line"]))
    sheets["Services"] += [["Block", None, None, 5, None], ["Advice", None, None, None, None]]
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    codes = ("extra-of-nothing", "extra-of-both", "extra-unused", "service-and-product", "free-service", "unknown-name")
    assert sorted((each.code, each.sheet, each.cell) for each in problems if each.code in codes) == [
        ("extra-of-both", "Extras", "A4"), ("extra-of-nothing", "Extras", "A3"), ("extra-unused", "Extras", "B5"),
        ("free-service", "Services", "D5"), ("service-and-product", "Services", "A4"), ("unknown-name", "Enquiries", "D2")]
