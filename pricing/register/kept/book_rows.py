"""The rows of the price book that are kept with a quote: those that its lines name, and those by which its pieces are worked."""

from __future__ import annotations

import json
import weakref
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np

from pricing.book.price_book import PriceBook, price_row_on
from pricing.costing.lines.order_lines import OUTLINE, OrderLines
from pricing.costing.method.costing import Costing
from pricing.costing.options import options_of
from pricing.text import fold


class BookRow(NamedTuple):
    """A row of a sheet of the price book: its cells that are not blank, as a JSON object by column."""

    sheet: str
    row: int
    cells: str


def of_product(book: PriceBook) -> list[str]:
    """The sheets whose rows belong to a product, or to a quote."""
    apart = ("Products", "Enquiries", "Actuals", "Sets")  # what a set was made of stands in the lines
    return [name for name, table in book.tables.items() if {"product", "quote"} & table.columns.keys() and name not in apart]


#: The sheets that say how pieces are worked, each by the column that its rows are called by, and those that these name in turn.
WORKING = {"Mixes": "mix", "Labour": "labour_plan", "Moulds": "mould_plan", "Finishes": "finish"}
OF_WORKING = {"Trades": "trade", "Machines": "machine", "Materials": "material"}

#: By costing, sheet and name the rows of the price book that belong to a product, to a quote or to an outline.
_ROWS: weakref.WeakKeyDictionary[Costing, dict[str, dict[str, list[int]]]] = weakref.WeakKeyDictionary()


def _rows_by_name(costing: Costing) -> dict[str, dict[str, list[int]]]:
    if costing not in _ROWS:
        found: dict[str, dict[str, list[int]]] = {}
        named = dict.fromkeys(("Products", *of_product(costing.book)), ("product", "quote"))
        for sheet, keys in (named | {"Outlines": (OUTLINE,)} | {name: (key,) for name, key in (WORKING | OF_WORKING).items()}).items():
            columns, rows = costing.book.tables[sheet].columns, found.setdefault(sheet, {})
            for column in [each for each in keys if each in columns]:
                for row, name in enumerate(columns[column].tolist()):
                    rows.setdefault(name, []).append(row)
        _ROWS[costing] = found
    return _ROWS[costing]


def rows_to_keep(costing: Costing, quote: str, products: Sequence[str], lines: OrderLines) -> Iterator[BookRow]:
    """The rows of the price book that the lines of a quote name, those offered among them, and those by which their pieces are worked."""
    options, plans = options_of(costing), {name: values.tolist() for name, values in lines.plans.items()}
    if options.costing is not None and quote in options.of_quote:
        own = options.costing.lines.taken([row for each in options.of_quote[quote] for row in each.rows])
        products = [*products, *costing.book.tables["Products"].columns["product"][own.product].tolist()]
        plans = {name: [*values, *own.plans[name].tolist()] for name, values in plans.items()}
    told = {fold(str(name)) for values in plans.values() for name in values}
    for sheet, rows in _rows_by_name(costing).items():
        names: Iterable[str] = products if sheet == "Products" else (*products, quote)
        if sheet == "Outlines":
            names = plans[OUTLINE]
        elif sheet in WORKING or sheet in OF_WORKING:
            names = [name for name in rows if fold(name) in told]
        for row in _in_force(costing.book, sheet, {row for name in names if name for row in rows.get(name, ())}, lines.day[0]):
            cells = kept_cells(costing.book.tables[sheet].columns, row)
            told.update(fold(value) for value in cells.values() if isinstance(value, str))
            yield BookRow(sheet, row, json.dumps(cells, ensure_ascii=False))


def _in_force(book: PriceBook, sheet: str, rows: set[int], day: np.datetime64) -> list[int]:
    """Rows of a sheet in order; of a material's prices the one of a day."""
    if sheet != "Materials":
        return sorted(rows)
    names = {str(book.tables[sheet].columns["material"][row]) for row in rows}
    return sorted(row for name in names if (row := price_row_on(book, name, day)) is not None)


def kept_cells(columns: dict[str, Any], row: int) -> dict[str, str | float]:
    """The cells of a row that are not blank, as they are kept."""
    cells = {name: values[row] for name, values in columns.items() if not is_blank(values[row])}
    return {name: str(value) if isinstance(value, np.datetime64 | str) else float(value) for name, value in cells.items()}


def is_blank(value: Any) -> bool:
    """Whether a cell says nothing."""
    return value == "" or bool(value != value)
