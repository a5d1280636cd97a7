"""The days of an order: each step of work, each wait and each round of casting with the day it begins and ends.

Work fills working days of so many hours one after another. A wait runs on the clock, through nights and free days, and
work goes on at the first working hour after it. Days in the mould are calendar days, as in `calendar`.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import isfinite

from pricing.costing.time.working_days import MOST_DAYS, WEEK, CalendarError, WorkingWeek, casting_rounds, too_long
from pricing.dataclass import dataclass
from pricing.money import whole_down, whole_up

WORK, WAIT, MOULD = "work", "wait", "in the mould"


@dataclass(frozen=True)
class Step:
    """A step for the whole order: its name, minutes of work [min], and the wait that follows it [h on the clock]."""

    name: str
    minutes: float
    wait: float = 0.0


@dataclass(frozen=True)
class ScheduledStep:
    """A bar of the calendar: what is done, of which kind (`work`, `wait` or `in the mould`), and its first and last
    day."""

    name: str
    kind: str
    begins: date
    ends: date


@dataclass(frozen=True)
class Casting:
    """The casting of an order: casts, rejects included [casts]; moulds in use at once [moulds]; days in the mould
    [calendar days]; work to cast, empty and refit for each cast [min/cast]."""

    casts: float
    moulds: int
    days_in_mould: float
    minutes_per_cast: float = 0.0


class _Clock:
    """A moment in the workshop: a working day and the hours worked since its morning."""

    def __init__(self, day: date, week: WorkingWeek, hours_per_day: float) -> None:
        self.week, self.hours_per_day = week, hours_per_day
        self.day, self.hour = week.next_working(day), 0.0

    def work(self, hours: float) -> tuple[date, date]:
        """Work so many hours; the days on which that begins and ends."""
        if self.hour and whole_down(self.hour / self.hours_per_day) >= 1:
            self.day, self.hour = self.week.add(self.day, 1), 0.0
        begins = self.day
        total = self.hour + hours
        days = max(0, int(whole_up(total / self.hours_per_day)) - 1)
        self.day, self.hour = self.week.add(self.day, days), max(0.0, total - days * self.hours_per_day)
        return begins, self.day

    def wait(self, hours: float) -> tuple[date, date]:
        """Let so many hours pass on the clock; the days on which the wait begins and on which work may go on."""
        begins = self.day
        whole, hour = divmod(self.hour + hours, 24.0)
        days = int(whole)
        if hour > self.hours_per_day:  # over after the day's work: go on the next morning
            days, hour = days + 1, 0.0
        self.day = self.week.later(begins, days)
        self.hour = hour if (self.day - begins).days == days else 0.0
        return begins, self.day

    def cure(self, days: int) -> tuple[date, date]:
        """Leave casts in the mould; the day of casting and the working day on which they leave it."""
        begins = self.day
        self.day, self.hour = self.week.later(self.day, days), 0.0
        return begins, self.day


def schedule(
    start: date,
    before: Sequence[Step],
    casting: Casting,
    after: Sequence[Step],
    week: WorkingWeek = WEEK,
    hours_per_day: float = 8.0,
) -> tuple[ScheduledStep, ...]:
    """The calendar of an order, in order of time: steps before casting, rounds of casting, steps after.

    Parameters
    ----------
    start : first day of work; if it is free, the next working day
    before, after : steps before the first cast and after the last piece has left its mould
    casting : casts, moulds, days in the mould and minutes for each cast
    week : working days and holidays
    hours_per_day : hours worked in a working day [h]

    Returns
    -------
    scheduled : work, waits and days in the mould; the order is ready on the day on which the last of them ends

    Raises CalendarError for a time that is not a number of 0 or more, a day of no or more than 24 hours, or an order of
    more than a hundred years.

    With minutes for each cast, a round that takes longer than what is left of its day runs on into the next; `lead_time_days`
    leaves that out.

    >>> for each in schedule(date(2024, 5, 6), [Step("build", 480, wait=12)], Casting(2, 1, 1), [Step("seal", 60)]):
    ...     print(each.name, "|", each.kind, each.begins.day, each.ends.day)
    build | work 6 6
    build | wait 6 7
    cast 1 of 2 | work 7 7
    cast 1 of 2 | in the mould 7 8
    cast 2 of 2 | work 8 8
    cast 2 of 2 | in the mould 8 9
    seal | work 9 9
    """
    _check(before, casting, after, hours_per_day)
    clock = _Clock(start, week, hours_per_day)
    scheduled = _steps(clock, before)
    rounds = casting_rounds(casting.casts, casting.moulds)
    left, curing = int(whole_up(casting.casts)), max(1, int(whole_up(casting.days_in_mould)))
    if rounds * curing > MOST_DAYS:
        raise CalendarError(too_long(f"{rounds} rounds of {curing} days in the mould"))
    for number in range(1, rounds + 1):
        filled = min(left, casting.moulds)
        left -= filled
        name = f"cast {number} of {rounds}"
        scheduled.append(ScheduledStep(name, WORK, *clock.work(filled * casting.minutes_per_cast / 60.0)))
        scheduled.append(ScheduledStep(name, MOULD, *clock.cure(curing)))
    return (*scheduled, *_steps(clock, after))


def _steps(clock: _Clock, steps: Sequence[Step]) -> list[ScheduledStep]:
    scheduled = []
    for step in steps:  # no work takes no day, however full the day is
        scheduled.append(ScheduledStep(step.name, WORK, *(clock.work(step.minutes / 60.0) if step.minutes else (clock.day, clock.day))))
        if step.wait:
            scheduled.append(ScheduledStep(step.name, WAIT, *clock.wait(step.wait)))
    return scheduled


def _check(before: Sequence[Step], casting: Casting, after: Sequence[Step], hours_per_day: float) -> None:
    if not (isfinite(hours_per_day) and 0 < hours_per_day <= 24):
        raise CalendarError(f"A working day of {hours_per_day:g} hours cannot be; give more than 0 and up to 24 hours.")
    times = {"time in the mould": casting.days_in_mould, "work for each cast": casting.minutes_per_cast}
    for step in (*before, *after):
        times[f'work of the step "{step.name}"'] = step.minutes
        times[f'wait after the step "{step.name}"'] = step.wait
    for name, value in times.items():
        if not (isfinite(value) and 0 <= value <= MOST_DAYS * 1440):
            raise CalendarError(f"The {name} is {value:g}; give 0 or more, and no more than a hundred years.")
