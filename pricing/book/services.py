"""Services among the products of a price book: solids of no volume, which need no mix, no mould and no carriage."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pricing.book.declared.selling import AFTER
from pricing.book.price_book import PriceBook, SheetTable, Values

#: The column of the Products table that says which row of the Services sheet a service has in the spreadsheet; 0 for a product.
SERVICE_ROW = "service_row"


def with_services(book: PriceBook) -> PriceBook:
    """The price book with its services behind its products, so that whatever is asked for can be found in one table.

    Parameters
    ----------
    book : as it was read; it is not altered
    """
    products, services = book.tables["Products"], book.tables["Services"]
    if SERVICE_ROW in products.columns or not len(services):
        return book
    given = {
        "product": services["service"], "description": services["description"], "labour_plan": services["labour_plan"],
        "list_price": services["price"], "tax": services["tax"],
    }
    columns = {
        name: np.concatenate([values, given.get(name, _blanks(name, values, len(services)))])
        for name, values in products.columns.items()
    }
    columns[SERVICE_ROW] = np.concatenate([np.zeros(len(products), dtype=np.int64), services.rows])
    nowhere = np.concatenate([products.rows, np.zeros(len(services), dtype=np.int64)])
    made = SheetTable(products.sheet, products.sheet_as_written, nowhere, columns, products.letters)
    return replace(book, tables={**book.tables, "Products": made})


_GIVEN = {"shape": "solid", "made_for": "order", "on_list": 0.0, "volume": 0.0, "face_area": 0.0}


def _blanks(name: str, values: Values, count: int) -> Values:
    """What a service has in a column of the products."""
    blank = _GIVEN.get(name, np.nan if values.dtype.kind == "f" else "")
    return np.array([blank] * count, dtype=values.dtype)


def product_count(book: PriceBook) -> int:
    """How many products there are, services left out; they come first."""
    table = book.tables["Products"]
    return int((table.columns[SERVICE_ROW] == 0).sum()) if SERVICE_ROW in table.columns else len(table)


def service_rows(book: PriceBook, product: NDArray[np.intp]) -> NDArray[np.int64]:
    """For some rows of the Products table, which row of the Services sheet they are in the spreadsheet; 0 for a product."""
    columns = book.tables["Products"].columns
    found: NDArray[np.int64] = columns[SERVICE_ROW][product] if SERVICE_ROW in columns else np.zeros(len(product), dtype=np.int64)
    return found


def comes_after(book: PriceBook, product: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which of some rows of the Products table are services that come after everything else."""
    table = book.tables["Services"]
    late = {int(row) for row, when in zip(table.rows.tolist(), table["when"].tolist(), strict=True) if (when or AFTER) == AFTER}
    return np.array([row in late for row in service_rows(book, product).tolist()], dtype=np.bool_)
