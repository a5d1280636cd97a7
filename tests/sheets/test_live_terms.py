"""Taxes, stages and the terms of quotes in the workbooks: recalculated from nothing they agree, and changed they do what the book does."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from books import write_book
from referee import differences, recalculated_all, stored
from terms_book import terms_book
from test_live_model import (
    a_change,
    live_workbook,
)
from test_live_pieces import plain

from pricing.book.reading.read import load_price_book
from pricing.costing.run import cost_quotes
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
@pytest.mark.parametrize("one_of", [3, pytest.param(1, marks=pytest.mark.slow)])
def test_every_term_may_be_changed_in_the_margin_workbook_itself(one_of: int, tmp_path: Path) -> None:
    """Rates, shares, discounts and deposits, each in the longer run, one of three in the short one:
    the recalculated workbook gives what the engine gives for a changed book."""
    live = live_workbook(plain(tmp_path / "book.xlsx", terms_book()), tmp_path)
    own = [place for place in live.inputs if place.partition("!")[0] in ("Taxes", "Quotes", "Customers", "Workshop", "Delivery", "Payments")
           and (place != "Workshop!B13" or live.costing.book.number("deposit") < 0.8)]
    assert {"Taxes!B2", "Quotes!D2", "Quotes!F2", "Customers!C3", "Workshop!B13", "Payments!C3"} <= set(own)
    generator = np.random.default_rng(SEED)
    changes = [a_change(place, *live.inputs[place], generator) for place in own[::one_of]]
    outcome = live.outcome_of(changes, may_be_refused=True)  # shares that do not come to 100 % are refused
    assert outcome.wrong == {}
    assert outcome.compared > 0.8 * len(changes)
