"""``pricing start``: write a price book to begin with, or add to one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

import pricing
from pricing.cli import options
from pricing.cli.common import printable
from pricing.cli.faults import sentences


def _listed(text: str) -> list[str]:
    return [word.strip() for word in text.split(",") if word.strip()]


def _besides(command: Callable[..., Any]) -> Callable[..., Any]:
    """An option of the command for everything that a new book may have besides."""
    for name, meaning in reversed(list(pricing.start_options().items())):
        command = click.option(f"--{name}", name.replace("-", "_"), is_flag=True, help=meaning)(command)
    return command


@click.command()
@options.book
@click.option("--currency", default="", metavar="CODE", help="Three letters of ISO 4217, such as EUR; the example's where left out.")
@click.option("--measures", type=click.Choice(["metric", "inches"]), default="metric", help="Units of the sizes and weights.")
@click.option("--shapes", default="", metavar="SHAPES", help="What is cast, with commas: slab,sill. Only their dimensions get columns.")
@click.option("--language", default="", metavar="TAG",
              help="Language in which customers are written to, by its BCP 47 tag: de, fr, es, nl, en-GB, en-US. "
              "Set as Language in the book; the sheets themselves, their headings and examples, stay in English.")
@click.option("--add", default="", metavar="WHAT", help="Add to the price book that BOOK is: options and shapes, with commas: layers,sill.")
@_besides
def start(book: Path, currency: str, measures: str, shapes: str, language: str, add: str, **besides: bool) -> None:
    """Write a starter price book as BOOK (.xlsx): the sheets and columns that you choose, a small invented workshop in it.

    Every price in it is an example to be written over: those of other currencies are those of the example by a rough factor.
    """
    if book.suffix.casefold() != ".xlsx" and not add:
        raise click.BadParameter(
            f"'{printable(str(book))}' does not end in .xlsx; call it {book.stem or 'price book'}.xlsx"
        )
    wanted = [name.replace("_", "-") for name, chosen in besides.items() if chosen]
    if add and (currency or shapes or language or wanted or measures != "metric"):
        raise click.UsageError("--add changes a book that is there; write what it gets after it, with commas: --add layers,sill")
    with sentences():
        if add:
            _add(book, _listed(add))
            return
        pricing.start(book, currency=currency, measures=measures, shapes=_listed(shapes), options=wanted, language=language)
    click.echo(printable(f"written: {book}"))
    own = "Put your own figures over the invented ones, the tax rate among them"
    click.echo(printable(f'{own}, then look them over with: pricing check "{book}"'))


def _add(book: Path, what: list[str]) -> None:
    added, backup = pricing.start_add(book, what)
    if not added:
        click.echo(printable(f"{book.name} has all of it already; nothing was changed"))
        return
    click.echo(printable(f"added to {book.name}: {'; '.join(added)}"))
    if backup is not None:
        click.echo(printable(f"the book as it was: {backup}"))
