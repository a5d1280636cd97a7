"""Variants of catalogue pieces as a sheet states them, with the headings and units of the price book."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.declared.dimensions import DIMENSION_COLUMNS
from pricing.book.price_book import PriceBook
from pricing.book.reading.cells import CellReader
from pricing.book.reading.columns import ColumnReader, Values
from pricing.book.reading.headings import check_heading_units, data_rows, find_headings
from pricing.book.wording.reporter import Reporter
from pricing.problems import Problems
from pricing.xlsx.reading.cell_table import Sheet
from pricing.xlsx.reading.grid import Grid
from pricing.xlsx.reading.workbook import read_workbook
from pricing.xlsx.refused import RefusedError


def declaration(book: PriceBook, *, axes: bool = False) -> SheetDeclaration:
    """What the columns of a sheet of variants may be.

    Parameters
    ----------
    book : whose materials and trades may have a factor
    axes : True where each column is a list of its own, so that a row may lack its product
    """
    plans = (("Mix", "Mixes"), ("Mould plan", "Moulds"), ("Labour plan", "Labour"), ("Finish", "Finishes"))
    factors = [
        Column(f"{kind} of {name}", "number", "By what it is multiplied.", lower=0.001, upper=1000.0, example="1.1")
        for kind, sheet, column in (("Price", "Materials", "material"), ("Wage", "Trades", "trade"))
        for name in dict.fromkeys(book.tables[sheet].columns[column].tolist())
    ]
    return SheetDeclaration(
        "Variants", "a variant", "What is to be priced.", "variant", "variants",
        (
            Column("Product", "name", "The product that it is a variant of.", needed=not axes),
            *(Column(heading, "name", f"A {heading.lower()} of the {sheet} sheet.", default="") for heading, sheet in plans),
            *DIMENSION_COLUMNS,
            Column("Quantity", "number", "How many good pieces.", shown="pieces", lower=1.0, upper=1e6, whole=True, example="4"),
            Column("Date", "date", "The day whose prices hold.", example="2025-03-01"),
            *factors,
        ),
    )


def read_variants(path: Path, book: PriceBook, problems: Problems, *, axes: bool = False) -> dict[str, Values]:
    """The columns of a sheet of variants: the first sheet whose headings are those of variants.

    Parameters
    ----------
    path : of the workbook
    book : whose products it varies
    axes : True where each column is a list of its own; blank cells are left out then

    Returns
    -------
    by name, figures in the units of the engine; empty where there is a problem

    Problems: those of ``read_workbook``, ``find_headings`` and ``CellReader``.
    """
    workbook = read_workbook(path, problems)
    if workbook is None or not workbook.sheets:
        return {}
    return variants_of_sheet(workbook.sheets[0], book, problems, axes=axes, doubtful=workbook.results_doubtful)


def variants_of_sheet(
    sheet: Sheet, book: PriceBook, problems: Problems, *, axes: bool = False, doubtful: bool = False
) -> dict[str, Values]:
    """The same of a sheet that is read already.

    Parameters
    ----------
    doubtful : True where zeros of formulas may never have been calculated
    """
    try:
        return _columns(sheet, book, problems, axes, doubtful)
    except RefusedError as refusal:
        problems.add(refusal.code, refusal.message, sheet=refusal.sheet)
        return {}


def _columns(sheet: Sheet, book: PriceBook, problems: Problems, axes: bool, doubtful: bool) -> dict[str, Values]:
    declared = declaration(book, axes=axes)
    reporter = Reporter(problems, sheet.name)
    grid = Grid(sheet)
    found = find_headings(grid, declared, reporter)
    if found is None:
        return {}
    currency = str(book.settings.get("currency", ""))
    check_heading_units(found, declared, reporter, currency)
    rows = data_rows(grid, found, declared, reporter)
    reader = ColumnReader(grid, found, rows, CellReader(reporter, currency, doubtful))
    columns = {}
    for column in declared.columns:
        if column.name in found.places:
            values = reader.read(column)
            columns[_name(column)] = _filled(values) if axes else values
    return columns


def _name(column: Column) -> str:
    """Factors keep the name of their material; the others are called as programs call them."""
    kind, _, rest = column.heading.partition(" of ")
    return f"{kind.lower()} of {rest}" if rest and kind in ("Price", "Wage") else column.name


def _filled(values: Values) -> Values:
    if values.dtype.kind == "f":
        return values[~np.isnan(values)]
    return values[~np.isnat(values)] if values.dtype.kind == "M" else values[values != ""]
