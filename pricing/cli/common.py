"""What the commands share: printing problems, amounts and tables, and leaving with the right code."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterable, Sequence
from typing import Any

import click

from pricing.problems import Problem, Problems, gathered

#: The widest column of a table [characters].
WIDEST = 48

_ENDLESS = re.compile(r"(\S{60})\S{240,}")
_NOT_PLAIN = re.compile(r"[^\n -~]")


def printable(text: str) -> str:
    """Text without control characters: nothing in a price book may steer the terminal.

    >>> printable("Sand\\x1b[31m")
    'Sand�[31m'
    """
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() or letter == " " else "�" for letter in text)


def print_problems(problems: Problems | Sequence[Problem], *, warnings: bool = True) -> None:
    """Every problem on a line of its own, on standard error, many of one kind gathered; a name that would fill the screen is cut."""
    for line, warning in gathered(problem for problem in problems if warnings or not problem.warning):
        click.echo(printable(_ENDLESS.sub(r"\1…", f"{'look at: ' if warning else ''}{line}")), err=True)


def print_json(content: Any) -> None:
    """One object on standard output; what is not printable stands as its escape, so that it reads the same and steers nothing."""
    encoding = (getattr(sys.stdout, "encoding", "") or "").casefold()
    text = json.dumps(content, ensure_ascii=not encoding.startswith("utf"), indent=2, allow_nan=False)
    if not text.replace("\n", " ").isprintable():
        text = _NOT_PLAIN.sub(lambda match: match.group() if match.group().isprintable() else json.dumps(match.group())[1:-1], text)
    click.echo(text)


def print_table(headings: Sequence[str], rows: Iterable[Sequence[str]], left: int = 1) -> None:
    """A plain table: the first *left* columns to the left, figures to the right; long names are cut."""
    print_columns(zip(headings, *rows, strict=True), left)


def print_columns(columns: Iterable[Sequence[str]], left: int = 1) -> None:
    """The same, column by column, the heading of each before its cells."""
    fitting = [_fitting(column) for column in columns]
    form = "  ".join(f"%{'-' if number < left else ''}{width}s" for number, (_, width) in enumerate(fitting))
    click.echo("\n".join([(form % row).rstrip() for row in zip(*[cells for cells, _ in fitting], strict=True)]))


def _fitting(column: Sequence[str]) -> tuple[Sequence[str], int]:
    """The cells of a column, printable, and none wider than a table has place for; and the width of the widest."""
    cells = column if "".join(column).isprintable() else [printable(cell) for cell in column]
    width = max(map(len, cells))
    if width <= WIDEST:
        return cells, width
    return [cell if len(cell) <= WIDEST else f"{cell[: WIDEST - 1]}…" for cell in cells], WIDEST


class Progress:
    """A bar on standard error while much is being done: shown to who sits at a terminal, and only where there is enough to watch.

    Parameters
    ----------
    label : what is being done
    least : with so few things to do, nothing is shown
    """

    def __init__(self, label: str, least: int = 20) -> None:
        self._label = label
        self._least = least
        self._bar: Any = None
        self._at = 0

    def __enter__(self) -> Progress:
        return self

    def done(self, number: int, of: int) -> None:
        """So many of so many are done."""
        if self._bar is None and of > self._least and sys.stderr.isatty():
            self._bar = click.progressbar(length=of, label=self._label, file=sys.stderr)
            self._bar.__enter__()
        if self._bar is not None:
            self._bar.update(number - self._at)
            self._at = number

    def __exit__(self, *problem: Any) -> None:
        if self._bar is not None:
            self._bar.__exit__(*problem)


def leave(code: int) -> None:
    """End the program with an exit code."""
    sys.exit(code)
