"""A cost element that is declared, and nothing else done for it: whatever reads the declaration has it at once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from books import small_book, write_book
from quote_secrets import secrets_of
from test_leaks import patched, typed

from pricing.book.reading.read import load_price_book
from pricing.costing.engine.columns import Computed
from pricing.costing.explain.explain import explain
from pricing.costing.jobs.review import review_jobs
from pricing.costing.method import declared
from pricing.costing.method.costing import Costing
from pricing.costing.method.standard_usage import allowances, overhead_hours
from pricing.costing.run import cost_quotes
from pricing.glossary import GLOSSARY, Quantity
from pricing.problems import Problems
from pricing.reports.margin.workbook import write_margin
from pricing.reports.quote.skeleton import leaks_of
from pricing.reports.quote.workbook import write_quote
from pricing.rules import prices

ROYALTY = Quantity("royalty_cost", "Royalty", "currency/piece", "money", 2, "What the designer of the piece is paid.")


def royalty_cost(mass: float) -> float:
    """Royalty of a piece, by its mass [currency/piece]."""
    return mass * 0.137


def unit_cost(
    concrete_cost: float, mould_cost: float, labour_cost: float, machine_cost: float, finish_cost: float, extras_cost: float,
    royalty_cost: float, overhead_cost: float,
) -> float:
    """What a good piece costs, the royalty included [currency/piece]."""
    return concrete_cost + mould_cost + labour_cost + machine_cost + finish_cost + extras_cost + royalty_cost + overhead_cost


@pytest.fixture
def costing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Costing:
    """The small workshop where a royalty is paid: one glossary entry, one column, one more term of the unit cost."""
    monkeypatch.setitem(GLOSSARY, "royalty_cost", ROYALTY)
    columns = []
    for column in declared.LINES.columns:
        if column.name == "overhead_cost":
            columns.append(Computed(royalty_cost, part="royalty"))
        columns.append(Computed(unit_cost) if column.name == "unit_cost" else column)
    monkeypatch.setattr(declared, "LINES", replace(declared.LINES, columns=tuple(columns)))
    sheets = small_book()
    sheets["Actuals"] = [["Quote", "Product", "Item", "Kind", "Quantity", "Cost"], ["Q-1", "Slab 1000", "Set out", "step", 0.75, None]]
    return cost_quotes(load_price_book(write_book(tmp_path / "royalty.xlsx", sheets)))


def test_it_is_paid(costing: Costing) -> None:
    """The unit cost is what it was without, and the royalty."""
    without = costing.line("unit_cost") - costing.line("mass") * 0.137
    assert costing.line("royalty_cost").min() > 1
    costed_without = sum(costing.line(column) for _, column in costing.parts if column != "royalty_cost")
    assert without == pytest.approx(costed_without, rel=1e-12)


def test_it_is_searched_for_before_a_quote_is_delivered(costing: Costing, tmp_path: Path) -> None:
    """The customer's workbook does not hold it; one that does is refused, and told by its name."""
    write_quote(costing, "Q-1", tmp_path / "quote.xlsx")
    royalty = float(costing.line("royalty_cost")[0])
    told = patched(tmp_path / "quote.xlsx", tmp_path / "planted.xlsx", typed(repr(royalty)))
    assert any("holds a royalty cost" in leak for leak in leaks_of(told, secrets_of(costing, "Q-1")))


def test_it_stands_on_the_margin_summary(costing: Costing, tmp_path: Path) -> None:
    """Among what the net is made of, with its amount; the check of the parts is of eight, and holds."""
    write_margin(costing, tmp_path / "margin.xlsx")
    book = openpyxl.load_workbook(tmp_path / "margin.xlsx", data_only=True)
    rows = {row[0].value: row for row in book["Summary"].iter_rows() if row[0].value}
    assert rows["Royalty"][3].value == pytest.approx(float(costing.line("quantity") @ costing.line("royalty_cost")), rel=1e-12)
    check = next(row for row in book["Checks"].iter_rows(values_only=True) if row[0] and "eight parts" in str(row[0]))
    assert check[1] == pytest.approx(check[2], rel=1e-12)


def test_programs_read_it(costing: Costing) -> None:
    """The parts of a unit cost that programs read have it, and add up; it can be asked for by that name."""
    for quote in costing.as_json()["quotes"]:
        for line in quote["lines"]:
            assert line["costs"]["royalty"] > 1
            assert sum(line["costs"].values()) == pytest.approx(line["unit_cost"], rel=1e-12)
    assert explain(costing, "Q-1", 1, "royalty").words == "mass × 0.137"


def test_the_review_allows_it(costing: Costing) -> None:
    """Everything that a job is allowed adds up to its cost, and the variances to what was paid beyond."""
    allowed = allowances(costing.model, costing.values)
    spent = sum(each.quantity * each.price for each in allowed)
    overhead = overhead_hours(costing.values) * costing.setting("applied_overhead_rate")
    assert spent + overhead == pytest.approx(float(costing.line("line_cost").sum()), rel=1e-12)
    assert {each.item for each in allowed if each.part == "royalty_cost"} == {"Royalty"}
    problems = Problems()
    review = review_jobs(costing.book, problems)
    assert not problems.errors
    items = [each for each in review.items()[0] if each["item"] == "Royalty"]
    paid = (costing.line("quantity") * costing.line("royalty_cost"))[costing.lines_of("Q-1")]
    assert sum(each["allowed"] for each in items) == pytest.approx(float(paid.sum()), rel=1e-12)
    assert review.job("job_variance")[0] == pytest.approx(sum(each["variance"] for each in review.items()[0]) + 2.5 * (0.75 - 0.5) / 0.25)


def test_the_parts_of_a_unit_cost_are_its_terms() -> None:
    """What is declared a part of the unit cost is what the rule adds up, so that no part can be left out of either."""
    from pricing.algebra.expressions import inputs_of

    assert {column for _, column in declared.LINES.parts} == set(inputs_of(prices.unit_cost))
