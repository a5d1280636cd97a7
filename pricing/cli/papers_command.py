"""``pricing papers``: what goes to the customer of an order besides the quote."""

from __future__ import annotations

import datetime
from pathlib import Path

import click

import pricing
from pricing.cli import options
from pricing.cli.common import leave, print_problems, printable

#: The papers there are.
KINDS = ("confirmation", "request", "delivery", "statement")


@click.command()
@options.book
@click.option("--quote", "quote", required=True, metavar="Q", help="Number of the quote, which is ordered.")
@click.option(
    "--paper", "kinds", multiple=True, type=click.Choice(KINDS),
    help="Only this paper." + options.REPEATED + options.default("all that the order has"),
)
@options.day("The day of the papers.")
@options.out("Folder for the papers.")
@options.pdf("each paper")
@options.register
def papers(book: Path, quote: str, kinds: tuple[str, ...], day: datetime.date | None, out: Path, pdf: bool) -> None:
    """Write the papers to an order of BOOK: confirmation, request for the next payment, delivery note, statement.

    They are written from what was recorded when the quote was issued, and from the payments noted with pricing register --paid. No cost
    stands in them. The legal tax invoice is the bookkeeper's.
    """
    done = pricing.papers(book, quote, kinds=kinds or None, day=day, out=out, pdf=pdf)
    for path in done.written:
        click.echo(printable(f"written: {path}"))
    print_problems(done.problems)
    if done.problems.errors:
        leave(1)
