"""Sets among the enquiries of a price book: a line for each part, which carries what it is a part of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pricing.book.price_book import PriceBook, SheetTable, Values
from pricing.book.services import service_rows
from pricing.text import fold

#: What a line of the Enquiries table has besides where it is a part of a set, each with its blank: the set; its number among the lines of
#: the quote; how many of the set are asked for; how many of the part are in one; the price typed for one; the Sets sheet's description.
OF_A_PART: dict[str, float | str] = {
    "set": "", "set_line": np.nan, "sets": np.nan, "pieces_of_set": np.nan, "set_price": np.nan, "set_description": "",
}

#: What a line may have of its own that a service has not.
_OF_PIECES = ("mix", "mould_plan", "labour_plan", "finish")


def parts_of_sets(book: PriceBook) -> dict[str, list[int]]:
    """The rows of the Sets sheet that belong to each set, by its name."""
    found: dict[str, list[int]] = {}
    for row, name in enumerate(book.tables["Sets"]["set"].tolist()):
        if name:
            found.setdefault(name, []).append(row)
    return found


def with_sets(book: PriceBook) -> PriceBook:
    """The price book with a line for each part in place of every enquiry that names a set.

    Parameters
    ----------
    book : as it was read, its services behind its products; it is not altered
    """
    enquiries, parts = book.tables["Enquiries"], parts_of_sets(book)
    asked = enquiries["product"].tolist()
    if "set" in enquiries.columns or not any(name in parts for name in asked):
        return book
    of_line = [parts.get(name, [-1]) for name in asked]
    at = np.repeat(np.arange(len(asked)), [len(rows) for rows in of_line])
    part = np.array([row for rows in of_line for row in rows], dtype=np.intp)
    columns = {name: values[at] for name, values in enquiries.columns.items()}
    made = SheetTable(enquiries.sheet, enquiries.sheet_as_written, enquiries.rows[at], columns | blanks(len(at)), enquiries.letters)
    _say_parts(book, made, part, _numbers(enquiries["quote"].tolist())[at])
    return replace(book, tables={**book.tables, "Enquiries": made})


def _say_parts(book: PriceBook, made: SheetTable, part: Values, number: Values) -> None:
    """Put in what each part is, and what it is a part of.

    Parameters
    ----------
    part : row of the Sets sheet of each line; -1 where it is no part
    number : of the line in its quote
    """
    sets, columns, of = book.tables["Sets"], made.columns, np.flatnonzero(part >= 0)
    row = part[of]
    described: dict[str, str] = {}
    for name, text in zip(sets["set"].tolist(), sets["description"].tolist(), strict=True):
        described[name] = described.get(name) or text
    columns["set"][of], columns["set_line"][of] = sets["set"][row], number[of]
    columns["sets"][of], columns["pieces_of_set"][of] = columns["quantity"][of], sets["quantity"][row]
    columns["set_price"][of], columns["unit_price"][of] = columns["unit_price"][of], np.nan
    columns["set_description"][of] = [described[name] for name in sets["set"][row].tolist()]
    columns["product"][of], columns["quantity"][of] = sets["product"][row], columns["quantity"][of] * sets["quantity"][row]
    products = {name: place for place, name in enumerate(book.tables["Products"]["product"].tolist())}
    known = np.array([products.get(name, -1) for name in columns["product"][of].tolist()], dtype=np.intp)
    services = of[known >= 0][service_rows(book, known[known >= 0]) > 0]
    for name in _OF_PIECES:
        columns[name][services] = ""


def blanks(count: int) -> dict[str, Values]:
    """What lines that are no parts of a set have under the columns of such lines."""
    return {name: np.array([blank] * count, dtype=object if blank == "" else np.float64) for name, blank in OF_A_PART.items()}


def _numbers(quotes: list[str]) -> Values:
    """The number of each line in its quote, counted from 1."""
    counts: dict[str, int] = {}
    numbers = []
    for quote in map(fold, quotes):
        counts[quote] = counts.get(quote, 0) + 1
        numbers.append(counts[quote])
    return np.array(numbers, dtype=np.float64)
