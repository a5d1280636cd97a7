"""``pricing quote``: price the enquiries and write the workbooks."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pricing.cli.common import Day, Progress, leave, print_json, print_problems, print_table, printable
from pricing.problems import Problems

if TYPE_CHECKING:
    from pricing.register.register import Issued


@click.command()
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--quote", "quotes", multiple=True, metavar="Q", help="Only this quote; may be given several times.")
@click.option(
    "--date", "day", type=Day(), metavar="YYYY-MM-DD",
    help="Price as of this day (otherwise each quote's own date).",
)
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), default=Path("out"), show_default=True,
    help="Folder for the workbooks.",
)
@click.option(
    "--breaks", is_flag=False, flag_value="1,5,10,25", default=None, metavar="N,N,…",
    help="Add a price table for these quantities (1,5,10,25 if none are named).",
)
@click.option("--draft", is_flag=True, help="Record the quotes as drafts: no promise yet, each takes the place of the last.")
@click.option(
    "--jobs", type=click.IntRange(1, 256), metavar="N",
    help="Processes that write the workbooks (all that the machine has, where there are many quotes).",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of the table.")
def quote(
    book: Path, quotes: tuple[str, ...], day: datetime.datetime | None, out: Path, breaks: str | None, draft: bool, jobs: int | None,
    as_json: bool,
) -> None:
    """Price every quote in BOOK and write a quote workbook for each customer and one margin summary for the maker.

    Every quote that is written is recorded in the register beside the price book (see: pricing register). More lines than a
    spreadsheet opens with ease stand in several margin summaries, numbered from the second on.
    """
    from pricing.api import price_quotes

    quantities = quantities_of(breaks)
    with Progress("writing quotes") as progress:
        result = price_quotes(
            book, quotes=quotes or None, day=day.date() if day else None, out=out, breaks=quantities,
            record="draft" if draft else "sent", jobs=jobs, done=progress.done,
        )
    if as_json:
        print_json(result.as_json(day.date() if day else None))
    if result.costing is None:
        if not as_json:
            print_problems(result.problems)
        leave(1)
    elif not as_json:
        print_problems(result.problems)
        _table(result.costing)
        for path in result.written:
            click.echo(printable(f"written: {path}"))
        _recorded(book, result.issued)
    if result.problems.errors:
        leave(1)


def _recorded(book: Path, issued: Sequence[Issued]) -> None:
    """One line on what the register has now; the revisions that are new after the first are named."""
    if issued:
        from pricing.register.database import register_path

        revised = [each.quote.name for each in issued if each.fresh and each.quote.revision > 1]
        new = f", {len(revised)} of them revised: {', '.join(revised)}" if revised else ""
        click.echo(printable(f"recorded: {len(issued)} {'quote' if len(issued) == 1 else 'quotes'} in {register_path(book)}{new}"))


def quantities_of(text: str | None) -> tuple[float, ...] | None:
    """The quantities that a text such as ``1,5,10`` names, each once and in order; None where there is no text."""
    if text is None:
        return None
    try:
        numbers = tuple(int(part) for part in text.split(","))
    except ValueError:
        numbers = (0,)
    if not all(0 < number <= 1_000_000 for number in numbers) or len(numbers) > 12:
        raise click.BadParameter(f"'{text}' is no list of quantities; write whole numbers such as 1,5,10,25", param_hint="--breaks")
    return tuple(float(number) for number in sorted(set(numbers)))


def _table(costing: object) -> None:
    from pricing import money
    from pricing.costing.method.costing import Costing

    assert isinstance(costing, Costing)
    digits = money.minor_units(costing.currency)
    text = costing.model.tables["quotes"].text
    columns = {name: costing.quote(name).tolist() for name in ("net", "tax", "payable", "quote_cost", "quote_margin")}
    rows = []
    for number, name in enumerate(text["quote"].tolist()):
        amounts = [f"{columns[column][number]:,.{digits}f}" for column in ("net", "tax", "payable", "quote_cost")]
        rows.append([name, text["customer"][number], str(len(costing.lines_of(name))), *amounts, f"{columns['quote_margin'][number]:.1%}"])
    print_table(["quote", "customer", "lines", f"net {costing.currency}", "tax", "payable", "cost", "margin"], rows, left=2)


__all__ = ["Problems", "quote"]
