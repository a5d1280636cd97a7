"""Catalogues in Parquet files: variants read part by part, and what they cost written beside and moved into place.

Needs pyarrow, which comes with the extra ``catalogue``.
"""

from __future__ import annotations

import contextlib
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.costing.catalogue.variants import DATE, WORDS, Columns, VariantColumn, VariantError, Variants, named_columns
from pricing.costing.engine.packed_columns import DictionaryColumn, Floats
from pricing.files.atomic import written_beside

#: What to do where a library of the extra is absent.
REMEDY = "install it with: pip install pyarrow 'dask[distributed]'"


def arrow() -> Any:
    """The library that reads and writes Parquet.

    Problems raised: VariantError where it is not installed.
    """
    try:
        import pyarrow  # type: ignore[import-untyped,import-not-found,unused-ignore]
        import pyarrow.parquet  # type: ignore[import-untyped,import-not-found,unused-ignore]
    except ImportError:
        remedy = f"{REMEDY}, or write a workbook with --format xlsx"
        raise VariantError(f"pyarrow, which reads and writes Parquet files, is not installed; {remedy}") from None
    return pyarrow


class ParquetVariants(Variants):
    """Variants in a Parquet file, or in all such files of a folder; figures in metres, square metres and cubic metres.

    Parameters
    ----------
    path : of the file or folder
    book : the price book whose products they vary

    Problems raised: VariantError where there is no such file, or a column says nothing to the engine.
    """

    def __init__(self, path: Path, book: PriceBook) -> None:
        library = arrow()
        files = sorted(path.glob("*.parquet")) if path.is_dir() else [path]
        if not files:
            raise VariantError(f"{path}: the folder holds no Parquet file; look at its name")
        self._groups: list[tuple[Path, int]] = []
        starts = [0]
        self._headings: list[str] = []
        for file in files:
            try:
                metadata = library.parquet.ParquetFile(file)
            except (OSError, library.ArrowInvalid) as error:
                raise VariantError(f"{file.name}: cannot be read as Parquet ({_first_line(error)})") from None
            with metadata:
                headings = list(metadata.schema_arrow.names)
                for number in range(metadata.metadata.num_row_groups):
                    self._groups.append((file, number))
                    starts.append(starts[-1] + metadata.metadata.row_group(number).num_rows)
            if self._headings and headings != self._headings:
                raise VariantError(f"{file.name}: its columns are not those of {files[0].name}; give all files the same")
            self._headings = headings
        self.names = tuple(named_columns(self._headings, book))
        self._starts = starts
        self.count = starts[-1]

    def cuts(self, size: int) -> list[int]:
        """Parts begin with row groups, where these are not longer than a part."""
        found = [0]
        for first, last in zip(self._starts, self._starts[1:], strict=False):
            if last - found[-1] > size and first > found[-1]:
                found.append(first)
            while last - found[-1] > size:
                found.append(found[-1] + size)
        return [*found, self.count]

    def part(self, first: int, last: int) -> Columns:
        """All rows from *first* to *last* in one."""
        return next(iter(self.chunks(first, last, last - first)))[1]

    def chunks(self, first: int, last: int, size: int) -> Iterator[tuple[int, Columns]]:
        """Rows as they are decoded, *size* of them at a time."""
        library = arrow()
        held: list[Any] = []
        at, rows = first, 0
        for batch in self._batches(first, last, size):
            held.append(batch)
            rows += len(batch)
            while rows >= size or at + rows == last:
                table = library.Table.from_batches(held).combine_chunks()
                taken = min(size, rows)
                yield at, self._columns(table.slice(0, taken))
                at, rows = at + taken, rows - taken
                held = table.slice(taken).to_batches() if rows else []
                if not rows:
                    break

    def _batches(self, first: int, last: int, size: int) -> Iterator[Any]:
        """The rows from *first* to *last* as they stand in the files."""
        library, at = arrow(), first
        while at < last:
            group = bisect_right(self._starts, at) - 1
            file, number = self._groups[group]
            start = self._starts[group]
            with library.parquet.ParquetFile(file) as source:
                for batch in source.iter_batches(size, [number]):
                    low, high = max(at - start, 0), min(last - start, len(batch))
                    if low < high:
                        yield batch.slice(low, high - low)
                        at += high - low
                    start += len(batch)
                    if at >= last:
                        return

    def _columns(self, table: Any) -> Columns:
        pairs = zip(self.names, self._headings, strict=True)
        return {name: _column(name, heading, table.column(heading).combine_chunks()) for name, heading in pairs}


def _column(name: str, heading: str, values: Any) -> VariantColumn:
    """A column of Arrow as the engine has it."""
    library = arrow()
    kind = values.type
    if name in WORDS:
        if library.types.is_dictionary(kind):
            kind = kind.value_type
        else:
            values = values.dictionary_encode() if library.types.is_string(kind) or library.types.is_large_string(kind) else values
        if not (library.types.is_string(kind) or library.types.is_large_string(kind)):
            raise VariantError(f'the column "{heading}" holds {kind}; words are needed')
        words = [*(word or "" for word in values.dictionary.to_pylist()), ""]
        return DictionaryColumn(values.indices.fill_null(len(words) - 1).to_numpy(zero_copy_only=False), words)
    if name == DATE:
        if not (library.types.is_date(kind) or library.types.is_timestamp(kind)):
            raise VariantError(f'the column "{heading}" holds {kind}; dates are needed')
        return np.asarray(values.cast("date32").to_numpy(zero_copy_only=False)).astype("datetime64[D]")
    if not (library.types.is_floating(kind) or library.types.is_integer(kind) or library.types.is_decimal(kind)):
        raise VariantError(f'the column "{heading}" holds {kind}; numbers are needed')
    return np.asarray(values.cast("float64").to_numpy(zero_copy_only=False), dtype=np.float64)


class PartWriter:
    """A Parquet file that is written beside its place and moved there when it is whole.

    Parameters
    ----------
    path : where it goes
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._writing = contextlib.ExitStack()
        self._writer: Any = None

    def add(self, first: int, variants: Columns, figures: dict[str, Floats]) -> None:
        """Write some variants and their figures.

        Parameters
        ----------
        first : number of the first of them in the whole catalogue, counted from 0
        """
        library = arrow()
        count = len(next(iter(figures.values())))
        columns: Columns = {"variant": np.arange(first + 1, first + count + 1, dtype=np.int64), **variants, **figures}
        table = library.table({name: _arrow_column(column) for name, column in columns.items()})
        if self._writer is None:
            beside = self._writing.enter_context(written_beside(self._path))
            words = [name for name, column in variants.items() if isinstance(column, DictionaryColumn)]
            writer = library.parquet.ParquetWriter(beside, table.schema, compression="zstd", use_dictionary=words)
            self._writer = self._writing.enter_context(writer)
        self._writer.write_table(table)

    def __enter__(self) -> PartWriter:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self._writing.__exit__(kind, error, trace)


def _arrow_column(column: VariantColumn) -> Any:
    """A column as Arrow has it, without what is not a number; made of its memory, as ``pyarrow.array`` loads pandas first."""
    library = arrow()
    if isinstance(column, DictionaryColumn):
        words = [word.encode() for word in column.words]
        ends = np.cumsum([0, *map(len, words)], dtype=np.int32)
        known = library.StringArray.from_buffers(len(words), library.py_buffer(ends), library.py_buffer(b"".join(words)))
        return library.DictionaryArray.from_arrays(_arrow_column(column.codes.astype(np.int32, copy=False)), known)
    there = library.py_buffer(np.packbits(column == column, bitorder="little"))
    kept = column.astype(np.int64).astype(np.int32) if column.dtype.kind == "M" else np.ascontiguousarray(column)
    return library.Array.from_buffers(library.from_numpy_dtype(column.dtype), len(column), [there, library.py_buffer(kept)])


def rows_of(path: Path) -> int:
    """How many rows a finished part holds; -1 where there is none, or it is damaged."""
    library = arrow()
    try:
        with library.parquet.ParquetFile(path) as file:
            return int(file.metadata.num_rows)
    except (OSError, library.ArrowInvalid):
        return -1


def _first_line(error: object) -> str:
    return str(error).partition("\n")[0][:120]


__all__: Sequence[str] = ("REMEDY", "ParquetVariants", "PartWriter", "arrow", "rows_of")
