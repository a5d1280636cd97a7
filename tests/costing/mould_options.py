"""A referee for the numbers of moulds: one order by itself, its days counted one by one on the calendar."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import isfinite

from pricing.costing.moulds.numbers import useful_moulds
from pricing.costing.time.working_days import WEEK, CalendarError, WorkingWeek, casting_rounds, ready_on


@dataclass(frozen=True)
class MouldOption:
    """A number of moulds, the rounds of casting that follow, the day the order is ready, and the working days from
    the start to that day (0 where it is ready on the day it is begun)."""

    moulds: int
    rounds: int
    ready: date
    working_days: int


def mould_options(
    start: date,
    casts: float,
    days_in_mould: float,
    working_days_before: float = 0.0,
    working_days_after: float = 0.0,
    week: WorkingWeek = WEEK,
    *,
    working_days_per_mould: float = 0.0,
    least: int = 1,
    most: int | None = None,
) -> tuple[MouldOption, ...]:
    """Each useful number of moulds and when the order would be ready: the rows of a table of price against lead time.

    Parameters: as of `ready_on`; `working_days_per_mould`, further work before the first cast for each mould
    [working days/mould]; the fewest moulds, as many as wear out over the order [moulds]; the most that there is room for
    [moulds], by default as many as casts. Numbers with which the order would not be ready earlier than with fewer moulds
    are left out, so that each row is earlier than the one before; so are numbers with which it would take a hundred
    years. Raises CalendarError where that leaves none.

    >>> [(row.moulds, row.ready.day) for row in mould_options(date(2024, 5, 6), 4, days_in_mould=3)]
    [(1, 20), (2, 13), (4, 9)]
    """
    if not (isfinite(working_days_per_mould) and working_days_per_mould >= 0):
        raise CalendarError(f"The work for each mould is {working_days_per_mould:g} working days; give 0 or more.")
    first = week.next_working(start)
    found: list[MouldOption] = []
    refused = ""
    for moulds in useful_moulds(casts, least, most):
        before = working_days_before + working_days_per_mould * moulds
        try:
            ready = ready_on(start, casts, moulds, days_in_mould, before, working_days_after, week)
        except CalendarError as error:
            refused = str(error)
            continue
        if not found or ready < found[-1].ready:
            found.append(MouldOption(moulds, casting_rounds(casts, moulds), ready, week.between(first, ready)))
    if not found:
        raise CalendarError(refused or f"There is room for {most} moulds; at least one mould is needed.")
    return tuple(found)
