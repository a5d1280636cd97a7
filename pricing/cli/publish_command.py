"""``pricing publish``: computed list prices into the price book, and a price list for customers."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pricing.cli.common import Day, leave, print_problems, print_table, printable
from pricing.cli.faults import sentences

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pricing.book.reading.read import PriceBook
    from pricing.costing.list_prices import ListPrice


@click.command()
@click.argument("book", type=click.Path(path_type=Path))
@click.option(
    "--date", "day", type=Day(), metavar="YYYY-MM-DD",
    help="The day whose prices hold; today where it is left out.",
)
@click.option("--product", "products", multiple=True, metavar="NAME", help="Only the list price of this product; several allowed.")
@click.option("--show", is_flag=True, help="Only show what would change; write nothing.")
@click.option("--list", "price_list", is_flag=True, help="Also write a price list for customers, with drawings.")
@click.option(
    "--breaks", default="1,5,10,25", show_default=True, metavar="N,N,…",
    help="With --list: the quantities, up to four, where prices hang on them.",
)
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), default=Path("out"), show_default=True,
    help="With --list: folder for it.",
)
def publish(
    book: Path, day: datetime.datetime | None, products: tuple[str, ...], show: bool, price_list: bool, breaks: str, out: Path
) -> None:
    """Work out the list price of every product in BOOK at its usual run, and write it into the List price column.

    Only those cells change; a backup of the old file is kept beside it. Close the price book in the spreadsheet program first.
    """
    from pricing.book.reading.read import read_price_book
    from pricing.cli.quote_command import quantities_of
    from pricing.costing.list_prices import cell_writes, list_prices, with_list_prices, written_over
    from pricing.problems import BookError
    from pricing.reports.leaks.gate import LeakError
    from pricing.xlsx.editing.write_cells import file_fingerprint, write_cells

    on = day.date() if day else datetime.date.today()
    quantities = quantities_of(breaks) or ()
    if len(quantities) > 4:
        raise click.BadParameter("a price list has room for four quantities", param_hint="--breaks")
    with sentences(book, (BookError, LeakError)):
        fingerprint = file_fingerprint(book) if book.is_file() else None
        read, problems = read_price_book(book)
        prices = list_prices(read, on, problems, products or None) if read is not None else []
        if problems.errors or read is None:
            print_problems(problems.errors)
            leave(1)
            return
        writes = cell_writes(prices)
        _show(read, prices)
        over = written_over(prices)
        if over:
            click.echo(printable(f"look at: {over}"), err=True)
        if show:
            return
        if writes:
            written = write_cells(book, writes, problems, fingerprint=fingerprint)
            if written is None:
                print_problems(problems.errors)
                leave(1)
            kept = written.name if written is not None else book.name
            prices_written = "1 list price" if len(writes) == 1 else f"{len(writes)} list prices"
            click.echo(printable(f"written: {prices_written} into {book}; the old file is kept as {kept}"))
        else:
            click.echo("every list price stands as it works out; nothing was written")
        if price_list:
            _price_list(with_list_prices(read, prices), on, out, quantities)


def _show(book: PriceBook, prices: Sequence[ListPrice]) -> None:
    from pricing import money

    currency = str(book.settings["currency"])
    amount = f"{{:,.{money.minor_units(currency)}f}}".format
    rows = [
        [each.product, f"{each.quantity:g}", amount(each.cost), "" if math.isnan(each.old) else amount(each.old), amount(each.new),
         f"{each.margin:.1%}", each.place if each.changes else ""]
        for each in prices
    ]
    print_table(["product", "usual run", f"cost {currency}", "list price", "works out at", "margin", "changes"], rows)


def _price_list(book: PriceBook, day: datetime.date, out: Path, quantities: Sequence[float]) -> None:
    from pricing.costing.list_prices import same_at_any_quantity
    from pricing.reports.lists.price_list import PRICE_LIST_FILE, write_price_list

    write_price_list(book, day, out / PRICE_LIST_FILE, quantities)
    click.echo(printable(f"written: {out / PRICE_LIST_FILE}"))
    if same_at_any_quantity(book):
        click.echo(
            "each list price holds at any quantity, so that the list has one price for each product; to sell by quantity, set "
            'List price holds to "at the usual run" on the sheet Workshop'
        )
