"""How many moulds a wanted date needs at once, and what each number of moulds does to price and lead time.

The work of the lines of a quote that are wanted no later comes first; a line without a wanted date comes last. From the
number that makes the quote cheapest upwards the fewest moulds that make the date are taken.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import field
from typing import Any

import numpy as np

from pricing.book.services import service_rows
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.packed_columns import DictionaryColumn, Floats
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.cheapest import with_moulds
from pricing.costing.moulds.mould_costs import boards_of_sheets
from pricing.costing.moulds.options import MOST_MOULDS, useful_moulds
from pricing.costing.time import working_days as calendar
from pricing.costing.time.lead_time import (
    AT_CASTING,
    HOURS_ON_THE_CLOCK,
    days_to_start,
    hours_of_waiting,
    hours_of_work,
    overflow,
    rounds,
    services_after,
    whole_places,
    working_days,
    working_week,
)
from pricing.costing.time.working_days import MOST_DAYS, CalendarError
from pricing.dataclass import dataclass
from pricing.money import whole_up

#: Rows of a table of price against lead time, unless another number is asked for.
MOST_ROWS = 12


@dataclass(frozen=True, slots=True)
class MouldChoice:
    """A number of moulds and what it does.

    Parameters
    ----------
    moulds : in use at once [moulds]
    ready : the day on which the line is ready
    working_days : from the order to that day [working days]
    unit_cost, unit_price : of one piece [currency/piece]; a typed price stands whatever the number
    """

    moulds: int
    ready: datetime.date
    working_days: int
    unit_cost: float
    unit_price: float


@dataclass
class _Line:
    """A line whose number of moulds is looked for.

    Parameters
    ----------
    line : counted from 0
    options : numbers of moulds worth looking at, rising [moulds]
    first : the lines of the quote whose work comes no later, itself among them
    hours : of the line with each number, shape (options, 3) [h]
    chosen : which of the options stands
    """

    line: int
    options: list[int]
    first: list[int]
    hours: Floats = field(default_factory=lambda: np.zeros((0, 3)))
    chosen: int = 0


def wanted_days(costing: Costing) -> list[datetime.date | None]:
    """The last day that will do for each line; None where none is given."""
    typed = costing.book.tables["Enquiries"].columns.get("wanted_by")
    enquiry = costing.lines.enquiry
    if typed is None or np.isnat(typed).all() or not (enquiry >= 0).any():
        return [None] * len(enquiry)
    days = np.where(enquiry >= 0, typed.astype("datetime64[D]")[np.maximum(enquiry, 0)], np.datetime64("NaT", "D"))
    return [None if day is None else day for day in days.tolist()]


def start_of(costing: Costing, line: int) -> datetime.date:
    """The first day of work on a line: its own day and the days until work starts."""
    day: datetime.date = costing.lines.day[line].astype("datetime64[D]").astype(object)
    return working_week(costing.book).add(day, days_to_start(costing.book, str(costing.lines.quote[line])))


def with_mould_numbers(costing: Costing) -> Costing:
    """The costing, each line with a wanted date given the moulds that it needs at once.

    Where no number of moulds makes the date, the line gets as many as help, and the maker is told the earliest day.
    Where no line has a wanted date the costing is the same one.
    """
    if not (costing.lines.enquiry >= 0).any():
        return costing
    wanted = wanted_days(costing)
    cast = service_rows(costing.book, costing.lines.product) == 0
    looked_for = [line for line, day in enumerate(wanted) if day is not None and cast[line]]
    if not looked_for:
        return costing
    search = _Search(costing, wanted, looked_for)
    search.raise_numbers()
    lines = costing.model.tables["lines"]
    at_once, reasons = lines.given["moulds_at_once"].copy(), lines.text["moulds_because"].copy()
    for line, found in search.found.items():
        if costing.line("has_mould")[line] and found.options[found.chosen] > at_once[line]:
            at_once[line] = found.options[found.chosen]
            reasons[line] = f"wanted by {wanted[line]}"
    search.report()
    return with_moulds(costing, at_once, DictionaryColumn.of(reasons))


def price_against_lead_time(costing: Costing, line: int, most_rows: int = MOST_ROWS) -> tuple[MouldChoice, ...]:
    """Numbers of moulds, when the line would be ready with each, and what one piece would cost: fewest moulds first.

    Parameters
    ----------
    line : counted from 0
    most_rows : where more numbers make a difference, they are picked evenly between the fewest and the most

    Numbers with which the line would not be ready earlier are left out; the other lines of its quote keep theirs.
    """
    search = _Search(costing, wanted_days(costing), [line], fewest=True)
    found = search.found[line]
    ready = search.ready(found)
    picked: list[int] = []
    for number, days in enumerate(ready):
        if days is not None and (not picked or days < ready[picked[-1]]):  # type: ignore[operator]
            picked.append(number)
    if len(picked) > most_rows:
        picked = [picked[round(place)] for place in np.linspace(0, len(picked) - 1, max(most_rows, 2))]
    numbers = [found.options[number] for number in picked]
    shape = (len(numbers), len(costing.lines))
    given = costing.model.tables["lines"].given
    changes = {name: np.broadcast_to(given[name], shape).copy() for name in ("moulds_at_once", "sheet_board")}
    if costing.line("has_mould")[line]:
        changes["moulds_at_once"][:, line] = numbers
        for row in range(len(numbers)):
            changes["sheet_board"][row] = boards_of_sheets(costing, changes["moulds_at_once"][row])
    values = evaluate(costing.model, {("lines", name): array for name, array in changes.items()})
    cost, price = (np.broadcast_to(values.value("lines", name), shape)[:, line] for name in ("unit_cost", "unit_price"))
    within, start = days_to_start(costing.book, str(costing.lines.quote[line])), start_of(costing, line)
    week = working_week(costing.book)
    return tuple(
        MouldChoice(found.options[number], week.add(start, ready[number] or 0), within + (ready[number] or 0),
                    float(cost[row]), float(price[row]))
        for row, number in enumerate(picked)
    )


class _Search:
    """The search for numbers of moulds over the lines of a costing."""

    def __init__(
        self, costing: Costing, wanted: Sequence[datetime.date | None], looked_for: Sequence[int], *, fewest: bool = False
    ) -> None:
        self.costing = costing
        self.wanted, self.late = wanted, services_after(costing)
        self.week = working_week(costing.book)
        self.hours_per_day = costing.book.number("hours_per_day")
        self.quantity, self.per_mould = costing.line("quantity"), costing.line("pieces_per_mould")
        self.places = whole_places(costing.line("places")).copy()
        self.fewest = fewest
        of_quote: dict[Any, list[int]] = {}
        for line, quote in enumerate(costing.lines.quote.tolist()):
            of_quote.setdefault(quote, []).append(line)
        self.found = {line: _Line(line, self._options(line), self._first(line, of_quote)) for line in looked_for}
        self.needed = sorted({line for found in self.found.values() for line in found.first})
        self.row = {line: row for row, line in enumerate(self.needed)}
        self.waits = hours_of_waiting(costing, self.needed)
        self.hours = hours_of_work(costing, self.needed)
        self._hours_of_options()

    def _options(self, line: int) -> list[int]:
        """Numbers of moulds worth looking at: no fewer than stand or, with *fewest*, than wear out; no more than there is room for."""
        costing = self.costing
        if not costing.line("has_mould")[line]:
            return [1]
        places = (costing.book.number("mould_places") or MOST_MOULDS)
        fillings = int(whole_up(self.quantity[line] / self.per_mould[line]))
        needed, kept, stands = (int(costing.line(name)[line]) for name in ("moulds_needed", "moulds_kept", "moulds_at_once"))
        least = max(1, min(int(places), max(needed, min(kept, fillings)))) if self.fewest else max(1, stands)
        return list(useful_moulds(fillings, least, min(int(places), MOST_MOULDS, max(1, fillings))))

    def _places(self, line: int, moulds: int) -> float:
        """Pieces that so many moulds of a line hold at once [pieces]."""
        return float(moulds * self.per_mould[line]) if self.costing.line("has_mould")[line] else float(self.quantity[line])

    def _first(self, line: int, of_quote: dict[Any, list[int]]) -> list[int]:
        """The lines of the same quote whose work comes no later: all where the line has no wanted date."""
        day = self.wanted[line]
        others = of_quote[self.costing.lines.quote[line]]
        together = [other for other in others if other == line or not self.late[other]]
        return [other for other in together if day is None or other == line or (self.wanted[other] or datetime.date.max) <= day]

    def _hours_of_options(self) -> None:
        """Hours of each line with each of its numbers: the model evaluated with the first numbers, the second, and so on."""
        given = self.costing.model.tables["lines"].given["moulds_at_once"]
        most = max(len(found.options) for found in self.found.values())
        changed = np.broadcast_to(given, (most, len(given))).copy()
        for found in self.found.values():
            if self.costing.line("has_mould")[found.line]:
                changed[:, found.line] = [found.options[min(row, len(found.options) - 1)] for row in range(most)]
        values = evaluate(self.costing.model, {("lines", "moulds_at_once"): changed})
        lines = list(self.found)
        hours = hours_of_work(self.costing, lines, values)
        hours = np.broadcast_to(hours, (most, len(lines), 3))
        for place, found in enumerate(self.found.values()):
            found.hours = hours[: len(found.options), place]

    def ready(self, found: _Line) -> list[int | None]:
        """Working days from the start of work to the day on which a line is ready, with each number; None beyond a century."""
        rows = [self.row[line] for line in found.first]
        own = found.first.index(found.line)
        hours, waits = self.hours[rows].copy(), self.waits[rows]
        filled = rounds(self.quantity[found.first], self.places[found.first])
        before, after = np.zeros(len(found.options)), np.zeros(len(found.options))
        for number, moulds in enumerate(found.options):
            hours[own] = found.hours[number]
            filled[own] = rounds(self.quantity[found.line], np.array(self._places(found.line, moulds)))
            over = overflow(hours[:, AT_CASTING], filled, self.hours_per_day)
            before_all, after_all = working_days(hours, waits, over, self.hours_per_day)
            before[number], after[number] = before_all[own], after_all[own]
        weekday = start_of(self.costing, found.line).weekday()
        in_mould = waits[own, AT_CASTING] / HOURS_ON_THE_CLOCK
        try:
            places = np.array([self._places(found.line, moulds) for moulds in found.options])
            days = calendar.lead_time_days(self.quantity[found.line], places, in_mould, before, after, week=self.week, weekday=weekday)
        except CalendarError:  # a figure that cannot be is told elsewhere
            return [None] * len(found.options)
        return [int(day) if day <= MOST_DAYS else None for day in days.tolist()]

    def raise_numbers(self) -> None:
        """Raise the numbers until none changes: more moulds of one line are more work before the others' casting."""
        changed = True
        while changed:
            changed = False
            for found in self.found.values():
                chosen = self._fewest(found)
                if chosen > found.chosen:
                    found.chosen, changed = chosen, True
                self.hours[self.row[found.line]] = found.hours[found.chosen]
                self.places[found.line] = self._places(found.line, found.options[found.chosen])

    def _fewest(self, found: _Line) -> int:
        """Which of the numbers is the first to make the date; where none does, the first to be ready earliest."""
        ready = self.ready(found)
        room = self._room(found)
        for number, days in enumerate(ready):
            if days is not None and days <= room:
                return number
        reached = [days for days in ready if days is not None]
        return ready.index(min(reached)) if reached else found.chosen

    def _room(self, found: _Line) -> int:
        """Working days from the start of work to the wanted day, below zero where that is past [working days]."""
        start, wanted = start_of(self.costing, found.line), self.wanted[found.line]
        if wanted is None:
            return MOST_DAYS
        return self.week.between(start, wanted + datetime.timedelta(days=1)) - 1

    def report(self) -> None:
        """Tell of each line that cannot be ready by its wanted day."""
        enquiries, products = self.costing.book.tables["Enquiries"], self.costing.products()
        for found in self.found.values():
            days = self.ready(found)[found.chosen]
            if days is not None and days <= self._room(found):
                continue
            line, moulds = found.line, found.options[found.chosen]
            with_moulds = f"with {moulds} {'mould' if moulds == 1 else 'moulds'}, as many as help,"
            start = start_of(self.costing, line)
            when = "not within a hundred years" if days is None else f"on {self.week.add(start, days)} at the earliest"
            self.costing.problems.add(
                "wanted-too-soon",
                f'quote {self.costing.lines.quote[line]}, "{products[line]}": wanted by {self.wanted[line]}, which no number of moulds '
                f"makes; {with_moulds} it is ready {when}; agree on a later day, or start sooner",
                sheet=enquiries.sheet, cell=enquiries.cell("wanted_by", int(self.costing.lines.enquiry[line])), warning=True,
            )
