"""The work of a quote in order: every step with its minutes and waits, and the days on which it is done.

One pair of hands does the work line after line, those wanted first before the others; waits and days in the mould of the
lines run side by side. The casting of a round is taken to fit into its day; what does not fit is a step of its own
before it. So no line is ready later than the lead time promises.
"""

from __future__ import annotations

import datetime

import numpy as np

from pricing.book.services import service_rows
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.numbers import start_of, wanted_days
from pricing.costing.time.lead_time import (
    AFTER,
    AT_CASTING,
    BEFORE,
    CAST,
    HOURS_ON_THE_CLOCK,
    hours_of_waiting,
    hours_of_work,
    overflow,
    part_of_steps,
    plan_of,
    rounds,
    services_after,
    whole_places,
    working_week,
)
from pricing.costing.time.schedule import MOULD, WAIT, WORK, Casting, ScheduledStep, Step, schedule
from pricing.costing.time.working_days import WorkingWeek
from pricing.dataclass import dataclass

#: What the work of making moulds ready is called; the price book gives it with the mould plan.
REFIT = "Make the moulds ready again"

#: What work is called that has to be done before a line, and what casting that does not fit into its days.
OTHERS, OVER = "work of the lines before", "Casting that does not fit into its days"

#: More rounds of casting than this are shown as one bar.
MOST_ROUNDS = 6


@dataclass(frozen=True, slots=True)
class WorkStep:
    """A step of the work on a line, for all of its pieces.

    Parameters
    ----------
    line : counted from 0
    step : what is done
    trade, machine : who does it and what runs; empty where there is none
    per : what its minutes are counted by
    minutes : for one of it [min]
    times : how many of it, pieces that are rejected and what a run teaches among it
    wait : after it [h on the clock]
    repeats : True where the wait comes in every round of casting
    part : before casting, at casting or after it (0, 1, 2)
    fibre : True where its piece is cast of a mix that holds fibre
    """

    line: int
    step: str
    trade: str
    machine: str
    per: str
    minutes: float
    times: float
    wait: float
    repeats: bool
    part: int
    fibre: bool = False

    @property
    def total(self) -> float:
        """Minutes for the whole line [min]."""
        return self.minutes * self.times


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar of the calendar: the line that it belongs to, what is done, of which kind, from when to when."""

    line: int
    name: str
    kind: str
    begins: datetime.date
    ends: datetime.date


@dataclass(frozen=True, slots=True)
class WorkCalendar:
    """The days of a quote: its bars line by line, and the day on which each line is ready."""

    bars: tuple[Bar, ...]
    ready: dict[int, datetime.date]

    @property
    def last(self) -> datetime.date:
        """The day on which everything is ready."""
        return max(self.ready.values())


def work_steps(costing: Costing) -> tuple[WorkStep, ...]:
    """Every step of every line, in the order of the plans; making moulds ready follows the casting.

    Parameters
    ----------
    costing : of one quote
    """
    columns = costing.book.tables["Labour"].columns
    steps = costing.model.tables["steps"]
    hours, of_line = costing.values.value("steps", "step_hours"), costing.values.value("steps", "line")
    names = steps.text["step"].tolist()
    worked = {(int(of_line[row]) - 1, names[row]): float(hours[row]) for row in range(len(names))}
    quantity, refit = costing.line("quantity"), costing.line("refit_hours")
    with_fibre, found = _with_fibre(costing), list[WorkStep]()
    for line in range(len(costing.lines)):
        rows = plan_of(costing, line)
        pers = columns["per"][rows].tolist()
        again = [_refit(costing, line)] if refit[line] > 0 else []
        placed = part_of_steps(costing, line)
        for row, per in zip(rows, pers, strict=True):
            part = placed[columns["step"][row]]
            if part == AFTER:
                found += again
                again = []
            minutes = float(np.nan_to_num(columns["minutes"][row]))
            total = worked.get((line, columns["step"][row]), 0.0) * 60 * float(quantity[line])
            found.append(WorkStep(
                line, str(columns["step"][row]), str(columns["trade"][row]), str(columns["machine"][row]), per, minutes,
                total / minutes if minutes else 0.0, float(np.nan_to_num(columns["wait"][row])), part == AT_CASTING and per == CAST, part,
                with_fibre[line],
            ))
        found += again
    return tuple(found)


def _with_fibre(costing: Costing) -> list[bool]:
    """For each line whether a mix that it is cast of holds fibre, the mixes of its layers among them."""
    tables = costing.book.tables
    kinds = dict(zip(tables["Materials"]["material"].tolist(), tables["Materials"]["kind"].tolist(), strict=True))
    held = zip(tables["Mixes"]["mix"].tolist(), tables["Mixes"]["material"].tolist(), strict=True)
    mixes = {mix for mix, material in held if kinds.get(material) == "fibre"}
    layers = zip(tables["Layers"]["product"].tolist(), tables["Layers"]["mix"].tolist(), strict=True)
    layered = {product for product, mix in layers if mix in mixes}
    names = tables["Products"]["product"][costing.lines.product].tolist()
    return [mix in mixes or name in layered for mix, name in zip(costing.lines.plans["mix"].tolist(), names, strict=True)]


def _refit(costing: Costing, line: int) -> WorkStep:
    quantity = float(costing.line("quantity")[line])
    minutes, times = float(costing.line("refit_minutes")[line]), float(costing.line("refits")[line]) * quantity
    trade = costing.book.word("refit_trade") or str(next(iter(costing.book.tables["Trades"].columns["trade"]), ""))
    return WorkStep(line, REFIT, trade, "", "cast", minutes, times, 0.0, False, AT_CASTING)


def work_calendar(costing: Costing, steps: tuple[WorkStep, ...]) -> WorkCalendar:
    """The days of a quote.

    Parameters
    ----------
    costing : of one quote
    steps : its work, from :func:`work_steps`

    Problems raised: CalendarError for an order of more than a hundred years.
    """
    lines = list(range(len(costing.lines)))
    wanted = wanted_days(costing)
    late, is_service = services_after(costing), service_rows(costing.book, costing.lines.product) > 0
    order = sorted(
        lines, key=lambda line: (bool(late[line]), not is_service[line], wanted[line] or datetime.date.max, line))
    hours, waits = hours_of_work(costing, lines), hours_of_waiting(costing, lines)
    pieces, places = costing.line("quantity"), whole_places(costing.line("places"))
    filled, hours_per_day, week = rounds(pieces, places), costing.book.number("hours_per_day"), working_week(costing.book)
    bars: dict[int, list[Bar]] = {}
    ready: dict[int, datetime.date] = {}
    for place, line in enumerate(order):
        first, so_far = order[:place], order[: place + 1]
        over = overflow(hours[so_far, AT_CASTING], filled[so_far], hours_per_day)
        before = [
            Step(OTHERS, float(hours[first, BEFORE].sum()) * 60), *_steps(steps, line, BEFORE),
            *([Step(OVER, over * 60)] if over else []),
        ]
        after = [Step(OTHERS, float(hours[first, AFTER].sum()) * 60), *_steps(steps, line, AFTER)]
        if is_service[line]:
            others = max(ready.values(), default=None) if late[line] else None
            start = start_of(costing, line) if others is None else week.add(others, 1)
            made = _service(_steps(steps, line, AFTER) if late[line] else before, start, week, hours_per_day)
            bars[line] = [Bar(line, entry.name, entry.kind, entry.begins, entry.ends) for entry in _joined(made) if entry.name != OTHERS]
            ready[line] = made[-1].ends if made else start
            continue
        casting = Casting(float(pieces[line]), int(places[line]), float(waits[line, AT_CASTING]) / HOURS_ON_THE_CLOCK)
        entries = schedule(start_of(costing, line), before, casting, after, week=week, hours_per_day=hours_per_day)
        shown = [entry for entry in entries if not (entry.kind == WORK and (entry.name == OTHERS or entry.name.startswith("cast ")))]
        idle = {step.step for step in steps if step.line == line and not step.total}
        shown = [entry for entry in shown if not (entry.kind == WORK and entry.name in idle)]
        bars[line] = [Bar(line, entry.name, entry.kind, entry.begins, entry.ends) for entry in _joined(shown)]
        ready[line] = entries[-1].ends
    return WorkCalendar(tuple(bar for line in lines for bar in bars[line]), {line: ready[line] for line in lines})


def _service(work: list[Step], start: datetime.date, week: WorkingWeek, hours_per_day: float) -> list[ScheduledStep]:
    """The days of a service: before the first cast with the work of the services before it, or from the day after the rest is ready.

    Parameters
    ----------
    work : its own, and of one that comes first that of the lines before it
    start : its first day
    """
    entries = schedule(start, work, Casting(0.0, 1, 0.0), [], week=week, hours_per_day=hours_per_day)
    return [entry for entry in entries if entry.kind != MOULD and not (entry.kind == WORK and entry.name == OTHERS)]


def _steps(steps: tuple[WorkStep, ...], line: int, part: int) -> list[Step]:
    """The steps of a line before or after casting; a wait between casting steps that does not repeat comes after them."""
    found = [Step(step.step, step.total, step.wait) for step in steps if step.line == line and step.part == part]
    if part == AFTER:
        waits = [step for step in steps if step.line == line and step.part == AT_CASTING and step.wait and not step.repeats]
        found = [*(Step(step.step, 0.0, step.wait) for step in waits), *found]
    return found


def _joined(entries: list[ScheduledStep]) -> list[ScheduledStep]:
    """Work that follows on work as one entry; rounds of casting by their names, many of them as one entry."""
    curing = [entry for entry in entries if entry.kind == MOULD]
    joined: list[ScheduledStep] = []
    together: list[ScheduledStep] = []
    for entry in [*entries, None]:
        if entry is not None and entry.kind == WORK:
            together.append(entry)
            continue
        if together:
            joined.append(ScheduledStep(_names(together), WORK, together[0].begins, together[-1].ends))
            together = []
        if entry is None:
            break
        if entry.kind == WAIT:
            joined.append(ScheduledStep(f"Wait: {entry.name[:1].lower()}{entry.name[1:]}", WAIT, entry.begins, entry.ends))
        elif len(curing) <= MOST_ROUNDS:
            number = next(place for place, each in enumerate(curing, 1) if each is entry)
            name = "Cast, then in the mould" + (f": round {number} of {len(curing)}" if len(curing) > 1 else "")
            joined.append(ScheduledStep(name, MOULD, entry.begins, entry.ends))
        elif entry is curing[0]:
            joined.append(ScheduledStep(f"Cast, then in the mould: {len(curing)} rounds", MOULD, entry.begins, curing[-1].ends))
    return joined


def _names(entries: list[ScheduledStep]) -> str:
    names = [entry.name for entry in entries]
    return " … ".join((names[0], names[-1])) if len(names) > 2 else ", ".join(names)


__all__ = ["MOULD", "WAIT", "WORK", "Bar", "WorkCalendar", "WorkStep", "work_calendar", "work_steps"]
