"""``pricing reprice``: what moved since the prices changed, by how much, and why."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

import pricing
from pricing.cli import options
from pricing.cli.common import leave, print_json, print_problems, print_table, printable

if TYPE_CHECKING:
    from pricing.api import Repriced, Repricing


@click.command()
@options.book
@options.day("The day whose prices hold now.")
@click.option("--since", type=options.Day(), metavar="YYYY-MM-DD", help="Compare the list with its prices of this day."
              + options.default("the day before the prices last changed"))
@click.option("--against", type=click.Path(path_type=Path), metavar="OLD.xlsx", help="Compare the list with an older price book.")
@click.option("--set", "changes", multiple=True, metavar="NAME=CHANGE",
              help='What if: "Cement=+12%", "Cement=9.80".' + options.REPEATED)
@click.option(
    "--index", "index_file", type=click.Path(path_type=Path), metavar="FILE.csv", help="What if: prices move as this published index."
)
@click.option("--from", "start", metavar="YYYY-MM", help="With --index: from this month, or year.")
@click.option("--to", "end", metavar="YYYY-MM", help="With --index: to this month, or year.")
@click.option("--series", default="", metavar="NAME", help="With --index: the series of the file." + options.default("its only one"))
@click.option("--materials", multiple=True, metavar="NAME", help="With --index: only this material, supplier or kind."
              + options.REPEATED)
@click.option("--reissue", "again", is_flag=True, help="Issue new revisions of the lapsed quotes, or of those named with --quote.")
@options.quotes("With --reissue: this quote.")
@options.out()
@options.pdf("each quote that is issued, with --reissue")
@options.as_json("instead of the tables")
@options.register
def reprice(
    book: Path, day: datetime.date | None, since: datetime.date | None, against: Path | None, changes: tuple[str, ...],
    index_file: Path | None, start: str | None, end: str | None, series: str, materials: tuple[str, ...], again: bool,
    quotes: tuple[str, ...], out: Path, pdf: bool, as_json: bool,
) -> None:
    """Compare the list and the open quotes of BOOK with the prices they were made with, and write repricing.xlsx.

    Quotes that are ordered show what they now earn and are left as they are. Nothing in the price book is changed.
    """
    if pdf and not again:
        raise click.UsageError("--pdf makes a PDF of each quote that is issued; add --reissue")
    _check(since, day or datetime.date.today(), against, changes, index_file, start, end, again, quotes)
    index = pricing.PublishedIndex(index_file, start, end, series, materials) if index_file and start and end else None
    done = pricing.reprice(
        book, day=day, since=since, against=against, changes=changes, index=index, out=out, reissue=again and (quotes or True),
        pdf=pdf,
    )
    if done.repricing is None:
        _stop(done, book, as_json)
        return
    errors = done.problems.errors
    if as_json:
        print_json(done.as_json())
    else:
        _print(done.repricing)
        for path in done.written:
            quote = done.issued.get(path)
            ending = f"  ({quote.name}, valid until {quote.valid_until})" if quote is not None else ""
            click.echo(printable(f"written: {path}{ending}"))
        if again and not done.issued and not errors:
            click.echo("no quote has lapsed; nothing was issued")
        print_problems(done.to_be_told)
    if errors:
        leave(1)


def _check(
    since: datetime.date | None, day: datetime.date, against: object, changes: tuple[str, ...], index_file: Path | None,
    start: str | None, end: str | None, again: bool, quotes: tuple[str, ...],
) -> None:
    if since and against:
        raise click.UsageError("--since and --against are two ways to the same comparison; give one of them")
    if since and since > day:
        remedy = "name an earlier one with --since, or a later one with --date"
        raise click.UsageError(f"{since}, with which the list is compared, comes after {day}, the day whose prices hold; {remedy}")
    if (index_file is None) != (start is None) or (start is None) != (end is None):
        raise click.UsageError("--index, --from and --to belong together: --index index.csv --from 2024-01 --to 2025-01")
    if again and (changes or index_file):
        remedy = "write the new prices into the price book, then use --reissue alone"
        raise click.UsageError(f"quotes are not issued at supposed prices; {remedy}")
    if quotes and not again:
        raise click.UsageError("--quote chooses what --reissue issues; give both")


def _stop(done: Repriced, book: Path, as_json: bool) -> None:
    """Say why nothing was compared; all that was found in a price book that cannot be read."""
    if as_json and done.book is None:
        print_json({"file": book.name, "problems": [problem.as_json() for problem in done.problems]})
    else:
        print_problems(done.problems if done.book is None else done.problems.errors)
    leave(1)


def _print(found: Repricing) -> None:
    from pricing import money

    digits = money.minor_units(found.currency)
    amount = f"{{:,.{digits}f}}".format
    click.echo(printable(f"Prices of {found.day} compared with {found.compared_with}."))
    _why(found, amount)
    _list_table(found, amount)
    _quote_table(found, amount)
    remarks = [quote for quote in (*found.quotes, *found.ordered) if quote.reason]
    for quote in remarks:
        click.echo(printable(f"quote {quote.name}: {quote.reason}"), err=True)


def _why(found: Repricing, amount: Callable[[float], str]) -> None:
    """One sentence on the cost of the whole list, and what moved it most."""
    before = sum(each.quantity * each.cost.old for each in found.products)
    change = sum(each.quantity * each.cost.change for each in found.products)
    effects: dict[str, float] = {}
    for each in found.products:
        for (_, cause), part in each.cost.parts.items():
            effects[cause] = effects.get(cause, 0.0) + each.quantity * part
    most = sorted(effects.items(), key=lambda item: -abs(item[1]))
    if most and before:
        shown = [f"{cause} {'+' if part > 0 else ''}{amount(part)}" for cause, part in most[:5]]
        rest = f" and {len(most) - 5} more" if len(most) > 5 else ""
        moved = f"{amount(abs(change))} {'more' if change >= 0 else 'less'} ({change / before:+.1%})"
        click.echo(printable(f"At their usual runs all list products cost {found.currency} {moved}: {', '.join(shown)}{rest}."))


def _list_table(found: Repricing, amount: Callable[[float], str]) -> None:
    """The list products that moved, one piece of each at its usual run."""
    rows = []
    for each in found.products:
        cost, price = each.cost, each.price
        if cost.change or price.change:
            before, now = _margin(price.old, cost.old), _margin(price.new, cost.new)
            amounts = [amount(cost.old), amount(cost.new), amount(price.old), amount(price.new)]
            rows.append([each.product, *amounts, f"{before:.1%}", f"{now:.1%}", _low(now, found)])
    if rows:
        print_table(["list product", f"cost {found.currency}", "now", f"price {found.currency}", "now", "margin", "now", ""], rows)
    else:
        click.echo("no list product moved")


def _quote_table(found: Repricing, amount: Callable[[float], str]) -> None:
    """The quotes: what each earns at the net that was promised, and what it would earn were it issued again; one that is ordered
    is not issued again."""
    rows = []
    for quote in (*found.quotes, *found.ordered):
        cost, net, again = quote.cost, quote.net, quote.state != "ordered"
        made, promised, reissued = _margin(net.old, cost.old), _margin(net.old, cost.new), _margin(net.new, cost.new)
        amounts = [amount(cost.old), amount(cost.new), amount(net.old), amount(net.new) if again else ""]
        margins = [f"{made:.1%}", f"{promised:.1%}", f"{reissued:.1%}" if again else ""]
        rows.append([quote.name, quote.state, *amounts, *margins, _low(promised, found)])
    if rows:
        headings = ["quote", "", f"cost {found.currency}", "now", f"net {found.currency}", "if reissued"]
        print_table([*headings, "margin as made", "now as promised", "now if reissued", ""], rows, left=2)


def _margin(net: float, paid: float) -> float:
    return (net - paid) / net if net > 0 else 0.0


def _low(margin: float, found: Repricing) -> str:
    return "below lowest" if round(margin - found.lowest_margin, 9) < 0 else ""
