"""A calendar by counting: one day after another, without any calendar arithmetic."""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil

from pricing.costing.time.working_days import WorkingWeek


def counted(
    start: date, casts: float, moulds: int, curing: float, before: float, after: float, week: WorkingWeek
) -> date:
    """The day on which an order is ready.

    Parameters
    ----------
    start : first day of work; if it is free, the next working day
    casts, moulds, curing : casts; moulds in use at once; calendar days in the mould, counted as whole days, at least one
    before, after : work before the first cast, and after the last piece has left its mould [working days]
    """

    def first_worked(day: date) -> date:
        while day.weekday() not in week.days or day in week.holidays:
            day += timedelta(days=1)
        return day

    def next_day(day: date) -> date:
        return first_worked(day + timedelta(days=1))

    day = first_worked(start)
    while before >= 1:
        day, before = next_day(day), before - 1
    left = casts
    while left > 0:
        left -= moulds
        day = first_worked(day + timedelta(days=max(1, ceil(curing))))
    while after > 1:
        day, after = next_day(day), after - 1
    return day
