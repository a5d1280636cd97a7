"""``pricing review``: what finished jobs took, better standards, and what the ordered quotes take of the week."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

import pricing
from pricing.cli import options
from pricing.cli.common import leave, print_json, print_problems, print_table, printable

if TYPE_CHECKING:
    from pricing.api import Reviewed


@click.command()
@options.book
@options.quotes("Only this quote, as finished where Actuals has it, as ordered otherwise.")
@click.option("--accept", multiple=True, metavar="CELL|NAME",
              help='Write a better standard into the price book: "Labour!D7", or its name.' + options.REPEATED)
@options.out("Folder for the workbook.")
@options.as_json("instead of the tables")
@options.register
def review(book: Path, quotes: tuple[str, ...], accept: tuple[str, ...], out: Path, as_json: bool) -> None:
    """Hold the finished jobs of BOOK (its sheet Actuals) against what they were allowed, and write review.xlsx.

    It says what the standards of the price book should become, and what the ordered quotes take of hands, moulds and
    machines. Nothing in the price book is changed but what --accept names; the file as it was is kept beside it.
    """
    found = pricing.review(book, quotes=quotes or None, accept=accept, out=out)
    if as_json:
        print_json(found.as_json())
    else:
        print_problems(found.problems)
        _jobs(found)
        _standards(found)
        _capacity(found)
        for path in found.written:
            click.echo(printable(f"written: {path}"))
        _accepted(found)
    if found.problems.errors:
        leave(1)


def _jobs(found: Reviewed) -> None:
    from pricing import money

    if found.review is None or not found.review.jobs:
        return
    digits = money.minor_units(found.review.currency)
    names = ("net", "quote_cost", "cost_earned", "job_variance", "margin_quoted", "margin_earned")
    figures = {name: found.review.job(name) for name in names}
    rows = [
        [job.quote, job.promise.customer, *(f"{figures[name][row]:,.{digits}f}" for name in names[:3]),
         f"{figures['job_variance'][row]:+,.{digits}f}", *(f"{figures[name][row]:.1%}" for name in names[4:])]
        for row, job in enumerate(found.review.jobs)
    ]
    print_table(("job", "customer", "net", "cost allowed", "cost in fact", "over (+)", "margin quoted", "earned"), rows, left=2)


def _standards(found: Reviewed) -> None:
    if not found.proposals:
        return
    click.echo()
    rows = []
    for each in found.proposals:
        figures = (each.today, each.seen, each.value, each.low, each.high)
        shown = [f"{figure:.1%}" if each.unit == "%" else f"{float(f'{figure:.3g}'):,.10g}" for figure in figures]
        jobs = [str(each.jobs_in_it), str(len(each.jobs))]
        new = ["", "", "nothing new", ""] if each.nothing_new else [shown[1], str(each.count), shown[2], f"{shown[3]} to {shown[4]}"]
        rows.append([each.place, each.name, shown[0], *jobs, *new])
    print_table(("better standard", "", "today", "jobs in it", "new jobs", "seen", "times", "proposed", "range"), rows, left=2)


def _capacity(found: Reviewed) -> None:
    if found.capacity is None:
        return
    click.echo()
    weeks = found.capacity.values.value("resources", "resource_weeks").tolist()
    wanted = found.capacity.values.value("resources", "resource_wanted").tolist()
    rows = [[name, f"{hours:,.1f}", f"{long:.1f}"] for name, hours, long in zip(found.capacity.resources(), wanted, weeks, strict=True)]
    print_table((f"taken by {len(found.capacity.orders)} ordered", "hours", "weeks"), rows)


def _accepted(found: Reviewed) -> None:
    if found.accepted is None:
        return
    assert found.book is not None
    for each in found.accepted.proposals:
        value = f"{each.written:.1%}" if each.unit == "%" else f"{each.written:g}"
        click.echo(printable(f"accepted: {each.place} {each.name} is now {value}"))
    if found.accepted.backup is not None:
        click.echo(printable(f"written: {found.book.file} (the file as it was: {found.accepted.backup.name})"))
