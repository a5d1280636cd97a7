"""Finished jobs that stand in a standard already: what was accepted before, and how much of it the figure of today holds.

An acceptance is noted before the figure is written into the price book. Whether it was written in the end, or undone since,
is told from the figure that stands there: one that was never written, or was put back, leaves the figure of before. So a
process that ends between the two loses nothing and counts nothing twice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from pricing.dataclass import dataclass
from pricing.text import fold

#: Figures that differ by less are the same one, read from the cell into which it was written [share].
HAIR = 1e-5


@dataclass(frozen=True, slots=True)
class CountedJob:
    """What a finished job said of one standard.

    Parameters
    ----------
    quote : its number
    weight : of its observations together, in the unit by which the standard is weighed
    observations : how many they were
    """

    quote: str
    weight: float
    observations: int


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A proposal that was accepted.

    Parameters
    ----------
    standard : which, by kind and names (``Proposal.standard``)
    before, after : the figure that stood in the price book and the one to be written there [unit of the standard; a share as 1]
    jobs : those that it rested on, each once
    """

    standard: str
    before: float
    after: float
    jobs: tuple[CountedJob, ...]


def in_force(history: Sequence[Acceptance], today: float) -> list[Acceptance]:
    """The acceptances of one standard whose jobs have had their say in the figure of today.

    The latest that led to the figure does, with whatever had led to the figure before it. One that began at the figure of
    today was not written or has been undone, and so has everything after it. Where none knows the figure it was typed by hand,
    and the last that was accepted is taken as known to who typed it.

    Parameters
    ----------
    history : of one standard, in the order in which they were accepted
    today : what the price book has [unit of the standard; a share as 1]

    >>> first, second = Acceptance("", 12.0, 12.5, ()), Acceptance("", 12.5, 12.8, ())
    >>> [len(in_force([first, second], today)) for today in (12.0, 12.5, 12.8, 15.0)]
    [0, 1, 2, 2]
    """
    led_here = next((at for at in reversed(range(len(history))) if same(history[at].after, today)), None)
    if led_here is None:
        began_here = next((at for at, each in enumerate(history) if same(each.before, today)), None)
        if began_here is not None:
            return in_force(history[:began_here], today)
        led_here = len(history) - 1
    if led_here < 0:
        return []
    return [*in_force(history[:led_here], history[led_here].before), history[led_here]]


def same(one: float, other: float) -> bool:
    """Whether two figures are one that was written and read again."""
    return math.isclose(one, other, rel_tol=HAIR, abs_tol=1e-12)


def jobs_of(acceptances: Iterable[Acceptance]) -> dict[str, CountedJob]:
    """The jobs of some acceptances by number in one letter case, each once."""
    return {fold(job.quote): job for each in acceptances for job in each.jobs}


__all__ = ["Acceptance", "CountedJob", "in_force", "jobs_of", "same"]
