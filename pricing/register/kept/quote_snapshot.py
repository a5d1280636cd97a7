"""What the register keeps of a quote: the promise, what it costs, and the inputs that the cost rests on."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import field
from functools import cached_property
from typing import Any

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.costing.engine.model import Model
from pricing.costing.lines.order_lines import OrderLines
from pricing.costing.method.build import model_of
from pricing.costing.method.costing import Costing
from pricing.costing.method.measures import measure_prices
from pricing.costing.options import options_of
from pricing.costing.price_table import prices_by_quantity
from pricing.dataclass import dataclass
from pricing.money import Currency
from pricing.register.kept.book_rows import BookRow, is_blank, rows_to_keep
from pricing.register.kept.lines import PRICE_OF_MEASURE, OfferedLine, SnapshotLine
from pricing.register.kept.stored_model import InputRow, stored

#: The amounts of a quote that its customer sees.
PROMISED = ("lines_net", "discount", "small_order_charge", "carriage", "net", "tax", "gross", "payable", "deposit")

#: The amounts that only the maker sees.
KEPT = ("quote_cost", "quote_margin", "quote_mass")


@dataclass(frozen=True)
class QuoteSnapshot:
    """A quote as it is offered.

    Parameters
    ----------
    number : of the quote
    day, valid_until : its date, and the last day on which it can be ordered
    totals : the amounts of the quote by their names in the glossary [currency; margin 1; mass kg]
    terms : what of the terms is not among the amounts, such as stages and words; empty where the book says nothing
    inputs : the rows of its costing model
    book_rows : the rows of the price book that its lines name, and those by which their pieces are worked
    business : who promises
    offers : what is offered beside it
    offered_inputs : the rows of its costing model with all that is offered among its lines, at the prices of its page
    """

    number: str
    customer: str
    day: datetime.date
    valid_until: datetime.date
    currency: str
    lines: tuple[SnapshotLine, ...]
    totals: dict[str, float]
    prices_by_quantity: tuple[float, ...] = ()
    inputs: tuple[InputRow, ...] = field(default=(), repr=False)
    book_rows: tuple[BookRow, ...] = field(default=(), repr=False)
    business: str = ""
    terms: tuple[str, ...] = ()
    offers: tuple[OfferedLine, ...] = ()
    offered_inputs: tuple[InputRow, ...] = field(default=(), repr=False)

    @cached_property
    def content(self) -> str:
        """A mark of all that the customer is promised: equal for equal promises, whatever they cost the maker."""
        told = _told([each.line for each in self.offers])
        offers = [[each.number, each.offer, each.adds, *line] for each, line in zip(self.offers, told, strict=True)]
        return self._mark({"offers": offers} if offers else {})

    @cached_property
    def content_alone(self) -> str:
        """The mark without what is offered beside it, as registers of before have it."""
        return self._mark({})

    def _mark(self, more: dict[str, Any]) -> str:
        promise: dict[str, Any] = {
            "number": self.number, "customer": self.customer, "date": str(self.day), "valid_until": str(self.valid_until),
            "currency": self.currency, "lines": list(_told(self.lines)),
            "totals": {name: self.totals[name] for name in PROMISED}, "prices": self.prices_by_quantity,
        }
        promise |= ({"terms": self.terms} if self.terms else {}) | more
        return hashlib.sha256(json.dumps(promise, sort_keys=True).encode()).hexdigest()


def _told(lines: Sequence[SnapshotLine]) -> Iterator[list[Any]]:
    """What the customer is told of each line; of the parts of a set, what they come to together."""
    nets: dict[float, float] = {}
    for line in lines:
        if "set" in line.asked:
            nets[line.asked["set_line"]] = round(nets.get(line.asked["set_line"], 0.0) + line.net, 6)
    for line in lines:
        own = [line.unit_price, line.net] if "set" not in line.asked else [0.0, nets[line.asked["set_line"]]]
        yield [*own, line.promised]


def snapshot_of(
    costing: Costing, quote: str, *, number: str = "", breaks: Costing | None = None, promise_alone: bool = False
) -> QuoteSnapshot:
    """What the register keeps of a quote.

    Parameters
    ----------
    costing : a costing without errors that holds the quote
    quote : as the costing calls it
    number : as the register calls it; the same where empty
    breaks : the same lines at other quantities, where the quote has a table of them
    promise_alone : True for what the customer is told, without the inputs

    Problems raised: KeyError where the costing has no such quote.
    """
    rows = costing.lines_of(quote)
    if not rows:
        raise KeyError(quote)
    lines = costing.lines.taken(rows)
    inputs = () if promise_alone else tuple(stored(model_of_quote(costing, quote)))
    day = _date(lines.day[0])
    products = costing.book.tables["Products"].columns["product"][lines.product].tolist()
    figures = {name: costing.line(name)[rows].tolist() for name in ("quantity", "unit_cost", "unit_price", "line_net")}
    prices = () if breaks is None else tuple(price for row in rows for price in prices_by_quantity(costing, row, breaks))
    at = costing.lines.quotes.index(quote)
    offers, whole = _offers(costing, quote), options_of(costing).wholes.get(quote)
    return QuoteSnapshot(
        number or quote, str(lines.customer[0]), day, costing.own_terms.valid_until(quote, day), costing.currency,
        tuple(
            SnapshotLine(product, figures["quantity"][row], figures["unit_cost"][row], figures["unit_price"][row], figures["line_net"][row],
                      _asked(costing.book, lines, row, product) | _of_measure(costing, rows[row]))
            for row, product in enumerate(products)
        ),
        {name: float(costing.quote(name)[at]) for name in (*PROMISED, *KEPT)} | _own_places(costing), prices, inputs,
        () if promise_alone else tuple(rows_to_keep(costing, quote, products, lines)),
        costing.book.word("business_name"), promised_terms(costing, quote, at), offers,
        () if promise_alone or whole is None else tuple(stored(whole.model)),
    )


def _own_places(costing: Costing) -> dict[str, float]:
    """The decimal places of amounts, where a smallest coin is set."""
    return {"minor_digits": costing.setting("minor_digits")} if isinstance(costing.currency, Currency) else {}


def _offers(costing: Costing, quote: str) -> tuple[OfferedLine, ...]:
    """What is offered beside a quote."""
    options = options_of(costing)
    own, products = options.costing, costing.book.tables["Products"].columns["product"]
    found = []
    offered = [(option, row) for option in options.of_quote.get(quote, []) for row in option.rows]
    for each, row in offered if own is not None else ():
        assert own is not None
        product = str(products[own.lines.product[row]])
        quantity, cost, price, net = (float(own.line(name)[row]) for name in ("quantity", "unit_cost", "unit_price", "line_net"))
        asked = _asked(costing.book, own.lines, row, product) | _of_measure(own, row)
        found.append(OfferedLine(each.offer.line, each.offer.words, each.adds, SnapshotLine(product, quantity, cost, price, net, asked)))
    return tuple(found)


def model_of_quote(costing: Costing, quote: str) -> Model:
    """The costing model of one quote alone."""
    rows = costing.lines_of(quote)
    return costing.model if len(rows) == len(costing.lines) else model_of(costing, rows)


def promised_terms(costing: Costing, quote: str, number: int) -> tuple[str, ...]:
    """What of the terms the customer is told besides amounts, in words: nothing where the price book says nothing of its own.

    Parameters
    ----------
    number : of the quote, counted from 0
    """
    own, customer = costing.own_terms, str(costing.lines.customer[costing.lines_of(quote)[0]])
    said = [str(own.of_quote(quote, name) or "") for name in ("reference", "opening", "terms")]
    said += [own.text(quote, customer, "site_address"), own.text(quote, customer, "language")]
    said += [f"{each.called} {each.amount} {each.due}" for each in costing.payments[number] if each.stage or each.days]
    if "quote taxes" in costing.model.tables:
        said += [f"{each.tax} {each.category} {each.rate} {each.base} {each.reasons}" for each in costing.taxes[number]]
    return tuple(text for text in said if text)


def _date(day: np.datetime64) -> datetime.date:
    found = day.astype("datetime64[D]").astype(object)
    assert isinstance(found, datetime.date)
    return found


def _asked(book: PriceBook, lines: OrderLines, row: int, product: str) -> dict[str, Any]:
    """A line as an Enquiries sheet would state it."""
    asked: dict[str, Any] = {"product": product, "quantity": float(lines.quantity[row])}
    enquiry = int(lines.enquiry[row])
    if enquiry >= 0:
        for name, values in book.tables["Enquiries"].columns.items():
            if name not in ("quote", "date", "customer") and not is_blank(values[enquiry]):
                asked[name] = str(values[enquiry]) if values.dtype.kind == "M" else values[enquiry]
    asked |= {name: str(values[row]) for name, values in lines.plans.items() if values[row]}
    asked |= {name: float(values[row]) for name, values in lines.dimensions.items() if not np.isnan(values[row])}
    return {name: float(value) if isinstance(value, np.floating) else value for name, value in asked.items()}


def _of_measure(costing: Costing, line: int) -> dict[str, float]:
    """The price of one of what a line is priced by, where that is not a piece."""
    price = float(measure_prices(costing.values)[line])
    return {} if price == costing.line("unit_price")[line] else {PRICE_OF_MEASURE: price}
