"""``pricing reprice``: what moved since the prices changed, by how much, and why."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pricing.cli.common import Day, leave, print_json, print_problems, print_table, printable
from pricing.cli.faults import sentences

if TYPE_CHECKING:
    from pricing.book.reading.read import PriceBook
    from pricing.problems import Problems
    from pricing.register.register import Register
    from pricing.repricing.changes import Repricing
    from pricing.repricing.reprice import IndexMove

REPRICING_FILE = "repricing.xlsx"

_DAY = Day()


@click.command()
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--date", "day", type=_DAY, metavar="YYYY-MM-DD", help="The day whose prices hold now; today where it is left out.")
@click.option("--since", type=_DAY, metavar="YYYY-MM-DD", help="Compare the list with its prices of this day.")
@click.option("--against", type=click.Path(path_type=Path), metavar="OLD.xlsx", help="Compare the list with an older price book.")
@click.option("--set", "changes", multiple=True, metavar="NAME=CHANGE", help='What if: "Cement=+12%", "Cement=9.80"; several allowed.')
@click.option(
    "--index", "index_file", type=click.Path(path_type=Path), metavar="FILE.csv", help="What if: prices move as this published index."
)
@click.option("--from", "start", metavar="YYYY-MM", help="With --index: from this month, or year.")
@click.option("--to", "end", metavar="YYYY-MM", help="With --index: to this month, or year.")
@click.option("--series", default="", metavar="NAME", help="With --index: the series of the file.")
@click.option("--materials", multiple=True, metavar="NAME", help="With --index: only this material, supplier or kind; several allowed.")
@click.option("--reissue", "again", is_flag=True, help="Issue new revisions of the lapsed quotes, or of those named with --quote.")
@click.option("--quote", "numbers", multiple=True, metavar="Q", help="With --reissue: this quote; several allowed.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), default=Path("out"), show_default=True,
    help="Folder for the workbooks.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of the tables.")
def reprice(
    book: Path, day: datetime.datetime | None, since: datetime.datetime | None, against: Path | None, changes: tuple[str, ...],
    index_file: Path | None, start: str | None, end: str | None, series: str, materials: tuple[str, ...], again: bool,
    numbers: tuple[str, ...], out: Path, as_json: bool,
) -> None:
    """Compare the list and the open quotes of BOOK with the prices they were made with, and write repricing.xlsx.

    Quotes that were accepted show what they now earn and are left as they are. Nothing in the price book is changed.
    """
    from pricing.book.price_index import PriceIndexError
    from pricing.book.reading.read import read_price_book
    from pricing.costing.comparison.what_if import WhatIfError
    from pricing.problems import BookError
    from pricing.register.register import Register, RegisterError
    from pricing.reports.repricing.workbook import write_repricing
    from pricing.repricing.reprice import reprice as compare

    on = day.date() if day else datetime.date.today()
    _check(since.date() if since else None, on, against, changes, index_file, start, end, again, numbers)
    read, problems = read_price_book(book)
    old = _older(against) if against is not None else None
    if read is None:
        _stop(problems, book, as_json)
        return
    with sentences(book, (PriceIndexError, WhatIfError, BookError, RegisterError)):
        move = _move(index_file, series, start, end, materials)
        with Register.open(book, to_read=not again) as register:
            found = compare(read, on, since=since.date() if since else None, against=old, changes=changes, index=move, register=register)
            write_repricing(found, out / REPRICING_FILE)
            written = {out / REPRICING_FILE: ""}
            if again:
                written |= _reissue(read, register, numbers, out, on, problems)
    if as_json:
        told = [problem.as_json() for problem in problems.errors]
        print_json({**found.as_json(), "written": [str(path) for path in written], "problems": told})
    else:
        _print(found)
        for path, ending in written.items():
            click.echo(printable(f"written: {path}{ending}"))
        if again and len(written) == 1 and not problems.errors:
            click.echo("no quote has lapsed; nothing was issued")
        print_problems(problems.errors)
    if problems.errors:
        leave(1)


def _check(
    since: datetime.date | None, day: datetime.date, against: object, changes: tuple[str, ...], index_file: Path | None,
    start: str | None, end: str | None, again: bool, numbers: tuple[str, ...],
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
    if numbers and not again:
        raise click.UsageError("--quote chooses what --reissue issues; give both")


def _older(path: Path) -> PriceBook:
    from pricing.book.reading.read import read_price_book

    old, problems = read_price_book(path)
    if old is None:
        print_problems(problems, warnings=False)
        leave(1)
    assert old is not None
    return old


def _stop(problems: Problems, book: Path, as_json: bool) -> None:
    if as_json:
        print_json({"file": book.name, "problems": [problem.as_json() for problem in problems]})
    else:
        print_problems(problems)
    leave(1)


def _move(index_file: Path | None, series: str, start: str | None, end: str | None, materials: tuple[str, ...]) -> IndexMove | None:
    from pricing.book.price_index import read_price_index
    from pricing.repricing.reprice import IndexMove

    if index_file is None or start is None or end is None:
        return None
    return IndexMove(read_price_index(index_file), series, start, end, materials)


def _reissue(
    book: PriceBook, register: Register, numbers: tuple[str, ...], out: Path, day: datetime.date, problems: Problems
) -> dict[Path, str]:
    """Issue quotes again: each workbook, and what is said of it. One that is refused is a problem, and the others are issued."""
    from pricing.register.register import RegisterError
    from pricing.reports.leaks.gate import LeakError
    from pricing.reports.quote.reissue import REFUSALS, reissue
    from pricing.text import fold

    quotes = register.quotes(day=day)
    chosen = [quote for quote in quotes if quote.state == "lapsed"]
    if numbers:
        known = {fold(quote.number): quote for quote in quotes}
        unknown = [number for number in numbers if fold(number) not in known]
        if unknown:
            held = ", ".join(quote.number for quote in quotes[-12:]) or "none"
            raise RegisterError("unknown-quote", f'there is no quote "{unknown[0]}" in the register; it holds {held}')
        chosen = [known[fold(number)] for number in numbers]
    written = {}
    for quote in chosen:
        try:
            issued, target = reissue(book, register, quote, out, day)
        except LeakError as error:
            problems.add("leak", str(error))
        except RegisterError as error:
            if error.code not in REFUSALS:
                raise
            problems.add(error.code, str(error))
        else:
            written[target] = f"  ({issued.quote.name}, valid until {issued.quote.valid_until})"
    return written


def _print(found: Repricing) -> None:
    from pricing import money

    digits = money.minor_units(found.currency)
    amount = f"{{:,.{digits}f}}".format
    click.echo(printable(f"Prices of {found.day} compared with {found.compared_with}."))
    _why(found, amount)
    _list_table(found, amount)
    _quote_table(found, amount)
    remarks = [quote for quote in (*found.quotes, *found.accepted) if quote.reason]
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
    """The quotes: what each earns at the net that was promised, and what it would earn were it issued again; one that was accepted
    is not issued again."""
    rows = []
    for quote in (*found.quotes, *found.accepted):
        cost, net, again = quote.cost, quote.net, quote.state != "accepted"
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
