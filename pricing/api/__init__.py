"""The Python interface: whole runs and single questions, the same engine as the command line, which calls nothing else.

Runs (:func:`quote`, :func:`workshop`, :func:`reprice`, :func:`publish`, :func:`catalogue`, :func:`review`) return a result that holds
every problem in ``problems``, and never raise for what is wrong in a price book, a register or on the disk. Single questions
(:func:`read`, :func:`cost`, :func:`explain`, :func:`what_if`, and those of the register) raise :class:`PricingError`, whose text is a
sentence with the remedy. What comes in tables comes as a data frame from a method that ends in ``_table``, with ``units=True`` with the
unit of each column.

>>> import pricing.api
>>> callable(pricing.api.quote) and callable(pricing.api.what_if)
True
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from pricing.problems import BookError, PricingError, Problem, Problems

if TYPE_CHECKING:
    from pricing.api.books import Checked, check, read, start, start_add, start_options
    from pricing.api.catalogues import PricedCatalogue, catalogue
    from pricing.api.costs import cheaper_with_fewer, cost, cost_list, costing_of_quote, explain, explanation, quote_of, what_if
    from pricing.api.order_papers import Papers, papers
    from pricing.api.publishing import Published, publish
    from pricing.api.quoting import Priced, quote
    from pricing.api.registers import (
        Recorded,
        RegisterChecked,
        check_register,
        export_register,
        mark,
        next_number,
        no_longer_needed,
        paid,
        recorded,
        use_register,
    )
    from pricing.api.repricing import PublishedIndex, Repriced, reprice
    from pricing.api.reviews import review
    from pricing.api.watching import watch
    from pricing.api.work_plans import Effort, WorkPlans, workshop
    from pricing.book.price_book import PriceBook
    from pricing.book.reading.read import load_price_book, read_price_book
    from pricing.costing.explain.trace import Trace
    from pricing.costing.list_prices import ListPrice
    from pricing.costing.method.costing import Costing
    from pricing.costing.run import cost_catalogue, cost_quotes
    from pricing.costing.workshop.work import Work
    from pricing.quantities import quantity
    from pricing.register.payments import Account
    from pricing.register.recorded_quote import RecordedQuote
    from pricing.register.review_jobs import Reviewed
    from pricing.repricing.changes import Repricing

    price_quotes = quote

#: The module of each name, imported when the name is first asked for, so that a run loads only what it needs.
_HOMES: dict[str, str] = {
    name: module
    for module, names in {
        "pricing.api.books": "Checked check read start start_add start_options",
        "pricing.api.catalogues": "PricedCatalogue catalogue",
        "pricing.api.costs": "cheaper_with_fewer cost cost_list costing_of_quote explain explanation quote_of what_if",
        "pricing.api.order_papers": "Papers papers",
        "pricing.api.publishing": "Published publish",
        "pricing.api.quoting": "Priced quote",
        "pricing.api.registers": "Recorded RegisterChecked check_register export_register mark next_number no_longer_needed paid recorded "
        "use_register",
        "pricing.api.repricing": "PublishedIndex Repriced reprice",
        "pricing.api.reviews": "review",
        "pricing.api.watching": "watch",
        "pricing.api.work_plans": "Effort WorkPlans workshop",
        "pricing.book.price_book": "PriceBook",
        "pricing.book.reading.read": "load_price_book read_price_book",
        "pricing.costing.method.costing": "Costing",
        "pricing.costing.run": "cost_catalogue cost_quotes",
        "pricing.costing.explain.trace": "Trace",
        "pricing.costing.list_prices": "ListPrice",
        "pricing.costing.workshop.work": "Work",
        "pricing.quantities": "quantity",
        "pricing.register.payments": "Account",
        "pricing.register.recorded_quote": "RecordedQuote",
        "pricing.repricing.changes": "Repricing",
        "pricing.register.review_jobs": "Reviewed",
    }.items()
    for name in names.split()
}

#: Names that were given before, and what they mean.
_EARLIER = {"price_quotes": "quote"}

__all__ = [
    "Account",
    "BookError",
    "Checked",
    "Costing",
    "Effort",
    "ListPrice",
    "Papers",
    "PriceBook",
    "Priced",
    "PricedCatalogue",
    "PricingError",
    "Problem",
    "Problems",
    "Published",
    "PublishedIndex",
    "Recorded",
    "RecordedQuote",
    "RegisterChecked",
    "Repriced",
    "Repricing",
    "Reviewed",
    "Trace",
    "Work",
    "WorkPlans",
    "catalogue",
    "cheaper_with_fewer",
    "check",
    "check_register",
    "cost",
    "cost_catalogue",
    "cost_list",
    "cost_quotes",
    "costing_of_quote",
    "explain",
    "explanation",
    "export_register",
    "load_price_book",
    "mark",
    "next_number",
    "no_longer_needed",
    "paid",
    "papers",
    "price_quotes",
    "publish",
    "quantity",
    "quote",
    "quote_of",
    "read",
    "read_price_book",
    "recorded",
    "reprice",
    "review",
    "start",
    "start_add",
    "start_options",
    "use_register",
    "watch",
    "what_if",
    "workshop",
]


def __getattr__(name: str) -> Any:
    """A name of the interface, from its module."""
    name = _EARLIER.get(name, name)
    if name not in _HOMES:
        raise AttributeError(f"module 'pricing.api' has no attribute {name!r}")
    found = globals()[name] = getattr(importlib.import_module(_HOMES[name]), name)
    return found
