"""Price books of any size: the invented demo workshop with many products or many quotes."""

from __future__ import annotations

import datetime
import random
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import PriceBook, SheetTable
from pricing.book.reading.read import load_price_book
from pricing.book.starter.data import BookData
from pricing.book.starter.demo import DEMO
from pricing.book.starter.write import write_book

Indices: TypeAlias = NDArray[np.intp]

DAY = datetime.date(2026, 11, 26)


def quotes_data(quotes: int, lines: int = 3, seed: int = 7) -> BookData:
    """The demo workshop with so many quotes: every third line has a length of its own."""
    chance = random.Random(seed)
    products = [row for row in DEMO["Products"] if row.get("List price") is None]
    customers = [str(row["Customer"]) for row in DEMO["Customers"]]
    enquiries = []
    for number in range(quotes):
        day = datetime.date(2026, 11, 16) + datetime.timedelta(days=number % 10)
        head = {"Quote": f"E-{number + 10_000}", "Date": day, "Customer": customers[number % len(customers)]}
        for product in chance.sample(products, lines):
            line = {**head, "Product": product["Product"], "Quantity": chance.randint(1, 3)}
            if product.get("Length") and chance.random() < 1 / 3:
                line["Length"] = round(float(str(product["Length"])) * chance.uniform(0.9, 1.1))
            enquiries.append(line)
    return {**DEMO, "Enquiries": enquiries, "Actuals": []}


def quotes_book(path: Path, quotes: int, lines: int = 3) -> Path:
    """A price book with so many quotes, written."""
    write_book(path, quotes_data(quotes, lines), overwrite=True)
    return path


def catalogue_data(products: int, seed: int = 7) -> BookData:
    """The demo workshop with so many products: each of its own, varied in length and width."""
    chance = random.Random(seed)
    made = []
    for number in range(products):
        product = dict(DEMO["Products"][number % len(DEMO["Products"])])
        product["Product"] = f"{product['Product']} no. {number + 1}"
        for name in ("Length", "Width"):
            if product.get(name):
                product[name] = round(float(str(product[name])) * chance.uniform(1.0, 1.2))
        product["List price"] = None
        made.append(product)
    return {**DEMO, "Products": made, "Extras": [], "Layers": [], "Sets": [], "Cut-outs": [], "Enquiries": [], "Actuals": []}


def catalogue_book(path: Path, products: int) -> Path:
    """A price book with so many products, written."""
    write_book(path, catalogue_data(products), overwrite=True)
    return path


def widened(book: PriceBook, products: int, seed: int = 7) -> PriceBook:
    """A price book in memory whose Products sheet has so many rows: those it has, varied in length and width, each with the cut-outs,
    layers and extras of the one that it is made of.
    """
    table = book.tables["Products"]
    rows = np.arange(products) % len(table)
    columns = {name: values[rows] for name, values in table.columns.items()}
    chance = np.random.default_rng(seed)
    for name in ("length", "width"):
        columns[name] = np.round(columns[name] * chance.uniform(1.0, 1.2, products), 3)
    columns["product"] = np.array([f"{name} no. {number}" for number, name in enumerate(columns["product"], 1)], dtype=object)
    columns["list_price"] = np.full(products, np.nan)
    wide = SheetTable(table.sheet, table.sheet_as_written, np.arange(2, products + 2, dtype=np.int64), columns, table.letters)
    of_product = {name: np.flatnonzero(rows == place) for place, name in enumerate(table.columns["product"].tolist())}
    besides = {sheet: _repeated(book.tables[sheet], of_product, columns["product"]) for sheet in ("Cut-outs", "Layers", "Extras")}
    return replace(book, tables={**book.tables, "Products": wide, **besides})


def _repeated(table: SheetTable, of_product: dict[str, Indices], names: NDArray[Any]) -> SheetTable:
    """Rows that name a product, for each of the products that are made of it."""
    each = [of_product.get(name, np.zeros(0, dtype=np.intp)) for name in table.columns["product"].tolist()]
    if not any(map(len, each)):
        return table
    rows = np.repeat(np.arange(len(table)), [len(made) for made in each])
    columns = {name: values[rows] for name, values in table.columns.items()} | {"product": names[np.concatenate(each)]}
    return SheetTable(table.sheet, table.sheet_as_written, np.arange(2, len(rows) + 2, dtype=np.int64), columns, table.letters)


def demo_book(path: Path) -> PriceBook:
    """The demo price book, written and read again."""
    write_book(path, DEMO, overwrite=True)
    return load_price_book(path)


def slabs(book: PriceBook, pieces: int, seed: int = 7) -> PriceBook:
    """A price book in memory with so many slabs of the same plans, each of its own length and width."""
    table = book.tables["Products"]
    row = table.columns["product"].tolist().index("Stepping stone 450")
    rows = np.full(pieces, row)
    columns = {name: values[rows] for name, values in table.columns.items()}
    chance = np.random.default_rng(seed)
    columns["length"], columns["width"] = np.round(chance.uniform(0.4, 0.6, pieces), 3), np.round(chance.uniform(0.3, 0.5, pieces), 3)
    columns["product"] = np.array([f"Slab no. {number}" for number in range(1, pieces + 1)], dtype=object)
    columns["list_price"] = np.full(pieces, np.nan)
    wide = SheetTable(table.sheet, table.sheet_as_written, np.arange(2, pieces + 2, dtype=np.int64), columns, table.letters)
    return replace(book, tables={**book.tables, "Products": wide})
