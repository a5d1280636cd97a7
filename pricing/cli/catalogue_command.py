"""``pricing catalogue``: price a catalogue of any size."""

from __future__ import annotations

import datetime
import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pricing.cli.common import Day, Progress, leave, print_problems, printable
from pricing.cli.quote_command import quantities_of

if TYPE_CHECKING:
    from pricing.costing.catalogue.job import Job

WORKBOOK = "catalogue.xlsx"


@click.command()
@click.argument("source", metavar="BOOK_OR_VARIANTS", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), required=True, metavar="DIR", help="Folder for the result.")
@click.option(
    "--book", type=click.Path(path_type=Path), metavar="BOOK",
    help="The price book, where BOOK_OR_VARIANTS is a table of variants (a workbook, a Parquet file, or a folder of them).",
)
@click.option("--grid", is_flag=True, help="Price every combination of the columns of the variants, each a list of its own.")
@click.option(
    "--quantities", default=None, metavar="N,N,…", help="Price each variant at these quantities (otherwise its own, or its usual run)."
)
@click.option("--date", "day", type=Day(), metavar="YYYY-MM-DD", help="Price as of this day (otherwise today).")
@click.option(
    "--figures", metavar="NAME,…",
    help="What is told of each variant (otherwise mass, unit_cost, unit_price, discounted_margin, labour_hours).",
)
@click.option("--format", "form", type=click.Choice(["parquet", "xlsx"]), default="parquet", show_default=True, help="What is written.")
@click.option("--engine", type=click.Choice(["local", "dask"]), default="local", show_default=True, help="Who prices the parts.")
@click.option("--scheduler", metavar="ADDRESS", help="Address of dask's scheduler (otherwise a cluster of this machine).")
@click.option("--jobs", type=click.IntRange(1, 1024), metavar="N", help="Processes of this machine (otherwise all that it has).")
def catalogue(
    source: Path, out: Path, book: Path | None, grid: bool, quantities: str | None, day: datetime.datetime | None, figures: str | None,
    form: str, engine: str, scheduler: str | None, jobs: int | None,
) -> None:
    """Price every product of a price book, or every variant of a table, at any number of quantities.

    Parts that are finished stay: the same command again goes on where it was stopped.
    """
    from pricing.costing.catalogue.variants import VariantError
    from pricing.problems import BookError

    job = _job(source, book, grid, quantities, day, figures)
    try:
        if form == "xlsx":
            _workbook(job, out)
        else:
            _parquet(job, out, engine, scheduler, jobs)
    except VariantError as error:
        click.echo(printable(str(error)), err=True)
        leave(1)
    except BookError as error:
        print_problems(error.problems)
        if book is None and any(problem.code == "missing-sheet" and problem.sheet == "Products" for problem in error.problems):
            hint = "if it is a table of variants, name the price book of their products with --book"
            click.echo(printable(f"{source.name}  this is no price book; {hint}"), err=True)
        leave(1)
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        click.echo(printable(f"{error.filename or out}: cannot be written ({reason}); choose another folder with --out"), err=True)
        leave(1)


def _job(
    source: Path, book: Path | None, grid: bool, quantities: str | None, day: datetime.datetime | None, figures: str | None
) -> Job:
    from pricing.costing.catalogue.job import Job
    from pricing.costing.catalogue.pricer import FIGURES

    if book is None and (source.suffix.casefold() == ".parquet" or source.is_dir() or grid):
        raise click.UsageError(f"{source.name} is a table of variants; name the price book of their products with --book")
    named = FIGURES if figures is None else tuple(dict.fromkeys(name.strip() for name in figures.split(",") if name.strip())) or FIGURES
    return Job(
        (book or source).absolute(), None if book is None else source.absolute(), grid, _quantities(quantities),
        day.date() if day else datetime.date.today(), named,
    )


def _quantities(text: str | None) -> tuple[float, ...]:
    try:
        return quantities_of(text) or ()
    except click.BadParameter as error:
        error.param_hint = "--quantities"
        raise


def _workbook(job: Job, out: Path) -> None:
    from pricing.costing.catalogue.job import prepare
    from pricing.reports.lists.catalogue import write_catalogue

    began = time.monotonic()
    with Progress("pricing variants") as progress:
        prepared = prepare(job)
        priceless = write_catalogue(prepared, out / WORKBOOK, done=progress.done)
    _tell(prepared.variants.count, priceless, time.monotonic() - began)
    click.echo(printable(f"written: {out / WORKBOOK}"))


def _parquet(job: Job, out: Path, engine: str, scheduler: str | None, jobs: int | None) -> None:
    from pricing.costing.catalogue.engines import price_catalogue
    from pricing.costing.catalogue.parquet import arrow
    from pricing.reports.quote.many import processes_for

    arrow()
    began = time.monotonic()
    processes = jobs or processes_for(1_000)
    with Progress("pricing parts", least=1) as progress:
        done = price_catalogue(
            job, out, engine="dask" if engine == "dask" else "local", processes=processes, scheduler=scheduler, done=progress.done
        )
    if done.kept:
        click.echo(f"{done.kept:,} of {done.parts:,} parts were finished before")
    _tell(done.variants, done.priceless, time.monotonic() - began)
    click.echo(printable(f"written: {out} ({done.parts:,} {'part' if done.parts == 1 else 'parts'})"))


def _tell(variants: int, priceless: int, seconds: float) -> None:
    click.echo(f"{variants:,} {'variant' if variants == 1 else 'variants'} priced in {seconds:.1f} s")
    if priceless:
        have = "has" if priceless == 1 else "have"
        reason = "such a piece cannot exist, or no cost comes out of its figures"
        click.echo(f"{priceless:,} of them {have} no price: {reason}; what is not known is left blank", err=True)
