"""What a comparison of prices found: products and quotes before and now, and what each cause contributed."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import field
from typing import TYPE_CHECKING, Any

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.costing.comparison.compare import Cause
from pricing.dataclass import dataclass
from pricing.frames import frame
from pricing.register.recorded_quote import RecordedQuote, named

if TYPE_CHECKING:
    import pandas

#: Kind and name of a cause.
Name = tuple[str, str]

#: The state of a quote that stands in the Enquiries sheet and was never issued.
NOT_ISSUED = "not issued"

#: The amounts of a table of products or quotes, and the columns of a table of causes.
_MONEY = ("cost_before", "cost_now", "price_before", "price_now", "price_at_target_margin", "net_before", "net_now")
_CAUSES = ("of", "name", "figure", "kind", "cause", "part")


@dataclass(frozen=True)
class Change:
    """An amount before and after, and what each cause contributes; with the rounding it adds up exactly.

    Parameters
    ----------
    old, new : the amounts [currency]
    parts : by kind and name of the cause [currency]
    rounding : what rounding to the price step and to the coin contributes [currency]
    """

    old: float
    new: float
    parts: dict[Name, float] = field(default_factory=dict)
    rounding: float = 0.0

    @property
    def change(self) -> float:
        """New less old [currency]."""
        return self.new - self.old


@dataclass(frozen=True)
class ProductChange:
    """A list product, one piece at its usual run.

    Parameters
    ----------
    product : its name
    quantity : its usual run [pieces]
    listed : True where a list price stands
    cost, price : of one piece [currency/piece]
    wanted : the price that earns the target margin at today's cost, rounded by the price step [currency/piece]
    """

    product: str
    quantity: float
    listed: bool
    cost: Change
    price: Change
    wanted: float


@dataclass(frozen=True)
class QuoteChange:
    """A quote that waits for an answer, or that is ordered.

    Parameters
    ----------
    number, revision, customer, state : as the register has them
    day, valid_until : its date and its validity
    cost : of the quote [currency]
    net : as it was promised, and as it would come to today [currency]; the same for one that is ordered
    reason : why it cannot be costed today, or why no causes can be given; empty otherwise
    """

    number: str
    revision: int
    customer: str
    state: str
    day: datetime.date
    valid_until: datetime.date | None
    cost: Change
    net: Change
    reason: str = ""

    @property
    def name(self) -> str:
        """Number and revision as they are spoken of."""
        return named(self.number, self.revision)


def _before_and_now(name: str, amounts: Sequence[Change]) -> dict[str, list[float]]:
    return {f"{name}_before": [each.old for each in amounts], f"{name}_now": [each.new for each in amounts]}


@dataclass
class Repricing:
    """The whole answer.

    Parameters
    ----------
    book : the price book whose prices hold now
    day : the day of those prices
    compared_with : what the list is compared with, in words
    what_if : changes that are only supposed
    causes : all of them, with the cells that changed
    other_currency : quotes that were promised in another currency than the book has now, which are not compared
    unchanged : the price book without what is only supposed; *book* where None
    """

    book: PriceBook
    day: datetime.date
    compared_with: str
    products: list[ProductChange]
    quotes: list[QuoteChange]
    ordered: list[QuoteChange]
    causes: dict[Name, Cause]
    what_if: tuple[str, ...] = ()
    other_currency: tuple[RecordedQuote, ...] = ()
    unchanged: PriceBook | None = None

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount."""
        return self.book.word("currency")

    def as_json(self) -> dict[str, Any]:
        """The object that programs read."""

        def moved(amount: Change) -> dict[str, Any]:
            parts = [{"kind": kind, "cause": name, "part": part} for (kind, name), part in amount.parts.items()]
            return {"old": amount.old, "new": amount.new, "change": amount.change, "why": parts, "rounding": amount.rounding}

        def quoted(quote: QuoteChange) -> dict[str, Any]:
            return {
                "number": quote.number, "revision": quote.revision, "customer": quote.customer, "state": quote.state,
                "date": str(quote.day), "valid_until": str(quote.valid_until or ""), "cost": moved(quote.cost), "net": moved(quote.net),
                "remark": quote.reason,
            }

        ordered = [quoted(quote) for quote in self.ordered]
        return {
            "currency": self.currency, "date": str(self.day), "compared_with": self.compared_with, "what_if": list(self.what_if),
            "products": [{
                "product": each.product, "quantity": each.quantity, "listed": each.listed, "cost": moved(each.cost),
                "price": moved(each.price), "price_at_target_margin": each.wanted,
            } for each in self.products],
            "quotes": [quoted(quote) for quote in self.quotes], "ordered": ordered,
            "causes": [{
                "kind": kind, "cause": name, "remarks": cause.remarks,
                "cells": [{"quantity": cell.quantity, "old": cell.old, "new": cell.new, "place": cell.place} for cell in cause.cells],
            } for (kind, name), cause in self.causes.items()],
            "accepted": ordered,  # as it was called earlier
        }

    def products_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per list product: cost and price of one piece before and now, and the price that earns the target margin."""
        return frame({
            "product": [each.product for each in self.products], "quantity": [each.quantity for each in self.products],
            "listed": [each.listed for each in self.products], **_before_and_now("cost", [each.cost for each in self.products]),
            **_before_and_now("price", [each.price for each in self.products]),
            "price_at_target_margin": [each.wanted for each in self.products],
        }, {"quantity": "piece", **dict.fromkeys(_MONEY, "currency/piece")}, units=units)

    def quotes_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per quote, those that are ordered last: cost and net as they were made, and now."""
        quotes = [*self.quotes, *self.ordered]
        names = ("number", "revision", "customer", "state", "day", "valid_until", "reason")
        return frame({
            **{name: [getattr(each, name) for each in quotes] for name in names},
            **_before_and_now("cost", [each.cost for each in quotes]), **_before_and_now("net", [each.net for each in quotes]),
        }, dict.fromkeys(_MONEY, "currency"), units=units)

    def causes_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per product or quote, figure and cause: what the cause contributes; with the rounding they add up to the change."""
        of = [("product", each.product, "cost", each.cost) for each in self.products]
        of += [("product", each.product, "price", each.price) for each in self.products]
        of += [("quote", each.name, figure, amount) for each in (*self.quotes, *self.ordered)
               for figure, amount in (("cost", each.cost), ("net", each.net))]
        rows = [
            (thing, name, figure, kind, cause, part) for thing, name, figure, amount in of
            for (kind, cause), part in (*amount.parts.items(), *([(("rounding", "rounding"), amount.rounding)] if amount.rounding else []))
        ]
        columns = list(zip(*rows, strict=True)) or [()] * len(_CAUSES)
        return frame(dict(zip(_CAUSES, columns, strict=True)), {"part": "currency"}, units=units)

    @property
    def taken_share(self) -> float:
        """What commission, cards and warranty take of every price [1]."""
        return self.book.number("taken_from_the_price")

    @property
    def lowest_margin(self) -> float:
        """The margin below which something is reported [1]."""
        lowest = self.book.settings.get("lowest_margin")
        return float(lowest) if isinstance(lowest, float | int) and not np.isnan(lowest) else 0.0
