"""``pricing workshop``: everything that the workshop needs to make some quotes."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pricing.cli.common import Day, leave, print_problems, print_table, printable
from pricing.cli.faults import sentences

if TYPE_CHECKING:
    from pricing.book.reading.read import PriceBook
    from pricing.costing.workshop.work import Work
    from pricing.problems import Problems

#: What the maker looks at when pricing, not when making.
_OF_PRICES = frozenset({"low-margin", "low-quote-margin"})

#: What is left out of a shopping list, which the list says too.
_OF_SHOPPING = frozenset({"other-pack", "cannot-buy"})

#: More quotes than this are counted, not named.
_MOST_NAMED = 6


@click.command()
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--quote", "quotes", multiple=True, metavar="Q", help="Only this quote; may be given several times.")
@click.option("--date", "day", type=Day(), metavar="YYYY-MM-DD",
              help="The day of the order, and of its prices: work begins so many working days after it. Otherwise the day on which the "
                   "quote was accepted, at the prices of its own date, or that date where it was not.")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("out"), show_default=True,
              help="Folder for the workbooks.")
def workshop(book: Path, quotes: tuple[str, ...], day: datetime.datetime | None, out: Path) -> None:
    """Write a workshop workbook for each quote in BOOK: cut list, batch sheets, steps, calendar, shopping list.

    Where several quotes are chosen, one shopping list over all of them is written too.
    """
    from pricing.book.reading.read import read_price_book
    from pricing.costing.lines.order_lines import enquired
    from pricing.costing.run import cost_lines
    from pricing.costing.time.working_days import CalendarError
    from pricing.costing.workshop.order_day import begun_after_order
    from pricing.costing.workshop.work import shopping_for
    from pricing.reports.workshop.workbook import prepared

    read, problems = read_price_book(book)
    names = _named(read, quotes, problems) if read is not None else []
    if read is None or problems.errors:
        print_problems(problems.errors)
        leave(1)
        return
    costing = cost_lines(read, enquired(read, names, day.date() if day else None), problems)
    if problems.errors:
        print_problems(problems.errors)
        leave(1)
    with sentences(book, (CalendarError,)):
        works = [prepared(costing, name) for name in costing.quotes]
        ordered = _accepted(book, works) if day is None else {}
        works = [begun_after_order(work, ordered[work.quote]) if work.quote in ordered else work for work in works]
        shopping = shopping_for(works, problems) if len(works) > 1 else None
        for work in works[: 1 if shopping is None else 0]:
            for problem in work.problems:
                problems.add(problem.code, problem.message, sheet=problem.sheet, cell=problem.cell, warning=problem.warning)
        print_problems([problem for problem in problems if problem.code not in _OF_PRICES])
        written = _write(works, out)
        if shopping is not None:
            from pricing.reports.workshop.workbook import SHOPPING_FILE, write_shopping_list

            told = [problem.message for problem in problems if problem.code in _OF_SHOPPING]
            write_shopping_list(shopping, works[0].costing, out / SHOPPING_FILE, told)
            written.append(out / SHOPPING_FILE)
    _table(works)
    for path in written:
        click.echo(printable(f"written: {path}"))
    _begun(works, ordered)


def _accepted(book: Path, works: Sequence[Work]) -> dict[str, datetime.date]:
    """By quote the day on which it was accepted, as the register says; one before the date of the quote is left out."""
    from pricing.costing.workshop.order_day import day_of_quote
    from pricing.register.register import Register, RegisterError
    from pricing.text import fold

    try:
        with Register.open(book, to_read=True) as register:
            days = {fold(recorded.number): recorded.since for recorded in register.quotes(state="accepted")}
    except RegisterError as error:
        click.echo(printable(f"look at: {error}; the calendars count from the dates of the quotes"), err=True)
        return {}
    found = {work.quote: days[fold(work.quote)] for work in works if fold(work.quote) in days}
    return {work.quote: found[work.quote] for work in works if work.quote in found and found[work.quote] >= day_of_quote(work)}


def _begun(works: Sequence[Work], ordered: Mapping[str, datetime.date]) -> None:
    """Say which calendars count from the day of the order, and where one is over."""
    if ordered:
        count = "counts" if len(ordered) == 1 else "count"
        which = "the calendar counts" if len(works) == 1 else f"{len(ordered)} of {len(works)} calendars {count}"
        days = ", ".join(f"{quote} {day}" for quote, day in list(ordered.items())[:_MOST_NAMED])
        more = f" and {len(ordered) - _MOST_NAMED} more" if len(ordered) > _MOST_NAMED else ""
        told = f"{which} from the day on which the quote was accepted ({days}{more}), at the prices of its own date"
        click.echo(printable(told), err=True)
    for work in works:
        if work.quote in ordered:
            _late(work)
    over = [work for work in works if work.calendar.last < datetime.date.today()]
    if over:
        which = "the calendar lies" if len(works) == 1 else f"{len(over)} of {len(works)} calendars {'lies' if len(over) == 1 else 'lie'}"
        begin = "on another day, name it" if all(work.quote in ordered for work in over) else "at the order, name its day"
        click.echo(f"{which} in the past; to begin {begin} with --date", err=True)


def _late(work: Work) -> None:
    """Say which lines are ready too late where work begins at the order: their moulds are those of the quote's own date."""
    products = work.costing.products()
    for line, wanted in enumerate(work.wanted):
        ready = work.calendar.ready[line]
        if wanted is not None and ready > wanted:
            late = f'look at: quote {work.quote}, "{products[line]}": wanted by {wanted}, ready on {ready} from the day of the order on'
            remedy = "look at more moulds on the page Lead time, or agree on a later day"
            click.echo(printable(f"{late}; {remedy}"), err=True)


def _named(book: PriceBook, quotes: Sequence[str], problems: Problems) -> list[str]:
    """The quotes asked for, as the book spells them, or all of them; a problem for each that is not there."""
    from pricing.text import fold

    known = {fold(name): name for name in book.tables["Enquiries"].columns["quote"].tolist()}
    if not known:
        problems.add("no-enquiries", "there is no enquiry to make; write one into the Enquiries sheet", sheet="Enquiries")
    for quote in quotes:
        if known and fold(quote) not in known:
            listed = ", ".join(list(known.values())[:12])
            problems.add("unknown-quote", f'there is no quote "{quote}"; the quotes are {listed}', sheet="Enquiries")
    return [known[fold(quote)] for quote in quotes if fold(quote) in known] if quotes else list(known.values())


def _write(works: Sequence[Work], out: Path) -> list[Path]:
    from pricing.reports.workshop.workbook import workshop_file_name, write_work_of

    written = []
    for work in works:
        target = out / workshop_file_name(work.quote)
        write_work_of(work, target)
        written.append(target)
    return written


def _table(works: Sequence[Work]) -> None:
    """One line for each quote: when it is ready, and what it takes."""
    rows = []
    for work in works:
        hours = sum(step.total for step in work.steps) / 60
        loads = sum(load.count for sheet in work.batches for load in sheet.loads)
        pieces, sheets = work.costing.line("quantity").sum(), sum(work.cuts.sheets().values())
        rows.append([work.quote, f"{pieces:.0f}", f"{hours:.1f}", str(loads), str(sheets), str(work.calendar.last)])
    print_table(["quote", "pieces", "hours", "mixer loads", "sheets", "ready on"], rows)
