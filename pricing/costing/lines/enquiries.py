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
    of_parts = blanks(0) if any(row.get("set") for row in enquiries) else {}
    for name, values in (table.columns | of_parts).items():
        if values.dtype.kind == "M":
            blank: Any = np.datetime64("NaT", "D")
        else:
            blank = np.nan if values.dtype.kind == "f" else ""
        columns[name] = np.array([row.get(name, blank) for row in enquiries], dtype=values.dtype)
    made = SheetTable(table.sheet, table.sheet_as_written, np.arange(1, len(enquiries) + 1, dtype=np.int64), columns)
    return replace(book, tables={**book.tables, "Enquiries": made})
