"""The calendar of an order: by hand, and by counting day after day."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from day_by_day import counted
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pricing.costing.moulds.numbers import useful_moulds
from pricing.costing.time.schedule import Casting, Step, schedule
from pricing.costing.time.working_days import WEEK, CalendarError, WorkingWeek, casting_rounds, lead_time_days

MONDAY = date(2024, 5, 6)
FRIDAY = date(2024, 5, 10)

STARTS = st.dates(date(2023, 1, 1), date(2026, 12, 31))
WEEKS = st.builds(
    WorkingWeek,
    days=st.sets(st.integers(0, 6), min_size=1).map(lambda days: tuple(sorted(days))),
    holidays=st.lists(st.dates(date(2023, 1, 1), date(2027, 12, 31)), max_size=8).map(tuple),
)
DAYS = st.integers(0, 40).map(lambda quarters: quarters / 4)


@pytest.mark.parametrize(
    ("casts", "moulds", "curing", "before", "after", "ready"),
    [
        pytest.param(1, 1, 1, 0, 0, date(2024, 5, 7), id="cast Monday, out on Tuesday"),
        pytest.param(1, 1, 0.5, 0, 1, date(2024, 5, 7), id="half a day counts as one; finished the day it is out"),
        pytest.param(4, 1, 1, 0, 0, FRIDAY, id="a cast a day"),
        pytest.param(5, 1, 1, 0, 0, date(2024, 5, 13), id="Friday's cast comes out on Monday"),
        pytest.param(1, 1, 5, 0, 0, date(2024, 5, 13), id="five days end on a Saturday, out on Monday"),
        pytest.param(6, 2, 2, 1, 1.5, date(2024, 5, 16), id="casts on Tuesday, Thursday, Monday; out on Wednesday"),
        pytest.param(6, 6, 2, 1, 1.5, FRIDAY, id="all at once"),
        pytest.param(10.2, 11, 1, 0, 0, date(2024, 5, 7), id="a share of a cast is a cast"),
        pytest.param(0, 1, 3, 2, 1, date(2024, 5, 8), id="nothing to cast: two days before, one after"),
        pytest.param(57 / 0.57, 100, 1, 0.1 + 0.2 + 0.7, 1, date(2024, 5, 8), id="binary dust changes no day"),
    ],
)
def test_ready_on_the_day_worked_out_by_hand(casts: float, moulds: int, curing: float, before: float, after: float, ready: date) -> None:
    """Orders begun on a Monday in a week without holidays."""
    days = lead_time_days(casts, moulds, curing, before, after, weekday=MONDAY.weekday())
    assert WEEK.add(MONDAY, int(days)) == ready


def test_free_days_are_skipped_but_the_concrete_cures() -> None:
    """With Monday a holiday, Friday's cast of one day comes out on Tuesday; four days or two come to the same."""
    week = WorkingWeek(holidays=(date(2024, 5, 13),))
    assert {week.later(FRIDAY, days) for days in (1, 2, 3, 4)} == {date(2024, 5, 14)}
    assert week.add(FRIDAY, 1) == date(2024, 5, 14)
    assert week.next_working(date(2024, 5, 13)) == date(2024, 5, 14)


@given(
    st.floats(0, 60), st.integers(1, 30), DAYS, DAYS, DAYS, st.sets(st.integers(0, 6), min_size=1).map(lambda days: tuple(sorted(days))),
)
def test_more_moulds_are_never_later(
    casts: float, moulds: int, curing: float, before: float, after: float, days: tuple[int, ...]
) -> None:
    """One mould more never delays an order; nor does a day less in the mould or before or after."""
    week = WorkingWeek(days=days)
    for start in days:
        ready = lead_time_days(casts, moulds, curing, before, after, week, weekday=start)
        assert lead_time_days(casts, moulds + 1, curing, before, after, week, weekday=start) <= ready
        assert lead_time_days(casts, moulds, curing + 1, before, after, week, weekday=start) >= ready
        assert lead_time_days(casts, moulds, curing, before + 1, after, week, weekday=start) >= ready
        assert lead_time_days(casts, moulds, curing, before, after + 1, week, weekday=start) >= ready


@given(st.integers(1, 300), st.integers(1, 20))
def test_no_number_of_moulds_worth_looking_at_is_left_out(casts: int, least: int) -> None:
    """Each number left out has as many rounds as a smaller number that is listed."""
    listed = list(useful_moulds(casts, least))
    assert listed == sorted(set(listed))
    assert listed[0] == least
    for moulds in range(least, casts + 1):
        smaller = max(number for number in listed if number <= moulds)
        assert casting_rounds(casts, smaller) == casting_rounds(casts, moulds)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(1, 9), DAYS, DAYS, DAYS), min_size=1, max_size=6),
    st.sets(st.integers(0, 6), min_size=1),
)
def test_lead_times_of_a_catalogue_agree_with_the_calendar(rows: list[tuple[int, int, float, float, float]], days: set[int]) -> None:
    """For each starting day the lead time is the working days to the day ready; with no day given, the longest."""
    week = WorkingWeek(days=tuple(days))
    casts, moulds, curing, before, after = (np.array(column) for column in zip(*rows, strict=True))
    starts = [MONDAY + timedelta(days=later) for later in range(7) if later in days]
    each = [[week.between(start, counted(start, *row, week)) for row in rows] for start in starts]
    for start, expected in zip(starts, each, strict=True):
        found = lead_time_days(casts, moulds, curing, before, after, week, weekday=start.weekday())
        assert found.tolist() == expected
    assert lead_time_days(casts, moulds, curing, before, after, week).tolist() == np.max(each, axis=0).tolist()


def test_lead_times_keep_the_shape_of_what_is_given() -> None:
    """A number gives a number, a table of casts by moulds a table; a thousand rounds are no trouble."""
    assert lead_time_days(5, 1, 1).shape == ()
    table = lead_time_days(np.array([[1], [10], [1000]]), np.array([1, 10]), 1)
    assert table.tolist() == [[1, 1], [10, 1], [1000, 100]]


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (lambda: casting_rounds(5, 0), ["moulds is 0", "at least one"]),
        (lambda: casting_rounds(float("nan"), 1), ["casts", "nan"]),
        (lambda: WorkingWeek(days=()), ["at least one day"]),
        (lambda: WorkingWeek(days=(7,)), ["6 for Sunday"]),
        (lambda: lead_time_days(1, 1, -1), ["mould", "-1"]),
        (lambda: schedule(MONDAY, [], Casting(1e6, 1, 1), []), ["1000000 rounds", "units"]),
        (lambda: WEEK.later(date(9999, 12, 30), 40), ["hundred years"]),
        (lambda: lead_time_days([1, 2], [1, 0], 1), ["moulds of line 2", "0"]),
        (lambda: lead_time_days([1, float("nan")], 1, 1), ["casts of line 2", "nan"]),
        (lambda: schedule(MONDAY, [Step("mix", -5)], Casting(1, 1, 1), []), ["mix", "-5"]),
        (lambda: schedule(MONDAY, [], Casting(1, 1, 1), [], hours_per_day=0), ["0 hours"]),
    ],
)
def test_what_has_no_date_is_refused_with_a_sentence(bad: object, words: list[str]) -> None:
    """Each refusal is one sentence that names the amount and what would do."""
    with pytest.raises(CalendarError) as refused:
        bad()  # type: ignore[operator]
    assert all(word in str(refused.value) for word in words)
    assert str(refused.value).endswith(".")


def test_a_schedule_worked_out_by_hand() -> None:
    """Two moulds, five casts, eight-hour days: ten hours of building end on Tuesday, the sealant cures overnight."""
    found = schedule(
        MONDAY,
        [Step("build", 600, wait=16), Step("set up", 60)],
        Casting(5, 2, 2, minutes_per_cast=60),
        [Step("grind", 300, wait=48), Step("seal", 120)],
    )
    assert [(entry.name, entry.kind, entry.begins.day, entry.ends.day) for entry in found] == [
        ("build", "work", 6, 7),
        ("build", "wait", 7, 8),
        ("set up", "work", 8, 8),
        ("cast 1 of 3", "work", 8, 8),
        ("cast 1 of 3", "in the mould", 8, 10),
        ("cast 2 of 3", "work", 10, 10),
        ("cast 2 of 3", "in the mould", 10, 13),
        ("cast 3 of 3", "work", 13, 13),
        ("cast 3 of 3", "in the mould", 13, 15),
        ("grind", "work", 15, 15),
        ("grind", "wait", 15, 17),
        ("seal", "work", 17, 17),
    ]


@pytest.mark.parametrize(
    ("minutes", "wait", "ends"),
    [
        pytest.param(60, 2, 6, id="two hours within the day"),
        pytest.param(60, 7, 6, id="until the day's end"),
        pytest.param(60, 8, 7, id="past the day's end: next morning"),
        pytest.param(480, 12, 7, id="overnight costs no working time"),
        pytest.param(480, 24 * 4, 10, id="four days"),
        pytest.param(480, 24 * 5, 13, id="five days end on a Saturday: Monday"),
    ],
)
def test_waits_run_on_the_clock(minutes: float, wait: float, ends: int) -> None:
    """Work begun on a Monday morning, a wait, and the day on which work goes on."""
    entries = schedule(MONDAY, [Step("glue", minutes, wait), Step("trim", 30)], Casting(0, 1, 1), [])
    assert [entry.kind for entry in entries] == ["work", "wait", "work"]
    glued, waited, _ = entries
    assert (glued.begins.day, waited.ends.day) == (6, ends)


@settings(deadline=None)
@given(STARTS, st.integers(1, 12), st.integers(1, 4), DAYS, DAYS, DAYS, WEEKS)
def test_a_schedule_without_waits_ends_when_the_order_is_ready(
    start: date, casts: int, moulds: int, curing: float, before: float, after: float, week: WorkingWeek
) -> None:
    """Where nothing waits and casting takes no time, the schedule's last day is the day that counting gives."""
    assume(after > 0)
    found = schedule(start, [Step("build", before * 480)], Casting(casts, moulds, curing), [Step("finish", after * 480)], week)
    assert found[-1].ends == counted(start, casts, moulds, curing, before, after, week)
    assert all(entry.begins <= entry.ends for entry in found)
    assert all(one.begins <= two.begins for one, two in pairwise(found))
    assert all(week.next_working(day) == day for entry in found for day in (entry.begins, entry.ends))
