"""The calendar of an order: working days, and casts in turn through few moulds.

Concrete cures on every day of the week, so days in the mould are calendar days; casting, taking out of the mould and
all other work happen on working days. A mould is cast at most once a day: it is emptied on the first working day on
which the piece may leave it, and cast again on that day (common practice, no source). The work of one round of casts
is taken to fit into its day.
"""

from __future__ import annotations

from dataclasses import field
from datetime import date, timedelta
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pricing.dataclass import dataclass
from pricing.money import whole_down, whole_up
from pricing.problems import PricingError

#: A hundred years [days]: an order that takes longer has a unit wrong.
MOST_DAYS = 36_500


class CalendarError(PricingError, ValueError):
    """A calendar question without an answer; its text is one sentence with the remedy."""

    code = "calendar"


@dataclass(frozen=True)
class WorkingWeek:
    """Which days are worked: days of the week (0 is Monday, 6 is Sunday) less holidays.

    >>> WorkingWeek().add(date(2024, 5, 3), 1)  # from a Friday
    datetime.date(2024, 5, 6)
    """

    days: tuple[int, ...] = (0, 1, 2, 3, 4)
    holidays: tuple[date, ...] = ()
    _calendar: np.busdaycalendar = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.days or any(day not in range(7) for day in self.days):
            raise CalendarError("A working week needs at least one day, from 0 for Monday to 6 for Sunday.")
        mask = [day in self.days for day in range(7)]
        free = np.array(sorted(set(self.holidays)), dtype="datetime64[D]")
        object.__setattr__(self, "_calendar", np.busdaycalendar(weekmask=mask, holidays=free))

    def next_working(self, day: date) -> date:
        """The day itself if it is worked, else the next day that is."""
        return self.add(day, 0)

    def add(self, day: date, working_days: int) -> date:
        """The day so many working days after the day, or after the next working day if the day is free.

        Raises CalendarError where that lies more than a hundred years ahead or behind.
        """
        if abs(working_days) > MOST_DAYS:
            raise CalendarError(too_long(f"{working_days:g} working days"))
        moved = np.busday_offset(np.datetime64(day, "D"), working_days, roll="forward", busdaycal=self._calendar)
        return _date(moved, f"{day:%Y-%m-%d} and {working_days:g} working days")

    def later(self, day: date, calendar_days: int) -> date:
        """The first working day on or after the day so many calendar days later.

        >>> WorkingWeek().later(date(2024, 5, 3), 2)  # two days from a Friday
        datetime.date(2024, 5, 6)
        """
        try:
            return self.next_working(day + timedelta(days=calendar_days))
        except OverflowError:
            raise CalendarError(too_long(f"{day:%Y-%m-%d} and {calendar_days} days")) from None

    def between(self, first: date, last: date) -> int:
        """Working days from the first day on and before the last [working days]."""
        days = np.datetime64(first, "D"), np.datetime64(last, "D")
        return int(np.busday_count(*days, busdaycal=self._calendar))


#: Monday to Friday, no holidays.
WEEK = WorkingWeek()


def casting_rounds(casts: float, moulds: int) -> int:
    """How often the moulds are filled, one cast in each at a time [rounds].

    Parameters: casts, rejects included, not necessarily whole [casts]; moulds [moulds]. Raises CalendarError for fewer
    than one mould or a count that is not a number.

    >>> casting_rounds(10, 4), casting_rounds(57 / 0.57, 10)
    (3, 10)
    """
    if not (isfinite(casts) and casts >= 0):
        raise CalendarError(f"The number of casts is {casts:g}; give 0 or more.")
    if moulds < 1:
        raise CalendarError(f"The number of moulds is {moulds:g}; at least one mould is needed.")
    return -(-int(whole_up(casts)) // int(moulds))


def lead_time_days(
    casts: ArrayLike,
    moulds: ArrayLike,
    days_in_mould: ArrayLike,
    working_days_before: ArrayLike = 0.0,
    working_days_after: ArrayLike = 0.0,
    week: WorkingWeek = WEEK,
    *,
    weekday: int | None = None,
) -> NDArray[np.int64]:
    """Working days from the start of an order to the day it is ready, for whole catalogues at once.

    Parameters
    ----------
    casts : rejects included, not necessarily whole [casts]
    moulds : in use at once [moulds]
    days_in_mould : from casting to leaving the mould [calendar days]; counted as whole days, at least one
    working_days_before : work before the first cast, such as building the moulds [working days]
    working_days_after : work after the last piece has left its mould [working days]; begins on that day
    week : working days; its holidays are not counted, since the start is not known
    weekday : the day of the week on which work starts, 0 for Monday; by default whichever takes longest

    Returns
    -------
    array : working days from the start to the last day of work [working days], 0 where both are the same day

    Method: with no holidays, one round of casting leads from one day of the week to another; rounds are composed by
    repeated squaring, so that a thousand rounds cost ten steps.

    >>> lead_time_days([1, 4, 4], [1, 1, 2], days_in_mould=1, working_days_before=2).tolist()
    [3, 6, 4]
    """
    given = casts, moulds, days_in_mould, working_days_before, working_days_after
    with np.errstate(invalid="ignore"):
        values = [np.ravel(array) for array in np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in given))]
    _check_arrays(*values)
    count, number, curing, before, after = values
    cast_days = np.maximum(1, whole_up(curing)).astype(np.int64)
    rounds = whole_up(whole_up(count) / whole_down(number)).astype(np.int64)
    worked = np.array(sorted(set(week.days)), dtype=np.int64)
    size = len(worked)
    # one round, from each working day of the week: the working day of the week it leads to, and the working days passed
    leaves = worked[None, :] + cast_days[:, None]
    at = np.searchsorted(worked, leaves % 7)
    passed = leaves // 7 * size + at - np.arange(size)
    to = at % size
    begun = np.arange(size) if weekday is None else np.searchsorted(worked, [weekday % 7]) % size
    first = np.asarray(whole_down(before), dtype=np.int64)
    now = (first[:, None] + begun) % size
    total = np.repeat(first[:, None], len(begun), axis=1)
    while rounds.any():
        odd = (rounds % 2 == 1)[:, None]
        total = total + np.where(odd, np.take_along_axis(passed, now, axis=1), 0)
        now = np.where(odd, np.take_along_axis(to, now, axis=1), now)
        passed = passed + np.take_along_axis(passed, to, axis=1)
        to = np.take_along_axis(to, to, axis=1)
        rounds = rounds // 2
    total += np.maximum(0, whole_up(after) - 1).astype(np.int64)[:, None]
    longest: NDArray[np.int64] = total.max(axis=1)
    return longest.reshape(np.broadcast_shapes(*(np.shape(value) for value in given)))


def _check_arrays(casts: Any, moulds: Any, curing: Any, before: Any, after: Any) -> None:
    for name, array, least in (
        ("casts", casts, 0), ("moulds", moulds, 1), ("days in the mould", curing, 0),
        ("working days before", before, 0), ("working days after", after, 0),
    ):
        wrong = ~(np.isfinite(array) & (array >= least) & (array <= 1e9))
        if wrong.any():
            place = int(np.argmax(wrong))
            raise CalendarError(f"The {name} of line {place + 1} are {array[place]:g}; give {least} or more.")


def _date(day: Any, what: str) -> date:
    found = day.astype(object)
    if not isinstance(found, date):
        raise CalendarError(too_long(what))
    return found


def too_long(what: str) -> str:
    """The sentence for an order that takes longer than a hundred years."""
    return f"{what[:1].upper()}{what[1:]} reach further than a calendar of a hundred years; check the numbers and units."
