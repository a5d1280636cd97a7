"""``pricing watch``: rewrite the workbooks whenever the price book is saved."""

from __future__ import annotations

import signal
import threading
from pathlib import Path

import click

from pricing.cli.common import leave, printable


@click.command()
@click.argument("book", type=click.Path(path_type=Path))
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), default=Path("out"), show_default=True,
    help="Folder for the workbooks.",
)
def watch(book: Path, out: Path) -> None:
    """Check BOOK and rewrite its workbooks whenever the spreadsheet program saves it, until Ctrl-C.

    One line says what changed. Quotes are recorded as drafts: pricing quote makes them promises.
    """
    from pricing.cli.watching import Watch

    if not book.exists():
        click.echo(printable(f"{book.name}  there is no such file; look at its name and folder"), err=True)
        leave(1)
    stop = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: stop.set())
    Watch(book, out, lambda line: click.echo(printable(line))).run(stop)
    click.echo("stopped")
