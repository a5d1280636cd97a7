"""A recorded quote: one revision of a quote, with its state on a day."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pricing.register.damage import NonsenseError, day_of, number_of, words_of
from pricing.register.states import STATES, TAKEN, state_on
from pricing.text import fold

#: The columns of a quote's row that are read.
COLUMNS = ("number", "revision", "customer", "date", "valid_until", "currency", "state")

#: The amounts without which a quote cannot be listed.
NEEDED = frozenset({"net", "tax", "payable", "quote_cost", "quote_margin"})

_LAST_DAY = datetime.date.max - datetime.timedelta(days=1)


@dataclass(frozen=True)
class RecordedQuote:
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


def _check(totals: Mapping[str, Any]) -> None:
    """Refuse amounts that are none; their sum is one where every one of them is."""
    try:
        sound = math.isfinite(sum(totals.values()))
    except (TypeError, OverflowError):
        sound = False
    for name, amount in () if sound else totals.items():
        number_of(amount, name.replace("_", " "))


def recorded_of(
    key: int, row: Sequence[Any], since: Any, workbook: tuple[Any, Any], totals: dict[str, Any] | NonsenseError, day: datetime.date,
    options: Sequence[int] = (),
) -> RecordedQuote:
    """A recorded quote from what the register holds of it.

    Parameters
    ----------
    key : of its row
    row : the columns of *quotes* named in :data:`COLUMNS`
    since : the day of its latest change of state
    workbook : fingerprint and place of the one that was written last
    totals : its amounts, or why they cannot be read
    day : on which its state is asked for
    options : numbers of the lines that it is ordered with

    Problems raised: NonsenseError where any of it is nonsense.
    """
    if isinstance(totals, NonsenseError):
        raise totals
    number, revision, customer, date, valid_until, currency, marked = row
    if marked not in STATES:
        raise NonsenseError(f'its state is "{marked}", which is none')
    valid, changed = day_of(valid_until, "last day"), day_of(since, "latest change")
    state = state_on(marked, valid, day)
    if state != marked:
        changed = min(valid, _LAST_DAY) + datetime.timedelta(days=1)
    _check(totals)
    return RecordedQuote(
        key, words_of(number, "number"), int(number_of(revision, "revision")), words_of(customer, "customer"), day_of(date, "date"), valid,
        words_of(currency, "currency"), totals, marked, changed, state,
        words_of(workbook[0], "fingerprint"), words_of(workbook[1], "file"), tuple(options),
    )


def standing(quotes: Sequence[RecordedQuote]) -> list[RecordedQuote]:
    """Of each number the revision that stands: the one that is ordered, or the latest that was issued; a draft where there is none."""
    found: dict[str, RecordedQuote] = {}
    for quote in quotes:
        name = fold(quote.number)
        before = found.setdefault(name, quote)
        if before is not quote and _weight(quote) > _weight(before):
            found[name] = quote
    return list(found.values())


def _weight(quote: RecordedQuote) -> tuple[bool, bool, int]:
    """How a quote counts among the revisions of its number: a draft, whatever it says now, is not what the customer has in hand."""
    return quote.marked in TAKEN, quote.marked != "draft", quote.revision
