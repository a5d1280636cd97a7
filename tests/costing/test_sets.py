"""Sets: several pieces under one heading at one price, which is the sum of its parts, or is typed and shared over them by cost."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import DAY, set_cell, small_book, write_book
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from referee import differences, recalculated_all, stored

from pricing.api import quoting
from pricing.api.costs import explain, explanation
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.explain.figure_names import ExplainError
from pricing.costing.list_prices import list_prices
from pricing.costing.method.costing import Costing
from pricing.costing.options import as_json, line_labels, options_of
from pricing.costing.run import at_quantities, cost_catalogue, cost_quotes
from pricing.costing.warnings import report_rises
from pricing.money import round_half_away
from pricing.problems import Problems
from pricing.register.kept.quote_snapshot import snapshot_of
from pricing.register.kept.stored_model import restored
from pricing.register.kept.stored_model import stored as kept
from pricing.reports.margin.workbook import write_margin
from pricing.reports.quote.facts import quote_facts
from pricing.reports.quote.workbook import write_quote
from pricing.repricing.reprice import recosted

Sheets = dict[str, list[list[Any]]]
Parts = list[tuple[str, int]]

HEADINGS = [
    "Quote", "Date", "Customer", "Product", "Quantity", "Unit price", "Offer", "Margin", "Discount", "Description", "Finish", "Note"]
GARDEN: Parts = [("Slab 1000", 1), ("Shelf 800", 2), ("Block", 3)]


def asked(*lines: dict[str, Any] | tuple[Any, ...], parts: Parts = GARDEN, customer: str = "Brook House") -> Sheets:
    """The small workshop with a garden set, asked for some lines: product, quantity and unit price, or cells by their headings."""
    sheets = small_book()
    sheets["Delivery"].append(["Near", 9000, 260])
    sheets["Sets"] = [["Set", "Description", "Product", "Quantity"],
                      *(["Garden set", None if place else "For a garden", *part] for place, part in enumerate(parts))]
    rows = [line if isinstance(line, dict) else dict(zip(("Product", "Quantity", "Unit price"), line, strict=False)) for line in lines]
    sheets["Enquiries"] = [HEADINGS, *(["Q-1", DAY, customer, *(row.get(name) for name in HEADINGS[3:])] for row in rows)]
    return sheets


def costed(folder: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("sets")


@pytest.fixture(scope="module")
def costing(folder: Path) -> Costing:
    """A block, three sets at a typed price, a set at the sum of its parts, and what is offered beside them."""
    return costed(folder, asked(
        ("Block", 2), ("Garden set", 3, 777.77), ("Garden set", 1), {"Product": "Block", "Quantity": 1, "Offer": "option"},
        {"Product": "Garden set", "Quantity": 2, "Unit price": 500, "Offer": "instead of 2"}))


def test_a_typed_price_is_shared_over_the_parts_by_cost(costing: Costing) -> None:
    """By hand: each part has the share of 3 x 777.77 that it has of the cost, none a cent away from it, and together they are all of it."""
    net, cost = (costing.line(name)[1:4] for name in ("line_net", "line_cost"))
    exact = 3 * 777.77 * cost / cost.sum()
    assert round(net.sum(), 2) == 2333.31
    assert (np.abs(net - exact) < 0.01).all()
    assert costing.line("quantity")[1:4].tolist() == [3, 6, 9]
    assert (costing.line("unit_price")[1:4] * [3, 6, 9]).tolist() == pytest.approx(net.tolist(), rel=1e-12)
    assert costing.line("discountable_net")[1:4].tolist() == [0, 0, 0]  # a price that is typed stands


def test_programs_are_told_the_set_of_each_line(costing: Costing) -> None:
    """Its name, nothing where there is none; the parts have the number of the line that asks for the set."""
    told = as_json(costing)["quotes"][0]
    assert [(each["line"], each["set"], each["product"]) for each in told["lines"]] == [
        (1, "", "Block"), *((2, "Garden set", part) for part, _ in GARDEN), *((3, "Garden set", part) for part, _ in GARDEN),
        (4, "", "Block"), *((5, "Garden set", part) for part, _ in GARDEN)]
    assert [(each["line"], each["product"]) for each in told["options"]] == [(4, "Block"), (5, "Garden set")]
    assert told["options"][1]["adds"] == round(1000 - 2333.31, 2)
    assert line_labels(costing) == ["1", "2.1", "2.2", "2.3", "3.1", "3.2", "3.3"]
    assert [costing.model.tables["lines"].text["set"][line] for line in (0, 1)] == ["", "Garden set"]


def test_the_quote_has_one_heading_and_one_price_for_a_set(costing: Costing, folder: Path) -> None:
    """Its parts stand below it with sketch, size, weight and quantity and without a price; options and prices by quantity alike."""
    facts = quote_facts(costing, "Q-1", at_quantities(costing, (1, 3, 10)))
    assert [(each.number, each.title, each.quantity, each.unit_price, each.net) for each in facts.charged] == [
        (1, "A block", 2, 95, 190), (2, "For a garden", 3, 777.77, 2333.31), (3, "For a garden", 1, 651, 651)]
    assert facts.charged[1].prices == (777.77,) * 3
    assert facts.charged[2].prices[0] == 651
    assert [len(each.parts) for each in facts.options] == [0, 3]
    write_quote(costing, "Q-1", folder / "quote.xlsx")
    rows = openpyxl.load_workbook(folder / "quote.xlsx", data_only=True).worksheets[0].iter_rows(values_only=True)
    part = next(row for row in rows if any(str(cell).startswith("Shelf with a lip") for cell in row))
    assert [cell for cell in part if isinstance(cell, int | float)] == [pytest.approx(12.7, abs=0.05), 6]


def test_pieces_of_a_set_are_told_to_be_heavy_by_its_number(tmp_path: Path) -> None:
    """No piece has the number of a set, and its pieces differ in weight; where others are heavy too, numbers alone are told."""
    alone, beside = (costed(tmp_path, asked(("Garden set", 1), *more)) for more in ((), (("Slab 1000", 1),)))
    said = []
    for costing in (alone, beside):
        write_quote(costing, "Q-1", tmp_path / "heavy.xlsx")
        sheet = openpyxl.load_workbook(tmp_path / "heavy.xlsx").worksheets[0]
        said.append(" ".join(str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value))
    assert "Pieces under No. 1 weigh about " in said[0]
    assert "Pieces under No. 1 and 2 weigh about " in said[1]


def test_a_part_is_not_told_to_be_dearer_where_its_set_has_a_price(costing: Costing) -> None:
    """What it costs as its share of that price moves, and no customer sees it."""
    told = Problems()
    report_rises(at_quantities(costing, (1, 3, 10)), 3, told)
    assert not {problem.cell for problem in told} & {"E3"}


def test_a_part_is_explained_by_its_place_in_the_set(costing: Costing) -> None:
    """Line 2 is its first part, 2.2 the second; there is no fourth."""
    assert explain(costing, "Q-1", 2, "line_net").value == costing.line("line_net")[1]
    assert explain(costing, "Q-1", "2.2", "line_net").value == costing.line("line_net")[2]
    assert explain(costing, "Q-1", "5.3", "quantity").value == 6
    with pytest.raises(ExplainError, match=r"has no line 2.4"):
        explain(costing, "Q-1", "2.4")
    told = "\n".join(explanation(explain(costing, "Q-1", "2.2", "quantity")))
    assert "Enquiries!E3" in told
    assert "Sets!D3" in told


@pytest.mark.usefixtures("requires_office")
def test_workbooks_with_sets_add_up_in_a_spreadsheet_program(costing: Costing, folder: Path) -> None:
    """Quote, margin workbook and that of the options: recalculated from nothing they agree; so does a quote with a discount on a set."""
    own = options_of(costing).costing
    assert own is not None
    less = costed(folder, asked({"Product": "Garden set", "Quantity": 7, "Discount": "3 %"}, ("Block", 1)))
    paths = [folder / name for name in ("quote.xlsx", "margin.xlsx", "options.xlsx", "less.xlsx")]
    write_quote(costing, "Q-1", paths[0])
    write_margin(costing, paths[1])
    write_margin(own, paths[2])
    write_quote(less, "Q-1", paths[3])
    for path, computed in zip(paths, recalculated_all(paths), strict=True):
        assert differences(stored(path), computed) == [], path.name
    summary = stored(paths[1])["Summary"]
    named = [str(summary.cell(row, 1).value) for row in range(1, summary.max_row + 1)]
    assert {"Q-1  Block", "Q-1  Block (Garden set)"} <= set(named)


PARTS = st.lists(st.tuples(st.sampled_from(["Slab 1000", "Shelf 800", "Block"]), st.integers(1, 4)), min_size=1, max_size=3,
                 unique_by=lambda part: part[0])
MONEY = st.integers(1, 500_000).map(lambda cents: cents / 100)


@settings(max_examples=7, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(PARTS, st.integers(1, 6), MONEY, st.sampled_from([None, 0.05, 0.333, "100 %"]))
def test_the_parts_of_a_set_sum_to_its_price(tmp_path: Path, parts: Parts, quantity: int, price: float, discount: Any) -> None:
    """To the cent, whatever is typed and taken off; the heading of the quote says the same, and no part pays a cent too many."""
    line = {"Product": "Garden set", "Quantity": quantity, "Unit price": price, "Discount": discount}
    costing = costed(tmp_path, asked(line, ("Block", 1), parts=parts))
    of = slice(0, len(parts))
    less = 1.0 if discount == "100 %" else discount or 0.0
    whole = float(round_half_away(quantity * price * (1 - less), 2))
    net, cost = costing.line("line_net")[of], costing.line("line_cost")[of]
    assert round(net.sum(), 2) == pytest.approx(whole, abs=1e-9)
    assert (np.abs(net - whole * cost / cost.sum()) < 0.01 + 1e-9).all()
    assert quote_facts(costing, "Q-1").charged[0].net == round(net.sum(), 2)
    again = restored(kept(costing.model))
    assert again is not None
    assert again.tables.keys() == costing.model.tables.keys()


@settings(max_examples=7, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(PARTS, st.integers(1, 6), st.sampled_from(["Brook House", "Ada Field"]), st.sampled_from([None, 0.07]), st.sampled_from([None, 0.3]))
def test_a_set_costs_what_its_parts_cost_as_lines_of_their_own(
    tmp_path: Path, parts: Parts, quantity: int, customer: str, discount: float | None, margin: float | None
) -> None:
    """Costs, prices, loads, weight and all totals; and neither the catalogue nor the price list knows of it."""
    more = {"Discount": discount, "Margin": margin}
    as_set = asked({"Product": "Garden set", "Quantity": quantity, **more}, parts=parts, customer=customer)
    apart = asked(*({"Product": part, "Quantity": number * quantity, **more} for part, number in parts), customer=customer)
    one, other = costed(tmp_path, as_set), costed(tmp_path, apart)
    told, wanted = one.as_json()["quotes"][0], other.as_json()["quotes"][0]
    assert [{**line, "set": ""} for line in told.pop("lines")] == wanted.pop("lines")
    assert told == wanted
    lists = [cost_catalogue(book, DAY).as_json()["quotes"] for book in (one.book, other.book)]
    assert lists[0] == lists[1]
    prices = [[(each.product, each.new) for each in list_prices(book, DAY, Problems(book.file))] for book in (one.book, other.book)]
    assert prices[0] == prices[1]


def test_what_is_said_of_the_line_holds_for_the_set(tmp_path: Path) -> None:
    """Description and note stand at the heading; finish and margin are those of every part, and a service keeps to its own."""
    sheets = asked({"Product": "Garden set", "Quantity": 2, "Finish": "Sealed", "Margin": "30 %", "Description": "For the terrace",
                    "Note": "By the gate"}, parts=[("Block", 1), ("Fitting", 1)])
    sheets["Services"] = [["Service", "Description", "Labour plan", "Price", "When"], ["Fitting", "Fitted by us", None, 120, "after"]]
    costing = costed(tmp_path, sheets)
    assert costing.lines.plans["finish"].tolist() == ["Sealed", ""]
    assert costing.line("own_margin").tolist() == [0.3, 0.3]
    facts = quote_facts(costing, "Q-1")
    assert [(each.title, each.note) for each in facts.charged] == [("For the terrace", "By the gate")]
    assert [(each.title, each.note, each.service) for each in facts.lines] == [("A block", "", False), ("Fitted by us", "", True)]


def test_a_promise_is_the_price_of_the_set(tmp_path: Path) -> None:
    """Dearer cement shifts the shares of a typed price and promises nothing else; the record costs the same lines again."""
    sheets = asked(("Garden set", 3, 900), ("Block", 1))
    before = costed(tmp_path, sheets)
    set_cell(sheets, "Materials", "Cement", "Pack price", 40)
    after = costed(tmp_path, sheets)
    assert (before.line("line_net") != after.line("line_net")).any()
    promised = snapshot_of(before, "Q-1")
    assert promised.content == snapshot_of(after, "Q-1").content
    again = recosted(before.book, DAY, "Q-1", "Brook House", promised.lines)
    assert isinstance(again, Costing)
    assert again.as_json()["quotes"] == before.as_json()["quotes"]
    sheets["Enquiries"][1][5] = 901
    assert snapshot_of(costed(tmp_path, sheets), "Q-1").content != promised.content


def test_a_quote_with_a_set_is_recorded_and_ordered(tmp_path: Path) -> None:
    """Issued once and left alone the second time; its terms are those of the set."""
    sheets = asked(("Garden set", 2), ("Block", 1))
    today = datetime.date.today()
    for row in sheets["Enquiries"][1:]:
        row[1] = today
    path = write_book(tmp_path / "book.xlsx", sheets)
    assert (tmp_path / "Q-1 quote.xlsx") in quoting.quote(path, out=tmp_path, record="issued").written
    second = quoting.quote(path, out=tmp_path, record="issued")
    assert second.problems.errors == []
    assert [each.number for each in (*second.stands, *second.left)] == ["Q-1"]


def test_bad_input_has_a_place_a_sentence_and_a_remedy(tmp_path: Path) -> None:
    """Names of something else, a set in a set, parts that are none, numbers that are none, and what a set has not."""
    sheets = asked(("Garden set", 1), {"Product": "Garden set", "Quantity": 1})
    sheets["Sets"] += [
        ["Block", None, "Shelf 800", 1], ["Nest", None, "Garden set", 1], ["Odd", None, "Spade", 1], ["Few", None, "Block", 0],
        ["Fewer", None, "Block", -1], ["Part", None, "Block", 1.5], ["None", None, "Block", None], ["Bare", None, None, 1],
        ["Garden set", None, "Block", 2], ["Paved", None, "Slab 1000", 1], ["Taxed", None, "Shelf 800", 1], ["Taxed", None, "Block", 1]]
    sheets["Taxes"] = [["Tax", "Rate", "Category", "Reason"], ["Reduced", "5 %", "S", None]]
    products = sheets["Products"]
    products[0] += ["Price per", "Tax"]
    for row in products[1:]:
        row += [None] * (len(products[0]) - len(row))
        row[-2:] = ["m2" if row[0] == "Slab 1000" else None, "Reduced" if row[0] == "Block" else None]
    sheets["Enquiries"][0] = [*HEADINGS, "Length (mm)"]
    sheets["Enquiries"][1] += [500]
    sheets["Cut-outs"] = [["Product", "Quote", "Line", "Form", "Diameter (mm)"], [None, "Q-1", 2, "round", 50]]
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    found = sorted((each.sheet, each.cell, each.code) for each in problems.errors)
    assert found == sorted([
        ("Sets", "A5", "set-and-other"), ("Sets", "C6", "set-in-set"), ("Sets", "C7", "unknown-name"), ("Sets", "D8", "out-of-range"),
        ("Sets", "D9", "out-of-range"), ("Sets", "D10", "not-whole"), ("Sets", "D11", "missing-value"), ("Sets", "C12", "missing-value"),
        ("Sets", "A13", "duplicate-key"), ("Sets", "C2", "set-by-measure"), ("Sets", "C14", "set-by-measure"),
        ("Sets", "C4", "set-of-two-taxes"), ("Sets", "C16", "set-of-two-taxes"), ("Enquiries", "M2", "set-has-none"),
        ("Cut-outs", "C2", "cut-out-of-a-set")])
