"""``pricing quote``: price the enquiries and write the workbooks."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

import pricing
from pricing.cli import options
from pricing.cli.common import Progress, leave, print_json, print_problems, print_table, printable

if TYPE_CHECKING:
    from pricing.api import Costing, Priced


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
    "--draft", is_flag=True, help="Write and record drafts, which say so on every page: no promise yet, each takes the place of the last.",
)
@click.option("--pdf", is_flag=True, help="Also make a PDF of each quote, by LibreOffice where it is installed.")
@click.option(
    "--jobs", type=click.IntRange(1, 256), metavar="N",
    help="Processes that write the workbooks." + options.default("all that the machine has, where there are many quotes"),
)
@options.as_json()
def quote(
    book: Path, quotes: tuple[str, ...], day: datetime.date | None, out: Path, breaks: tuple[float, ...] | None, draft: bool,
    pdf: bool, jobs: int | None, as_json: bool,
) -> None:
    """Price every quote in BOOK and write a quote workbook for each customer and one margin summary for the maker.

    Every quote that is written is recorded in the register beside the price book (see: pricing register). More lines than a
    spreadsheet opens with ease stand in several margin summaries, numbered from the second on.
    """
    with Progress("writing quotes") as progress:
        result = pricing.quote(
            book, quotes=quotes or None, day=day, out=out, breaks=breaks, record="draft" if draft else "issued", jobs=jobs,
            done=progress.done, pdf=pdf,
        )
    if as_json:
        print_json(result.as_json(day))
    else:
        print_problems(result.problems)
        if result.costing is not None:
            _table(result.costing)
            for path in result.written:
                click.echo(printable(f"written: {path}"))
            _recorded(result)
    if result.problems.errors:
        leave(1)


def _recorded(result: Priced) -> None:
    """One line on what the register has now; the revisions that are new after the first are named."""
    if result.issued:
        revised = [each.quote.name for each in result.issued if each.fresh and each.quote.revision > 1]
        new = f", {len(revised)} of them revised: {', '.join(revised)}" if revised else ""
        quotes = "1 quote" if len(result.issued) == 1 else f"{len(result.issued)} quotes"
        click.echo(printable(f"recorded: {quotes} in {result.register}{new}"))


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
