"""What the workshop needs to make some quotes: the whole of ``pricing workshop``."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import field, fields
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.api.books import Source, named_quotes, opened_for
from pricing.api.faults import told
from pricing.book.services import service_rows
from pricing.book.wording.sentences import listed
from pricing.costing.lines.order_lines import enquired
from pricing.costing.run import cost_lines
from pricing.dataclass import dataclass
from pricing.problems import Problem, Problems
from pricing.text import fold

if TYPE_CHECKING:
    import pandas

    from pricing.book.price_book import PriceBook
    from pricing.costing.method.costing import Costing
    from pricing.costing.workshop.shopping import ShoppingList
    from pricing.costing.workshop.work import Work
    from pricing.register.recorded_quote import RecordedQuote

#: So many quotes are named in one sentence.
_MOST_NAMED = 6

#: What is left out of a shopping list, which the list says too.
_OF_SHOPPING = frozenset({"other-pack", "cannot-buy"})


@dataclass(frozen=True)
class Effort:
    """What a quote takes to make.

    Parameters
    ----------
    quote : its number
    pieces : good pieces of all its lines but services [pieces]
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
    made = service_rows(work.costing.book, work.costing.lines.product) == 0
    return Effort(
        work.quote, float(work.costing.line("quantity")[made].sum()), sum(step.total for step in work.steps) / 60,
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
    left_out : where no quotes were named, those that are not ordered, or that are made already, each with why
    written : the workbooks
    """

    problems: Problems
    works: list[Work] = field(default_factory=list)
    shopping: ShoppingList | None = None
    ordered: dict[str, datetime.date] = field(default_factory=dict)
    left_out: dict[str, str] = field(default_factory=dict)
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
    source: Source, *, quotes: Sequence[str] | None = None, day: datetime.date | None = None, out: Path | str | None = None,
    as_today: bool = False,
) -> WorkPlans:
    """Work out what the workshop needs to make some quotes, and write a workbook for each where a folder is named.

    What is ordered is prepared from its record: its lines and products, and the mixes, labour and moulds by which they are made, as they
    were promised, whatever became of them in the price book.
    Where there are several quotes, one shopping list over all of them is made too.

    Parameters
    ----------
    source : the price book, or its path
    quotes : numbers of quotes, ordered or not; what is ordered and not yet made where None
    day : of the order, and of its prices; where None the day on which the quote was ordered, at the prices of its own date, or
        that date where it was not
    out : folder for the workbooks; none are written where None
    as_today : True where what is ordered is made by the mixes, labour and moulds of the price book as it is today
    """
    book, problems = opened_for(source, quotes, from_record=True)
    done = WorkPlans(problems)
    if book is None:
        return done
    with told(problems, book.path):
        from pricing.register.ordered_work import ordered_work

        book.ordered = ordered_work(book, day or datetime.date.today())
        costings = _costings(done, book, quotes, day, as_today=as_today)
        if not problems.errors:
            _plan(done, costings, day)
            if out is not None:
                _write(done, Path(out), book.path)
    return done


def _costings(
    done: WorkPlans, book: PriceBook, quotes: Sequence[str] | None, day: datetime.date | None, *, as_today: bool
) -> list[Costing]:
    """The costings of the quotes that are prepared, in order: those that are ordered each from its record."""
    from pricing.register.of_record import work_of_record
    from pricing.register.recorded_quote import TAKEN
    from pricing.register.register import Register, RegisterError

    try:
        with Register.open(book.path, to_read=True) as register:
            on_record = register.quotes()
            taken = {fold(each.number): each for each in on_record if each.state in TAKEN}
            chosen = _to_make(done, book, on_record) if quotes is None else [*dict.fromkeys(map(fold, quotes))]
            if quotes is not None:
                taken = {name: each for name, each in taken.items() if name in chosen}
            done.problems.take(register.problems)
            costings = []
            for recorded in [taken[name] for name in chosen if name in taken]:
                try:
                    costings.append(work_of_record(book, register, recorded, done.problems, day, as_today=as_today))
                except RegisterError as error:
                    if error.code not in ("damaged-record", "product-gone"):
                        raise
                    done.problems.add(error.code, f"{error}; it is left out", warning=quotes is None)
                    continue
                if day is None and recorded.since >= recorded.day:
                    done.ordered[recorded.number] = recorded.since
    except RegisterError as error:
        if quotes is None:
            raise
        done.problems.take([Problem(error.code, f"{error}; the calendars count from the dates of the quotes", warning=True)])
        taken, costings = {}, []
    if quotes is not None:
        others = [quote for quote in quotes if fold(quote) not in taken]
        names = named_quotes(book, others, done.problems, "make") if others else []
        if names and not done.problems.errors:
            costings.append(cost_lines(book, enquired(book, names, day), done.problems))
    return costings


def _to_make(done: WorkPlans, book: PriceBook, on_record: Sequence[RecordedQuote]) -> list[str]:
    """What is ordered and not yet made; the others are named as left out."""
    from pricing.costing.jobs.finished_jobs import finished_quotes

    finished, known = {fold(quote) for quote in finished_quotes(book)}, {fold(each.number) for each in on_record}
    found = []
    for each in on_record:
        if each.state == "ordered" and fold(each.number) not in finished:
            found.append(fold(each.number))
        else:
            done.left_out[each.number] = "in Actuals" if each.state == "ordered" else each.state
    for quote in dict.fromkeys(book.tables["Enquiries"].columns["quote"].tolist()):
        if fold(quote) not in known:
            done.left_out[quote] = "not issued"
    if not found:
        remedy = "note an order with: pricing register --mark Q-1041=ordered, or name a quote with --quote"
        noted = [quote for quote, why in done.left_out.items() if why == "in Actuals"]
        why = f" ({listed(noted[:_MOST_NAMED], 'and')} noted in Actuals)" if noted else ""
        done.problems.add("nothing-ordered", f"no quote is ordered and not yet made{why}; {remedy}")
    return found


def _plan(done: WorkPlans, costings: Sequence[Costing], day: datetime.date | None) -> None:
    from pricing.costing.workshop.order_day import begun_after_order
    from pricing.costing.workshop.work import shopping_for
    from pricing.reports.workshop.workbook import prepared

    works = [prepared(costing, name) for costing in costings for name in costing.quotes]
    done.works = [begun_after_order(work, done.ordered[work.quote]) if work.quote in done.ordered else work for work in works]
    if len(works) > 1:
        done.shopping = shopping_for(done.works, done.problems)
    else:
        done.problems.take(problem for work in done.works for problem in work.problems)


def _write(done: WorkPlans, out: Path, book: Path) -> None:
    from pricing.reports.shared.owner import refuse_others
    from pricing.reports.workshop.workbook import SHOPPING_FILE, workshop_file_name, write_shopping_list, write_work_of

    places = [out / workshop_file_name(work.quote) for work in done.works]
    refuse_others([*places, *([out / SHOPPING_FILE] if done.shopping is not None else [])], book, done.problems)
    if done.problems.errors:
        return
    for work, place in zip(done.works, places, strict=True):
        write_work_of(work, place)
        done.written.append(place)
    if done.shopping is not None:
        left_out = [problem.message for problem in done.problems if problem.code in _OF_SHOPPING]
        write_shopping_list(done.shopping, done.works[0].costing, out / SHOPPING_FILE, left_out)
        done.written.append(out / SHOPPING_FILE)
