"""``pricing workshop``: everything that the workshop needs to make some quotes."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pricing.cli.common import Day, leave, print_problems, print_table, printable
from pricing.cli.sentences import sentences

if TYPE_CHECKING:
    from pricing.book.price_book import PriceBook
    from pricing.costing.workshop import Work
    from pricing.problems import Problems

#: What the maker looks at when pricing, not when making.
_OF_PRICES = frozenset({"low-margin", "low-quote-margin"})

#: What is left out of a shopping list, which the list says too.
_OF_SHOPPING = frozenset({"other-pack", "cannot-buy"})


@click.command()
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--quote", "quotes", multiple=True, metavar="Q", help="Only this quote; may be given several times.")
@click.option("--date", "day", type=Day(), metavar="YYYY-MM-DD",
              help="The day of the order: work begins so many working days after it (otherwise each quote's own date).")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("out"), show_default=True,
              help="Folder for the workbooks.")
def workshop(book: Path, quotes: tuple[str, ...], day: datetime.datetime | None, out: Path) -> None:
    """Write a workshop workbook for each quote in BOOK: cut list, batch sheets, steps, calendar, shopping list.

    Where several quotes are chosen, one shopping list over all of them is written too.
    """
    from pricing.book.price_book import read_price_book
    from pricing.costing.calendar import CalendarError
    from pricing.costing.costing import Costing
    from pricing.costing.lines import enquired
    from pricing.costing.workshop import shopping_for
    from pricing.sheets.workshop import prepared

    read, problems = read_price_book(book)
    names = _named(read, quotes, problems) if read is not None else []
    if read is None or problems.errors:
        print_problems(problems.errors)
        leave(1)
        return
    costing = Costing(read, enquired(read, names, day.date() if day else None), problems)
    if problems.errors:
        print_problems(problems.errors)
        leave(1)
    with sentences(book, (CalendarError,)):
        works = [prepared(costing, name) for name in costing.quotes]
        shopping = shopping_for(works, problems) if len(works) > 1 else None
        for work in works[: 1 if shopping is None else 0]:
            for problem in work.problems:
                problems.add(problem.code, problem.message, sheet=problem.sheet, cell=problem.cell, warning=problem.warning)
        print_problems([problem for problem in problems if problem.code not in _OF_PRICES])
        written = _write(works, out)
        if shopping is not None:
            from pricing.sheets.workshop import SHOPPING_FILE, write_shopping_list

            told = [problem.message for problem in problems if problem.code in _OF_SHOPPING]
            write_shopping_list(shopping, works[0].costing, out / SHOPPING_FILE, told)
            written.append(out / SHOPPING_FILE)
    _table(works)
    for path in written:
        click.echo(printable(f"written: {path}"))
    past = sum(work.calendar.last < datetime.date.today() for work in works)
    if past:
        which = "the calendar lies" if len(works) == 1 else f"{past} of {len(works)} calendars {'lies' if past == 1 else 'lie'}"
        click.echo(f"{which} in the past; to begin at the order, name its day with --date", err=True)


def _named(book: PriceBook, quotes: Sequence[str], problems: Problems) -> list[str]:
    """The quotes asked for, as the book spells them, or all of them; a problem for each that is not there."""
    from pricing.book.values import fold

    known = {fold(name): name for name in book.tables["Enquiries"].columns["quote"].tolist()}
    if not known:
        problems.add("no-enquiries", "there is no enquiry to make; write one into the Enquiries sheet", sheet="Enquiries")
    for quote in quotes:
        if known and fold(quote) not in known:
            listed = ", ".join(list(known.values())[:12])
            problems.add("unknown-quote", f'there is no quote "{quote}"; the quotes are {listed}', sheet="Enquiries")
    return [known[fold(quote)] for quote in quotes if fold(quote) in known] if quotes else list(known.values())


def _write(works: Sequence[Work], out: Path) -> list[Path]:
    from pricing.sheets.workshop import workshop_file_name, write_work_of

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
