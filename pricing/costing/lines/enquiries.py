"""Lines put into a price book as enquiries."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from pricing.book.price_book import PriceBook, SheetTable
from pricing.book.sets import blanks


def with_enquiries(book: PriceBook, enquiries: Sequence[Mapping[str, Any]]) -> PriceBook:
    """The price book as if these lines, and no others, stood in its Enquiries sheet.

    Parameters
    ----------
    book : as it was read; it is not altered
    enquiries : by column of the Enquiries sheet (``quote``, ``product``, ``length``, …), and what a part of a set has besides; what is
        left out is blank
    """
    table, count = book.tables["Enquiries"], len(enquiries)
    said = list(columns_of(enquiries))
    of_a_set = any(name == "set" for name, *_ in said)
    columns: dict[str, Any] = {}
    for name, values in (table.columns | (blanks(0) if of_a_set else {})).items():
        blank: Any = np.datetime64("NaT", "D") if values.dtype.kind == "M" else np.nan if values.dtype.kind == "f" else ""
        columns[name] = np.full(count, blank, dtype=values.dtype)
    for name, places, some in said:
        if name in columns:
            columns[name][places] = np.array(some, dtype=columns[name].dtype)
    made = SheetTable(table.sheet, table.sheet_as_written, np.arange(1, count + 1, dtype=np.int64), columns)
    return replace(book, tables={**book.tables, "Enquiries": made})


def columns_of(rows: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, list[int], tuple[Any, ...]]]:
    """What rows say, column by column: its name, the places of rows that have it, and the values there; rows of the same columns together.

    >>> list(columns_of([{"product": "Sill"}, {"product": "Step", "length": 1.0}, {"product": "Hearth"}]))
    [('product', [0, 2], ('Sill', 'Hearth')), ('product', [1], ('Step',)), ('length', [1], (1.0,))]
    """
    alike: dict[tuple[str, ...], list[int]] = {}
    for place, row in enumerate(rows):
        alike.setdefault(tuple(row), []).append(place)
    for names, places in alike.items():
        for name, values in zip(names, zip(*[rows[place].values() for place in places], strict=True), strict=True):
            yield name, places, values
