"""``pricing start``: write a price book to begin with."""

from __future__ import annotations

from pathlib import Path

import click

import pricing
from pricing.cli import options
from pricing.cli.common import printable
from pricing.cli.faults import sentences


@click.command()
@options.book
def start(book: Path) -> None:
    """Write a starter price book as BOOK (.xlsx): every sheet and column, a small invented workshop in it."""
    if book.suffix.casefold() != ".xlsx":
        raise click.BadParameter(
            f"'{printable(str(book))}' does not end in .xlsx; call it {book.stem or 'price book'}.xlsx"
        )
    with sentences():
        pricing.start(book)
    click.echo(printable(f"written: {book}"))
    click.echo(printable(f'Put your own figures over the invented ones, then look them over with: pricing check "{book}"'))
