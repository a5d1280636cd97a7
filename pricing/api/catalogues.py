"""A catalogue of any size priced: the whole of ``pricing catalogue``, and the same into a data frame."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from pricing.api.books import Number, Source, read
from pricing.api.faults import told
from pricing.book.price_book import PriceBook
from pricing.dataclass import dataclass
from pricing.problems import BookError, Problems
from pricing.quantities import pieces

if TYPE_CHECKING:
    import pandas

    from pricing.costing.catalogue.job import Job, Prepared
    from pricing.costing.catalogue.variants import VariantColumn

CATALOGUE_FILE = "catalogue.xlsx"

Done = Callable[[int, int], None]


@dataclass
class PricedCatalogue:
    """What a run over a catalogue gave.

    Parameters
    ----------
    problems : what stopped the run
    variants : how many were priced now
    priceless : how many of these have no price, because such a piece cannot exist or costs nothing that can be worked out
    parts, kept : of a folder of Parquet files, how many there are, and how many of them had been finished before
    written : the workbook, or the folder
    columns : what was priced and its figures, where no folder was named
    """

    problems: Problems
    variants: int = 0
    priceless: int = 0
    parts: int = 0
    kept: int = 0
    written: list[Path] = field(default_factory=list)
    columns: Mapping[str, Any] | None = None

    def variants_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per variant: what it is, and its figures.

        Problems raised: BookError where nothing was priced; ValueError where it was priced into a folder, from which it is read.
        """
        from pricing.frames import frame
        from pricing.glossary import GLOSSARY

        if self.problems.errors:
            raise BookError(self.problems.errors)
        if self.columns is None:
            raise ValueError("the variants stand in the folder that they were priced into; read them from there")
        return frame(self.columns, {name: GLOSSARY[name].unit for name in self.columns if name in GLOSSARY}, units=units)


def catalogue(
    source: Source, *, variants: pandas.DataFrame | Path | str | None = None, grid: bool = False, quantities: Sequence[Number] = (),
    day: datetime.date | None = None, figures: Sequence[str] | None = None, out: Path | str | None = None,
    form: Literal["parquet", "xlsx"] = "parquet", engine: Literal["local", "dask"] = "local", scheduler: str | None = None,
    jobs: int | None = None, done: Done | None = None,
) -> PricedCatalogue:
    """Price every product of a price book, or every variant of a table, at any number of quantities.

    Parameters
    ----------
    source : the price book, or its path
    variants : a data frame, a workbook, a Parquet file or a folder of such files; the products of the book where None
    grid : True where every combination of the columns of *variants* is meant
    quantities : every variant at each of them [pieces]; its own, or its usual run, where there are none
    day : whose prices hold for variants without a day of their own; today where None
    figures : columns of the lines; mass, unit cost, unit price, margin after discount and labour hours where None
    out : folder for the result; where None it is kept, and comes as a frame
    form : what is written into the folder: parts that stay when they are finished, or one workbook
    engine, scheduler, jobs : who prices the parts: processes of this machine, or the workers of dask's scheduler at this address
    done : called after each part with how many are finished and how many there are

    Problems raised: ValueError where a frame, or a book that was read, is to be priced in parts, which other processes read.
    """
    from pricing.costing.catalogue.job import Job
    from pricing.costing.catalogue.pricer import FIGURES

    held = isinstance(source, PriceBook) or not (variants is None or isinstance(variants, Path | str))
    if held and out is not None and form == "parquet":
        raise ValueError("parts are priced by other processes, which read files; name the files, or write a workbook")
    book = source.path if isinstance(source, PriceBook) else Path(source)
    named = Path(variants).absolute() if isinstance(variants, Path | str) else None
    job = Job(
        book.absolute(), named, grid, pieces(quantities), day or datetime.date.today(),
        FIGURES if figures is None else tuple(figures),
    )
    found = PricedCatalogue(Problems())
    with told(found.problems, out or book):
        if out is not None and form == "parquet":
            _into_parts(found, job, Path(out), engine, scheduler, jobs, done)
        else:
            _here(found, _prepared(job, source, variants), None if out is None else Path(out), done)
    return found


def _prepared(job: Job, source: Source, variants: pandas.DataFrame | Path | str | None) -> Prepared:
    from pricing.costing.catalogue.job import prepare

    book = source if isinstance(source, PriceBook) else None
    if variants is None or isinstance(variants, Path | str):
        return prepare(job, book)
    from pricing.api.tables_in import in_frames, sheet_of_frame
    from pricing.book.reading.variants import variants_of_sheet

    book, problems = read(source), Problems("variants")
    columns = variants_of_sheet(sheet_of_frame("Variants", variants), book, problems, axes=job.grid)
    if problems.errors:
        raise BookError(in_frames(problems, {"Variants": [str(each) for each in variants.columns]}))
    return prepare(job, book, columns)


def _here(found: PricedCatalogue, prepared: Prepared, out: Path | None, done: Done | None) -> None:
    """Price a catalogue in this process, into a workbook or into columns."""
    found.variants = prepared.variants.count
    if out is not None:
        from pricing.reports.lists.catalogue import write_catalogue
        from pricing.reports.shared.owner import refuse_others

        job = prepared.job
        refuse_others([out / CATALOGUE_FILE], job.book, found.problems, inputs=[] if job.variants is None else [job.variants])
        if found.problems.errors:
            return
        found.priceless = write_catalogue(prepared, out / CATALOGUE_FILE, done=done or (lambda *_: None))
        found.written.append(out / CATALOGUE_FILE)
        return
    parts: list[dict[str, Any]] = []
    for first, variants, figures in prepared.priced(0, found.variants):
        parts.append({**{name: _plain(variants[name]) for name in prepared.variants.names}, **figures})
        if done is not None:
            done(min(first + prepared.job.at_once, found.variants), found.variants)
    found.columns = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    found.priceless = int(np.isnan(found.columns[prepared.job.figures[0]]).sum())


def _plain(column: VariantColumn) -> Any:
    return column if isinstance(column, np.ndarray) else column.array()


def _into_parts(
    found: PricedCatalogue, job: Job, out: Path, engine: Literal["local", "dask"], scheduler: str | None, jobs: int | None,
    done: Done | None,
) -> None:
    from pricing.costing.catalogue.engines import price_catalogue
    from pricing.costing.catalogue.parquet import arrow
    from pricing.files.processes import processes_for

    arrow()
    processors = processes_for(1_000)  # more processes than these take turns, and each has to begin
    priced = price_catalogue(
        job, out, engine=engine, processes=min(jobs or processors, processors), scheduler=scheduler, done=done or (lambda *_: None)
    )
    found.variants, found.priceless, found.parts, found.kept = priced.variants, priced.priceless, priced.parts, priced.kept
    found.written.append(out)
