"""The arguments and options that commands share, each declared once, and how a day and quantities are typed.

What stands where an option is left out ends its help in brackets, ``[default: today]``; so does ``[may be repeated]``.
"""

from __future__ import annotations

import datetime
import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

import pricing
from pricing.cli.common import printable

#: Puts an argument or an option before a command.
Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

#: Larger quantities, and more of them, are no list that a maker means.
_LARGEST, _MOST = 1_000_000, 12


class Day(click.DateTime):
    """The type of an option that takes a day; what is no day is refused with the way to write one."""

    def __init__(self) -> None:
        super().__init__(["%Y-%m-%d"])

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The day."""
        try:
            day: datetime.datetime = super().convert(value, param, ctx)
        except click.BadParameter:
            self.fail(f"'{printable(str(value))}' is no day; write year, month and day, YYYY-MM-DD, such as 2026-03-02", param, ctx)
        return day.date()


class Whole(click.IntRange):
    """The type of an option that takes a whole number; anything else is refused with what may stand there."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The number."""
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter:
            bounds = f"from {self.min} to {self.max}" if self.max is not None else f"of {self.min} or more"
            self.fail(f"'{printable(str(value))}' is not understood; write a whole number {bounds}", param, ctx)


def quantities(text: str) -> tuple[float, ...]:
    """The type of an option that takes quantities, ``1,5,10``: each once, and in order [pieces]."""
    try:
        numbers = [int(part) for part in text.split(",")]
    except ValueError:
        numbers = [0]
    if len(numbers) > _MOST:
        raise click.BadParameter(f"'{text}' names {len(numbers)} quantities, and {_MOST} is the limit; leave some out")
    if not all(0 < number <= _LARGEST for number in numbers):
        raise click.BadParameter(f"'{text}' is no list of quantities; write whole numbers such as 1,5,10,25")
    return tuple(float(number) for number in sorted(set(numbers)))


def default(what: str) -> str:
    """The end of a help text: what holds where the option is left out."""
    return f"  [default: {what}]"


REPEATED = "  [may be repeated]"

book = click.argument("book", type=click.Path(path_type=Path))


def quotes(help: str = "Only this quote.") -> Decorator:
    """``--quote``, as many times as there are quotes."""
    return click.option("--quote", "quotes", multiple=True, metavar="Q", help=help + REPEATED)


def day(help: str, otherwise: str = "today") -> Decorator:
    """``--date``, and what day it is where it is left out."""
    return click.option("--date", "day", type=Day(), metavar="YYYY-MM-DD", help=help + default(otherwise))


def out(help: str = "Folder for the workbooks.") -> Decorator:
    """``--out``, the folder ``out`` where it is left out."""
    folder = click.Path(path_type=Path, file_okay=False)
    return click.option("--out", type=folder, default=Path("out"), show_default=True, help=help)


def pdf(of: str) -> Decorator:
    """``--pdf``: a PDF beside what goes to customers."""
    return click.option("--pdf", is_flag=True, help=f"Also make a PDF of {of}, by LibreOffice where it is installed.")


def register(command: Callable[..., Any]) -> Callable[..., Any]:
    """``--register``: the register in which the price book goes on from now on."""
    from pricing.cli.faults import sentences

    @functools.wraps(command)
    def with_register(*arguments: Any, register_file: Path | None, **more: Any) -> Any:
        if register_file is not None:
            with sentences():
                pricing.use_register(more["book"], register_file)
        return command(*arguments, **more)

    text = "The register in which BOOK goes on from now on, where it is not named after BOOK."
    kind = click.Path(path_type=Path, dir_okay=False)
    return click.option("--register", "register_file", type=kind, metavar="FILE", help=text)(with_register)


def as_json(instead: str = "instead of the table") -> Decorator:
    """``--json``."""
    return click.option("--json", "as_json", is_flag=True, help=f"Print one JSON object for programs {instead}.".replace(" .", "."))
