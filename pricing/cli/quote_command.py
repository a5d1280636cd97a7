"""``pricing quote``: price the enquiries and write the workbooks."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

import pricing
from pricing.cli import options
from pricing.cli.common import Progress, leave, print_json, print_problems, print_table, printable

if TYPE_CHECKING:
    from pricing.api import Costing, Priced

#: So many quotes are named in one line.
_MOST_NAMED = 8


@click.command()
@options.book
@options.quotes()
@options.day("The day whose prices hold.", "each quote's own date")
@options.out()
@click.option(
    "--breaks", type=options.quantities, is_flag=False, flag_value="1,5,10,25", default=None, metavar="N,N,…",
    help="Add a price table for these quantities (1,5,10,25 if none are named).",
)
@click.option(
    "--draft", is_flag=True, help="Write drafts only, which say so on every page: no promise yet, each takes the place of the last.",
)
@click.option(
    "--revise", "revise", multiple=True, metavar="Q",
    help="Promise this quote anew, as its next revision; no other but those named." + options.REPEATED,
)
@options.pdf("each quote")
@click.option(
    "--jobs", type=options.Whole(1, 256), metavar="N",
    help="Processes that write the workbooks." + options.default("all that the machine has, where there are many quotes"),
)
@options.as_json()
@options.register
def quote(
    book: Path, quotes: tuple[str, ...], day: datetime.date | None, out: Path, breaks: tuple[float, ...] | None, draft: bool,
    revise: tuple[str, ...], pdf: bool, jobs: int | None, as_json: bool,
) -> None:
    """Price the quotes in BOOK and write a workbook for each customer, and one margin summary for the maker.

    What is written is recorded in the register beside the price book (see: pricing register), and is a promise from then on: it is never
    written over. A quote that comes out as it was promised is left alone; one that comes out differently is written as a draft, and it is
    said what was promised, what it would be now, and why. Quotes that are ordered, refused or lapsed are left as they are.

    A quote that is named has a margin workbook of its own, and the margin summary stays as it is.
    """
    if draft and revise:
        raise click.UsageError("--draft promises nothing and --revise promises anew; give one of them")
    with Progress("writing quotes") as progress:
        result = pricing.quote(
            book, quotes=quotes or None, day=day, out=out, breaks=breaks, record="draft" if draft else "issued", revise=revise,
            jobs=jobs, done=progress.done, pdf=pdf,
        )
    if as_json:
        print_json(result.as_json(day))
    else:
        if result.costing is not None:
            for path in result.written:
                click.echo(printable(f"written: {path}"))
            _recorded(result)
            _table(result.costing)
        print_problems(result.problems)
    if result.problems.errors:
        leave(1)


def _recorded(result: Priced) -> None:
    """One line on what the register has now, one on what stands as it was promised, and one on what is left."""
    issued = [each.quote.name for each in result.issued if each.quote.marked != "draft" and each.fresh]
    drafts = [each.quote.number for each in result.issued if each.quote.marked == "draft"]
    for words, names in (("issued", issued), ("drafts", drafts)):
        if names:
            count = f"{len(names)} {'quote' if words == 'issued' else 'draft'}{'s' if len(names) > 1 else ''}"
            click.echo(printable(f"recorded: {count} in {result.register}: {_named(names)}"))
    if result.stands:
        click.echo(printable(f"as promised, and left alone: {_named([each.name for each in result.stands])}"))
    if result.left:
        click.echo(printable(f"left as they are: {_named([f'{each.name} ({each.state})' for each in result.left])}"))


def _named(names: Sequence[str]) -> str:
    """Some names, the first ones where there are many."""
    return ", ".join(names[:_MOST_NAMED]) + (f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else "")


def _table(costing: Costing) -> None:
    from pricing import money

    digits = money.minor_units(costing.currency)
    columns = {name: costing.quote(name).tolist() for name in ("net", "tax", "payable", "quote_cost", "quote_margin")}
    rows = []
    for number, name in enumerate(costing.quotes):
        lines = costing.lines_of(name)
        amounts = [f"{columns[column][number]:,.{digits}f}" for column in ("net", "tax", "payable", "quote_cost")]
        rows.append([name, costing.lines.customer[lines[0]], str(len(lines)), *amounts, f"{columns['quote_margin'][number]:.1%}"])
    print_table(["quote", "customer", "lines", f"net {costing.currency}", "tax", "payable", "cost", "margin"], rows, left=2)
