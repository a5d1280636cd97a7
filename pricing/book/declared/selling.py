"""What is sold besides pieces of the catalogue at their list prices: the sheets of it, each column declared once."""

from __future__ import annotations

from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.declared.terms import tax_column

LEVELS = SheetDeclaration(
    "Levels", "a price of a level", "Prices of customers who buy on other terms: trade, designers, resellers.", "level", "levels",
    (
        Column("Level", "name", "Name of the level, repeated on every row of it.", needed=True, example="Trade", width=18),
        Column("Product", "choice", "What it is for; blank: everything that has no row of its own.", refers_to="Products", default="",
               width=22),
        Column("Discount", "percent", "Off the price, instead of the customer's discount; a discount of the line stands before it.",
               quantity="own_discount", example="15 %", decimals=1, width=10),
        Column("Price", "number", "Price of one, without tax, instead of list price and calculated price; no customer's discount is taken "
               "off it, but one that the line has of its own.", quantity="given_price", unit="currency", example="120.00",
               decimals=2, width=12),
    ),
    key=("level", "product"), in_starter=False,
)

BEFORE, AFTER = "before", "after"

SERVICES = SheetDeclaration(
    "Services", "a service", "What is sold without being cast: measuring, templates, fitting, samples, hire.", "service", "services",
    (
        Column("Service", "name", "Name of the service; an enquiry names it under Product.", needed=True, example="Fitting", width=22),
        Column("Description", "note", "As the customer reads it on the quote.", default="", width=36),
        Column("Labour plan", "choice", "The work that one of it takes; blank: none.", refers_to="Labour", default="", width=20),
        Column("Price", "number", "Price of one, without tax, at any number; blank where it is calculated.", quantity="given_price",
               unit="currency", example="180.00", decimals=2, width=12),
        Column("When", "choice", "before: before the first cast. after: after everything else is ready.", choices=(BEFORE, AFTER),
               default=AFTER, width=10),
        tax_column("A tax of the customer stands before it."),
    ),
    key=("service",), in_starter=False,
)

SETS = SheetDeclaration(
    "Sets", "a part of a set", "What is sold together under one heading at one price: repeat the set's name on the row of every part.",
    "set", "sets",
    (
        Column("Set", "name", "Name of the set, repeated on every row of it; an enquiry names it under Product.", needed=True,
               example="Garden set", width=22),
        Column("Description", "note", "As the customer reads it on the quote; once is enough.", default="", width=36),
        Column("Product", "choice", "A part of it: a product, or a service.", refers_to="Products", also=("Services", "Sets"), needed=True,
               width=22),
        Column("Quantity", "number", "How many of it are in one set.", quantity="quantity", shown="pieces", needed=True, whole=True,
               example="2", decimals=0, width=10),
    ),
    key=("set", "product"), in_starter=False,
)
