"""``pricing register``: the quotes that were issued, and what became of them."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

import pricing
from pricing.cli import options
from pricing.cli.common import leave, print_columns, print_json, print_problems, print_table, printable
from pricing.cli.faults import sentences

if TYPE_CHECKING:
    from pricing.api import Account, Recorded, RecordedQuote, RegisterChecked

#: The states of a quote, and what some were called earlier; the same lists as the register's, written here so that help needs no import.
STATES = ("draft", "issued", "ordered", "refused", "lapsed", "made", "delivered", "settled")
EARLIER = {"sent": "issued", "accepted": "ordered", "declined": "refused"}


class State(click.Choice[str]):
    """The type of an option that takes a state; what it was called earlier is understood."""

    def __init__(self) -> None:
        super().__init__(STATES)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The state, by its word of today."""
        return super().convert(EARLIER.get(str(value).casefold(), value), param, ctx)


@click.command()
@options.book
@click.option("--state", type=State(), help="Only quotes in this state.")
@click.option("--customer", metavar="NAME", help="Only quotes of customers whose name holds this.")
@click.option("--all", "every", is_flag=True, help="Every revision, not only the one that stands.")
@click.option("--mark", "marks", multiple=True, metavar="Q=STATE", help="Note what became of a quote: Q-1041=ordered." + options.REPEATED)
@click.option(
    "--revision", type=options.Whole(1), metavar="N", help="With --mark: of this revision." + options.default("the one that stands")
)
@click.option(
    "--with", "lines", multiple=True, metavar="LINES",
    help="With --mark Q=ordered: which of the options and alternatives are ordered too: 4, or 4,5." + options.REPEATED)
@click.option("--late", is_flag=True, help="With --mark Q=ordered: although the quote had lapsed.")
@click.option(
    "--paid", "payments", multiple=True, metavar="Q=AMOUNT",
    help="Note a payment: Q-1041=723.30; with a minus one that is taken back." + options.REPEATED)
@click.option("--due", type=options.Whole(0, 3660), metavar="DAYS", help="What falls due and which quotes lapse within so many days.")
@options.day("The day of the list, or on which what is marked happened.")
@click.option("--next", "prefix", is_flag=False, flag_value="Q-", metavar="PREFIX", help="Print a free number for the next quote.")
@click.option("--export", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.xlsx", help="Write the list as a workbook.")
@click.option("--check", "whole", is_flag=True, help="Look through the whole register for records that are damaged; change nothing.")
@click.option("--tidy", is_flag=True, help="Name the rows of the sheet Enquiries that are no longer needed; change nothing.")
@options.as_json()
@options.register
def register(
    book: Path, state: str | None, customer: str | None, every: bool, marks: tuple[str, ...], revision: int | None,
    lines: tuple[str, ...], late: bool, payments: tuple[str, ...], due: int | None, day: datetime.date | None, prefix: str | None,
    export: Path | None, whole: bool, tidy: bool, as_json: bool,
) -> None:
    """List the quotes that were issued from BOOK, and note what became of them."""
    wanted, amounts = [_mark(text) for text in marks], [_payment(text) for text in payments]
    chosen = _lines(lines, wanted)
    if export is not None and export.suffix.casefold() != ".xlsx":
        raise click.BadParameter(f"'{printable(str(export))}' does not end in .xlsx", param_hint="--export")
    with sentences():
        if whole:
            _check(pricing.check_register(book), as_json)
            return
        if tidy:
            rows = pricing.no_longer_needed(book)
            for row in rows or ["every row of the sheet Enquiries is still needed"]:
                click.echo(printable(row))
            return
        if prefix is not None:
            click.echo(printable(pricing.next_number(book, prefix)))
            return
        told = pricing.Problems()
        marked = [
            pricing.mark(book, number, became, day=day, revision=revision, late=late, told=told, options=chosen)
            for number, became in wanted
        ]
        noted = []
        for number, amount in amounts:
            noted.append(pricing.paid(book, number, amount, day=day, told=told))
            if not as_json:
                _noted(noted[-1])
        found = pricing.recorded(
            book, state=state, customer=customer, every_revision=every, day=day, histories=as_json, stages=as_json or due is not None,
            brief=not as_json and due is None)
        if export is not None:
            pricing.export_register(book, export, found)
    if as_json:
        print_json(found.as_json())
        return
    print_problems(found.problems)
    for quote in marked:
        click.echo(printable(f"{quote.name}: {quote.stands} since {quote.since}"))
    print_problems(told)
    if due is not None:
        _due(found, due)
        return
    if not marked and not noted:
        _table(found, " and ".join([*(["in that state"] if state else []), *(["of that customer"] if customer else [])]))
    if export is not None:
        click.echo(printable(f"written: {export}"))


def _check(found: RegisterChecked, as_json: bool) -> None:
    """What a look through the whole of it found, and how much that was."""
    if as_json:
        print_json(found.as_json())
    else:
        print_problems(found.problems)
        counts = ", ".join(f"{count:,} {words}" for words, count in found.counts.items())
        damaged = f"; damaged: {len(found.problems):,}" if found.problems else "; nothing is damaged"
        click.echo(printable(f'looked through "{found.file}": {counts}{damaged}'))
    if found.problems:
        leave(1)


def _payment(text: str) -> tuple[str, float]:
    number, sign, typed = (part.strip() for part in text.rpartition("="))
    try:
        amount = float(typed)
    except ValueError:
        amount = 0.0
    if not sign or not number or not math.isfinite(amount) or not amount:
        remedy = "write a quote and an amount with a decimal point, such as Q-1041=723.30"
        raise click.BadParameter(f"'{printable(text)}' is not understood; {remedy}", param_hint="--paid")
    return number, amount


def _noted(account: Account) -> None:
    from pricing import money

    digits = money.minor_units(account.quote.currency)
    amounts = f"paid {account.total_paid:,.{digits}f}, open {account.open:,.{digits}f} {account.quote.currency}"
    click.echo(printable(f"{account.quote.name}: {amounts}"))


def _due(found: Recorded, days: int) -> None:
    """What falls due, what waits for a day that is not known yet, and which quotes lapse, within so many days."""
    within = f"within {days} {'day' if days == 1 else 'days'}"
    if rows := [_open_payment(*each) for each in found.due(days)]:
        print_table(["quote", "customer", "payment", "due", "", "open"], rows, left=4)
    else:
        click.echo(f"no payment falls due {within}")
    if waiting := [_open_payment(*each) for each in found.undated()]:
        click.echo("open, and dated as soon as the quote is marked made or delivered:")
        print_table(["quote", "customer", "payment", "", "open"], [[*row[:3], *row[4:]] for row in waiting], left=3)
    lapsing = [f"{quote.name} ({quote.valid_until})" for quote in found.lapsing(days)]
    click.echo(printable(f"lapsing {within}: {', '.join(lapsing)}" if lapsing else f"no quote lapses {within}"))


def _open_payment(quote: RecordedQuote, stage: Any) -> list[str]:
    from pricing import money

    amount = f"{stage.open:,.{money.minor_units(quote.currency)}f}"
    return [quote.name, quote.customer, stage.called, str(stage.due), quote.currency, amount]


def _mark(text: str) -> tuple[str, str]:
    number, sign, word = (part.strip() for part in text.rpartition("="))
    state = EARLIER.get(word.casefold(), word.casefold())
    if not sign or not number or state not in STATES[1:]:
        remedy = f"write a quote and what became of it, {', '.join(STATES[1:-1])} or {STATES[-1]}, such as Q-1041=ordered"
        raise click.BadParameter(f"'{printable(text)}' is not understood; {remedy}", param_hint="--mark")
    if state != word.casefold():
        click.echo(f'look at: "{word.casefold()}" is called "{state}" now; it is noted so', err=True)
    return number, state


def _lines(texts: Sequence[str], marks: Sequence[tuple[str, str]]) -> list[int] | None:
    """The lines that an order has besides; None where nothing is said of them."""
    if not texts:
        return None
    typed = [part.strip() for text in texts for part in text.split(",")]
    if not all(part.isascii() and part.isdigit() and 0 < int(part) < 1_000_000 for part in typed):
        remedy = "write the numbers of lines as the quote numbers them, such as 4 or 4,5"
        raise click.BadParameter(f"'{printable(', '.join(texts))}' is not understood; {remedy}", param_hint="--with")
    if [state for _, state in marks] != ["ordered"]:
        remedy = "write it with the one order that it belongs to, such as --mark Q-1041=ordered --with 4"
        raise click.BadParameter(f"options are ordered with one quote; {remedy}", param_hint="--with")
    return [int(part) for part in typed]


def _table(found: Recorded, chosen: str) -> None:
    """The list, or that it is empty.

    Parameters
    ----------
    chosen : which quotes were asked for, in words; empty where all were
    """
    from pricing import money

    quotes: Sequence[RecordedQuote] = found.quotes
    if not quotes:
        nothing = "no quote is on record; pricing quote issues and records them"
        click.echo(f"none of the quotes on record is {chosen}" if chosen else nothing)
        return
    forms = [f",.{digits}f" for digits in range(money.MOST_PLACES + 1)]
    written = [forms[money.minor_units(quote.currency)] for quote in quotes]
    totals = [quote.totals for quote in quotes]
    days = {day: str(day) for day in {day for quote in quotes for day in (quote.since, quote.day, quote.valid_until)}}

    def amounts(heading: str, name: str) -> list[str]:
        return [heading, *[format(each[name], form) for each, form in zip(totals, written, strict=True)]]

    columns = [
        ["quote", *[quote.name for quote in quotes]], ["customer", *[quote.customer for quote in quotes]],
        ["state", *[quote.stands for quote in quotes]], ["since", *[days[quote.since] for quote in quotes]],
        ["date", *[days[quote.day] for quote in quotes]], ["valid until", *[days[quote.valid_until] for quote in quotes]],
        ["", *[quote.currency for quote in quotes]], amounts("net", "net"), amounts("payable", "payable"), amounts("cost", "quote_cost"),
        ["margin", *[f"{each['quote_margin']:.1%}" for each in totals]],
    ]
    if accounts := found.accounts:
        columns.append(["open", *[
            format(accounts[quote.key].open, form) if quote.key in accounts else "" for form, quote in zip(written, quotes, strict=True)]])
    print_columns(columns, left=3)
