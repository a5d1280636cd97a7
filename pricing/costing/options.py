"""What is offered beside the quotes of a costing: each option priced as an order of its own, and what it would add.

It takes no part in totals, loads, weight and lead time of its quote, which is why it is not among the lines of the costing.
"""

from __future__ import annotations

import datetime
import weakref
from dataclasses import dataclass
from typing import Any

from pricing.book.offers import Offer, line_numbers, offers_of
from pricing.costing.lines.order_lines import offered
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines
from pricing.money import round_half_away


@dataclass(frozen=True, slots=True)
class Option:
    """An option, or an alternative to a line.

    Parameters
    ----------
    offer : as the enquiry says it
    rows : its line in the costing of the options, counted from 0, or those of the parts of a set
    adds : to the net of the quote, discounts taken off and carriage left out [currency]
    """

    offer: Offer
    rows: tuple[int, ...]
    adds: float


@dataclass(frozen=True, eq=False)
class Options:
    """All options of a costing.

    Parameters
    ----------
    costing : of the options alone, each as an order of its own; None where there is none
    of_quote : by the number of the quote
    """

    costing: Costing | None
    of_quote: dict[str, list[Option]]


_MADE: weakref.WeakKeyDictionary[Costing, Options] = weakref.WeakKeyDictionary()


def options_of(costing: Costing) -> Options:
    """The options beside the quotes of a costing, priced when first asked for.

    What the maker has to know of them is added to the problems of the costing.
    """
    found = _MADE.get(costing)
    if found is None:
        asked = {quote: costing.lines_of(quote) for quote in costing.quotes}
        offers = [each for each in offers_of(costing.book) if each.quote in asked and costing.lines.enquiry[asked[each.quote][0]] >= 0]
        found = _MADE[costing] = _priced(costing, offers) if offers else Options(None, {})
    return found


def _priced(costing: Costing, offers: list[Offer]) -> Options:
    lines = offered(costing.book, offers)
    days = {quote: costing.lines.day[costing.lines_of(quote)[0]] for quote in {each.quote for each in offers}}
    for row, number in enumerate(lines.order.tolist()):
        lines.day[row] = days[offers[number].quote]
    own = cost_lines(costing.book, lines, costing.problems)
    of_quote: dict[str, list[Option]] = {}
    digits = int(costing.setting("minor_digits"))
    for offer in offers:
        rows = own.lines_of(offer.name)
        added = float(own.line("discounted_net")[rows].sum())
        if offer.instead_of:
            added -= float(costing.line("discounted_net")[_lines_numbered(costing, offer.quote, offer.instead_of)].sum())
        of_quote.setdefault(offer.quote, []).append(Option(offer, tuple(rows), float(round_half_away(added, digits))))
    return Options(own, of_quote)


def _lines_numbered(costing: Costing, quote: str, number: int) -> list[int]:
    """The line of a quote that has a number, counted from 0, or those of the parts of a set."""
    numbers = line_numbers(costing.book)
    return [line for line in costing.lines_of(quote) if numbers[costing.lines.enquiry[line]] == number]


def line_labels(costing: Costing) -> list[str]:
    """What each line is called within its quote: its number, and of a part of a set its place among the parts, ``2.1``."""
    numbers = line_numbers(costing.book)
    places: dict[int, int] = {}
    found = []
    for line, row in enumerate(costing.lines.enquiry.tolist()):
        set_number = -1 if costing.lines.sets is None else int(costing.lines.sets.number[line])
        number = str(numbers[row] if row >= 0 else line + 1)
        places[set_number] = places.get(set_number, 0) + 1
        found.append(number if set_number < 0 else f"{number}.{places[set_number]}")
    return found


def line_called(costing: Costing, quote: str, label: str) -> int | None:
    """Which of the lines that are asked for is called so in its quote, counted from 1: for ``2`` the first part where line 2 is a set;
    None where no line is called so.

    Parameters
    ----------
    label : as the quote numbers it, options counted too, and the parts of a set behind a full stop
    """
    labels = line_labels(costing)
    known = [labels[line] for line in costing.lines_of(quote)]
    return next((known.index(each) + 1 for each in (label, f"{label}.1") if each in known), None)


def as_json(costing: Costing, day: datetime.date | None = None) -> dict[str, Any]:
    """The whole result as numbers for programs, options among it: each is a line of its quote that says what it is offered as.

    Parameters
    ----------
    costing : with its quotes
    day : whose prices hold; the latest of the quotes where None
    """
    options = options_of(costing)
    made = costing.as_json(day)
    lines = {} if options.costing is None else {each["quote"]: each["lines"] for each in options.costing.as_json(day)["quotes"]}
    numbers = line_numbers(costing.book)
    for quote in made["quotes"]:
        rows = costing.lines.enquiry[costing.lines_of(quote["quote"])].tolist()
        for place, (row, line) in enumerate(zip(rows, quote["lines"], strict=True), 1):
            line |= {"line": numbers[row] if row >= 0 else place, "offer": ""}
        found = options.of_quote.get(quote["quote"], [])
        quote["lines"] += [
            {**line, "line": each.offer.line, "offer": each.offer.words} for each in found for line in lines[each.offer.name]]
        quote["options"] = [
            {"line": each.offer.line, "product": lines[each.offer.name][0]["set"] or lines[each.offer.name][0]["product"],
             "offer": each.offer.words, "adds": each.adds}
            for each in found
        ]
    return made
