"""``pricing catalogue``: price a catalogue of any size."""

from __future__ import annotations

import datetime
import time
from pathlib import Path
from typing import Literal

import click

import pricing
from pricing.cli import options
from pricing.cli.common import Progress, leave, print_problems, printable
from pricing.problems import Problem


@click.command()
@click.argument("source", metavar="BOOK_OR_VARIANTS", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), required=True, metavar="DIR", help="Folder for the result.")
@click.option(
    "--book", type=click.Path(path_type=Path), metavar="BOOK",
    help="The price book, where BOOK_OR_VARIANTS is a table of variants (a workbook, a Parquet file, or a folder of them).",
)
@click.option("--grid", is_flag=True, help="Price every combination of the columns of the variants, each a list of its own.")
@click.option(
    "--quantities", type=options.quantities, default=None, metavar="N,N,…",
    help="Price each variant at these quantities." + options.default("its own, or its usual run"),
)
@options.day("The day whose prices hold.")
@click.option(
    "--figures", metavar="NAME,…",
    help="What is told of each variant." + options.default("mass, unit_cost, unit_price, discounted_margin, labour_hours"),
)
@click.option("--format", "form", type=click.Choice(["parquet", "xlsx"]), default="parquet", show_default=True, help="What is written.")
@click.option("--engine", type=click.Choice(["local", "dask"]), default="local", show_default=True, help="Who prices the parts.")
@click.option("--scheduler", metavar="ADDRESS", help="Address of dask's scheduler." + options.default("a cluster of this machine"))
@click.option(
    "--jobs", type=options.Whole(1, 1024), metavar="N",
    help="Processes of this machine, no more than it has processors." + options.default("as many"),
)
def catalogue(
    source: Path, out: Path, book: Path | None, grid: bool, quantities: tuple[float, ...] | None, day: datetime.date | None,
    figures: str | None, form: Literal["parquet", "xlsx"], engine: Literal["local", "dask"], scheduler: str | None, jobs: int | None,
) -> None:
    """Price every product of a price book, or every variant of a table, at any number of quantities.

    Parts that are finished stay: the same command again goes on where it was stopped.
    """
    if book is None and (source.suffix.casefold() == ".parquet" or source.is_dir() or grid):
        raise click.UsageError(f"{source.name} is a table of variants; name the price book of their products with --book")
    named = None if figures is None else list(dict.fromkeys(name.strip() for name in figures.split(",") if name.strip())) or None
    began = time.monotonic()
    with Progress("pricing parts", least=1) if form == "parquet" else Progress("pricing variants") as progress:
        found = pricing.catalogue(
            book or source, variants=None if book is None else source, grid=grid, quantities=quantities or (), day=day, figures=named,
            out=out, form=form, engine=engine, scheduler=scheduler, jobs=jobs, done=progress.done,
        )
    if found.problems.errors:
        print_problems(found.problems)
        if book is None and any(_has_no_products(problem) for problem in found.problems):
            hint = "if it is a table of variants, name the price book of their products with --book"
            click.echo(printable(f"{source.name}  {hint}"), err=True)
        leave(1)
    _tell(found, time.monotonic() - began)
    size = f" ({found.parts:,} {'part' if found.parts == 1 else 'parts'})" if form == "parquet" else ""
    for path in found.written:
        click.echo(printable(f"written: {path}{size}"))


def _has_no_products(problem: Problem) -> bool:
    return problem.code == "not-a-price-book" or (problem.code == "missing-sheet" and problem.sheet == "Products")


def _tell(found: pricing.PricedCatalogue, seconds: float) -> None:
    if found.kept:
        click.echo(f"{found.kept:,} of {found.parts:,} parts were finished before")
    click.echo(f"{found.variants:,} {'variant' if found.variants == 1 else 'variants'} priced in {seconds:.1f} s")
    if found.priceless:
        have = "has" if found.priceless == 1 else "have"
        reason = "such a piece cannot exist, or no cost comes out of its figures"
        click.echo(f"{found.priceless:,} of them {have} no price: {reason}; what is not known is left blank", err=True)
