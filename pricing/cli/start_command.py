"""``pricing start``: write a price book to begin with."""

from __future__ import annotations

from pathlib import Path

import click

from pricing.cli.common import leave, printable


@click.command()
@click.argument("book", type=click.Path(path_type=Path))
def start(book: Path) -> None:
    """Write a starter price book as BOOK (.xlsx): every sheet and column, a small invented workshop in it."""
    from pricing.book.starter.write import write_starter

    if book.suffix.casefold() != ".xlsx":
        raise click.BadParameter(
            f"'{printable(str(book))}' does not end in .xlsx; call it {book.stem or 'price book'}.xlsx"
        )
    try:
        write_starter(book)
    except FileExistsError:
        click.echo(
            printable(f"{book.name}  there is a file of this name already; it is left as it is, choose another name"),
            err=True,
        )
        leave(1)
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        click.echo(printable(f"{book.name}  cannot be written here ({reason}); choose another folder"), err=True)
        leave(1)
    click.echo(printable(f"written: {book}"))
    click.echo(
        printable(f'Put your own figures over the invented ones, then look them over with: pricing check "{book}"')
    )
