"""What is counted by the quote is done once, and shared out over the lines that have it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from pricing.api.costs import explanation
from pricing.book.reading.read import load_price_book
from pricing.costing.explain.explain import explain
from pricing.costing.list_prices import list_prices
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.problems import Problems
from tests.books import small_book, write_book


def _costing(path: Path, per: str, step: str = "Visit") -> Costing:
    """The small workshop with a visit of 90 minutes in every plan; the Block has a plan of its own without it."""
    sheets = small_book()
    sheets["Labour"] += [["Plain", step, "Maker", 90, per, None, None, "no"], ["Bare", "Cast", "Maker", 12, "cast", None, 48, "no"]]
    sheets["Products"][3][11] = "Bare"
    sheets["Extras"].append(["Slab 1000", "Brackets", 10, per])
    sheets["Extras"].append(["Shelf 800", "Brackets", 10, per])
    return cost_quotes(load_price_book(write_book(path, sheets)))


@pytest.fixture(scope="module")
def by_quote(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    """Costed with the visit once a quote."""
    return _costing(tmp_path_factory.mktemp("quote") / "book.xlsx", "quote")


def _minutes(costing: Costing, step: str) -> dict[int, float]:
    """Minutes of a step for all pieces of each line that has it."""
    steps = costing.model.tables["steps"]
    lines = steps.given["line"].astype(int) - 1
    hours = costing.values.value("steps", "step_hours") * costing.line("quantity")[lines]
    return {int(line): float(hours[row]) * 60 for row, line in enumerate(lines) if steps.text["step"].tolist()[row] == step}


def test_a_step_is_done_once_in_equal_parts(by_quote: Costing) -> None:
    """Two lines of a quote carry half of the visit each; where one line alone has it, it carries it whole."""
    assert _minutes(by_quote, "Visit") == pytest.approx({0: 45.0, 1: 45.0, 3: 90.0}, rel=1e-12)


def test_bought_in_things_are_shared_alike(by_quote: Costing) -> None:
    """Ten brackets for a quote are five for each of its two lines that need them, whatever else the lines need."""
    extras = by_quote.model.tables["extras"]
    lines = extras.given["line"].astype(int) - 1
    shared = extras.text["per"] == "quote"
    used = by_quote.values.value("extras", "extra_used") * by_quote.line("quantity")[lines]
    assert dict(zip(lines[shared].tolist(), used[shared].tolist(), strict=True)) == pytest.approx({0: 5.0, 1: 5.0, 3: 10.0}, rel=1e-12)


def test_a_product_alone_carries_it_whole(by_quote: Costing) -> None:
    """A list price is that of a quote with one line."""
    own = list_prices(by_quote.book, by_quote.lines.day[0].item(), Problems("book.xlsx"))
    line = list_prices(_costing(by_quote.book.path.with_name("line.xlsx"), "line").book, by_quote.lines.day[0].item(), Problems("x"))
    assert [each.new for each in own] == [each.new for each in line]


def test_the_explanation_says_so(by_quote: Costing) -> None:
    """It divides by the lines that share; a step that is counted by the line does not speak of it."""
    text = "\n".join(explanation(explain(by_quote, "Q-1", 1)))
    assert "lines sharing" in text
    plain = _costing(by_quote.book.path.with_name("other.xlsx"), "line")
    assert "lines sharing" not in "\n".join(explanation(explain(plain, "Q-1", 1)))


def test_what_is_shared_does_not_depend_on_the_order_of_lines(by_quote: Costing) -> None:
    """Every quote pays for the visit exactly once where any of its lines has it."""
    minutes = _minutes(by_quote, "Visit")
    quotes = by_quote.lines.quote[np.array(list(minutes))]
    for quote in set(quotes.tolist()):
        assert sum(value for value, own in zip(minutes.values(), quotes, strict=True) if own == quote) == pytest.approx(90.0, rel=1e-12)
