"""What a line has of its own in its price: a target margin, a discount, a price that stands; of the enquiry or of the customer's level."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import PriceBook
from pricing.book.services import service_rows
from pricing.costing.engine.packed_columns import Floats, Places, Texts
from pricing.costing.lines.line_sets import LineSets
from pricing.dataclass import dataclass


@dataclass
class LineTerms:
    """Terms of lines as columns, each of shape (lines,).

    Parameters
    ----------
    margin : target margin of the line [1]; nan where it has none of its own
    discount : its own discount, or that of the customer's level [1]; nan where it has none
    price : that was typed for it, or that the level has for the product [currency]; nan where there is none
    level_row : row of the Levels sheet that discount or price are from, counted from 0; -1 where they are the line's own
    """

    margin: Floats
    discount: Floats
    price: Floats
    level_row: NDArray[np.intp]

    def __len__(self) -> int:
        return len(self.margin)

    @classmethod
    def none(cls, count: int) -> LineTerms:
        """Lines without any."""
        blank = np.full(count, np.nan)
        return cls(blank, blank, blank, np.full(count, -1, dtype=np.intp))

    def taken(self, at: NDArray[np.intp]) -> LineTerms:
        """Those of some of the lines, counted from 0."""
        return LineTerms(*(getattr(self, each.name)[at] for each in fields(self)))

    @property
    def has_margin(self) -> NDArray[np.bool_]:
        """The lines with a target margin of their own."""
        return ~np.isnan(self.margin)

    @property
    def has_price(self) -> NDArray[np.bool_]:
        """The lines whose price stands whatever they cost."""
        return ~np.isnan(self.price)

    @property
    def keeps_discount(self) -> NDArray[np.bool_]:
        """The lines that the customer's discount is not taken off."""
        return self.has_price | ~np.isnan(self.discount)

    def places(self, book: PriceBook, rows: NDArray[np.int64]) -> dict[str, Sequence[str]]:
        """Where margins and discounts stand.

        Parameters
        ----------
        rows : of the Enquiries sheet in the spreadsheet
        """
        if not (self.has_margin.any() or self.keeps_discount.any()):
            return {}
        margin = Places([_letters(book, "Enquiries", "margin"), ""], (rows, rows), np.where(self.has_margin, 0, 1).astype(np.int8))
        of_level = (self.level_row >= 0) & ~self.has_price  # a row of a level that has a price has no discount
        which = np.where(np.isnan(self.discount), 2, np.where(of_level, 1, 0)).astype(np.int8)
        columns = [_letters(book, "Enquiries", "discount"), _letters(book, "Levels", "discount"), ""]
        return {"own_margin": margin, "own_discount": Places(columns, (rows, _level_rows(book, self.level_row), rows), which)}


def _letters(book: PriceBook, sheet: str, column: str) -> str:
    letters = book.tables[sheet].letters.get(column)
    return f"{sheet}!{letters}" if letters else ""


def _level_rows(book: PriceBook, level_row: NDArray[np.intp]) -> NDArray[np.int64]:
    rows = book.tables["Levels"].rows
    return rows[np.maximum(level_row, 0)] if len(rows) else np.zeros(len(level_row), dtype=np.int64)


def terms_of_lines(
    book: PriceBook, enquiry: NDArray[np.intp], product: NDArray[np.intp], customer: Texts, sets: LineSets | None = None
) -> LineTerms:
    """The terms of some lines: their own first, then those of the customer's level for the product, then those for all products.

    Parameters
    ----------
    enquiry, product : rows of the sheets Enquiries and Products, counted from 0; -1 for a line that nobody asked for
    customer : of each line
    sets : of the lines; a price that is typed for a set stands for each of its parts, which has a share of it
    """
    terms, columns = LineTerms.none(len(enquiry)), book.tables["Enquiries"].columns
    asked = np.flatnonzero(enquiry >= 0)
    if not len(asked):
        return terms
    at = enquiry[asked]
    typed = {"margin": "margin", "discount": "discount", "price": "unit_price"}
    for name, column in typed.items():
        if column in columns and not np.isnan(columns[column]).all():
            values = getattr(terms, name).copy()
            values[asked] = columns[column][at]
            setattr(terms, name, values)
    if sets is not None:
        terms.price = np.where(sets.has_price, sets.price, terms.price)
    if len(book.tables["Levels"]):
        _with_levels(book, terms, asked, product, customer)
    return terms


def _with_levels(book: PriceBook, terms: LineTerms, asked: NDArray[np.intp], product: NDArray[np.intp], customer: Texts) -> None:
    """Put in what the customers' levels say: a price where a line has neither price nor margin of its own, a discount where it has neither
    price nor discount."""
    customers, levels = book.tables["Customers"].columns, book.tables["Levels"].columns
    level_of = dict(zip(customers["customer"].tolist(), customers["level"].tolist(), strict=True))
    found = {key: row for row, key in enumerate(zip(levels["level"].tolist(), levels["product"].tolist(), strict=True))}
    names = book.tables["Products"].columns["product"]
    terms.discount, terms.price = terms.discount.copy(), terms.price.copy()
    for line in asked.tolist():
        level = level_of.get(customer[line], "")
        row = found.get((level, names[product[line]]), found.get((level, ""))) if level else None
        if row is None or terms.has_price[line]:
            continue
        name = "discount" if np.isnan(levels["price"][row]) else "price"
        if np.isnan(getattr(terms, name)[line]) and not (name == "price" and terms.has_margin[line]):
            terms.level_row[line], getattr(terms, name)[line] = row, levels[name][row]


def price_columns(
    book: PriceBook, terms: LineTerms, listed: Floats, numbers: tuple[NDArray[np.int64], ...], product: NDArray[np.intp]
) -> tuple[Floats, Places]:
    """The price that stands for each line, typed or listed; nan where it is calculated; and where it stands.

    Parameters
    ----------
    listed : list price of each line, where one may stand
    numbers : rows of the sheets Products and Enquiries in the spreadsheet
    product : row of the Products table of each line, counted from 0
    """
    given = np.where(terms.has_price, terms.price, listed)
    of_level = terms.has_price & (terms.level_row >= 0)
    services = service_rows(book, product)
    stands = np.where(services > 0, 3, 0)
    which = np.where(of_level, 2, np.where(terms.has_price, 1, np.where(np.isnan(given), 4, stands))).astype(np.int8)
    places: Mapping[str, str] = {"Products": "list_price", "Enquiries": "unit_price", "Levels": "price", "Services": "price"}
    columns = [_letters(book, sheet, column) for sheet, column in places.items()]
    levels = _level_rows(book, terms.level_row)
    return given, Places([*columns, ""], (numbers[0], numbers[1], levels, services, numbers[0]), which)
