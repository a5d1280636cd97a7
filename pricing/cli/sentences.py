"""Ending a command with a sentence instead of a traceback."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

import click

from pricing.cli.common import leave, printable


@contextlib.contextmanager
def sentences(book: Path, kinds: tuple[type[Exception], ...]) -> Iterator[None]:
    """Print the sentence of what is raised, and leave with the code 1.

    Parameters
    ----------
    book : named where a fault of the disk names no file
    kinds : exceptions whose text is a sentence; and OSError, whose reason is put into one
    """
    try:
        yield
    except kinds as error:
        text = str(error)
        if isinstance(error, OSError):
            reason = error.strerror or type(error).__name__
            text = f"{error.filename or book}: {reason}; close the file where it is open, or choose another folder with --out"
        for line in text.splitlines():
            click.echo(printable(line), err=True)
        leave(1)
