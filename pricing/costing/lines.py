"""The lines to be costed, as columns: from the enquiries of a price book, or from its catalogue at chosen quantities.

What a line overrides is resolved here: its dimensions, plans and price, and where each of them stands in the book.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import PriceBook, SheetTable
from pricing.costing.tables import Floats, Texts
from pricing.rules.shapes import SHAPES

PLANS = ("mix", "mould_plan", "labour_plan", "finish")
DIMENSIONS = tuple(dict.fromkeys(name for shape in SHAPES.values() for name in shape.dimensions))


@dataclass
class LineSet:
    """Lines as columns, each of shape (lines,).

    Parameters
    ----------
    quote, customer : words; for catalogue lines the quote is the line's own
    day : the day whose prices hold for the line
    product : row of the Products sheet, counted from 0
    quantity : good pieces [pieces]
    plans : mix, mould plan, labour plan and finish, after overrides
    dimensions : by name, after overrides [SI]; nan where neither the line nor the catalogue gives one
    given_price : list price or typed price [currency]; nan where the price is calculated
    overrides : True where the line differs from the catalogue in a dimension or a plan
    enquiry : row of the Enquiries sheet, counted from 0; -1 where there is none
    places : by column, where each value stands in the price book
    """

    quote: Texts
    customer: Texts
    day: NDArray[np.datetime64]
    product: NDArray[np.intp]
    quantity: Floats
    plans: dict[str, Texts]
    dimensions: dict[str, Floats]
    given_price: Floats
    overrides: NDArray[np.bool_]
    enquiry: NDArray[np.intp]
    places: dict[str, list[str]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.quantity)

    def quotes(self) -> list[str]:
        """The quotes, each once, in the order of their first lines."""
        return list(dict.fromkeys(self.quote.tolist()))


def place_of(table: SheetTable, column: str, row: int) -> str:
    """``Products!F14``, or nothing where the sheet has no such column."""
    cell = table.cell(column, row)
    return f"{table.sheet}!{cell}" if cell else ""


def _merged(
    book: PriceBook, column: str, enquiry: NDArray[np.intp], product: NDArray[np.intp]
) -> tuple[Any, NDArray[np.bool_], list[str]]:
    """The line's own value where it gives one, otherwise the catalogue's; which lines give one; and the places."""
    enquiries, products = book.tables["Enquiries"], book.tables["Products"]
    values = products.columns[column][product].copy()
    own = np.zeros(len(product), dtype=bool)
    with_enquiry = enquiry >= 0
    if with_enquiry.any() and column in enquiries.columns and len(enquiries):
        typed = enquiries.columns[column][np.maximum(enquiry, 0)]
        own = with_enquiry & (~np.isnan(typed) if typed.dtype.kind == "f" else typed != "")
        values[own] = typed[own]
    in_line, in_book = enquiries.letters.get(column, ""), products.letters.get(column, "")
    places = [
        f"Enquiries!{in_line}{enquiries.rows[e]}" if o else (f"Products!{in_book}{products.rows[p]}" if in_book else "")
        for o, e, p in zip(own.tolist(), enquiry.tolist(), product.tolist(), strict=True)
    ]
    return values, own, places


def _line_set(
    book: PriceBook, quote: Texts, customer: Texts, day: NDArray[np.datetime64], product: NDArray[np.intp],
    quantity: Floats, enquiry: NDArray[np.intp],
) -> LineSet:  # fmt: skip
    plans: dict[str, Texts] = {}
    dimensions: dict[str, Floats] = {}
    places: dict[str, list[str]] = {}
    overrides = np.zeros(len(product), dtype=bool)
    for name in PLANS:
        plans[name], own, places[name] = _merged(book, name, enquiry, product)
        overrides |= own & (plans[name] != book.tables["Products"].columns[name][product])
    for name in DIMENSIONS:
        if name in book.tables["Products"].columns:
            dimensions[name], own, places[name] = _merged(book, name, enquiry, product)
            overrides |= own & (dimensions[name] != book.tables["Products"].columns[name][product])
    products = book.tables["Products"]
    list_price = products.columns["list_price"][product]
    given = np.where(overrides, np.nan, list_price)
    places["given_price"] = [
        "" if np.isnan(price) else place_of(products, "list_price", row) for row, price in zip(product, given, strict=True)
    ]
    enquiries = book.tables["Enquiries"]
    if (enquiry >= 0).any():
        typed = np.where(enquiry >= 0, enquiries.columns["unit_price"][np.maximum(enquiry, 0)], np.nan)
        for row in np.flatnonzero(~np.isnan(typed)):
            places["given_price"][row] = place_of(enquiries, "unit_price", int(enquiry[row]))
        given = np.where(np.isnan(typed), given, typed)
        places["quantity"] = [place_of(enquiries, "quantity", int(e)) if e >= 0 else "" for e in enquiry]
    for name in ("rejects", "made_for"):
        letter = products.letters.get(name, "")
        places[name] = [f"Products!{letter}{products.rows[p]}" if letter else "" for p in product]
    return LineSet(quote, customer, day, product, quantity, plans, dimensions, given, overrides, enquiry, places)


def _row_of(table: SheetTable, column: str) -> dict[str, int]:
    return {name: row for row, name in enumerate(table.columns[column].tolist())}


def enquired(book: PriceBook, quotes: Sequence[str] | None = None, day: datetime.date | None = None) -> LineSet:
    """The lines of the enquiries, of all quotes or of those named.

    Parameters
    ----------
    quotes : numbers as the Enquiries sheet spells them; all where None
    day : the day whose prices hold; each quote's own date where None
    """
    table = book.tables["Enquiries"]
    chosen = np.arange(len(table))
    if quotes is not None:
        wanted = set(quotes)
        chosen = np.array([row for row in chosen if table.columns["quote"][row] in wanted], dtype=np.intp)
    first: dict[str, int] = {}
    for row in chosen.tolist():
        first.setdefault(table.columns["quote"][row], row)
    order = {quote: number for number, quote in enumerate(first)}
    chosen = np.array(sorted(chosen.tolist(), key=lambda row: (order[table.columns["quote"][row]], row)), dtype=np.intp)
    quote = table.columns["quote"][chosen]
    opening = np.array([first[name] for name in quote], dtype=np.intp)
    days = table.columns["date"][opening].astype("datetime64[D]")
    if day is not None:
        days = np.full(len(chosen), np.datetime64(day, "D"))
    today = np.datetime64(datetime.date.today(), "D")
    days = np.where(np.isnat(days), today, days)
    rows = _row_of(book.tables["Products"], "product")
    product = np.array([rows[name] for name in table.columns["product"][chosen]], dtype=np.intp)
    return _line_set(
        book, quote, table.columns["customer"][opening], days, product, table.columns["quantity"][chosen].astype(float), chosen
    )


def with_quantities(book: PriceBook, lines: LineSet, quantities: Sequence[float]) -> LineSet:
    """Each line again at each quantity, as an order of its own, its price calculated: the quantity table.

    The result has ``len(lines) * len(quantities)`` lines, the quantities of one line standing together.
    """
    repeat = np.repeat(np.arange(len(lines)), len(quantities))
    quantity = np.tile(np.asarray(quantities, dtype=np.float64), len(lines))
    quote = np.array([f"{row + 1} x {number:g}" for row, number in zip(repeat, quantity, strict=True)], dtype=object)
    return LineSet(
        quote, lines.customer[repeat], lines.day[repeat], lines.product[repeat], quantity,
        {name: values[repeat] for name, values in lines.plans.items()},
        {name: values[repeat] for name, values in lines.dimensions.items()},
        np.full(len(repeat), np.nan), lines.overrides[repeat], lines.enquiry[repeat],
        {name: [places[row] for row in repeat] for name, places in lines.places.items() if name != "quantity"},
    )  # fmt: skip


def catalogue(book: PriceBook, day: datetime.date, quantities: Sequence[float] | None = None) -> LineSet:
    """Every product as an order of its own: at its usual run, or at each of the *quantities* (products outermost)."""
    table = book.tables["Products"]
    product = np.arange(len(table), dtype=np.intp)
    usual = table.columns["usual_run"]
    quantity = np.where(np.isnan(usual), 1.0, usual)
    if quantities is not None:
        product = np.repeat(product, len(quantities))
        quantity = np.tile(np.asarray(quantities, dtype=np.float64), len(table))
    quote = np.arange(1, len(product) + 1).astype(str).astype(object)
    customer = np.full(len(product), "", dtype=object)
    days = np.full(len(product), np.datetime64(day, "D"))
    return _line_set(book, quote, customer, days, product, quantity, np.full(len(product), -1, dtype=np.intp))
