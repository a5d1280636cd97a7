"""A recorded quote as a costing, and the rows of the price book that were kept with it: an order is made when the sheets have moved on.

Kept are the products of its lines with what belongs to them: extras, cut-outs, layers, outlines; and how they are worked: mixes, moulds,
labour and finishes, with the materials, trades and machines that these name, which are needed only where the price book has them no more.
A register of before kept the products alone: then the price book of the day says how they are worked.
"""

from __future__ import annotations

import datetime
import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from pricing.book.declared.sheets import SHEETS
from pricing.book.offers import LEFT_OUT
from pricing.book.price_book import NONE, PriceBook, SheetTable
from pricing.book.wording.sentences import listed
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.lines.enquiries import with_enquiries
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines
from pricing.problems import BookError, Problems
from pricing.register.kept.book_rows import OF_WORKING, WORKING, BookRow, kept_cells, of_product
from pricing.register.kept.lines import PRICE_OF_MEASURE, SnapshotLine, enquiry_of
from pricing.register.kept.nonsense import NonsenseError, object_of
from pricing.register.recorded_quote import RecordedQuote
from pricing.register.register import Register, RegisterError
from pricing.text import fold

#: So much that changed is named.
MOST_NAMED = 6


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


def book_of_record(
    book: PriceBook, register: Register, quote: RecordedQuote, number: str = "", *, as_today: bool = False
) -> PriceBook:
    """The price book with a recorded quote as its only enquiry, at the prices that were promised, with its products and the way in which
    they are worked as they were.

    Parameters
    ----------
    book : as it is today
    number : what the quote is called in it; its own number where empty
    as_today : True where it is worked as the price book says today

    Problems raised: RegisterError where a product, or what it is worked by, is gone and was not kept, or the record is damaged.
    """
    lines = register.lines(quote)
    kept = [row for row in book_rows(register, quote) if not as_today or row.sheet not in WORKING]
    called = number or quote.number
    own = with_book_rows(book, kept, called)
    known = {fold(name) for name in own.tables["Products"].columns["product"].tolist()}
    gone = [line.product for line in lines if fold(line.product) not in known]
    if gone:
        text = f'quote {quote.name} is {quote.state} with "{gone[0]}", which is no longer on the sheet Products'
        raise RegisterError("product-gone", f"{text}, and was recorded by a version that did not keep it; write it there again")
    _refuse_gone(own, quote, lines, ", or leave --today out" if as_today else "")
    rate = _discount_of(own, quote.customer)
    ordered = register.numbers_ordered(quote)
    rows = []
    for place, line, _ in register.every_line(quote):
        row = enquiry_of(called, quote.customer, quote.day, {**line.asked, "offer": ""})
        if place in ordered:
            rows.append(row | {"product": _spelled(own, line.product)} | _at_its_price(line, quote, rate))
        else:  # it keeps its number
            rows.append(row | {"offer": LEFT_OUT})
    return with_enquiries(own, rows)


def with_its_own_rows(book: PriceBook, register: Register, quote: RecordedQuote, called: str = "") -> PriceBook:
    """The price book of today with what a recorded quote has of its own, as it was asked for: cut-outs, things bought for it.

    Parameters
    ----------
    called : what the quote is called in it; its own number where empty

    Problems raised: RegisterError where the record is damaged.
    """
    return with_book_rows(book, [row for row in book_rows(register, quote) if _is_own(row)], called or quote.number)


def lines_in_place(register: Register, quote: RecordedQuote) -> list[SnapshotLine]:
    """The lines of a recorded quote, and in their places those offered beside it that are not ordered, which keep the numbers right."""
    ordered = set(register.numbers_ordered(quote))
    return [
        replace(line, asked={**line.asked, "offer": "" if number in ordered else LEFT_OUT})
        for number, line, _ in register.every_line(quote)
    ]


def _refuse_gone(own: PriceBook, quote: RecordedQuote, lines: Sequence[SnapshotLine], otherwise: str) -> None:
    """Refuse an order of which a mix, a labour plan, a mould plan or a finish stands neither on its sheet nor in the record.

    Parameters
    ----------
    otherwise : what else the maker may do, at the end of the sentence
    """
    products = own.tables["Products"].columns
    for sheet, column in WORKING.items():
        known = {fold(str(name)) for name in own.tables[sheet].columns[column].tolist()}
        of_product = dict(zip(map(fold, products["product"].tolist()), products[column].tolist(), strict=True))
        for line in lines:
            name = str(line.asked.get(column) or of_product[fold(line.product)] or "")
            if name and name != NONE and fold(name) not in known:
                text = f'quote {quote.name} is {quote.state} with the {column.replace("_", " ")} "{name}", which is no longer on the sheet'
                raise RegisterError("product-gone", f"{text} {sheet}; write it there again{otherwise}")


def _called(row: BookRow, number: str) -> BookRow:
    """A row that belongs to the quote, under the number by which it is called."""
    return row._replace(cells=json.dumps({**json.loads(row.cells), "quote": number})) if _is_own(row) else row


def _is_own(row: BookRow) -> bool:
    """Whether a row belongs to the quote or to a line of it; a revision has the terms of its quote."""
    return row.sheet != "Quotes" and "quote" in json.loads(row.cells)


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


def with_book_rows(book: PriceBook, kept: Sequence[BookRow], quote: str) -> PriceBook:
    """The price book in which the products of some kept rows, and what belongs to their quote, are as they were kept; it is not altered
    itself.

    Parameters
    ----------
    quote : what it is called in it
    """
    if not kept:
        return book
    kept = [_called(row, quote) for row in kept]
    names = {
        column: {fold(str(cells[column])) for row in kept if (cells := json.loads(row.cells)) and row.sheet in sheets and column in cells}
        for column, sheets in (("product", ("Products",)), ("outline", ("Outlines",)), ("quote", ("Quotes",)))
    }
    tables, models = dict(book.tables), {}
    for sheet in dict.fromkeys(["Products", *(each for each in of_product(book)), *(row.sheet for row in kept)]):
        if sheet not in book.tables:
            continue
        table, rows = book.tables[sheet], [json.loads(row.cells) for row in kept if row.sheet == sheet]
        if sheet in WORKING or sheet in OF_WORKING:
            tables[sheet] = _worked(table, (WORKING | OF_WORKING)[sheet], rows, replaced=sheet in WORKING)
            continue
        column = "outline" if sheet == "Outlines" else "product" if "product" in table.columns else "quote"
        stay = _others(table, column, names[column])
        if column == "product" and "quote" in table.columns:  # what a line or a quote has of its own
            of_others = set(_others(table, "quote", {fold(quote)}))
            stay = [row for row in stay if row in of_others]
        if sheet == "Products":
            measured = {fold(name): book.models[row] for row, name in enumerate(table.columns["product"].tolist()) if row in book.models}
            called = [*table.columns["product"][stay].tolist(), *(row["product"] for row in rows)]
            models = {row: measured[fold(name)] for row, name in enumerate(called) if fold(name) in measured}
        tables[sheet] = _joined(table, stay, rows)
    return replace(book, tables=tables, models=models, _dated_rows={})


def _worked(table: SheetTable, column: str, rows: Sequence[dict[str, Any]], *, replaced: bool) -> SheetTable:
    """A sheet with kept rows instead of its own of the same name, where they say otherwise; or with those alone that it has no more."""
    here = {fold(str(name)) for name in table.columns[column].tolist()}
    anew = [name for name in _otherwise(table, column, rows) if replaced or fold(name) not in here]
    names = {fold(name) for name in anew}
    return _joined(table, _others(table, column, names), [row for row in rows if fold(str(row[column])) in names]) if anew else table


def _otherwise(table: SheetTable, column: str, rows: Sequence[dict[str, Any]]) -> list[str]:
    """The names under which a sheet says otherwise than kept rows do."""
    then: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        then.setdefault(str(row[column]), []).append(row)
    places: dict[str, list[int]] = {}
    for place, name in enumerate(table.columns[column].tolist()):
        places.setdefault(fold(str(name)), []).append(place)
    return [name for name, held in then.items() if [kept_cells(table.columns, row) for row in places.get(fold(name), ())] != held]


def worked_otherwise(book: PriceBook, kept: Sequence[BookRow]) -> list[str]:
    """What of the way in which the pieces of some kept rows are worked the price book says otherwise by now, in words."""
    return [
        f'{column.replace("_", " ")} "{name}"' for sheet, column in WORKING.items()
        for name in _otherwise(book.tables[sheet], column, [json.loads(row.cells) for row in kept if row.sheet == sheet])
    ]


def _others(table: SheetTable, column: str, names: Iterable[str]) -> list[int]:
    taken = set(names)
    return [row for row, name in enumerate(table.columns[column].tolist()) if fold(str(name)) not in taken]


def _joined(table: SheetTable, stay: Sequence[int], rows: Sequence[dict[str, Any]]) -> SheetTable:
    """Some rows of a table, and others that do not stand on the sheet."""
    columns = {}
    defaults = {column.name: column.default for sheet in SHEETS if sheet.name == table.sheet for column in sheet.columns}
    for name, values in table.columns.items():
        blank: Any = {"M": np.datetime64("NaT", "D"), "f": np.nan, "i": 0}.get(values.dtype.kind, "")
        if values.dtype.kind in "fO":  # also of a column that there was not yet
            blank = defaults.get(name) or blank
        added = np.empty(len(rows), dtype=values.dtype)
        for place, row in enumerate(rows):
            added[place] = np.datetime64(row[name], "D") if values.dtype.kind == "M" and name in row else row.get(name, blank)
        columns[name] = np.concatenate([values[np.array(stay, dtype=np.intp)], added])
    numbers = np.array([*table.rows[np.array(stay, dtype=np.intp)].tolist(), *[0] * len(rows)], dtype=np.int64)
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
    book: PriceBook, register: Register, quote: RecordedQuote, problems: Problems, day: datetime.date | None = None, *,
    as_today: bool = False,
) -> Costing:
    """The costing by which an ordered quote is made: its own lines and products, worked as they were when it was promised.

    Parameters
    ----------
    problems : takes what stands against it, what the price book says otherwise by now, and what else the maker has to look at
    day : whose prices hold; the quote's own where None
    as_today : True where it is worked as the price book says today

    Problems raised: RegisterError where the record is damaged, or a product, or what it is worked by, is gone that it does not hold.
    """
    own, kept = book_of_record(book, register, quote, as_today=as_today), book_rows(register, quote)
    if not any(row.sheet in WORKING for row in kept):
        text = "was recorded by a version that did not keep its mixes, labour and moulds: it is made as the price book says today"
        problems.add("way-not-kept", f"quote {quote.name} {text}", warning=True)
    elif otherwise := worked_otherwise(book, kept):
        more = [f"{len(otherwise) - MOST_NAMED} more"] if len(otherwise) > MOST_NAMED else []
        changed = listed([*otherwise[:MOST_NAMED], *more], "and")
        as_promised = "it is made as it was promised; to make it as the price book says today, add --today"
        then = "it is made as the price book says today" if as_today else as_promised
        problems.add("worked-otherwise", f"quote {quote.name}: changed since it was issued: {changed}; {then}", warning=True)
    return cost_lines(own, enquired(own, day=day), problems)
