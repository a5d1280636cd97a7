"""A recorded quote: one revision of a quote, with its state on a day; what each state may become, and what states were called before."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any, NamedTuple

from pricing.text import folded

#: The states of a quote in the trade's words, in the order in which they are passed through.
STATES = ("draft", "issued", "ordered", "refused", "lapsed", "made", "delivered", "settled")

#: The states in which a quote waits for an answer.
OPEN = frozenset({"draft", "issued"})

#: The states of a quote that the customer has taken.
TAKEN = ("ordered", "made", "delivered", "settled")

#: Those in which there is nothing left to make.
DONE = TAKEN[1:]

#: What states were called in earlier versions: such a word goes on being understood.
EARLIER = {"sent": "issued", "accepted": "ordered", "declined": "refused"}

#: The states that a quote can be marked with, by the state that it has; what came later is taken back by the word of what was before.
MAY_BECOME: dict[str, frozenset[str]] = {
    "draft": frozenset({"issued", "ordered", "refused", "lapsed"}),
    "issued": frozenset({"ordered", "refused", "lapsed"}),
    "ordered": frozenset({"issued", "refused", "made", "delivered", "settled"}),
    "refused": frozenset({"issued", "ordered"}),
    "lapsed": frozenset({"issued", "ordered", "refused"}),
    "made": frozenset({"issued", "ordered", "delivered", "settled"}),
    "delivered": frozenset({"issued", "ordered", "made", "settled"}),
    "settled": frozenset({"issued", "ordered", "made", "delivered"}),
}


def state_of(word: str) -> str:
    """The state that a word means, in any letter case; the word itself where it means none.

    >>> state_of("Accepted"), state_of("made"), state_of("paid")
    ('ordered', 'made', 'paid')
    """
    small = word.strip().casefold()
    return EARLIER.get(small, small)


def takes_back(before: str, after: str) -> bool:
    """Whether a mark undoes another: it names what the quote was earlier.

    >>> takes_back("ordered", "issued"), takes_back("ordered", "made"), takes_back("refused", "ordered")
    (True, False, False)
    """
    earlier = before in TAKEN and after in TAKEN and TAKEN.index(after) < TAKEN.index(before)
    return earlier or (after == "issued" and before not in ("draft", "issued"))


def state_on(marked: str, valid_until: datetime.date, day: datetime.date) -> str:
    """The state of a quote on a day: only one that waits for an answer can lapse.

    >>> state_on("issued", datetime.date(2026, 3, 31), datetime.date(2026, 4, 1))
    'lapsed'
    """
    return "lapsed" if marked in OPEN and day > valid_until else marked


class RecordedQuote(NamedTuple):
    """One revision of a quote.

    Parameters
    ----------
    key : of its row in the register
    number, revision : revisions of a number count from 1
    customer : who asked
    day, valid_until : its date, and the last day on which it can be ordered
    currency : ISO 4217 code
    totals : amounts by their names in the glossary
    marked : the state that was recorded
    since : the day from which it has been so
    state : the state on the day that was asked for: a quote that waits for an answer lapses when its validity has run out
    fingerprint : SHA-256 of the workbook that was written last
    file : where that was written, from the folder of the price book
    options : numbers of the lines that were offered beside it and are ordered
    """

    key: int
    number: str
    revision: int
    customer: str
    day: datetime.date
    valid_until: datetime.date
    currency: str
    totals: dict[str, float]
    marked: str
    since: datetime.date
    state: str
    fingerprint: str
    file: str
    options: tuple[int, ...] = ()

    @property
    def name(self) -> str:
        """Number and revision as they are spoken of: ``Q-1041``, ``Q-1041 revision 2``."""
        return named(self.number, self.revision)

    @property
    def stands(self) -> str:
        """Its state, and what it is ordered with: ``ordered with 4``."""
        return f"{self.state} with {', '.join(map(str, self.options))}" if self.options else self.state

    def as_json(self) -> dict[str, Any]:
        """The object that programs read."""
        return {
            "number": self.number, "revision": self.revision, "customer": self.customer, "date": str(self.day),
            "valid_until": str(self.valid_until), "state": self.state, "since": str(self.since), "currency": self.currency,
            "net": self.totals["net"], "tax": self.totals["tax"], "payable": self.totals["payable"], "cost": self.totals["quote_cost"],
            "margin": self.totals["quote_margin"], "file": self.file, "fingerprint": self.fingerprint,
            "with": list(self.options),
        }


def named(number: str, revision: int) -> str:
    """Number and revision as they are spoken of.

    >>> named("Q-1041", 1), named("Q-1041", 2)
    ('Q-1041', 'Q-1041 revision 2')
    """
    return number if revision == 1 else f"{number} revision {revision}"


def standing(quotes: Sequence[RecordedQuote]) -> list[RecordedQuote]:
    """Of each number the revision that stands: the one that is ordered, or the latest that was issued; a draft where there is none."""
    names = folded([quote.number for quote in quotes])
    if len(set(names)) == len(names):
        return list(quotes)
    found: dict[str, RecordedQuote] = {}
    for name, quote in zip(names, quotes, strict=True):
        found[name] = max(found.get(name, quote), quote, key=_weight)
    return list(found.values())


def _weight(quote: RecordedQuote) -> tuple[bool, bool, int]:
    """How a quote counts among the revisions of its number: a draft, whatever it says now, is not what the customer has in hand."""
    return quote.marked in TAKEN, quote.marked != "draft", quote.revision
