"""A new price takes from the row before it whatever it leaves blank: carriage, wastage, pack, density and the rest."""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import NDArray

from pricing.book.declared.column import Column
from pricing.book.price_book import Rows
from pricing.book.reading.columns import Values
from pricing.text import fold

#: What every row of the sheet says for itself; what is plausible for one price says nothing of the next.
OWN = frozenset({"material", "priced_on", "pack_price", "low", "high"})


def as_typed(column: Column) -> Column:
    """A column read so that what is blank stays blank."""
    return dataclasses.replace(column, needed=False, default=np.nan if column.is_number else "")


def rows_before(materials: Values, days: Values) -> Rows:
    """For each row the row of the same material with the price before it, counted from 0; -1 for the first.

    >>> days = np.array(["2026-03-01", "2026-01-01", "2026-01-01"], dtype="datetime64[D]")
    >>> rows_before(np.array(["Sand", "sand", "Water"], dtype=object), days).tolist()
    [1, -1, -1]
    """
    before = np.full(len(materials), -1, dtype=np.int64)
    last: dict[str, int] = {}
    for row in np.argsort(days, kind="stable").tolist():
        if materials[row] and not np.isnat(days[row]):
            name = fold(materials[row])
            before[row] = last.get(name, -1)
            last[name] = row
    return before


def carry(values: Values, days: Values, before: Rows) -> Rows:
    """Fill the blanks of a column from the rows before them.

    Parameters
    ----------
    values : of the column; it is altered
    days : from which each row holds
    before : from :func:`rows_before`

    Returns
    -------
    for each row, the row in which its value is typed, counted from 0
    """
    typed_in = np.arange(len(values), dtype=np.int64)
    order = np.argsort(days, kind="stable")
    for row in order[(is_blank(values) & (before >= 0))[order]].tolist():
        values[row] = values[before[row]]
        typed_in[row] = typed_in[before[row]]
    return typed_in


def is_blank(values: Values) -> NDArray[np.bool_]:
    """True where nothing is typed.

    >>> is_blank(np.array([1.0, np.nan])).tolist(), is_blank(np.array(["kg", ""], dtype=object)).tolist()
    ([False, True], [False, True])
    """
    blank: NDArray[np.bool_] = (values == "") if values.dtype == object else np.isnan(values)
    return blank
