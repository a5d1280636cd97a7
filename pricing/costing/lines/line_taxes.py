"""The tax of each line, by category and rate, as EN 16931 groups them: the customer's before the product's before the workshop's."""

from __future__ import annotations

from dataclasses import field

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.costing.lines.order_lines import OrderLines, place_of
from pricing.dataclass import dataclass

#: The category of what is taxed at a rate.
STANDARD = "S"

#: The category of what is exempt whoever buys it.
_EXEMPT = "E"


@dataclass
class Tax:
    """A category and a rate.

    Parameters
    ----------
    name : as it is printed: that of the first tax of the Taxes sheet that has them, or of the workshop's tax
    category : letter of UNTDID 5305; empty where nothing is charged and nobody says why
    rate : of the base [1]
    place : cell of the rate in the price book
    key : by which the model knows it; empty for the workshop's tax
    """

    name: str
    category: str
    rate: float
    place: str
    key: str


@dataclass
class QuoteTax:
    """A category and rate of one quote.

    Parameters
    ----------
    quote : counted from 0, as the quotes of the lines are met
    tax : which
    first : True for the first of its quote
    reasons : why nothing is charged, each once
    """

    quote: int
    tax: Tax
    first: bool
    reasons: list[str] = field(default_factory=list)


class LineTaxes:
    """Which tax each line bears.

    Parameters
    ----------
    book : the price book
    lines : the lines
    quotes : for each line the number of its quote, counted from 0
    """

    def __init__(self, book: PriceBook, lines: OrderLines, quotes: list[int]) -> None:
        self.book = book
        self._taxes: dict[tuple[str, float], Tax] = {}
        table = book.tables["Taxes"]
        self._named = {str(name): row for row, name in enumerate(table["tax"].tolist())}
        for row in self._named.values():
            self._known(Tax(str(table["tax"][row]), str(table["category"][row]), float(table["rate"][row]), place_of(table, "rate", row),
                            str(table["tax"][row])))
        customers = {str(name): row for row, name in enumerate(book.tables["Customers"]["customer"].tolist())}
        self.quote_taxes: list[QuoteTax] = []
        #: For each line its place among ``quote_taxes``.
        self.of_line: list[int] = []
        places: dict[tuple[int, int], int] = {}
        seen: set[int] = set()
        for quote, customer, product in zip(quotes, lines.customer.tolist(), lines.product.tolist(), strict=True):
            tax, reason = self._tax_of(customers.get(customer), product)
            at = places.setdefault((quote, id(tax)), len(self.quote_taxes))
            if at == len(self.quote_taxes):
                self.quote_taxes.append(QuoteTax(quote, tax, quote not in seen))
                seen.add(quote)
            reasons = self.quote_taxes[at].reasons
            if reason and reason not in reasons:
                reasons.append(reason)
            self.of_line.append(at)

    def _tax_of(self, customer: int | None, product: int) -> tuple[Tax, str]:
        """The tax of a line and why nothing is charged, where that is so and somebody says why.

        A customer's rate alone is that of what is taxed: what is exempt, whoever buys it, stays so.
        """
        book = self.book
        name, own = "", str(book.tables["Products"]["tax"][product])
        if customer is not None:
            name = str(book.tables["Customers"]["tax"][customer])
            rate = float(book.tables["Customers"]["tax_rate"][customer])
            if not name and not np.isnan(rate) and not self._is_exempt(own):
                customers = book.tables["Customers"]
                return self._of_rate(rate, place_of(customers, "tax_rate", customer), f"rate of {customers['customer'][customer]}"), ""
        name = name or own
        if not name:
            cell = book.setting_cells.get("tax_rate", "")
            return self._of_rate(book.number("tax_rate"), f"Workshop!{cell}" if cell else "", ""), ""
        table, row = book.tables["Taxes"], self._named[name]
        tax = self._taxes[str(table["category"][row]), float(table["rate"][row])]
        return tax, str(table["reason"][row]) if tax.category != STANDARD else ""

    def _is_exempt(self, name: str) -> bool:
        return name in self._named and self.book.tables["Taxes"]["category"][self._named[name]] == _EXEMPT

    def _of_rate(self, rate: float, place: str, key: str) -> Tax:
        """The workshop's tax at a rate."""
        return self._known(Tax(self.book.word("tax_name") or "tax", STANDARD if rate > 0 else "", rate, place, key))

    def _known(self, tax: Tax) -> Tax:
        return self._taxes.setdefault((tax.category, tax.rate), tax)


def names_taxes(book: PriceBook) -> bool:
    """Whether a product or a customer names a tax of its own."""
    return any(bool((book.tables[sheet]["tax"] != "").any()) for sheet in ("Products", "Customers"))
