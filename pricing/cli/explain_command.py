"""``pricing explain``: why a price, or any other figure, is what it is."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import click

import pricing
from pricing.cli import options
from pricing.cli.common import print_json, printable
from pricing.cli.faults import sentences


@click.command()
@options.book
@click.option("--quote", "quote", required=True, metavar="Q", help="Number of the quote.")
@click.option("--line", type=int, metavar="N", help="Line of the quote, counted from 1." + options.default("the first"))
@click.option("--figure", default="unit_price", show_default=True, metavar="F",
              help="A figure of the line or of the quote: unit_cost, concrete, labour, margin, net, payable, …")
@options.day("The day whose prices hold.", "the quote's own date; an ordered quote stands as it was promised")
@click.option("--depth", type=click.IntRange(0), metavar="N", help="Levels below the figure." + options.default("all"))
@options.as_json("instead of the tree")
def explain(book: Path, quote: str, line: int | None, figure: str, day: datetime.date | None, depth: int | None, as_json: bool) -> None:
    """Print the tree from a figure of a quote in BOOK down to the cells of the price book.

    Each figure stands with its value, its unit and its cell; below it how it is made, in words and with the figures.
    """
    with sentences(book.name):
        costing, name = pricing.costing_of_quote(book, quote, day)
        trace = pricing.explain(costing, name, line, figure)
    if as_json:
        print_json({"quote": name, "line": line or 1, **trace.as_json(depth)})
        return
    texts = pricing.explanation(trace, depth, shutil.get_terminal_size((100, 24)).columns)
    for text in texts:
        click.echo(printable(text))
    if len(texts) == 1 and trace.name == "unit_price" and depth != 0:
        click.echo("This price stands in the price book. What the piece costs: --figure unit_cost. "
                   "What the price would be: --figure rounded_price.")
