"""A catalogue to be priced: what, with which prices, into which folder; part by part, and taken up again where it stopped.

A part that is finished stands in the folder under its own name. What is asked for is written beside the parts, so that a
folder is never filled from two different catalogues.
"""

from __future__ import annotations

import datetime
import functools
import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, field
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book
from pricing.book.reading.variants import read_variants
from pricing.costing.catalogue.parquet import ParquetVariants, PartWriter, rows_of
from pricing.costing.catalogue.pricer import ALL_FIGURES, FIGURES, Pricer
from pricing.costing.catalogue.variants import AtQuantities, Columns, Grid, Products, Table, VariantColumn, VariantError, Variants
from pricing.costing.engine.packed_columns import DictionaryColumn, Floats
from pricing.dataclass import dataclass
from pricing.files.atomic import written_beside
from pricing.files.processes import keep_memory
from pricing.problems import BookError, Problems

#: Variants that are priced at once: what comes about on the way stays near the processor, and below about 100 MB.
AT_ONCE = 25_000

#: Variants in a part.
PART = 500_000

ASKED = "_catalogue.json"

#: Files, each with its size and the time of its last change.
Stamps: TypeAlias = tuple[tuple[Path, int, int], ...]


@dataclass(frozen=True)
class Job:
    """What is to be priced.

    Parameters
    ----------
    book : the price book
    variants : a workbook, a Parquet file or a folder of such files; None for the products of the book as they stand
    grid : True where every combination of the columns of *variants* is meant
    quantities : every variant at each of them; none where the variants say it themselves
    day : whose prices hold for variants without a day of their own
    figures : columns of the lines that are wanted
    at_once : variants that are priced at once
    part : variants in a part
    """

    book: Path
    variants: Path | None
    grid: bool
    quantities: tuple[float, ...]
    day: datetime.date
    figures: tuple[str, ...] = FIGURES
    at_once: int = AT_ONCE
    part: int = PART

    def mark(self) -> str:
        """A mark of all that the figures hang on: of the content of the files, and of what is asked for."""
        asked = {name: str(value) for name, value in asdict(self).items() if name not in ("book", "variants", "at_once")}
        digest = hashlib.sha256(json.dumps(asked, sort_keys=True).encode())
        for path in (self.book, *_files(self.variants)):
            digest.update(_mark_of(path).encode())
        return digest.hexdigest()

    def prepared(self) -> Prepared:
        """The price book and the variants, read once in each process."""
        return _prepared(self, stamps_of(self))


@dataclass(frozen=True)
class Prepared:
    """A job with what it needs in memory.

    Parameters
    ----------
    cuts : the number of the first variant of each part, and the end
    """

    job: Job
    variants: Variants
    pricer: Pricer
    cuts: list[int] = field(repr=False)

    @property
    def parts(self) -> int:
        """How many parts there are."""
        return len(self.cuts) - 1

    def priced(self, first: int, last: int) -> Iterator[tuple[int, Columns, dict[str, Floats]]]:
        """Variants and their figures, so many at a time, each with the number of its first."""
        for start, columns in self.variants.chunks(first, last, self.job.at_once):
            yield start, columns, self.pricer.priced(columns)

    def priced_with_reasons(self) -> Iterator[tuple[int, Columns, dict[str, Floats], DictionaryColumn]]:
        """All variants and their figures as :meth:`priced` gives them, and why one is dearer each than fewer of it."""
        each = max(len(self.job.quantities), 1)
        for start, columns in self.variants.chunks(0, self.variants.count, max(self.job.at_once // each, 1) * each):
            yield start, columns, *self.pricer.priced_together(columns, each)


@dataclass(frozen=True)
class PartDone:
    """What a part came to: its number, its variants, and how many of them have no price."""

    number: int
    rows: int
    priceless: int


def prepare(job: Job, book: PriceBook | None = None, columns: Mapping[str, VariantColumn] | None = None) -> Prepared:
    """A job with its price book and variants read.

    Parameters
    ----------
    book : where it was read already
    columns : the variants, where they come from no file

    Problems raised: VariantError, BookError.
    """
    unknown = [name for name in job.figures if name not in ALL_FIGURES]
    if unknown:
        raise VariantError(f'there is no figure "{unknown[0]}" of a line; some of them are {", ".join(FIGURES)}')
    book = book or load_price_book(job.book)
    variants = _variants(job, book) if columns is None else _of_columns(columns, job.grid)
    if job.quantities:
        variants = AtQuantities(variants, job.quantities)
    if not variants.count:
        raise VariantError("there is nothing to price: no variant is named")
    return Prepared(job, variants, Pricer(book, job.day, job.figures), variants.cuts(job.part))


#: What the process that began this one had prepared, by the job and by what shows that a file of it was changed.
_HANDED: dict[tuple[Job, Stamps], Prepared] = {}


def hand_over(prepared: Prepared, stamps: Stamps) -> None:
    """Take over what another process prepared, so that this one need not read it anew.

    Parameters
    ----------
    stamps : what shows that a file was changed since
    """
    _HANDED[prepared.job, stamps] = prepared


@functools.lru_cache(maxsize=2)
def _prepared(job: Job, files: Stamps) -> Prepared:
    keep_memory()
    return _HANDED.get((job, files)) or prepare(job)


def _variants(job: Job, book: PriceBook) -> Variants:
    if job.variants is None:
        return Products(book)
    if job.variants.is_dir() or job.variants.suffix.casefold() == ".parquet":
        stored = ParquetVariants(job.variants, book)
        return _grid(_axes(stored)) if job.grid else stored
    problems = Problems(job.variants.name)
    columns = read_variants(job.variants, book, problems, axes=job.grid)
    if problems.errors:
        raise BookError(problems.errors)
    return _of_columns(columns, job.grid)


def _of_columns(columns: Mapping[str, VariantColumn], grid: bool) -> Variants:
    return _grid(columns) if grid else Table({name: _coded(column) for name, column in columns.items()})


def _grid(axes: Mapping[str, VariantColumn]) -> Grid:
    return Grid({name: _coded(axis) for name, axis in axes.items()})


def _coded(column: VariantColumn) -> VariantColumn:
    return DictionaryColumn.of(column) if not isinstance(column, DictionaryColumn) and column.dtype.kind == "O" else column


def _axes(stored: ParquetVariants) -> dict[str, VariantColumn]:
    """The columns of a small table as lists of their own, what is blank left out."""
    axes: dict[str, VariantColumn] = {}
    for name, column in stored.part(0, stored.count).items():
        values = column.array() if isinstance(column, DictionaryColumn) else column
        kind = values.dtype.kind
        axes[name] = values[values != ""] if kind == "O" else values[~(np.isnat(values) if kind == "M" else np.isnan(values))]
    return axes


def _files(path: Path | None) -> list[Path]:
    if path is None:
        return []
    return sorted(path.glob("*.parquet")) if path.is_dir() else [path]


def stamps_of(job: Job) -> Stamps:
    """What shows that a file of a job was changed."""
    return tuple(_stamp(path) for path in (job.book, *_files(job.variants)))


def _stamp(path: Path) -> tuple[Path, int, int]:
    """What shows that a file was changed."""
    try:
        found = path.stat()
    except OSError:
        return path, -1, -1
    return path, found.st_size, found.st_mtime_ns


def _mark_of(path: Path) -> str:
    """A file by its content, or, where it is very large, by its size and the time of its last change."""
    try:
        size = path.stat()
        if size.st_size > 100_000_000:
            return f"{path.name} {size.st_size} {size.st_mtime_ns}"
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise VariantError(f"{path}: cannot be read ({reason}); look at its name and folder") from None


def part_path(out: Path, number: int) -> Path:
    """Where a part stands, counted from 0.

    >>> part_path(Path("out"), 7).name
    'part-000007.parquet'
    """
    return out / f"part-{number:06}.parquet"


def price_part(job: Job, out: Path, number: int) -> PartDone:
    """Price one part and write it; whatever process does it, on whatever machine, the figures are the same.

    Parameters
    ----------
    number : of the part, counted from 0
    """
    prepared = job.prepared()
    rows = priceless = 0
    with PartWriter(part_path(out, number)) as writer:
        for first, columns, figures in prepared.priced(prepared.cuts[number], prepared.cuts[number + 1]):
            writer.add(first, columns, figures)
            some = next(iter(figures.values()))
            rows += len(some)
            priceless += int(np.isnan(some).sum())
    return PartDone(number, rows, priceless)


def open_parts(prepared: Prepared, out: Path) -> list[int]:
    """The parts that are still to be priced; the folder is marked as that of this job.

    Problems raised: VariantError where the folder holds another catalogue.
    """
    asked, mark = out / ASKED, prepared.job.mark()
    known: dict[str, Any] = {}
    if asked.exists():
        try:
            known = json.loads(asked.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            known = {"mark": ""}
        if known.get("mark") != mark:
            raise VariantError(
                f"{out}: the folder holds a catalogue of other products, prices or quantities; name another folder with --out, "
                "or remove that one"
            )
    cuts = prepared.cuts
    left = [number for number in range(prepared.parts) if rows_of(part_path(out, number)) != cuts[number + 1] - cuts[number]]
    out.mkdir(parents=True, exist_ok=True)
    with written_beside(asked) as beside:
        asking = {"mark": mark, "variants": prepared.variants.count, "parts": prepared.parts}
        beside.write_text(json.dumps(asking, indent=2), encoding="utf-8")
    return left
