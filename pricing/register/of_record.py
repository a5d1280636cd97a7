"""A recorded quote as a costing, and the rows of the price book that were kept with it: an order is made when the sheets have moved on.

Kept are the products of its lines with what belongs to them: extras, cut-outs, layers, outlines. How a piece is worked stays the
workshop's own: mixes, moulds, labour and finishes are those of the price book of the day.
"""

from __future__ import annotations

import datetime
import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from pricing.book.price_book import PriceBook, SheetTable
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.lines.enquiries import with_enquiries
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines
from pricing.problems import BookError, Problems
from pricing.register.damage import NonsenseError, object_of
from pricing.register.quote_snapshot import PRICE_OF_MEASURE, BookRow, SnapshotLine, enquiry_of, of_product
from pricing.register.recorded_quote import RecordedQuote
from pricing.register.register import Register, RegisterError
from pricing.text import fold


def book_rows(register: Register, quote: RecordedQuote) -> list[BookRow]:
    """The rows that were kept with a quote; none in a register of before.

    Problems raised: RegisterError where they are damaged.
    """
    connection: sqlite3.Connection = register._connection
    rows = connection.execute("SELECT sheet, row, cells FROM book_rows WHERE quote = ? ORDER BY sheet, row", (quote.key,)).fetchall()
    try:
        return [BookRow(row["sheet"], row["row"], json.dumps(object_of(row["cells"], "row of the price book"))) for row in rows]
    except NonsenseError as error:
        raise RegisterError("damaged-record", f"quote {quote.name} is damaged, because {error}") from None


def book_of_record(book: PriceBook, register: Register, quote: RecordedQuote, number: str = "") -> PriceBook:
    """The price book with a recorded quote as its only enquiry, at the prices that were promised, and with its products as they were.

    Parameters
    ----------
    book : as it is today
    number : what the quote is called in it; its own number where empty

    Problems raised: RegisterError where a product is gone that an earlier version did not keep, or the record is damaged.
    """
    lines = register.lines(quote)
    kept = book_rows(register, quote)
    own = with_book_rows(book, [_called(row, number or quote.number) for row in kept]) if kept else book
    known = {fold(name) for name in own.tables["Products"].columns["product"].tolist()}
    gone = [line.product for line in lines if fold(line.product) not in known]
    if gone:
        text = f'quote {quote.name} is {quote.state} with "{gone[0]}", which is no longer on the sheet Products'
        raise RegisterError("product-gone", f"{text}, and was recorded by a version that did not keep it; write it there again")
    rate = _discount_of(own, quote.customer)
    rows = [
        enquiry_of(number or quote.number, quote.customer, quote.day, line.asked) | {"product": _spelled(own, line.product)}
        | _at_its_price(line, quote, rate) for line in lines
    ]
    return with_enquiries(own, rows)


def _called(row: BookRow, number: str) -> BookRow:
    """A row that belongs to the quote, under the number by which it is called."""
    cells = json.loads(row.cells)
    own = "quote" in cells and row.sheet != "Quotes"  # a revision has the terms of its quote
    return row._replace(cells=json.dumps({**cells, "quote": number})) if own else row


def _spelled(book: PriceBook, product: str) -> str:
    return next(str(name) for name in book.tables["Products"].columns["product"].tolist() if fold(name) == fold(product))


def _discount_of(book: PriceBook, customer: str) -> float:
    """The discount of a customer [1]."""
    columns = book.tables["Customers"].columns
    known = dict(zip(columns["customer"].tolist(), columns["discount"].tolist(), strict=True))
    return float(np.nan_to_num(known.get(customer, 0.0)))


def _at_its_price(line: SnapshotLine, recorded: RecordedQuote, rate: float) -> dict[str, float]:
    """Price and discount of a recorded line, as an enquiry types them so that its net comes out as it was promised.

    Parameters
    ----------
    rate : the customer's discount, which earlier records have on every line and later ones on those whose price was not typed
    """
    whole = line.quantity * line.unit_price
    own = round(1 - line.net / whole, 4) if whole > 0 else 0.0
    on_all = abs(recorded.totals.get("discount", 0.0) - recorded.totals.get("lines_net", 0.0) * rate) < 0.006
    taken = own if own > 0 else rate if on_all or "unit_price" not in line.asked else 0.0
    return {"unit_price": line.asked.get(PRICE_OF_MEASURE, line.unit_price), "discount": taken}


def with_book_rows(book: PriceBook, kept: Sequence[BookRow]) -> PriceBook:
    """The price book in which the products of some kept rows are as they were kept; it is not altered itself."""
    names = {
        column: {fold(str(cells[column])) for row in kept if (cells := json.loads(row.cells)) and row.sheet in sheets and column in cells}
        for column, sheets in (("product", ("Products",)), ("outline", ("Outlines",)), ("quote", ("Quotes",)))
    }
    tables, models = dict(book.tables), {}
    for sheet in dict.fromkeys(["Products", *(each for each in of_product(book)), *(row.sheet for row in kept)]):
        if sheet not in book.tables:
            continue
        table, rows = book.tables[sheet], [json.loads(row.cells) for row in kept if row.sheet == sheet]
        column = "outline" if sheet == "Outlines" else "product" if "product" in table.columns else "quote"
        stay = _others(table, column, names[column])
        if sheet == "Products":
            measured = {fold(name): book.models[row] for row, name in enumerate(table.columns["product"].tolist()) if row in book.models}
            called = [*table.columns["product"][stay].tolist(), *(row["product"] for row in rows)]
            models = {row: measured[fold(name)] for row, name in enumerate(called) if fold(name) in measured}
        tables[sheet] = _joined(table, stay, rows)
    return replace(book, tables=tables, models=models, _dated_rows={})


def _others(table: SheetTable, column: str, names: Iterable[str]) -> list[int]:
    taken = set(names)
    return [row for row, name in enumerate(table.columns[column].tolist()) if fold(str(name)) not in taken]


def _joined(table: SheetTable, stay: Sequence[int], rows: Sequence[dict[str, Any]]) -> SheetTable:
    """Some rows of a table, and others that do not stand on the sheet."""
    columns = {}
    for name, values in table.columns.items():
        blank: Any = {"M": np.datetime64("NaT", "D"), "f": np.nan, "i": 0}.get(values.dtype.kind, "")
        added = [np.datetime64(row[name], "D") if values.dtype.kind == "M" and name in row else row.get(name, blank) for row in rows]
        columns[name] = np.array([*values[list(stay)].tolist(), *added], dtype=values.dtype)
    numbers = np.array([*table.rows[list(stay)].tolist(), *[0] * len(rows)], dtype=np.int64)
    return SheetTable(table.sheet, table.sheet_as_written, numbers, columns, table.letters if not rows else {})


def costing_of_record(book: PriceBook, register: Register, quote: RecordedQuote) -> Costing:
    """The costing of a recorded quote, figure by figure as it was made.

    Where an earlier version made it in a way that this one no longer has, its lines are costed anew, at the prices that were promised.

    Parameters
    ----------
    book : as it is today, for whatever the record does not hold: addresses, settings of the page

    Problems raised: RegisterError where the record is damaged, or a product is gone that it does not hold; BookError where it has to be
    costed anew, and that cannot be done.
    """
    model, problems = register.model(quote), Problems(book.file)
    number = quote.number if model is None else str(model.tables["quotes"].text["quote"][0])
    own = book_of_record(book, register, quote, number)
    if own.word("currency") != quote.currency:
        own = replace(own, settings={**own.settings, "currency": quote.currency})
    lines = enquired(own)
    if model is not None:
        return Costing(own, lines, problems, model, evaluate(model))
    costing = cost_lines(own, lines, problems)
    if problems.errors:
        raise BookError(problems.errors)
    return costing


def work_of_record(
    book: PriceBook, register: Register, quote: RecordedQuote, problems: Problems, day: datetime.date | None = None
) -> Costing:
    """The costing by which an ordered quote is made: its own lines and products, by the workshop's way of working of today.

    Parameters
    ----------
    problems : takes what stands against it, and what the maker has to look at
    day : whose prices hold; the quote's own where None

    Problems raised: RegisterError where the record is damaged, or a product is gone that it does not hold.
    """
    own = book_of_record(book, register, quote)
    return cost_lines(own, enquired(own, day=day), problems)
