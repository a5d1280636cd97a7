"""What the workshop needs to make some quotes: the whole of ``pricing workshop``."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.api.books import Source, named_quotes, opened
from pricing.api.faults import told
from pricing.costing.lines.order_lines import enquired
from pricing.costing.run import cost_lines
from pricing.problems import Problem, Problems
from pricing.text import fold

if TYPE_CHECKING:
    import pandas

    from pricing.book.price_book import PriceBook
    from pricing.costing.method.costing import Costing
    from pricing.costing.workshop.shopping import ShoppingList
    from pricing.costing.workshop.work import Work

#: What is left out of a shopping list, which the list says too.
_OF_SHOPPING = frozenset({"other-pack", "cannot-buy"})


@dataclass(frozen=True)
class Effort:
    """What a quote takes to make.

    Parameters
    ----------
    quote : its number
    pieces : good pieces of all its lines [pieces]
    hours : of all its steps [h]
    mixer_loads, sheets : how many, of concrete and of mould board
    ready_on : the last day of its calendar
    """

    quote: str
    pieces: float
    hours: float
    mixer_loads: int
    sheets: int
    ready_on: datetime.date


def effort_of(work: Work) -> Effort:
    """What a quote takes to make."""
    return Effort(
        work.quote, float(work.costing.line("quantity").sum()), sum(step.total for step in work.steps) / 60,
        sum(load.count for sheet in work.batches for load in sheet.loads), sum(work.cuts.sheets().values()), work.calendar.last,
    )


@dataclass
class WorkPlans:
    """What a run for the workshop gave.

    Parameters
    ----------
    problems : what stopped the run, and what the maker has to look at before buying
    works : for each quote cut list, batch sheets, steps, calendar and shopping list
    shopping : what to buy for all of them; None for one quote, whose own list says it
    ordered : by quote the day of the order from which its calendar counts, where the register has it as ordered
    written : the workbooks
    """

    problems: Problems
    works: list[Work] = field(default_factory=list)
    shopping: ShoppingList | None = None
    ordered: dict[str, datetime.date] = field(default_factory=dict)
    written: list[Path] = field(default_factory=list)

    @property
    def efforts(self) -> list[Effort]:
        """What each quote takes to make."""
        return [effort_of(work) for work in self.works]

    def works_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per quote: when it is ready, and what it takes."""
        from pricing.frames import frame

        names = [each.name for each in fields(Effort)]
        columns = {name: [getattr(effort, name) for effort in self.efforts] for name in names}
        return frame(columns, {"pieces": "piece", "hours": "hour", "mixer_loads": "batch", "sheets": "count"}, units=units)


def workshop(
    source: Source, *, quotes: Sequence[str] | None = None, day: datetime.date | None = None, out: Path | str | None = None
) -> WorkPlans:
    """Work out what the workshop needs to make some quotes, and write a workbook for each where a folder is named.

    Where there are several quotes, one shopping list over all of them is made too.

    Parameters
    ----------
    source : the price book, or its path
    quotes : numbers of quotes; all where None
    day : of the order, and of its prices; where None the day on which the quote was ordered, at the prices of its own date, or
        that date where it was not
    out : folder for the workbooks; none are written where None
    """
    book, problems = opened(source)
    done = WorkPlans(problems)
    if book is None:
        return done
    names = named_quotes(book, quotes, problems, "make")
    if problems.errors:
        return done
    with told(problems, book.path):
        from pricing.register.ordered_work import ordered_work

        book.ordered = ordered_work(book, day or datetime.date.today())
        costing = cost_lines(book, enquired(book, names, day), problems)
        if not problems.errors:
            _plan(done, book, costing, day)
            if out is not None:
                _write(done, Path(out))
    return done


def _plan(done: WorkPlans, book: PriceBook, costing: Costing, day: datetime.date | None) -> None:
    from pricing.costing.workshop.order_day import begun_after_order
    from pricing.costing.workshop.work import shopping_for
    from pricing.reports.workshop.workbook import prepared

    works = [prepared(costing, name) for name in costing.quotes]
    done.ordered = _ordered(book.path, works, done.problems) if day is None else {}
    done.works = [begun_after_order(work, done.ordered[work.quote]) if work.quote in done.ordered else work for work in works]
    if len(works) > 1:
        done.shopping = shopping_for(done.works, done.problems)
    else:
        done.problems.take(problem for work in done.works for problem in work.problems)


def _ordered(path: Path, works: Sequence[Work], problems: Problems) -> dict[str, datetime.date]:
    """By quote the day on which it was ordered, as the register says; one before the date of the quote is left out."""
    from pricing.costing.workshop.order_day import day_of_quote
    from pricing.register.register import Register, RegisterError

    try:
        with Register.open(path, to_read=True) as register:
            days = {fold(quote.number): quote.since for quote in register.quotes(state="ordered")}
            problems.take(register.problems)
    except RegisterError as error:
        problems.take([Problem(error.code, f"{error}; the calendars count from the dates of the quotes", warning=True)])
        return {}
    found = {work.quote: days[fold(work.quote)] for work in works if fold(work.quote) in days}
    return {work.quote: found[work.quote] for work in works if work.quote in found and found[work.quote] >= day_of_quote(work)}


def _write(done: WorkPlans, out: Path) -> None:
    from pricing.reports.workshop.workbook import SHOPPING_FILE, workshop_file_name, write_shopping_list, write_work_of

    for work in done.works:
        write_work_of(work, out / workshop_file_name(work.quote))
        done.written.append(out / workshop_file_name(work.quote))
    if done.shopping is not None:
        left_out = [problem.message for problem in done.problems if problem.code in _OF_SHOPPING]
        write_shopping_list(done.shopping, done.works[0].costing, out / SHOPPING_FILE, left_out)
        done.written.append(out / SHOPPING_FILE)
