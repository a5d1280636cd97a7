"""What the workbook of one quote must not hold, and what it shows by right: its own particulars, our wording, its figures."""

from __future__ import annotations

import datetime
import functools
import re
from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING, NamedTuple

from pricing.costing.options import options_of
from pricing.glossary import GLOSSARY
from pricing.reports.leaks.figures import figures_in, shares_in, unmarked_figures
from pricing.reports.leaks.secrets import Figures, Secrets
from pricing.reports.leaks.texts import LONG, PART_OF_WORD, in_both_spellings, spelled
from pricing.reports.quote.facts import QuoteFacts
from pricing.reports.quote.price_remarks import price_remarks
from pricing.reports.quote.private_names import address_parts, private
from pricing.reports.shared.styles import NORMAL, SMALL
from pricing.text import fold
from pricing.xlsx.writing.safe_text import clean_text

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing

_WORD = re.compile(r"\w+")

#: Columns of lines and quotes whose figures are found without their pence too, and those that are parts of one.
_COSTS = frozenset(("unit cost", "line cost", "contribution", "quote cost", "quote contribution"))
_SHARES = frozenset(("line margin", "discounted margin", "quote margin"))


def secrets_of_facts(costing: Costing, facts: QuoteFacts, lines: Collection[int], number: int) -> Secrets:
    """What the workbook of a quote must not hold.

    Parameters
    ----------
    costing : a costing that holds the quote
    facts : what the quote says
    lines, number : the quote's lines, and the quote itself, counted from 0
    """
    shared, own = private(costing), list(lines)
    columns = [*((kind, values[own]) for kind, values in shared.of_lines), *((kind, values[[number]]) for kind, values in shared.of_quotes)]
    options = options_of(costing)
    if options.costing is not None:
        offered = [row for each in options.of_quote.get(facts.quote, ()) for row in each.rows]
        columns += [(kind, values[offered]) for kind, values in private(options.costing).of_lines]
    secret = Figures.of(columns)
    typed_here = {clean_text(str(costing.own_terms.of_quote(costing.lines.quotes[number], what) or "")) for what in ("opening", "terms")}
    of_every_quote = [text for text in (facts.opening, *(part for each in facts.terms for part in each)) if text not in typed_here]
    by_right = [facts.reference, facts.site, *address_parts(facts.site), facts.e_mail, *of_every_quote,
                *(part for tax in facts.taxes for part in (tax.tax, *tax.reasons)), *(payment.stage for payment in facts.payments),
                facts.business, facts.address, facts.contact, facts.tax_number, facts.tax_name, facts.customer, facts.customer_address,
                facts.quote, *address_parts(facts.customer_address)]
    remarks = [*typed_here, *(text for line in facts.every_line for text in (line.title, line.note))]
    sizes = [line.size for line in facts.every_line]
    rightful = [_looked_at(text) for text in by_right]
    passing = {*shared.passing, *(each.spelled for each in rightful)}
    for each in (*rightful, *map(_looked_at, sizes)):
        passing.update(shared.phrases.found_in(each.folded))
    words = {word for text in remarks for pattern in (_WORD, PART_OF_WORD) for word in pattern.findall(fold(text))}
    quantities = [f"{quantity:,.0f}" for quantity in facts.quantities]
    said = [text for line in facts.every_line for text in price_remarks(line, facts.words)]
    names_of_things = {figure for line in facts.every_line for text in (line.title, line.colour) for figure in unmarked_figures(text)}
    shown, money, shares = _shown(facts)
    return Secrets(
        shared.phrases, frozenset(passing), frozenset(words),
        figures=(secret, shared.figures, shared.other_quotes), near=(secret, shared.prices),
        costs=secret.only(_COSTS), prices=shared.prices, shares=(secret.only(_SHARES), shared.shares),
        shown=shown, shown_money=money, shown_shares=sorted({*shares, *(share for each in rightful for share in each.shares)}),
        shown_text=frozenset(names_of_things.union(figure for text in (*sizes, *quantities, *said) for figure in figures_in(text))),
        particulars=shared.wording_figures.union(figure for each in rightful for figure in each.figures),
    )


class _Looked(NamedTuple):
    """A text that stands on a page by right: as names are searched, alone and as it stands too; its figures, and its parts of one."""

    spelled: str
    folded: str
    figures: tuple[str, ...]
    shares: tuple[float, ...]


def _looked_at(text: str) -> _Looked:
    """What there is in a text; most stand in many quotes, and are remembered."""
    return _remembered(text) if len(text) <= LONG else _remembered.__wrapped__(text)


@functools.lru_cache(maxsize=2048)
def _remembered(text: str) -> _Looked:
    return _Looked(spelled(text), in_both_spellings(text), tuple(figures_in(text)), tuple(shares_in(text)))


def _shown(facts: QuoteFacts) -> tuple[list[float], list[float], list[float]]:
    """Every figure that the page of a quote holds by right; those of them that are money; and the parts of one."""

    def serial(day: datetime.date) -> float:
        return float((day - datetime.date(1899, 12, 30)).days)

    rates = {name for name in facts.totals if GLOSSARY[name].shown == "%"}
    shares = [*(facts.totals[name] for name in rates), *(each.rate for each in facts.taxes), *(each.share for each in facts.payments),
              *(line.discount for line in facts.charged)]
    money = [facts.cash_step, *(value for name, value in facts.totals.items() if GLOSSARY[name].unit == "currency")]
    for line in facts.every_line:
        prices = [each for each in (line.unit_price, *line.prices) if each == each]
        money += [*prices, line.net, line.discountable_part] if line.part_of is None else []
    money += [amount for each in facts.taxes for amount in (each.base, each.amount, each.goods, each.charges)]
    money += [each.amount for each in facts.payments] + [each.adds for each in facts.options]
    figures: list[float] = [
        *money, *shares, *facts.totals.values(), facts.one_person_lift, facts.lead_days, serial(facts.day),
        *(each.days for each in facts.payments),
        serial(facts.valid_until), facts.day.year, facts.valid_until.year, *facts.quantities, NORMAL, SMALL,
    ]
    for line in facts.every_line:
        figures += [line.mass, line.quantity, line.number, line.discount, line.measure_each]
    every = (*figures, *(value * 100 for value in figures if abs(value) <= 1))
    return _in_order(every), _in_order(money), _in_order(shares)


def _in_order(figures: Iterable[float]) -> list[float]:
    return sorted({abs(float(value)) for value in figures})
