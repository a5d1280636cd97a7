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
    kinds : exceptions whose text is a sentence; faults of the disk are put into one
    """
    try:
        yield
    except kinds as error:
        for line in str(error).splitlines():
            click.echo(printable(line), err=True)
        leave(1)
    except Exception as error:
        from pricing.files.disk_faults import disk_fault

        fault = disk_fault(error)
        if fault is None:
            raise
        reason = fault.strerror or type(fault).__name__
        remedy = "close the file where it is open, or choose another folder with --out"
        click.echo(printable(f"{fault.filename or book}: {reason}; {remedy}"), err=True)
        leave(1)
