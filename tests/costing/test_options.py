"""Options and alternatives: priced as orders of their own, outside the total until they are ordered."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import DAY, set_cell, small_book, write_book
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.api import quoting
from pricing.api.costs import explain
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.engine.columns import Computed
from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.method.costing import Costing
from pricing.costing.options import HOW_RECKONED, as_json, lines_ordered, options_of
from pricing.costing.run import cost_quotes
from pricing.costing.time.lead_time import lead_time_days
from pricing.reports.leaks.gate import LeakError
from pricing.reports.quote.facts import quote_facts
from pricing.reports.quote.workbook import write_quote

Sheets = dict[str, list[list[Any]]]
HEADINGS = ["Quote", "Date", "Customer", "Product", "Quantity", "Unit price", "Offer", "Note"]


def asked(*lines: tuple[Any, ...], customer: str = "Brook House") -> Sheets:
    """The small workshop asked for some lines: product, quantity, unit price, offer, note."""
    sheets = small_book()
    sheets["Enquiries"] = [HEADINGS, *(["Q-1", DAY, customer, *line, *[None] * (5 - len(line))] for line in lines)]
    return sheets


def costed(folder: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


def test_what_an_option_adds(tmp_path: Path) -> None:
    """Its net after the customer's discount; an alternative adds what it comes to more than the line that it stands instead of."""
    costing = costed(tmp_path, asked(("Block", 2), ("Shelf 800", 3, 60), ("Block", 4, None, "option"), ("Block", 1, 200, "instead of 2")))
    told = as_json(costing)["quotes"][0]
    assert told["net"] == 2 * 95 * 0.9 + 180
    assert [(each["line"], each["offer"], each["adds"]) for each in told["options"]] == [
        (3, "option", 4 * 95 * 0.9), (4, "instead of 2", 20.0)]
    assert [(each["line"], each["offer"], each["net"]) for each in told["lines"]] == [
        (1, "", 190.0), (2, "", 180.0), (3, "option", 380.0), (4, "instead of 2", 200.0)]


def test_what_an_option_adds_has_carriage_and_small_order_charge(tmp_path: Path) -> None:
    """It is what the net of the quote changes by, every price as on the page: a heavier delivery costs more, a larger order no charge."""
    offered = ("Block", 4, None, "option"), ("Block", 1, 200, "instead of 2")
    sheets = asked(("Block", 2), ("Shelf 800", 3, 60), *offered, customer="Ada Field")
    set_cell(sheets, "Workshop", "Smallest order", "Value", 500)
    costing = costed(tmp_path, sheets)
    assert [float(costing.quote(name)[0]) for name in ("goods_net", "small_order_charge", "carriage")] == [370.0, 130.0, 45.0]
    added = options_of(costing).of_quote["Q-1"]
    assert [(each.goods, each.charge, each.carriage, each.adds) for each in added] == [(380.0, -130.0, 0.0, 250.0), (20.0, -20.0, 0.0, 0.0)]
    whole = options_of(costing).wholes["Q-1"]
    for options in ((), (3,), (4,), (3, 4)):
        lines = [("Block", 2), ("Shelf 800", 3, 60), ("Block", 4, 95), ("Block", 1, 200)]
        chosen = [lines[number - 1] for number in lines_ordered((1, 2, 3, 4), {3: 0, 4: 2}, options)]
        again = costed(tmp_path, {**sheets, "Enquiries": asked(*chosen, customer="Ada Field")["Enquiries"]})
        values = whole.ordered(options)
        for name in ("net", "tax", "payable", "deposit", "quote_cost", "quote_mass"):
            assert values.value("quotes", name)[0] == pytest.approx(again.quote(name)[0], rel=1e-12), (options, name)


def test_the_cost_of_the_lines_is_not_worked_out_for_each_option_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Eight options take as many workings-out of a unit cost as two."""
    worked: Counter[int] = Counter()
    computed = Evaluation._computed

    def counted(values: Evaluation, table: str, column: Computed) -> Any:
        worked[many] += (table, column.name) == ("lines", "unit_cost")
        return computed(values, table, column)

    monkeypatch.setattr(Evaluation, "_computed", counted)
    for many in (2, 8):
        sheets = asked(("Block", 2), *[("Shelf 800", count + 1, None, "option") for count in range(many)], customer="Ada Field")
        assert len(options_of(costed(tmp_path, sheets)).of_quote["Q-1"]) == many
    assert worked[8] == worked[2] > 0


def test_the_margin_of_options_agrees_with_the_quote(tmp_path: Path) -> None:
    """It takes neither carriage nor a small order charge, says so, and says what the quote says that each adds."""
    sheets = asked(("Block", 2), ("Block", 4, None, "option"), customer="Ada Field")
    set_cell(sheets, "Workshop", "Smallest order", "Value", 500)
    costing = costed(tmp_path, sheets)
    own = options_of(costing).costing
    assert own is not None
    assert [float(own.quote(name)[0]) for name in ("net", "small_order_charge", "carriage")] == [380.0, 0.0, 0.0]
    quoting.quote(costing.book.path, out=tmp_path, record=None)
    summary = openpyxl.load_workbook(tmp_path / "margin of options.xlsx")["Summary"]
    said = {cell for row in summary.iter_rows(values_only=True) for cell in row}
    assert {HOW_RECKONED, "Q-1 option 2", f"adds {quote_facts(costing, 'Q-1').options[0].adds:,.2f}"} <= said


LINES = st.lists(st.tuples(st.sampled_from(["Slab 1000", "Shelf 800", "Block"]), st.integers(1, 12)), min_size=1, max_size=3)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(LINES, LINES, st.integers(0, 3))
def test_options_never_change_the_total_until_ordered(
    tmp_path: Path, lines: list[tuple[str, int]], options: list[tuple[str, int]], first: int
) -> None:
    """Whatever is offered, wherever it stands: totals, loads, weight, lead time and every other line are as without it."""
    without = costed(tmp_path, asked(*lines))
    offered = [(*option, None, "option") for option in options]
    at = min(first, len(lines))
    with_them = costed(tmp_path, asked(*lines[:at], *offered, *lines[at:]))
    before, after = without.as_json()["quotes"][0], with_them.as_json()["quotes"][0]
    assert before == after
    assert lead_time_days(without, "Q-1") == lead_time_days(with_them, "Q-1")
    found = options_of(with_them)
    assert len(found.of_quote["Q-1"]) == len(options)
    if at == len(lines):  # ordered as orders of their own they come to what was said
        own = costed(tmp_path, asked(options[0]))
        assert found.of_quote["Q-1"][0].adds == pytest.approx(own.quote("goods_net")[0], abs=0.006)


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    folder = tmp_path_factory.mktemp("options")
    return costed(folder, asked(("Slab 1000", 2), ("Slab 1000", 2, 300, "option", "with a finer face"), ("Block", 2)))


def test_the_quote_shows_options_below_its_total_with_their_own_numbers(costing: Costing, tmp_path: Path) -> None:
    """And the margin workbook of the options has them live; an option is explained as a line is."""
    facts = quote_facts(costing, "Q-1")
    assert [line.number for line in facts.lines] == [1, 3]
    assert [(each.line.number, each.adds) for each in facts.options] == [(2, 600.0)]
    write_quote(costing, "Q-1", tmp_path / "quote.xlsx")
    done = quoting.quote(costing.book.path, out=tmp_path, record=None)
    assert {path.name for path in done.written} == {"Q-1 quote.xlsx", "margin summary.xlsx", "margin of options.xlsx"}
    assert [explain(costing, "Q-1", line, "line_net").value for line in (2, 3)] == [600, 190]


def test_what_an_option_costs_is_not_given_away(tmp_path: Path) -> None:
    """The gate knows the costs of what is offered too."""
    lines = (("Block", 2), ("Slab 1000", 3, 500, "option"))
    own = options_of(costed(tmp_path, asked(*lines))).costing
    assert own is not None
    costing = costed(tmp_path, asked(lines[0], (*lines[1], f"ours {own.line('unit_cost')[0]:.2f}")))
    with pytest.raises(LeakError):
        write_quote(costing, "Q-1", tmp_path / "quote.xlsx")


def test_bad_input_has_a_place_a_sentence_and_a_remedy(tmp_path: Path) -> None:
    """Words that are no offer, alternatives to no line or to themselves, a quote of nothing but options."""
    sheets = asked(("Block", 1), ("Block", 1, None, "perhaps"), ("Block", 1, None, "instead of 3"), ("Block", 1, None, "instead of 9"))
    sheets["Enquiries"].append(["Q-2", DAY, "Ada Field", "Block", 1, None, "option", None])
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    assert sorted((each.code, each.cell) for each in problems.errors) == [
        ("nothing-but-options", "G6"), ("offer-of-no-line", "G4"), ("offer-of-no-line", "G5"), ("unknown-offer", "G3")]
