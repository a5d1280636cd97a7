"""Taxes, stages and the terms of quotes in the workbooks: recalculated from nothing they agree, and changed they do what the book does."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from books import write_book
from referee import differences, recalculated_all, stored, without_results
from terms_book import terms_book
from test_live_model import a_change, changed_in_price_book, disagreements, figures, numbers_in, parts_of, recalculate, replaced
from test_live_pieces import plain

from pricing.book.reading.read import load_price_book
from pricing.costing.lines.order_lines import enquired
from pricing.costing.run import cost_lines, cost_quotes
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.workbook import write_sheets
from pricing.reports.quote.workbook import write_quote

SEED = 20260304


@pytest.mark.usefixtures("requires_office")
def test_quotes_on_all_terms_add_up_in_a_spreadsheet_program(tmp_path: Path) -> None:
    """Three rates with a discount and carriage, reverse charge in thirds, an exempt one: every formula gives its stored result."""
    costing = cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", terms_book())))
    paths = [tmp_path / f"{quote}.xlsx" for quote in costing.quotes]
    for quote, path in zip(costing.quotes, paths, strict=True):
        write_quote(costing, quote, path)
    for path, computed in zip(paths, recalculated_all(paths), strict=True):
        assert differences(stored(path), computed) == [], path.name


@pytest.mark.usefixtures("requires_office")
def test_every_term_may_be_changed_in_the_margin_workbook_itself(tmp_path: Path) -> None:
    """Each rate, share, discount and deposit: the recalculated workbook gives what the engine gives for a changed book."""
    source = plain(tmp_path / "book.xlsx", terms_book())
    book = load_price_book(source)
    costing = cost_lines(book, enquired(book))
    path, blank = tmp_path / "margin.xlsx", tmp_path / "blank.xlsx"
    margin = MarginBook(costing, path, bare=True)
    write_sheets(margin)
    without_results(path, blank)
    inputs = numbers_in(source, margin)
    own = [place for place in inputs if place.partition("!")[0] in ("Taxes", "Quotes", "Customers", "Workshop", "Delivery", "Payments")
           and (place != "Workshop!B13" or book.number("deposit") < 0.8)]
    assert {"Taxes!B2", "Quotes!D2", "Quotes!F2", "Customers!C3", "Workshop!B13", "Payments!C3"} <= set(own)
    generator = np.random.default_rng(SEED)
    changes = [a_change(place, *inputs[place], generator) for place in own]
    in_book, in_margin = parts_of(source), parts_of(path)
    copies = [tmp_path / f"{number}.xlsx" for number in range(len(changes))]
    for change, copy in zip(changes, copies, strict=True):
        replaced(blank, copy, in_margin[change.sheet], change.cell, change.figure * change.factor)
    at_once = costing.model.tables["lines"].given["moulds_at_once"]
    wrong: dict[str, list[str]] = {}
    compared = 0
    for change, result in zip(changes, recalculate(copies, tmp_path), strict=True):
        try:
            expected = changed_in_price_book(source, in_book, change, tmp_path / "changed.xlsx", at_once)
        except AssertionError:  # shares that do not come to 100 %: the book is refused
            continue
        if expected is None:
            continue
        compared += 1
        found = disagreements(figures(result, margin), expected)
        if found:
            wrong[f"{change.place} x {change.factor:.4f}"] = found[:3]
    assert wrong == {}
    assert compared > 0.8 * len(changes)
