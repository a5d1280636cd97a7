"""The states of a quote, what each may become, and the words by which they were called before."""

from __future__ import annotations

import datetime

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
