"""A small workshop that sells on all the terms that a price book can state: several taxes, discounts, charges and plans of payment."""

from __future__ import annotations

from typing import Any

from books import DAY, small_book

TAXES: list[list[Any]] = [
    ["Tax", "Rate", "Category", "Reason"],
    ["VAT reduced", "5 %", "S", None],
    ["Zero rated", None, "Z", None],
    ["Exempt", None, "E", "Exempt under a paragraph of the law"],
    ["Reverse charge", None, "AE", None],
    ["Export", None, "G", None],
    ["Out of scope", None, "O", "Not taxable here"],
]

CUSTOMERS: list[list[Any]] = [
    ["Customer", "Address", "Discount", "Tax rate", "Delivery zone", "Tax"],
    ["Ada Field", "1 Lane", "0 %", None, "Near", None],
    ["Brook House", "2 Road", "10 %", "10 %", None, None],
    ["Lindgrün GmbH", "Fichtenweg 3\n00000 Quellstadt", "5 %", None, "Near", "Reverse charge"],
    ["School of Reeds", "4 Walk", "0 %", None, "Near", "Exempt"],
]

ENQUIRIES: list[list[Any]] = [
    ["Quote", "Date", "Customer", "Product", "Quantity", "Unit price"],
    ["Q-1", DAY, "Ada Field", "Slab 1000", 4, None],
    ["Q-1", DAY, "Ada Field", "Shelf 800", 3, None],
    ["Q-1", DAY, "Ada Field", "Block", 1, 33.33],
    ["Q-2", DAY, "Brook House", "Block", 12, None],
    ["Q-2", DAY, "Brook House", "Slab 1000", 1, None],
    ["Q-3", DAY, "Lindgrün GmbH", "Slab 1000", 2, None],
    ["Q-3", DAY, "Lindgrün GmbH", "Shelf 800", 2, None],
    ["Q-4", DAY, "School of Reeds", "Shelf 800", 2, None],
]


def terms_book() -> dict[str, list[list[Any]]]:
    """The workshop, for a test to change."""
    sheets = small_book()
    for row, tax in zip(sheets["Products"], ("Tax", None, "VAT reduced", "Zero rated"), strict=True):
        row.append(tax)
    sheets["Workshop"].append(["Tax number", "XX 123 456", None])
    sheets["Delivery"].append(["Near", 90_000, 145.55])
    return sheets | {
        "Taxes": [list(row) for row in TAXES], "Customers": [list(row) for row in CUSTOMERS], "Enquiries": [list(row) for row in ENQUIRIES],
    }
