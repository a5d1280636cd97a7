"""What is said of the price of a line besides its figure: what it is for, and what is taken off it."""

from __future__ import annotations

from pricing.algebra.expressions import evaluate
from pricing.reports.quote import wording as words
from pricing.reports.quote.facts import QuoteLine
from pricing.reports.quote.totals import percent_text
from pricing.rules import measured_prices


def price_remarks(line: QuoteLine) -> list[str]:
    """What has to be said of a line's price: what it is for, and what is taken off it."""
    said = []
    if line.per != "piece":
        amount = float(evaluate(measured_prices.charged_measure, {"quantity": line.quantity, "measure_each": line.measure_each}))
        said.append(words.LABELS["measured"].format(amount=f"{amount:,.2f}", unit=words.MEASURES[line.per]))
    if line.discount:
        said.append(words.LABELS["own discount"].format(discount=percent_text(line.discount)))
    return said
