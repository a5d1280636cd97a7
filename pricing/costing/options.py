"""What is offered beside the quotes of a costing: each option priced as an order of its own, and what it would add.

It takes no part in totals, loads, weight and lead time of its quote, which is why it is not among the lines of the costing. What it
adds is what the net of the quote changes by where it alone is ordered too, every price standing as it is on the page: its own net, less
that of the line that it takes the place of, with what customer's discount, small order charge and carriage of the whole change by.
"""

from __future__ import annotations

import datetime
import functools
import weakref
from collections.abc import Collection, Iterable, Mapping
from dataclasses import field, replace
from typing import Any

import numpy as np

from pricing.book.offers import Offer, line_numbers, offers_of
from pricing.book.price_book import NONE
from pricing.book.shown_units import mass_unit, shown_mass
from pricing.costing.engine.columns import SETTINGS
from pricing.costing.engine.evaluation import Evaluation, evaluate
from pricing.costing.engine.model import Model
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.lines.order_lines import offered, with_offers
from pricing.costing.method.build import model_of
from pricing.costing.method.chosen_lines import with_lines_alone
from pricing.costing.method.costing import Costing
from pricing.costing.method.measures import measure_prices
from pricing.costing.moulds.costed import costed
from pricing.costing.run import cost_lines
from pricing.dataclass import dataclass
from pricing.money import round_half_away
from pricing.problems import Problems


@dataclass(frozen=True, slots=True)
class Option:
    """An option, or an alternative to a line.

    Parameters
    ----------
    offer : as the enquiry says it
    rows : its line in the costing of the options, counted from 0, or those of the parts of a set
    adds : what the net of the quote changes by where this alone is ordered too [currency]
    goods : of that, lines less discount [currency]
    carriage, charge : of that, what carriage and small order charge change by [currency]
    """

    offer: Offer
    rows: tuple[int, ...]
    adds: float
    goods: float = 0.0
    carriage: float = 0.0
    charge: float = 0.0


@dataclass(frozen=True, eq=False)
class Whole:
    """A quote with all that is offered beside it among its lines, at the prices of its page.

    Parameters
    ----------
    model : of every line, as if all were ordered
    numbers : of the lines in the quote; the parts of a set have one
    offers : the lines that are offered, by their numbers
    """

    model: Model
    numbers: tuple[int, ...]
    offers: dict[int, Offer]

    def ordered(self, options: Collection[int] = ()) -> Evaluation:
        """The figures of the quote with some options: a line that an alternative takes the place of is out.

        Prices stand, whatever else is ordered: they are worked out once, not with each choice of options anew.

        Parameters
        ----------
        options : numbers of lines that are offered
        """
        offers = {number: offer.instead_of for number, offer in self.offers.items()}
        ordered = set(lines_ordered(self.numbers, offers, options))
        rows = [place for place, number in enumerate(self.numbers) if number in ordered]
        return evaluate(with_lines_alone(self.model, rows), {("lines", "unit_price"): self._prices[rows]})

    @functools.cached_property
    def _prices(self) -> Floats:
        return evaluate(self.model).value("lines", "unit_price")


def lines_ordered(numbers: Iterable[int], offers: Mapping[int, int], options: Collection[int]) -> list[int]:
    """The numbers of the lines that are ordered, in order.

    Parameters
    ----------
    numbers : of all lines
    offers : by the number of each that is offered the line that it would take the place of; 0 for an option
    options : the numbers of those that are ordered

    >>> lines_ordered([1, 2, 3, 4], {3: 2, 4: 0}, [3]), lines_ordered([1, 2, 3, 4], {3: 2, 4: 0}, [4])
    ([1, 3], [1, 2, 4])
    """
    out = {offers[number] for number in options}
    return [number for number in numbers if number not in out and (number not in offers or number in options)]


@dataclass(frozen=True, eq=False)
class Options:
    """All options of a costing.

    Parameters
    ----------
    costing : of the options alone, each as an order of its own; None where there is none
    of_quote : by the number of the quote
    wholes : by the number of the quote, each with all that is offered among its lines
    """

    costing: Costing | None
    of_quote: dict[str, list[Option]]
    wholes: dict[str, Whole] = field(default_factory=dict)


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
    told = Problems(costing.book.file)
    own = _without_charges(cost_lines(costing.book, lines, told))
    costing.problems.take(each for each in told if each.code != "low-quote-margin")  # that is of an order with carriage of its own
    if own.problems.errors:
        return Options(None, {})
    wholes = _wholes(costing, own, offers)
    of_quote: dict[str, list[Option]] = {}
    digits = int(costing.setting("minor_digits"))
    for offer in offers:
        number = costing.lines.quotes.index(offer.quote)
        values = wholes[offer.quote].ordered([offer.line])
        if np.isnan(values.value("quotes", "carriage")[0]):
            _no_band(costing, values, offer)
            continue
        changes = [
            float(round_half_away(float(values.value("quotes", name)[0]) - float(costing.quote(name)[number]), digits))
            for name in ("net", "goods_net", "carriage", "small_order_charge")
        ]
        of_quote.setdefault(offer.quote, []).append(Option(offer, tuple(own.lines_of(offer.name)), *changes))
    return Options(own, of_quote, wholes)


def _no_band(costing: Costing, values: Evaluation, offer: Offer) -> None:
    """Say that a quote with an option is heavier than any band of its zone."""
    zone, unit = costing.model.tables["quotes"].text["zone"][costing.lines.quotes.index(offer.quote)], mass_unit(costing.book)
    mass = shown_mass(float(values.value("quotes", "quote_mass")[0]), unit)
    table = costing.book.tables["Enquiries"]
    costing.problems.add(
        "no-band", f'{offer.name} makes the quote weigh {mass:,.1f} {unit}; zone "{zone}" has no band for so much; add a row to Delivery',
        sheet="Enquiries", cell=table.cell("offer", offer.rows[0]))


def _without_charges(own: Costing) -> Costing:
    """Options as orders of their own, of which neither carriage nor a small order charge is taken: these are the quote's."""
    count = own.model.tables["quotes"].count
    model = own.model.with_given("quotes", {}, {"zone": np.full(count, NONE, dtype=object)})
    model = model.with_given(SETTINGS, {"smallest_order": np.zeros(1)})
    return replace(own, model=model, values=evaluate(model))


def _wholes(costing: Costing, own: Costing, offers: list[Offer]) -> dict[str, Whole]:
    """The quotes that have options, each with all of them among its lines, at the prices of its page."""
    quotes = list(dict.fromkeys(offer.quote for offer in offers))
    lines = with_offers(costing.book, quotes)
    days = {quote: costing.lines.day[costing.lines_of(quote)[0]] for quote in quotes}
    lines.day = np.array([days[quote] for quote in lines.quote.tolist()], dtype=lines.day.dtype)
    prices: dict[int, float] = {}
    for each in (costing, own):
        prices |= dict(zip(each.lines.enquiry.tolist(), measure_prices(each.values).tolist(), strict=True))
    everything = costed(costing.book, lines, Problems(costing.book.file))
    numbers, found = line_numbers(costing.book), {}
    for quote in quotes:
        rows = everything.lines_of(quote)
        stands = np.array([prices[row] for row in lines.enquiry[rows].tolist()])
        model, typed = model_of(everything, rows), {"price_is_typed": np.ones(len(rows)), "price_is_listed": np.zeros(len(rows))}
        if model.column("lines", "stated_price") is None:
            model = model.with_given("lines", {**typed, "given_price": stands})
        else:
            model = model.with_given("lines", {**typed, "stated_price": stands, "shares_set_price": np.zeros(len(rows))})
        found[quote] = Whole(
            model, tuple(numbers[row] for row in lines.enquiry[rows].tolist()),
            {offer.line: offer for offer in offers if offer.quote == quote})
    return found


#: How the margin workbook of the options is reckoned, in a sentence for its head.
HOW_RECKONED = (
    "Each option alone, at the price on its quote, without carriage and small order charge; the note says what the quote changes by "
    "with it."
)


def what_each_adds(costing: Costing) -> dict[str, str]:
    """By the name of each option what its quote says that it adds, in words."""
    digits = int(costing.setting("minor_digits"))
    found = [each for options in options_of(costing).of_quote.values() for each in options]
    return {each.offer.name: f"adds {each.adds:,.{digits}f}" for each in found}


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
    if (costing.lines.enquiry[costing.lines_of(quote)] < 0).any():
        return None
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
