"""``pricing explain``: why a price, or any other figure, is what it is."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import click

from pricing.cli.common import Day, leave, print_json, print_problems, printable


@click.command()
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--quote", "quote", required=True, metavar="Q", help="Number of the quote.")
@click.option("--line", type=int, metavar="N", help="Line of the quote, counted from 1 (the first, unless given).")
@click.option("--figure", default="unit_price", show_default=True, metavar="F",
              help="A figure of the line or of the quote: unit_cost, concrete, labour, margin, net, payable, …")
@click.option("--date", "day", type=Day(), metavar="YYYY-MM-DD",
              help="Price as of this day (otherwise the quote's own date).")
@click.option("--depth", type=click.IntRange(0), metavar="N", help="Levels below the figure (all, unless given).")
@click.option("--json", "as_json", is_flag=True, help="Print the tree as one JSON object for programs.")
def explain(book: Path, quote: str, line: int | None, figure: str, day: datetime.datetime | None, depth: int | None, as_json: bool) -> None:
    """Print the tree from a figure of a quote in BOOK down to the cells of the price book.

    Each figure stands with its value, its unit and its cell; below it how it is made, in words and with the figures.
    """
    from pricing.book.reading.read import read_price_book
    from pricing.costing.explain.explain import explain as tree_of
    from pricing.costing.explain.figure_names import ExplainError, known_quote
    from pricing.costing.explain.text import as_text
    from pricing.costing.lines.order_lines import enquired
    from pricing.costing.run import cost_lines

    read, problems = read_price_book(book)
    try:
        if read is not None:
            name = known_quote(quote, read.tables["Enquiries"].columns["quote"].tolist())
            costing = cost_lines(read, enquired(read, [name], day.date() if day else None), problems)
        if problems.errors:
            print_problems(problems.errors)
            leave(1)
        trace = tree_of(costing, name, line, figure)
    except ExplainError as error:
        click.echo(printable(f"{book.name}  {error}"), err=True)
        leave(1)
    if as_json:
        print_json({"quote": name, "line": line or 1, **trace.as_json(depth)})
        return
    texts = as_text(trace, depth, shutil.get_terminal_size((100, 24)).columns)
    for text in texts:
        click.echo(printable(text))
    if len(texts) == 1 and trace.name == "unit_price" and depth != 0:
        click.echo("This price stands in the price book. What the piece costs: --figure unit_cost. "
                   "What the price would be: --figure rounded_price.")
