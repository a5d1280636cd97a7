"""Lines that are offered beside a quote: options, and alternatives to one of its lines; they stand in no total."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pricing.book.pieces import line_keys
from pricing.book.price_book import PriceBook
from pricing.text import fold

OPTION = "option"

#: What stands in the place of an offer where a quote was ordered without the line; nobody types it.
LEFT_OUT = "not ordered"
_INSTEAD = re.compile(r"instead of (?:line )?([1-9][0-9]{0,5})")


@dataclass(frozen=True, slots=True)
class Offer:
    """A line that is offered.

    Parameters
    ----------
    row : of the Enquiries sheet, counted from 0
    quote : its number
    line : its number in the quote, counted from 1
    words : as the sheet says it
    instead_of : number of the line that it would take the place of; 0 for an option
    """

    row: int
    quote: str
    line: int
    words: str
    instead_of: int

    @property
    def name(self) -> str:
        """What it is called as an order of its own."""
        return f"{self.quote} option {self.line}"


def number_instead(words: str) -> int | None:
    """The line that an offer is an alternative to; 0 for an option; None for words that say neither.

    >>> number_instead("option"), number_instead("Instead of 2"), number_instead("maybe")
    (0, 2, None)
    """
    folded = fold(words)
    found = _INSTEAD.fullmatch(folded)
    return 0 if folded == OPTION else int(found[1]) if found else None


def offers_of(book: PriceBook) -> list[Offer]:
    """The lines of the Enquiries sheet that are offered, in their order."""
    table = book.tables["Enquiries"]
    if not ((table["offer"] != "") & (table["offer"] != LEFT_OUT)).any():
        return []
    rows = zip(table["quote"].tolist(), table["offer"].tolist(), line_keys(book), strict=True)
    return [
        Offer(row, quote, number, words, number_instead(words) or 0)
        for row, (quote, words, (_, number)) in enumerate(rows) if words and words != LEFT_OUT
    ]


def line_numbers(book: PriceBook) -> list[int]:
    """The number of every line of the Enquiries sheet in its quote, what is offered counted too."""
    return [number for _, number in line_keys(book)]
