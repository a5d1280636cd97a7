"""Lines put into a price book as enquiries."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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
    table = book.tables["Enquiries"]
    columns: dict[str, Any] = {}
    said = {name for row in enquiries for name in row}
    for name, values in (table.columns | (blanks(0) if "set" in said else {})).items():
        if values.dtype.kind == "M":
            blank: Any = np.datetime64("NaT", "D")
        else:
            blank = np.nan if values.dtype.kind == "f" else ""
        found: Any = [row.get(name, blank) for row in enquiries] if name in said else np.full(len(enquiries), blank, dtype=values.dtype)
        columns[name] = np.array(found, dtype=values.dtype)
    made = SheetTable(table.sheet, table.sheet_as_written, np.arange(1, len(enquiries) + 1, dtype=np.int64), columns)
    return replace(book, tables={**book.tables, "Enquiries": made})
