"""The options that take a day: in every command the same, and each refusal says how a day is written."""

from __future__ import annotations

import importlib

import click
import pytest
from click.testing import CliRunner

from pricing.cli import COMMANDS, main


def command_of(name: str) -> click.Command:
    """The command of a name."""
    command: click.Command = getattr(importlib.import_module(f"pricing.cli.{COMMANDS[name][0]}"), name)
    return command


def options_of_days() -> list[tuple[str, str]]:
    """Every option whose help asks for YYYY-MM-DD, or whose type is a day: its command, and how it is typed."""
    return [
        (name, option.opts[0])
        for name in COMMANDS for option in command_of(name).params
        if option.metavar == "YYYY-MM-DD" or isinstance(option.type, click.DateTime)
    ]


def test_there_are_such_options() -> None:
    """The list is not empty, and holds both days of repricing."""
    assert {("quote", "--date"), ("reprice", "--date"), ("reprice", "--since")} <= set(options_of_days())


@pytest.mark.parametrize("typed", ["2026-13-01", "1 March", "01/03/2026", "2026-02-30"])
@pytest.mark.parametrize(("name", "option"), options_of_days())
def test_what_is_no_day_is_told_how_to_write_one(name: str, option: str, typed: str) -> None:
    """The refusal repeats what was typed and says YYYY-MM-DD, never the letters that a program uses for it."""
    result = CliRunner().invoke(main, [name, "none.xlsx", option, typed])
    assert result.exit_code == 2
    assert f"'{typed}' is no day; write year, month and day, YYYY-MM-DD" in result.stderr
    assert "%" not in result.stderr
