"""The lead time of a quote: working days from the order to the last day of work.

One pair of hands makes everything: the work of all lines before and after casting is done one line after another; waits
and casting rounds of the lines run side by side. A wait after a step that is counted by casts comes once in every round
of casting, any other wait once for its line. A promise is made on the safe side: each wait outside the mould is counted
in whole working days, and the week begins on its least convenient day.
"""

from __future__ import annotations

import weakref

import numpy as np
from numpy.typing import NDArray

from pricing.book.closed_days import closed_days
from pricing.book.price_book import PriceBook
from pricing.book.services import comes_after, service_rows
from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.method.costing import Costing
from pricing.costing.time import working_days as calendar
from pricing.costing.time.working_days import WorkingWeek
from pricing.dataclass import dataclass
from pricing.money import whole_up
from pricing.text import fold

#: The word of the Per column by which a step belongs to each cast, and those of the steps that go with the casting.
CAST = "cast"
CASTING = frozenset({CAST, "batch"})

HOURS_ON_THE_CLOCK = 24.0

#: Before casting, at casting, after it.
BEFORE, AT_CASTING, AFTER = range(3)

#: The days of the week that are worked, by the word of the setting.
WEEKS: dict[str, WorkingWeek] = {
    "Monday to Friday": calendar.WEEK, "Monday to Saturday": WorkingWeek((0, 1, 2, 3, 4, 5)),
}


def lead_time_days(costing: Costing, quote: str) -> int:
    """Working days from the order to the day on which the whole quote is ready.

    Parameters
    ----------
    costing : a costing that holds the quote
    quote : its number

    Returns
    -------
    whole number [working days]; at least 1

    Problems raised: KeyError where the costing has no such quote.
    """
    if not costing.lines_of(quote):
        raise KeyError(quote)
    found = _days.get(costing)
    if found is None:
        found = _days[costing] = days_of_work(costing)
    return max(days_to_start(costing.book, quote) + found[quote], 1)


#: Working days of the quotes of each costing, from the first day of work on.
_days: weakref.WeakKeyDictionary[Costing, dict[str, int]] = weakref.WeakKeyDictionary()


def days_of_work(costing: Costing) -> dict[str, int]:
    """Working days of each quote of a costing, from the day on which work on it starts, all worked out at once."""
    late, hours_per_day = services_after(costing), costing.book.number("hours_per_day")
    every = list(range(len(costing.lines)))
    hours, waits = hours_of_work(costing, every), hours_of_waiting(costing, every)
    pieces, places = costing.line("quantity"), whole_places(costing.line("places"))
    before, after, days = np.zeros(len(every)), np.zeros(len(every)), {}
    for quote in costing.quotes:
        lines = [line for line in costing.lines_of(quote) if not late[line]]
        days[quote] = days_of_services(costing, [line for line in costing.lines_of(quote) if late[line]])
        if lines:
            over = overflow(hours[lines, AT_CASTING], rounds(pieces[lines], places[lines]), hours_per_day)
            before[lines], after[lines] = working_days(hours[lines], waits[lines], over, hours_per_day)
    made, ready, in_mould = ~late, np.zeros(len(every), dtype=np.int64), waits[:, AT_CASTING] / HOURS_ON_THE_CLOCK
    given = (pieces[made], places[made], in_mould[made], before[made], after[made])
    ready[made] = calendar.lead_time_days(*given, week=working_week(costing.book))
    return {quote: last + int(ready[costing.lines_of(quote)].max()) for quote, last in days.items()}


def services_after(costing: Costing) -> NDArray[np.bool_]:
    """Which lines are services that come after everything else is ready."""
    found = _late.get(costing)
    if found is None:
        found = _late[costing] = comes_after(costing.book, costing.lines.product)
    return found


#: The same of each costing, looked up for each of its quotes.
_late: weakref.WeakKeyDictionary[Costing, NDArray[np.bool_]] = weakref.WeakKeyDictionary()


def days_of_services(costing: Costing, lines: list[int]) -> int:
    """Working days that services take once everything else is ready, one after another: each begins on a day of its own.

    Parameters
    ----------
    lines : counted from 0
    """
    if not lines:
        return 0
    hours, waits = hours_of_work(costing, lines), hours_of_waiting(costing, lines)
    days = np.maximum(whole_up(hours.sum(axis=1) / costing.book.number("hours_per_day")), 1.0)
    return int(days.sum() + waits[:, AFTER].sum())


def days_to_start(book: PriceBook, quote: str) -> int:
    """Working days from an order until work on it starts: as many as the workshop says, or as the work takes that is ordered before it.

    Parameters
    ----------
    book : with the quotes that are ordered and not yet done
    quote : which is ordered; where it is among these, those that were ordered before it come first, otherwise all of them
    """
    names = [fold(each.quote) for each in book.ordered]
    before = book.ordered[: names.index(fold(quote))] if fold(quote) in names else book.ordered
    days = sum(each.hours for each in before) / (book.number("hours_per_day") * book.number("people"))
    return max(int(book.number("start_within")), int(whole_up(days)))


def working_week(book: PriceBook) -> WorkingWeek:
    """The days that the workshop works, its closed days left out."""
    week, closed = WEEKS.get(book.word("working_week"), calendar.WEEK), closed_days(book)
    return WorkingWeek(week.days, closed) if closed else week


def whole_places(places: Floats) -> Floats:
    """Pieces that the moulds of a line hold at once: whole ones, and at least one [pieces]."""
    found: Floats = np.maximum(np.floor(places), 1.0)
    return found


def rounds(pieces: Floats, places: Floats) -> Floats:
    """Whole days of casting of each line for its good pieces: how often its moulds are filled [rounds]."""
    found: Floats = whole_up(pieces / places)
    return found


def overflow(casting: Floats, rounds_of_lines: Floats, hours_per_day: float) -> float:
    """Hours of casting that do not fit into the days of casting: they are work like any other [h].

    Parameters
    ----------
    casting : hours of casting of each line [h]
    rounds_of_lines : how often the moulds of each line are filled [rounds]

    The lines that need no more than so many rounds have so many days between them, whatever that number is.

    >>> overflow(np.array([20.0, 1.0]), np.array([1.0, 10.0]), 8.0)
    12.0
    """
    order = np.argsort(rounds_of_lines, kind="stable")
    over = np.cumsum(casting[order]) - rounds_of_lines[order] * hours_per_day
    return max(float(over.max(initial=0.0)), 0.0)


def working_days(hours: Floats, waits: Floats, over: float, hours_per_day: float) -> tuple[Floats, Floats]:
    """Working days of each line before casting and after it, the work of all lines one after another.

    Parameters
    ----------
    hours, waits : of the lines, from :func:`hours_of_work` and :func:`hours_of_waiting`
    over : casting that does not fit into its days [h]
    """
    work = float(hours[:, AFTER].sum())
    idle = (waits[:, AFTER] > 0) & (work == 0)  # a wait that nothing follows ends a day later, where no work begins it
    return (hours[:, BEFORE].sum() + over) / hours_per_day + waits[:, BEFORE], work / hours_per_day + waits[:, AFTER] + idle


def parts(pers: list[str]) -> list[int]:
    """For each step of a plan: 0 where it comes before the casting, 1 where it belongs to it, 2 where it comes after.

    Mixing belongs to the casting.

    >>> parts(["quote", "mould", "batch", "cast", "cast", "m2 face", ""])
    [0, 0, 1, 1, 1, 2, 2]
    """
    casting = [number for number, per in enumerate(pers) if per in CASTING]
    if not casting:
        return [BEFORE] * len(pers)
    return [BEFORE if number < casting[0] else AT_CASTING if number <= casting[-1] else AFTER for number in range(len(pers))]


def plan_of(costing: Costing, line: int) -> list[int]:
    """The rows of the Labour sheet that a line's plan has, in order; those of other finishes left out."""
    columns, plans = costing.book.tables["Labour"].columns, costing.lines.plans
    of_finish = (columns["finish"] == "") | (columns["finish"] == plans["finish"][line])
    rows: list[int] = np.flatnonzero((columns["labour_plan"] == plans["labour_plan"][line]) & of_finish).tolist()
    return rows


@dataclass(frozen=True, slots=True)
class _Plan:
    """What a labour plan says, whatever is made by it: the part that each step belongs to, and its waiting as of hours_of_waiting."""

    part_of: dict[str, int]
    waits: tuple[float, float, float]


#: The labour plans of a costing, by name and finish.
_plans: weakref.WeakKeyDictionary[Costing, dict[tuple[str, str, int], _Plan]] = weakref.WeakKeyDictionary()


def _plan(costing: Costing, line: int) -> _Plan:
    made = _plans.setdefault(costing, {})
    service = bool(service_rows(costing.book, costing.lines.product[[line]])[0])
    part_of_service = (AFTER if services_after(costing)[line] else BEFORE) if service else -1
    name = (costing.lines.plans["labour_plan"][line], costing.lines.plans["finish"][line], part_of_service)
    if name not in made:
        rows, columns = plan_of(costing, line), costing.book.tables["Labour"].columns
        steps, pers = columns["step"][rows].tolist(), columns["per"][rows].tolist()
        waits = [0.0, 0.0, 0.0]
        placed = [part_of_service] * len(pers) if service else parts(pers)
        for hours, per, part in zip(np.nan_to_num(columns["wait"][rows]).tolist(), pers, placed, strict=True):
            if part == AT_CASTING and per == CAST:
                waits[AT_CASTING] += hours
            else:  # a wait between casting steps that is not repeated comes after them
                waits[BEFORE if part == BEFORE else AFTER] += float(whole_up(hours / HOURS_ON_THE_CLOCK))
        made[name] = _Plan(dict(zip(steps, placed, strict=True)), (waits[BEFORE], waits[AT_CASTING], waits[AFTER]))
    return made[name]


def part_of_steps(costing: Costing, line: int) -> dict[str, int]:
    """The part of the calendar that each step of a line belongs to; those of a service to one."""
    return _plan(costing, line).part_of


def hours_of_work(costing: Costing, lines: list[int], values: Evaluation | None = None) -> Floats:
    """Hours of work of all pieces of each line, before casting, at casting and after it; shape (..., lines, 3).

    Parameters
    ----------
    lines : counted from 0
    values : of the costing's model; the costing's own where None

    The model's steps stand in the order of its lines.
    """
    values = values or costing.values
    steps = costing.model.tables["steps"]
    per_piece, of_line = values.value("steps", "step_hours"), steps.given["line"]
    quantity, refits = values.value("lines", "quantity"), values.value("lines", "refit_hours")
    first, last = (np.searchsorted(of_line, np.asarray(lines) + each).tolist() for each in (1, 2))
    rows = [row for start, end in zip(first, last, strict=True) for row in range(start, end)]
    places = [place for place, (start, end) in enumerate(zip(first, last, strict=True)) for _ in range(start, end)]
    named = steps.text["step"]
    parts_of = [part_of_steps(costing, line) for line in lines]
    part = [parts_of[place][named[row]] for row, place in zip(rows, places, strict=True)]
    hours = np.zeros((*np.broadcast_shapes(per_piece.shape[:-1], refits.shape[:-1]), len(lines), 3))
    np.add.at(hours, (..., places, part), per_piece[..., rows] * quantity[..., lines][..., places])  # type: ignore[arg-type]
    hours[..., AT_CASTING] += refits[..., lines] * quantity[..., lines]
    return hours


def hours_of_waiting(costing: Costing, lines: list[int]) -> Floats:
    """Waiting of each line, shape (lines, 3): working days before casting, hours in each round of casting, working days after."""
    return np.array([_plan(costing, line).waits for line in lines], dtype=np.float64).reshape(-1, 3)
