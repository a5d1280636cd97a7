"""``pricing check``: read a price book and print every problem."""

from __future__ import annotations

from pathlib import Path

import click

from pricing.cli.common import leave, print_json, print_problems, printable


@click.command()
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object for programs.")
def check(book: Path, as_json: bool) -> None:
    """Read the price book BOOK and print every problem with its sheet and cell, or one line that says what was read.

    The exit code is 0 where the book can be used, and 1 where something has to be mended first.
    """
    from pricing.book.reading.read import read_price_book
    from pricing.book.summary import counted

    read, problems = read_price_book(book)
    counts = read.counts() if read is not None else {}
    if as_json:
        found = [{**problem.as_json(), "warning": problem.warning} for problem in problems]
        print_json({"file": book.name, "counts": counts, "problems": found})
    else:
        print_problems(problems)
        if read is not None:
            click.echo(printable(f'read "{book.name}": {counted(counts)}'))
    if read is None:
        leave(1)
