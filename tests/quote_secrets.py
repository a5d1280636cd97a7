"""What the workbook of a quote must not hold, asked for by its number."""

from __future__ import annotations

from pricing.costing.method.costing import Costing
from pricing.reports.leaks.secrets import Secrets
from pricing.reports.quote.facts import index_of, quote_facts
from pricing.reports.quote.secrets import secrets_of_facts


def secrets_of(costing: Costing, quote: str, breaks: Costing | None = None) -> Secrets:
    """The secrets of a quote, with the table of prices by quantity that it may have."""
    index = index_of(costing)
    return secrets_of_facts(costing, quote_facts(costing, quote, breaks), index.lines[quote], index.number[quote])
