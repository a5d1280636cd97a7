"""What the commands share: printing problems, amounts and tables, and leaving with the right code."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Sequence
from typing import Any

import click

from pricing.problems import Problem, Problems

#: The widest column of a table [characters].
WIDEST = 48

_ENDLESS = re.compile(r"(\S{60})\S{240,}")
_NOT_PLAIN = re.compile(r"[^\n -~]")


def printable(text: str) -> str:
    """Text without control characters: nothing in a price book may steer the terminal.

    >>> printable("Sand\\x1b[31m")
    'Sand�[31m'
    """
    return "".join(letter if letter.isprintable() or letter == " " else "�" for letter in text)


def print_problems(problems: Problems | Sequence[Problem], *, warnings: bool = True) -> None:
    """Every problem on a line of its own, on standard error; a name that would fill the screen is cut."""
    for problem in problems:
        if warnings or not problem.warning:
            lead = "look at: " if problem.warning else ""
            click.echo(printable(_ENDLESS.sub(r"\1…", f"{lead}{problem}")), err=True)


def print_json(content: Any) -> None:
    """One object on standard output; what is not printable stands as its escape, so that it reads the same and steers nothing."""
    encoding = (getattr(sys.stdout, "encoding", "") or "").casefold()
    text = json.dumps(content, ensure_ascii=not encoding.startswith("utf"), indent=2, allow_nan=False)
    click.echo(_NOT_PLAIN.sub(lambda match: match.group() if match.group().isprintable() else json.dumps(match.group())[1:-1], text))


def print_table(headings: Sequence[str], rows: Sequence[Sequence[str]], left: int = 1) -> None:
    """A plain table: the first *left* columns to the left, figures to the right; long names are cut."""
    clean = [[cell if len(cell) <= WIDEST else f"{cell[: WIDEST - 1]}…" for cell in map(printable, row)] for row in rows]
    widths = [max(len(cell) for cell in column) for column in zip(headings, *clean, strict=True)]
    for row in (list(headings), *clean):
        pairs = enumerate(zip(row, widths, strict=True))
        cells = [cell.ljust(width) if number < left else cell.rjust(width) for number, (cell, width) in pairs]
        click.echo("  ".join(cells).rstrip())


def leave(code: int) -> None:
    """End the program with an exit code."""
    sys.exit(code)
