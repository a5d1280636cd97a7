"""The languages that a price book asks for."""

from __future__ import annotations

from pricing.book.price_book import PriceBook
from pricing.languages.tags import known_language, usual_language

#: Where a language may stand, besides the setting.
SHEETS = ("Quotes", "Customers")


def languages_of(book: PriceBook) -> list[str]:
    """Every language that a quote of the book may be in."""
    asked = [book.word("language"), *(tag for sheet in SHEETS for tag in book.tables[sheet]["language"].tolist())]
    return list(dict.fromkeys([usual_language(book.word("currency")), *(known for tag in asked if (known := known_language(tag)))]))
