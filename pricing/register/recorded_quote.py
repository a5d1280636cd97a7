"""A recorded quote: one revision of a quote, with its state on a day."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pricing.register.damage import day_of, number_of, object_of, words_of
from pricing.text import fold

#: The states of a quote in the trade's words, in the order in which they are passed through.
STATES = ("draft", "sent", "accepted", "declined", "lapsed")

#: The amounts without which a quote cannot be listed.
_NEEDED = ("net", "tax", "payable", "quote_cost", "quote_margin")

#: What is no smaller is looked at more closely.
_LARGEST = 1e18

_LAST_DAY = datetime.date.max - datetime.timedelta(days=1)

#: The states in which a quote waits for an answer.
OPEN = frozenset({"draft", "sent"})

#: The states that a quote can be marked with, by the state that it has.
MAY_BECOME: dict[str, frozenset[str]] = {
    "draft": frozenset({"sent", "accepted", "declined", "lapsed"}),
    "sent": frozenset({"accepted", "declined", "lapsed"}),
    "accepted": frozenset({"declined"}),
    "declined": frozenset({"accepted"}),
    "lapsed": frozenset({"accepted", "declined"}),
}


@dataclass(frozen=True)
class RecordedQuote:
    """One revision of a quote.

    Parameters
    ----------
    key : of its row in the register
    number, revision : revisions of a number count from 1
    customer : who asked
    day, valid_until : its date, and the last day on which it can be accepted
    currency : ISO 4217 code
    totals : amounts by their names in the glossary
    marked : the state that was recorded
    since : the day from which it has been so
    state : the state on the day that was asked for: a quote that waits for an answer lapses when its validity has run out
    fingerprint : SHA-256 of the workbook that was written last
    file : where that was written, from the folder of the price book
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

    @property
    def name(self) -> str:
        """Number and revision as they are spoken of: ``Q-1041``, ``Q-1041 revision 2``."""
        return named(self.number, self.revision)

    def as_json(self) -> dict[str, Any]:
        """The object that programs read."""
        return {
            "number": self.number, "revision": self.revision, "customer": self.customer, "date": str(self.day),
            "valid_until": str(self.valid_until), "state": self.state, "since": str(self.since), "currency": self.currency,
            "net": self.totals["net"], "tax": self.totals["tax"], "payable": self.totals["payable"], "cost": self.totals["quote_cost"],
            "margin": self.totals["quote_margin"], "file": self.file, "fingerprint": self.fingerprint,
        }


def named(number: str, revision: int) -> str:
    """Number and revision as they are spoken of.

    >>> named("Q-1041", 1), named("Q-1041", 2)
    ('Q-1041', 'Q-1041 revision 2')
    """
    return number if revision == 1 else f"{number} revision {revision}"


def state_on(marked: str, valid_until: datetime.date, day: datetime.date) -> str:
    """The state of a quote on a day: only one that waits for an answer can lapse.

    >>> state_on("sent", datetime.date(2026, 3, 31), datetime.date(2026, 4, 1))
    'lapsed'
    """
    return "lapsed" if marked in OPEN and day > valid_until else marked


def recorded_of(row: sqlite3.Row, day: datetime.date) -> RecordedQuote:
    """A recorded quote from its row: the columns of *quotes*, with since, fingerprint and file.

    Problems raised: NonsenseError where the row holds nonsense.
    """
    valid, since = day_of(row["valid_until"], "last day"), day_of(row["since"], "latest change")
    state = state_on(row["state"], valid, day)
    if state != row["state"]:
        since = min(valid, _LAST_DAY) + datetime.timedelta(days=1)
    totals = object_of(row["totals"], "list of amounts", _NEEDED)
    for name, amount in totals.items():
        if not (type(amount) is float and abs(amount) < _LARGEST):
            number_of(amount, name.replace("_", " "))
    return RecordedQuote(
        row["id"], words_of(row["number"], "number"), int(number_of(row["revision"], "revision")), words_of(row["customer"], "customer"),
        day_of(row["date"], "date"), valid, words_of(row["currency"], "currency"), totals, row["state"], since, state,
        words_of(row["fingerprint"] or "", "fingerprint"), words_of(row["file"] or "", "file"),
    )


def called(row: sqlite3.Row) -> str:
    """A record as it is spoken of, whatever it holds: by number and revision where these can be read."""
    number, revision = row["number"], row["revision"]
    if isinstance(number, str) and isinstance(revision, int):
        return f"quote {named(number, revision)}"
    return f"quote {number}" if isinstance(number, str) else f"the quote in row {row['id']}"


def standing(quotes: Sequence[RecordedQuote]) -> list[RecordedQuote]:
    """Of each number the revision that stands: the accepted one, or the latest; a draft stands behind a promise that waits."""
    found: dict[str, RecordedQuote] = {}
    for quote in quotes:
        before = found.get(fold(quote.number))
        if before is None or _weight(quote) > _weight(before):
            found[fold(quote.number)] = quote
    return list(found.values())


def _weight(quote: RecordedQuote) -> tuple[bool, bool, int]:
    """How a quote counts among the revisions of its number: a draft, whatever it says now, is not what the customer has in hand."""
    return quote.marked == "accepted", quote.marked == "sent", quote.revision
