"""Numbers of moulds worth looking at."""

from __future__ import annotations

from collections.abc import Iterator

from pricing.costing.time.working_days import casting_rounds

#: More moulds of one line than this stand in no small workshop.
MOST_MOULDS = 1_000


def useful_moulds(casts: float, least: int = 1, most: int | None = None) -> Iterator[int]:
    """Numbers of moulds worth looking at: for each number of rounds the fewest moulds that allow it, rising.

    Parameters: casts [casts]; the fewest moulds, as many as wear out over the order [moulds]; the most that there is
    room for [moulds], by default as many as casts.

    >>> list(useful_moulds(10))
    [1, 2, 3, 4, 5, 10]
    """
    needed = max(1, casting_rounds(casts, 1))
    top = needed if most is None else most
    moulds = max(1, least)
    while moulds <= max(top, least):
        yield moulds
        rounds = -(-needed // moulds)
        if rounds == 1:
            return
        moulds = -(-needed // (rounds - 1))
