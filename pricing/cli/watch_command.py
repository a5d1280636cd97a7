"""``pricing watch``: rewrite the workbooks whenever the price book is saved."""

from __future__ import annotations

import signal
import threading
from pathlib import Path

import click

import pricing
from pricing.cli import options
from pricing.cli.common import leave, printable


@click.command()
@options.book
@options.out()
def watch(book: Path, out: Path) -> None:
    """Check BOOK and rewrite its workbooks whenever the spreadsheet program saves it, until Ctrl-C.

    One line says what changed. Quotes are recorded as drafts: pricing quote makes them promises.
    """
    if not book.exists():
        click.echo(printable(f"{book.name}  there is no such file; look at its name and folder"), err=True)
        leave(1)
    stop = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: stop.set())
    pricing.watch(book, out, lambda line: click.echo(printable(line)), stop)
    click.echo("stopped")
