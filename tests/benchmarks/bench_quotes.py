"""Quotes: ``pytest tests/benchmarks -o python_files="bench_*.py" --benchmark-only``."""

from __future__ import annotations

from pathlib import Path

import pytest
import workloads
from quote_secrets import secrets_of

from pricing.book.reading.read import load_price_book
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines
from pricing.reports.margin.workbook import write_margin
from pricing.reports.quote.facts import quote_facts
from pricing.reports.quote.skeleton import leaks_of
from pricing.reports.quote.workbook import write_facts, write_quote


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    book = load_price_book(workloads.quotes_book(tmp_path_factory.mktemp("bench") / "quotes.xlsx", 100))
    return cost_lines(book, enquired(book))


def test_whole_quote(costing: Costing, tmp_path: Path, benchmark) -> None:  # type: ignore[no-untyped-def]
    """A quote written, searched and moved into place; its sketches are known after the first."""
    benchmark(write_quote, costing, costing.quotes[7], tmp_path / "quote.xlsx")


def test_what_it_says(costing: Costing, benchmark) -> None:  # type: ignore[no-untyped-def]
    """What a quote says, without its page."""
    benchmark(quote_facts, costing, costing.quotes[7])


def test_page(costing: Costing, tmp_path: Path, benchmark) -> None:  # type: ignore[no-untyped-def]
    """Its page, not searched."""
    facts = quote_facts(costing, costing.quotes[7])
    benchmark(write_facts, facts, tmp_path / "page.xlsx")


def test_search(costing: Costing, tmp_path: Path, benchmark) -> None:  # type: ignore[no-untyped-def]
    """The search of a finished quote."""
    quote = costing.quotes[7]
    write_quote(costing, quote, tmp_path / "quote.xlsx")
    secrets = secrets_of(costing, quote)
    assert benchmark(leaks_of, tmp_path / "quote.xlsx", secrets) == []


def test_margin_workbook(costing: Costing, tmp_path: Path, benchmark) -> None:  # type: ignore[no-untyped-def]
    """The margin workbook of a hundred quotes."""
    benchmark.pedantic(write_margin, (costing, tmp_path / "margin.xlsx"), rounds=2)
