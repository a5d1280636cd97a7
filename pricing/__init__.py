"""Costing and pricing of cast concrete pieces from one spreadsheet price book.

>>> import pricing
>>> sorted(pricing.__all__)[3:6]
['cost_catalogue', 'cost_quotes', 'explain']
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pricing.problems import BookError, Problem, Problems

if TYPE_CHECKING:
    from pricing.api import cost_catalogue, cost_quotes, explain, load_price_book, price_quotes, read_price_book, review

__all__ = [
    "BookError", "Problem", "Problems", "cost_catalogue", "cost_quotes", "explain", "load_price_book", "price_quotes", "read_price_book",
    "review",
]


def __getattr__(name: str) -> Any:
    """The interface, imported when first asked for, so that importing the package stays instant."""
    if name in __all__:
        import pricing.api

        return getattr(pricing.api, name)
    raise AttributeError(f"module 'pricing' has no attribute {name!r}")
