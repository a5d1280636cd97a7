"""What is sold besides pieces of the catalogue at their list prices: the sheets of it, each column declared once."""

from __future__ import annotations

from pricing.book.declared.column import Column, SheetDeclaration

LEVELS = SheetDeclaration(
    "Levels", "a price of a level", "Prices of customers who buy on other terms: trade, designers, resellers.", "level", "levels",
    (
        Column("Level", "name", "Name of the level, repeated on every row of it.", needed=True, example="Trade", width=18),
        Column("Product", "choice", "What it is for; blank: everything that has no row of its own.", refers_to="Products", default="",
               width=22),
        Column("Discount", "percent", "Off the price, instead of the customer's discount.", quantity="own_discount", example="15 %",
               decimals=1, width=10),
        Column("Price", "number", "Price of one, without tax, instead of list price and calculated price; no customer's discount is taken "
               "off it.", quantity="given_price", unit="currency", example="120.00", decimals=2, width=12),
    ),
    key=("level", "product"), in_starter=False,
)
