"""What the workbook of one quote must not hold, and what it shows by right: its own particulars, our wording, its figures."""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection
from typing import TYPE_CHECKING

from pricing.reports.leaks.figures import figures_in
from pricing.reports.leaks.secrets import Figures, Secrets
from pricing.reports.leaks.texts import PART_OF_WORD
from pricing.reports.quote.facts import QuoteFacts, index_of, quote_facts
from pricing.reports.quote.private_names import address_parts, private
from pricing.reports.shared.styles import NORMAL, SMALL
from pricing.text import fold

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing

_WORD = re.compile(r"\w+")


def secrets_of(costing: Costing, quote: str, breaks: Costing | None = None) -> Secrets:
    """What the workbook of a quote must not hold.

    Parameters
    ----------
    costing : a costing that holds the quote
    quote : its number
    breaks : of the quote's table of prices by quantity, where it has one
    """
    index = index_of(costing)
    return secrets_of_facts(costing, quote_facts(costing, quote, breaks), index.lines[quote], index.number[quote])


def secrets_of_facts(costing: Costing, facts: QuoteFacts, lines: Collection[int], number: int) -> Secrets:
    """What the workbook of a quote must not hold.

    Parameters
    ----------
    costing : a costing that holds the quote
    facts : what the quote says
    lines, number : the quote's lines, and the quote itself, counted from 0
    """
    shared, own = private(costing), list(lines)
    secret = Figures.of([
        *((kind, values[own]) for kind, values in shared.of_lines), *((kind, values[[number]]) for kind, values in shared.of_quotes),
    ])
    by_right = [facts.reference, facts.site, *address_parts(facts.site), facts.e_mail, facts.opening, facts.terms,
                *(part for tax in facts.taxes for part in (tax.tax, *tax.reasons)), *(payment.stage for payment in facts.payments),
                facts.business, facts.address, facts.contact, facts.tax_number, facts.tax_name, facts.customer, facts.customer_address,
                facts.quote, *address_parts(facts.customer_address)]
    remarks = [text for line in facts.lines for text in (line.title, line.note)]
    sizes = [line.size for line in facts.lines]
    passing = {*shared.passing, *(fold(text) for text in by_right)}
    for text in (*by_right, *sizes):
        passing.update(shared.phrases.found_in(fold(text)))
    words = {word for text in remarks for each in (_WORD, PART_OF_WORD) for word in each.findall(fold(text))}
    quantities = [f"{quantity:,.0f}" for quantity in facts.quantities]
    texts = [*by_right, *remarks, *sizes, *(line.colour for line in facts.lines), *quantities]
    return Secrets(
        shared.phrases, frozenset(passing), frozenset(words), (secret, shared.figures, shared.other_quotes),
        _shown(facts), shared.wording_figures.union(figure for text in texts for figure in figures_in(text)),
    )


def _shown(facts: QuoteFacts) -> list[float]:
    """Every figure that the page of a quote holds by right."""

    def serial(day: datetime.date) -> float:
        return float((day - datetime.date(1899, 12, 30)).days)

    figures: list[float] = [
        *facts.totals.values(), *_of_terms(facts), facts.cash_step, facts.one_person_lift, facts.lead_days, serial(facts.day),
        serial(facts.valid_until), facts.day.year, facts.valid_until.year, *facts.quantities, NORMAL, SMALL,
    ]
    for line in facts.lines:
        figures += [line.mass, line.quantity, line.unit_price, line.net, line.number, *line.prices]
    return sorted({abs(float(value)) for value in (*figures, *(value * 100 for value in figures if abs(value) <= 1))})


def _of_terms(facts: QuoteFacts) -> list[float]:
    """The figures of taxes and payments."""
    taxes = [figure for tax in facts.taxes for figure in (tax.rate, tax.base, tax.amount, tax.goods, tax.charges)]
    return [*taxes, *(figure for each in facts.payments for figure in (each.share, each.amount, each.days))]
