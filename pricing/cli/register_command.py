"""``pricing register``: the quotes that were issued, and what became of them."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pricing.cli.common import Day, print_json, print_table, printable
from pricing.cli.faults import sentences

if TYPE_CHECKING:
    from pricing.register.recorded_quote import RecordedQuote
    from pricing.register.register import Register

#: The states of a quote; the same list as the register's, written here so that help needs no import.
STATES = ("draft", "sent", "accepted", "declined", "lapsed")


@click.command()
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--state", type=click.Choice(STATES), help="Only quotes in this state.")
@click.option("--customer", metavar="NAME", help="Only quotes of customers whose name holds this.")
@click.option("--all", "every", is_flag=True, help="Every revision, not only the one that stands.")
@click.option("--mark", "marks", multiple=True, metavar="Q=STATE", help="Note what became of a quote: Q-1041=accepted; several allowed.")
@click.option("--revision", type=click.IntRange(1), metavar="N", help="With --mark: of this revision (otherwise the one that stands).")
@click.option(
    "--date", "day", type=Day(), metavar="YYYY-MM-DD",
    help="The day of the list, or on which what is marked happened; today where it is left out.",
)
@click.option("--next", "prefix", is_flag=False, flag_value="Q-", metavar="PREFIX", help="Print a free number for the next quote.")
@click.option("--export", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.xlsx", help="Write the list as a workbook.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of the table.")
def register(
    book: Path, state: str | None, customer: str | None, every: bool, marks: tuple[str, ...], revision: int | None,
    day: datetime.datetime | None, prefix: str | None, export: Path | None, as_json: bool,
) -> None:
    """List the quotes that were issued from BOOK, and note what became of them."""
    from pricing.register.register import Register, RegisterError

    wanted = [_mark(text) for text in marks]
    if export is not None and export.suffix.casefold() != ".xlsx":
        raise click.BadParameter(f"'{printable(str(export))}' does not end in .xlsx", param_hint="--export")
    on = day.date() if day else datetime.date.today()
    with sentences(book, (RegisterError,)):
        if not book.exists():
            raise RegisterError("no-such-file", f"{book.name}: there is no such price book; look at its name and folder")
        with Register.open(book, to_read=not wanted and prefix is None) as opened:
            if prefix is not None:
                click.echo(printable(opened.next_number(prefix, _enquired(book))))
                return
            marked = [opened.mark(number, became, on, revision=revision) for number, became in wanted]
            quotes = opened.quotes(state=state, customer=customer, every_revision=every, day=on)
            _show(book, opened, quotes, marked, export, on, as_json)


def _mark(text: str) -> tuple[str, str]:
    number, sign, state = (part.strip() for part in text.rpartition("="))
    if not sign or not number or state.casefold() not in STATES[1:]:
        remedy = f"write a quote and what became of it, {', '.join(STATES[1:-1])} or {STATES[-1]}, such as Q-1041=accepted"
        raise click.BadParameter(f"'{printable(text)}' is not understood; {remedy}", param_hint="--mark")
    return number, state.casefold()


def _enquired(book: Path) -> list[str]:
    """The numbers in the Enquiries sheet: they are taken although they were not issued yet."""
    from pricing.book.reading.read import read_price_book

    read, _ = read_price_book(book)
    return read.tables["Enquiries"].columns["quote"].tolist() if read is not None else []


def _business(book: Path) -> str:
    """Whose register it is, for the foot of the page; the file's name where the price book cannot be read."""
    from pricing.book.reading.read import read_price_book

    read, _ = read_price_book(book)
    return str(read.settings["business_name"]) if read is not None else book.stem


def _show(
    book: Path, opened: Register, quotes: list[RecordedQuote], marked: list[RecordedQuote], export: Path | None, day: datetime.date,
    as_json: bool,
) -> None:
    if export is not None:
        from pricing.reports.lists.register import write_register

        write_register(quotes, export, business=_business(book), day=day)
    if as_json:
        print_json({"date": str(day), "quotes": [{**quote.as_json(), "history": _history(opened, quote)} for quote in quotes]})
        return
    for quote in marked:
        click.echo(printable(f"{quote.name}: {quote.state} since {quote.since}"))
    if not marked:
        _table(quotes)
    if export is not None:
        click.echo(printable(f"written: {export}"))


def _history(opened: Register, quote: RecordedQuote) -> list[dict[str, str]]:
    return [{"state": state, "date": str(day)} for state, day in opened.history(quote)]


def _table(quotes: list[RecordedQuote]) -> None:
    from pricing import money

    if not quotes:
        click.echo("no quote is on record; pricing quote issues and records them")
        return
    rows = []
    for quote in quotes:
        digits = money.minor_units(quote.currency)
        amounts = [f"{quote.totals[name]:,.{digits}f}" for name in ("net", "payable", "quote_cost")]
        rows.append([
            quote.name, quote.customer, quote.state, str(quote.since), str(quote.day), str(quote.valid_until), quote.currency, *amounts,
            f"{quote.totals['quote_margin']:.1%}",
        ])
    print_table(["quote", "customer", "state", "since", "date", "valid until", "", "net", "payable", "cost", "margin"], rows, left=3)
