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
    ["Customer", "Address", "Discount", "Tax rate", "Delivery zone", "Tax", "E-mail", "Site address", "Payments", "Payment days",
     "Language"],
    ["Ada Field", "1 Lane", "0 %", None, "Near", None, None, None, None, None, None],
    ["Brook House", "2 Road", "10 %", "10 %", None, None, None, None, None, None, None],
    ["Lindgrün GmbH", "Fichtenweg 3\n00000 Quellstadt", "5 %", None, "Near", "Reverse charge", "post@lindgruen.example", "Werkstor 9",
     "Thirds", 14, "de"],
    ["School of Reeds", "4 Walk", "0 %", None, "Near", "Exempt", None, None, None, 30, None],
]

PAYMENTS: list[list[Any]] = [
    ["Payments", "Stage", "Share", "When", "Days"],
    ["Thirds", "First third", "33.3333 %", "with the order", None],
    ["Thirds", "Second third", "33.3333 %", "before delivery", 7],
    ["Thirds", "Last third", None, "after delivery", None],
    ["Half and half", "Half", "50 %", "with the order", None],
    ["Half and half", "Other half", "50 %", "on delivery", None],
]

QUOTES: list[list[Any]] = [
    ["Quote", "Reference", "Site address", "Discount", "Valid for", "Deposit", "Payments", "Opening", "Terms"],
    ["Q-1", "Kitchen 7", "8 Mill Yard", "3 %", 60, "30 %", None, "As we spoke of on the telephone:", "Fitting is not part of this."],
    ["Q-2", None, None, None, None, None, "Half and half", None, None],
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


TERMS: list[list[Any]] = [
    ["Language", "Heading", "Text"],
    ["de", "Zahlungsbedingungen", "Bitte auf das unten genannte Konto."],
    ["en-GB", "Bank", "Please pay to the account that we agreed on."],
    ["de", "Opening", "Wie besprochen bieten wir an:"],
]


def terms_book() -> dict[str, list[list[Any]]]:
    """The workshop, for a test to change."""
    sheets = small_book()
    for row, tax in zip(sheets["Products"], ("Tax", None, "VAT reduced", "Zero rated"), strict=True):
        row.append(tax)
    sheets["Workshop"].append(["Tax number", "XX 123 456", None])
    sheets["Delivery"].append(["Near", 90_000, 145.55])
    return sheets | {
        "Payments": [list(row) for row in PAYMENTS], "Quotes": [list(row) for row in QUOTES],
        "Terms": [list(row) for row in TERMS],
        "Taxes": [list(row) for row in TAXES], "Customers": [list(row) for row in CUSTOMERS], "Enquiries": [list(row) for row in ENQUIRIES],
    }
