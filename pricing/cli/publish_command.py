"""``pricing publish``: computed list prices into the price book, and a price list for customers."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

import pricing
from pricing.cli import options
from pricing.cli.common import leave, print_problems, print_table, printable

if TYPE_CHECKING:
    from pricing.api import Published


@click.command()
@options.book
@options.day("The day whose prices hold.")
@click.option("--product", "products", multiple=True, metavar="NAME", help="Only the list price of this product." + options.REPEATED)
@click.option("--show", is_flag=True, help="Only show what would change; write nothing.")
@click.option("--list", "price_list", is_flag=True, help="Also write a price list for customers, with drawings.")
@click.option(
    "--breaks", type=options.quantities, default="1,5,10,25", show_default=True, metavar="N,N,…",
    help="With --list: the quantities, up to four, where prices hang on them.",
)
@options.out("With --list: folder for it.")
@options.pdf("the price list, with --list")
def publish(
    book: Path, day: datetime.date | None, products: tuple[str, ...], show: bool, price_list: bool, breaks: tuple[float, ...], out: Path,
    pdf: bool,
) -> None:
    """Work out the list price of every product in BOOK at its usual run, and write it into the List price column.

    Only those cells change; a backup of the old file is kept beside it. Close the price book in the spreadsheet program first.
    """
    if len(breaks) > 4:
        raise click.BadParameter("a price list has room for four quantities", param_hint="--breaks")
    if pdf and not price_list:
        raise click.UsageError("--pdf makes a PDF of the price list; add --list")
    done = pricing.publish(
        book, day=day, products=products or None, write=not show, price_list=price_list, breaks=breaks, out=out, pdf=pdf)
    if done.prices:
        _show(done)
    print_problems([problem for problem in done.problems if not problem.warning or problem.code in ("no-pdf", "dearer-each")])
    if not show and not (done.problems.errors and done.backup is None):
        _written(done, book)
    if done.problems.errors:
        leave(1)


def _show(done: Published) -> None:
    from pricing import money

    amount = f"{{:,.{money.minor_units(done.currency)}f}}".format
    rows = [
        [f"{each.product}{'' if each.per == 'piece' else f' (each {each.per})'}",
         f"{each.quantity:g}", amount(each.cost), "" if math.isnan(each.old) else amount(each.old), amount(each.new),
         f"{each.margin:.1%}", each.place if each.changes else ""]
        for each in done.prices
    ]
    print_table(["product", "usual run", f"cost {done.currency}", "list price", "works out at", "margin", "changes"], rows)
    if done.written_over:
        click.echo(printable(f"look at: {done.written_over}"), err=True)


def _written(done: Published, book: Path) -> None:
    if done.backup is not None:
        prices = "1 list price" if done.changed == 1 else f"{done.changed} list prices"
        click.echo(printable(f"written: {prices} into {book}; the old file is kept as {done.backup.name}"))
    else:
        click.echo("every list price stands as it works out; nothing was written")
    for path in done.written:
        click.echo(printable(f"written: {path}"))
    if done.written and done.same_at_any_quantity:
        click.echo(
            "each list price holds at any quantity, so that the list has one price for each product; to sell by quantity, set "
            'List price holds to "at the usual run" on the sheet Workshop'
        )
