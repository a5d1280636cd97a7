"""A priced catalogue as a workbook: one plain sheet, however long, written without holding it in memory."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from pricing.costing.catalogue.job import Prepared
from pricing.costing.catalogue.variants import DATE, PRODUCT, WORDS, VariantColumn, VariantError
from pricing.costing.engine.packed_columns import DictionaryColumn
from pricing.files.atomic import written_beside
from pricing.glossary import GLOSSARY
from pricing.reports.shared.plain_table import set_widths
from pricing.reports.shared.report_book import House, ReportBook
from pricing.reports.shared.styles import Styles, number_format, set_page, shown_unit
from pricing.xlsx.writing.safe_text import clean_text

#: What a sheet holds below its headings.
MOST_ROWS = 1_048_575

#: Columns that a page takes upright.
UPRIGHT = 7

#: Why a piece costs more where more are ordered, where a catalogue has several quantities.
DEARER = "dearer because"

_TEXTS = (*WORDS, DEARER)

#: A text that a cell may hold as it is.
_PLAIN = re.compile(r"[\w .,()/'-]{1,250}", re.ASCII)


def write_catalogue(prepared: Prepared, path: Path, *, done: Callable[[int, int], None] = lambda *_: None) -> int:
    """Price a catalogue and write it as a workbook; returns how many variants have no price.

    Parameters
    ----------
    prepared : what is to be priced
    path : of the workbook; it is written beside and moved into place
    done : called now and then with how many variants are written and how many there are

    Problems raised: VariantError where there are more variants than a sheet has rows; OSError where it cannot be written.
    """
    count = prepared.variants.count
    if count > MOST_ROWS:
        raise VariantError(f"{count:,} variants are more than the {MOST_ROWS:,} rows of a sheet; write them as Parquet files")
    with written_beside(path) as beside, ReportBook(str(beside), House.of(prepared.pricer.book), constant_memory=True) as book:
        return _write(prepared, book, done)


def _write(prepared: Prepared, book: ReportBook, done: Callable[[int, int], None]) -> int:
    book.add_sheets(["Catalogue"])
    styles, currency, sheet = book.styles, book.currency, book.sheets["Catalogue"]
    because = [DEARER] if len(prepared.job.quantities) > 1 else []
    names = [*prepared.variants.names, *prepared.job.figures, *because]
    set_widths(sheet, [243 if name in (PRODUCT, DEARER) else 103 for name in names])
    set_page(sheet, paper=book.paper, business=book.business, landscape=len(names) > UPRIGHT, repeat_row=0)
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, prepared.variants.count, len(names) - 1)
    sheet.set_row(0, 40)
    for column, name in enumerate(names):
        style = styles.get("heading", indent=int(column > 0)) if name in _TEXTS else styles.get("heading right")
        sheet.write_string(0, column, heading(name, currency), style)
    formats = [_format(styles, name, currency, indent=int(column > 0)) for column, name in enumerate(names)]
    at = priceless = 0
    for first, variants, figures, reasons in prepared.priced_with_reasons():
        columns = [*(variants[name] for name in prepared.variants.names), *figures.values(), *([reasons] if because else [])]
        writers = [(_writer(sheet, column), number, style) for number, (column, style) in enumerate(zip(columns, formats, strict=True))]
        for at, row in enumerate(zip(*map(_cells, columns), strict=True), first + 1):
            for (write, number, style), value in zip(writers, row, strict=True):
                if value is not None:
                    write(at, number, value, style)
        priceless += int(np.isnan(next(iter(figures.values()))).sum())
        done(at, prepared.variants.count)
    book.close("Catalogue", None)
    return priceless


def heading(name: str, currency: str) -> str:
    """What stands above a column: label and unit.

    >>> heading("unit_cost", "GBP"), heading("mould_plan", "GBP"), heading("price of Water", "GBP")
    ('Unit cost\\nGBP', 'Mould plan', 'Price of Water')
    """
    quantity = GLOSSARY.get(name)
    if quantity is None or name in _TEXTS:
        return (name[:1].upper() + name[1:]).replace("_", " ")
    unit = shown_unit(quantity.shown, currency)
    return f"{quantity.label}\n{unit}" if unit else quantity.label


def _format(styles: Styles, name: str, currency: str, indent: int) -> Any:
    quantity = GLOSSARY.get(name)
    if name in _TEXTS:
        return styles.get("text", indent=indent)  # clear of the figures beside it
    if name == DATE or quantity is None:
        return styles.get("working", "d mmm yyyy" if name == DATE else "0.00##")
    return styles.get("working", number_format(quantity.shown, quantity.decimals, currency))


def _writer(sheet: Any, column: VariantColumn) -> Callable[..., Any]:
    if isinstance(column, DictionaryColumn):
        write: Callable[..., Any] = sheet.write_string
    else:
        write = sheet.write_datetime if column.dtype.kind == "M" else sheet.write_number
    return write


def _cells(column: VariantColumn) -> list[Any]:
    """The values of a column; None for an empty cell."""
    if isinstance(column, DictionaryColumn):
        words = [(word if _PLAIN.fullmatch(word) else clean_text(word)) or None for word in map(str, column.words)]
        return list(map(words.__getitem__, column.codes.tolist()))
    if column.dtype.kind == "M" or not np.isnan(column).any():
        plain: list[Any] = column.tolist()
        return plain
    return [None if value != value else value for value in column.tolist()]
