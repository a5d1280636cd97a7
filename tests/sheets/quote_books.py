"""Price books for the tests of the customer's workbook: the demo workshop, with whatever a test changes in it."""

from __future__ import annotations

import copy
import datetime
from pathlib import Path

from pricing.book.reading.read import load_price_book
from pricing.book.starter.data import BookData, Row
from pricing.book.starter.demo import DEMO
from pricing.book.starter.write import write_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes

DAY = datetime.date(2026, 11, 26)


def demo() -> BookData:
    """The demo workshop's rows, to be changed at will."""
    return copy.deepcopy(DEMO)


def line(quote: str, customer: str, product: str, quantity: int, note: str = "", **more: object) -> Row:
    """A row of the Enquiries sheet."""
    return {"Quote": quote, "Date": DAY, "Customer": customer, "Product": product, "Quantity": quantity, "Note": note, **more}


def fitting(data: BookData) -> BookData:
    """The same rows without cut-outs, layers and extras of products and quotes that are no longer among them."""
    quotes = {row["Quote"] for row in data["Enquiries"]} | {"", None}
    products = {row["Product"] for row in data["Products"]} | {"", None}
    return data | {
        sheet: [row for row in data.get(sheet, []) if row.get("Product") in products and row.get("Quote") in quotes]
        for sheet in ("Cut-outs", "Layers", "Extras")
    }


def costed(data: BookData, folder: Path) -> Costing:
    """The quotes of a price book with these rows, written into *folder* and read again."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "price-book.xlsx"
    write_book(path, fitting(data), overwrite=True)
    return cost_quotes(load_price_book(path))
