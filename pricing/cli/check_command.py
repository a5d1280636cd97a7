"""``pricing check``: read a price book and print every problem."""

from __future__ import annotations

from pathlib import Path

import click

import pricing
from pricing.cli import options
from pricing.cli.common import leave, print_json, print_problems, printable


@click.command()
@options.book
@options.as_json("")
def check(book: Path, as_json: bool) -> None:
    """Read the price book BOOK and print every problem with its sheet and cell, or one line that says what was read.

    What pricing quote would refuse is among them: a weight that no band of its zone holds, a day before the first price.

    The exit code is 0 where the book can be used, and 1 where something has to be mended first.
    """
    found = pricing.check(book)
    if as_json:
        print_json(found.as_json())
    else:
        print_problems(found.problems)
        if found.book is not None:
            click.echo(printable(f'read "{book.name}": {found.summary}'))
    if found.problems.errors:
        leave(1)
