"""What is said of the price of a line besides its figure: what it is for, and what is taken off it."""

from __future__ import annotations

from pricing.algebra.expressions import evaluate
from pricing.languages.words import Words
from pricing.reports.quote.facts import QuoteLine
from pricing.reports.quote.totals import percent_text
from pricing.reports.quote.wording import LABELS, MEASURES
from pricing.rules import measured_prices


def price_remarks(line: QuoteLine, words: Words) -> list[str]:
    """What has to be said of a line's price, in a language: what it is for, and what is taken off it."""
    said = []
    if line.per != "piece":
        amount = float(evaluate(measured_prices.charged_measure, {"quantity": line.quantity, "measure_each": line.measure_each}))
        said.append(words.say(LABELS["measured"], amount=words.amount(amount, 2), unit=MEASURES[line.per]))
    if line.discount:
        said.append(words.say(LABELS["own discount"], discount=percent_text(line.discount, words)))
    return said
