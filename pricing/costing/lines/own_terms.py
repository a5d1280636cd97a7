"""The terms that a quote has of its own, before those of its customer and of the workshop."""

from __future__ import annotations

import datetime
import re
from typing import Any

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.text import fold

_REVISION = re.compile(r"( revision \d+)?( option \d+)?$")


class OwnTerms:
    """What the sheets Quotes and Customers say of the terms of quotes.

    Parameters
    ----------
    book : the price book
    """

    def __init__(self, book: PriceBook) -> None:
        self.book = book
        self.quotes = {fold(name): row for row, name in enumerate(book.tables["Quotes"]["quote"].tolist())}
        self.customers = {name: row for row, name in enumerate(book.tables["Customers"]["customer"].tolist())}

    def row(self, quote: str) -> int | None:
        """The row of a quote in the sheet Quotes; a revision has the terms of its quote."""
        return self.quotes.get(fold(_REVISION.sub("", quote)))

    def of_quote(self, quote: str, column: str) -> Any:
        """What the quote has of its own; None where nothing is said."""
        return self._cell("Quotes", self.row(quote), column)

    def of_customer(self, customer: str, column: str) -> Any:
        """What its customer has; None where nothing is said."""
        return self._cell("Customers", self.customers.get(customer), column)

    def text(self, quote: str, customer: str, column: str) -> str:
        """Words that the quote has of its own, or its customer; empty where nobody says anything."""
        return str(self.of_quote(quote, column) or self.of_customer(customer, column) or "")

    def plan(self, quote: str, customer: str) -> str:
        """The payment plan: the quote's, unless it has a deposit of its own, or its customer's; empty for deposit and rest."""
        own = self.of_quote(quote, "payments")
        if own or self.of_quote(quote, "deposit") is not None:
            return str(own or "")
        return str(self.of_customer(customer, "payments") or "")

    def days(self, customer: str) -> float:
        """Days after delivery until the balance of a customer is due; nan where none are stated."""
        found = self.of_customer(customer, "payment_days")
        return np.nan if found is None else float(found)

    def valid_until(self, quote: str, day: datetime.date) -> datetime.date:
        """The last day of a quote of *day*: by its own terms, or by the workshop's setting; 30 days where nothing is set."""
        valid = datetime.timedelta(days=int(self.of_quote(quote, "valid_for") or self.book.number("quote_valid_for") or 30))
        return min(day, datetime.date.max - valid) + valid

    def _cell(self, sheet: str, row: int | None, column: str) -> Any:
        if row is None or column not in self.book.tables[sheet].columns:
            return None
        found = self.book.tables[sheet][column][row]
        return None if found == "" or found != found else found
