"""How a program uses the interface, with the type of everything that it gets: checked by mypy, and run by the tests."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import assert_type

import pandas as pd

import pricing
from pricing.api import (
    Checked,
    Costing,
    ListPrice,
    PriceBook,
    Priced,
    PricedCatalogue,
    Published,
    Recorded,
    RecordedQuote,
    Repriced,
    Repricing,
    Reviewed,
    Trace,
    WorkPlans,
)


def frames(book: PriceBook) -> list[pd.DataFrame]:
    """What is asked of a book that was read: figures, with or without their units, and why."""
    costing = assert_type(pricing.cost(book), Costing)
    of_list = assert_type(pricing.cost_list(book, quantities=[1, pricing.quantity(5, "pieces")]), Costing)
    trace = assert_type(pricing.explain(costing, costing.quotes[0], figure="unit_cost"), Trace)
    assert_type(pricing.explanation(trace, depth=1), list[str])
    supposed = assert_type(pricing.what_if(book, {"Saw kerf": pricing.quantity(3.5, "mm"), "Electricity price": 0.3}), Repricing)
    priced = assert_type(pricing.catalogue(book, quantities=(1, 5)), PricedCatalogue)
    return [
        assert_type(costing.lines_table(units=True), pd.DataFrame), costing.quotes_table(), of_list.lines_table(),
        supposed.products_table(), supposed.quotes_table(), supposed.causes_table(), priced.variants_table(units=True),
    ]


def runs(path: Path, out: Path) -> list[pd.DataFrame]:
    """Whole runs, which write workbooks and record quotes; each says what stood in its way."""
    checked = assert_type(pricing.check(path), Checked)
    quoted = assert_type(pricing.quote(path, out=out, record="issued", breaks=(1, 5)), Priced)
    plans = assert_type(pricing.workshop(path, quotes=quoted.costed.quotes[:1], out=out), WorkPlans)
    repriced = assert_type(pricing.reprice(path, changes={"Electricity price": "+10%"}, out=out), Repriced)
    published = assert_type(pricing.publish(path, write=False), Published)
    assert_type(published.prices, list[ListPrice])
    marked = assert_type(pricing.mark(path, quoted.costed.quotes[-1], "ordered"), RecordedQuote)
    recorded = assert_type(pricing.recorded(path, state="ordered", day=datetime.date.today()), Recorded)
    pricing.export_register(path, out / "register.xlsx", recorded)
    reviewed = assert_type(pricing.review(path, out=out), Reviewed)
    problems = [problem for run in (checked, quoted, plans, repriced, published, reviewed) for problem in run.problems.errors]
    assert not problems, problems
    assert marked.state == "ordered"
    return [
        plans.works_table(units=True), repriced.compared.causes_table(), published.prices_table(), recorded.quotes_table(units=True),
        reviewed.jobs_table(), reviewed.standards_table(), reviewed.capacity_table(units=True),
    ]
