"""Costing on arrays: ``pytest tests/benchmarks -o python_files="bench_*.py" --benchmark-only``."""

from __future__ import annotations

from pathlib import Path

import flat
import measures
import pytest
import workloads

from pricing.book.price_book import PriceBook
from pricing.costing.catalogue.pricer import Pricer
from pricing.costing.catalogue.variants import AtQuantities, Products
from pricing.costing.lines.order_lines import list_lines
from pricing.costing.method.build import build_model
from pricing.costing.run import cost_catalogue, cost_lines
from pricing.problems import Problems

PRODUCTS = (1_000, 100_000)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> PriceBook:
    return workloads.demo_book(tmp_path_factory.mktemp("bench") / "demo.xlsx")


@pytest.mark.parametrize("products", PRODUCTS)
def test_arithmetic(products: int, book: PriceBook, benchmark) -> None:  # type: ignore[no-untyped-def]
    """Every column of the lines of a catalogue whose model stands."""
    wide = workloads.widened(book, products)
    costing = cost_lines(wide, list_lines(wide, workloads.DAY))
    benchmark(measures.every_line_column, costing)


@pytest.mark.parametrize("products", PRODUCTS)
def test_model(products: int, book: PriceBook, benchmark) -> None:  # type: ignore[no-untyped-def]
    """The rows of the model of a catalogue."""
    wide = workloads.widened(book, products)
    lines = list_lines(wide, workloads.DAY)
    benchmark(build_model, wide, lines, Problems())


@pytest.mark.parametrize("products", PRODUCTS)
def test_catalogue(products: int, book: PriceBook, benchmark) -> None:  # type: ignore[no-untyped-def]
    """Lines, model, arithmetic and what is remarked."""
    wide = workloads.widened(book, products)
    benchmark(lambda: cost_catalogue(wide, workloads.DAY).line("unit_price"))


def test_variants(book: PriceBook, benchmark) -> None:  # type: ignore[no-untyped-def]
    """Fifty thousand variants, as a worker prices them."""
    wide = workloads.widened(book, 12_500)
    part = AtQuantities(Products(wide), (1, 5, 10, 25)).part(0, 50_000)
    benchmark(Pricer(wide, workloads.DAY).priced, part)


def test_a_row_with_quantities(book: PriceBook, benchmark) -> None:  # type: ignore[no-untyped-def]
    """One row of the same model, worked out with units: what the arrays are compared with."""
    reader = flat.WithQuantities(flat.flattened(cost_catalogue(workloads.slabs(book, 20), workloads.DAY)))
    benchmark(reader.row, 0)


def test_reading(tmp_path: Path, benchmark) -> None:  # type: ignore[no-untyped-def]
    """A price book of a thousand products, read and checked."""
    from pricing.book.reading.read import load_price_book

    benchmark(load_price_book, workloads.catalogue_book(tmp_path / "book.xlsx", 1_000))
