"""Costing and pricing of cast concrete pieces from one spreadsheet price book.

>>> import pricing
>>> [name for name in pricing.__all__ if name.startswith("re")]
['read', 'read_price_book', 'recorded', 'reprice', 'review']
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pricing.api import __all__

if TYPE_CHECKING:
    from pricing.api import *  # noqa: F403


def __getattr__(name: str) -> Any:
    """The interface, imported when first asked for, so that importing the package stays instant."""
    if name in __all__:
        import pricing.api

        return getattr(pricing.api, name)
    raise AttributeError(f"module 'pricing' has no attribute {name!r}")
