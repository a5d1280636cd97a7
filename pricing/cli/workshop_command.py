"""``pricing workshop``: everything that the workshop needs to make some quotes."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

import pricing
from pricing.cli import options
from pricing.cli.common import leave, print_problems, print_table, printable

if TYPE_CHECKING:
    from pricing.api import Effort, Work

#: What the maker looks at when pricing, not when making.
_OF_PRICES = frozenset({"low-margin", "low-quote-margin"})

#: More quotes than this are counted, not named.
_MOST_NAMED = 6


@click.command()
@options.book
@options.quotes("Only this quote, ordered or not.")
@options.day(
    "The day of the order, and of its prices: work begins so many working days after it.",
    "the day on which the quote was ordered, at the prices of its own date; that date where it was not",
)
@options.out()
@click.option("--today", "as_today", is_flag=True, help="Make what is ordered by the mixes, labour and moulds of BOOK as it is today.")
@options.register
def workshop(book: Path, quotes: tuple[str, ...], day: datetime.date | None, out: Path, as_today: bool) -> None:
    """Write a workshop workbook for what is ordered and not yet made: cut list, batch sheets, steps, calendar, shopping list.

    What is ordered is made as it was promised, whatever became of its lines, products, mixes, labour and moulds in BOOK; what has changed
    is named. A quote that is named is prepared whether it is ordered or not. Where there are several, one shopping list over all of them
    is written too.
    """
    done = pricing.workshop(book, quotes=quotes or None, day=day, out=out, as_today=as_today)
    if done.problems.errors:
        print_problems(done.problems.errors)
        leave(1)
    _table(done.efforts)
    for path in done.written:
        click.echo(printable(f"written: {path}"))
    if done.left_out:
        named = [f"{quote} ({why})" for quote, why in list(done.left_out.items())[:_MOST_NAMED]]
        more = f" and {len(done.left_out) - _MOST_NAMED} more" if len(done.left_out) > _MOST_NAMED else ""
        click.echo(printable(f"prepared is what is ordered and not yet made; left out: {', '.join(named)}{more}"))
    print_problems([problem for problem in done.problems if problem.code not in _OF_PRICES])
    _begun(done.works, done.ordered)


def _begun(works: Sequence[Work], ordered: Mapping[str, datetime.date]) -> None:
    """Say which calendars count from the day of the order, and where one is over."""
    if ordered:
        count = "counts" if len(ordered) == 1 else "count"
        which = "the calendar counts" if len(works) == 1 else f"{len(ordered)} of {len(works)} calendars {count}"
        days = ", ".join(f"{quote} {day}" for quote, day in list(ordered.items())[:_MOST_NAMED])
        more = f" and {len(ordered) - _MOST_NAMED} more" if len(ordered) > _MOST_NAMED else ""
        told = f"{which} from the day on which the quote was ordered ({days}{more}), at the prices of its own date"
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


def _table(efforts: Sequence[Effort]) -> None:
    """One line for each quote: when it is ready, and what it takes."""
    rows = [
        [each.quote, f"{each.pieces:.0f}", f"{each.hours:.1f}", str(each.mixer_loads), str(each.sheets), str(each.ready_on)]
        for each in efforts
    ]
    print_table(["quote", "pieces", "hours", "mixer loads", "sheets", "ready on"], rows)
