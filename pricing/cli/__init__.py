"""The command line: thin commands over the Python interface."""

from __future__ import annotations

import atexit
import contextlib
import gc
import importlib
import io
import os
import sys
from typing import Any

import click

#: Commands by name: the module of each, imported only when it is asked for, and its one-line help.
COMMANDS: dict[str, tuple[str, str]] = {
    "start": ("start_command", "Write a starter price book, ready to be filled in."),
    "check": ("check_command", "Read a price book and print every problem, with its cell."),
    "quote": ("quote_command", "Price the enquiries and write the workbooks."),
    "workshop": ("workshop_command", "Write cut lists, batch sheets, steps, a calendar and a shopping list."),
    "papers": ("papers_command", "Write the papers to an order: confirmation, payment request, delivery note, statement."),
    "explain": ("explain_command", "Show why a figure is what it is, down to the cells of the price book."),
    "register": ("register_command", "List the quotes that were issued, and note what became of them."),
    "reprice": ("reprice_command", "Show what moved when prices changed, by how much, and why."),
    "publish": ("publish_command", "Write computed list prices into the price book."),
    "catalogue": ("catalogue_command", "Price a catalogue of any size, or every combination of sizes, mixes and quantities."),
    "review": ("review_command", "Hold finished jobs against what they were allowed, and look ahead."),
    "watch": ("watch_command", "Rewrite the workbooks whenever the price book is saved."),
}

#: A command makes much and is soon over: garbage is looked for after so many new objects, and at the end not at all.
GARBAGE = 200_000


def _not_printed(error: OSError) -> None:
    """End where what is printed goes into a file on a full disk, without a further word when the program flushes it at its end."""
    with contextlib.suppress(OSError):
        click.echo(f"what was done stands, but could not be printed ({(error.strerror or 'for no reason that is told').lower()})", err=True)
    with contextlib.suppress(OSError):
        for stream in (sys.stdout, sys.stderr):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    sys.exit(1)


class LazyGroup(click.Group):
    """Commands that are imported only when they are run, so that help is instant."""

    def main(self, *arguments: Any, **more: Any) -> Any:
        """Run the command line; a letter that the terminal cannot show is written as its code point."""
        gc.set_threshold(GARBAGE)
        atexit.register(gc.freeze)
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):
                stream.reconfigure(errors="backslashreplace")
        try:
            return super().main(*arguments, **more)
        except OSError as error:
            if error.filename is not None:
                raise
            _not_printed(error)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of the commands, in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command of a name, imported."""
        if name not in COMMANDS:
            return None
        module = importlib.import_module(f"pricing.cli.{COMMANDS[name][0]}")
        command: click.Command = getattr(module, name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands in the help, without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.command(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="cast-pricing", prog_name="pricing")
def main(**_: Any) -> None:
    """Cost and price cast concrete pieces from one spreadsheet price book."""
