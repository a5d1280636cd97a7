"""Lines that are offered beside a quote: options, and alternatives to one of its lines; they stand in no total."""

from __future__ import annotations

import re

from pricing.book.pieces import LineKey, line_keys
from pricing.book.price_book import PriceBook
from pricing.dataclass import dataclass
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
    rows : of the Enquiries table, counted from 0: one, or one for each part of a set
    quote : its number
    line : its number in the quote, counted from 1
    words : as the sheet says it
    instead_of : number of the line that it would take the place of; 0 for an option
    """

    rows: tuple[int, ...]
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
    said, keys = table["offer"].tolist(), line_keys(book)
    of_line: dict[LineKey, list[int]] = {}
    for row, key in enumerate(keys):
        if said[row] and said[row] != LEFT_OUT:
            of_line.setdefault(key, []).append(row)
    return [
        Offer(tuple(rows), str(table["quote"][rows[0]]), number, said[rows[0]], number_instead(said[rows[0]]) or 0)
        for (_, number), rows in of_line.items()
    ]


def line_numbers(book: PriceBook) -> list[int]:
    """The number of every line of the Enquiries sheet in its quote, what is offered counted too."""
    return [number for _, number in line_keys(book)]
