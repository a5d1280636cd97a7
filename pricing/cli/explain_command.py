"""``pricing explain``: why a price, or any other figure, is what it is."""

from __future__ import annotations

import datetime
import re
import shutil
from pathlib import Path
from typing import Any

import click

import pricing
from pricing.cli import options
from pricing.cli.common import print_json, printable
from pricing.cli.faults import sentences

#: Rows of a screen that says nothing of itself, and the fewest that a tree gets.
ROWS, LEAST = 40, 16


def _line_number(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
    """The number of a line, or of a part of a set, as it was typed."""
    if value is not None and not re.fullmatch(r"-?[0-9]{1,9}(\.[0-9]{1,9})?", value):
        raise click.BadParameter(f"{value!r} is no number of a line; type one such as 2, or 2.3 for a part of a set", ctx, param)
    return value


@click.command()
@options.book
@click.option("--quote", "quote", required=True, metavar="Q", help="Number of the quote.")
@click.option("--line", callback=_line_number, metavar="N",
              help="Line of the quote, counted from 1; 2.3 for the third part of the set in line 2." + options.default("the first"))
@click.option("--figure", default="unit_price", show_default=True, metavar="F",
              help="A figure of the line or of the quote: unit_cost, concrete, labour, margin, net, payable, …")
@options.day("The day whose prices hold.", "the quote's own date; an ordered quote stands as it was promised")
@click.option("--depth", type=options.Whole(0), metavar="N",
              help="Levels below the figure; 99 for all." + options.default("what a screen holds"))
@options.as_json("instead of the tree")
def explain(book: Path, quote: str, line: str | None, figure: str, day: datetime.date | None, depth: int | None, as_json: bool) -> None:
    """Print the tree from a figure of a quote in BOOK down to the cells of the price book.

    Each figure stands with its value, its unit and its cell; below it how it is made, in words and with the figures.
    """
    with sentences(book.name):
        costing, name = pricing.costing_of_quote(book, quote, day)
        trace = pricing.explain(costing, name, line, figure)
        given = trace.name == "unit_price" and not any(text.lstrip().startswith("Unit cost") for text in pricing.explanation(trace))
        otherwise = pricing.explain(costing, name, line or "1", "rounded_price") if given else None
        priced = trace.table == "lines" and trace.name in ("unit_price", "unit_cost")
        dearer = pricing.cheaper_with_fewer(costing, name, line) if priced else ""
    if as_json:
        more: dict[str, Any] = {} if otherwise is None else {"otherwise": otherwise.as_json(depth)}
        more |= {"dearer_than_fewer": dearer} if dearer else {}
        print_json({"quote": name, "line": 1 if line is None else int(line) if line.isdigit() else line, **trace.as_json(depth), **more})
        return
    columns, rows = shutil.get_terminal_size((100, ROWS))
    for text in pricing.explanation(trace, depth, columns, rows=max(rows - 3, LEAST)):
        click.echo(printable(text))
    if dearer:
        click.echo(printable(f"Each piece is {dearer}."))
    if otherwise is not None and depth != 0:
        stands = "as it was promised" if any("(as it was promised)" in text for text in pricing.explanation(trace)) else "in the price book"
        click.echo(f"This price stands {stands}. What the piece costs, and what the price would be without it:")
        for text in pricing.explanation(otherwise, depth, columns, rows=max(rows - 6, LEAST)):
            click.echo(printable(text))
