"""The lines to be costed, as columns: from the enquiries of a price book, or from its catalogue at chosen quantities.

What a line overrides is resolved here: its dimensions, plans and price, and where each of them stands in the book.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.book.offers import Offer
from pricing.book.pieces import cut_outs_of_lines, line_keys
from pricing.book.price_book import PriceBook, SheetTable
from pricing.book.services import product_count
from pricing.costing.engine.packed_columns import (
    Codes,
    DictionaryColumn,
    Floats,
    Places,
    TextColumn,
    TextColumns,
    Texts,
    first_seen,
    taken_places,
)
from pricing.costing.lines.line_sets import LineSets, sets_of_lines
from pricing.costing.lines.line_terms import LineTerms, price_columns, terms_of_lines
from pricing.dataclass import dataclass
from pricing.rules.geometry.seen_edges import ALL_SEEN
from pricing.rules.geometry.shape import Shape
from pricing.rules.shapes import SHAPES

PLANS = ("mix", "mould_plan", "labour_plan", "finish")
DIMENSIONS = tuple(dict.fromkeys(name for shape in SHAPES.values() for name in shape.dimensions))

#: What a line may override besides: the outline of its piece, and how many of its edges are seen.
OUTLINE, EDGES = "outline", tuple(ALL_SEEN)

#: Quantities of the price table where none are named.
BREAKS: tuple[float, ...] = (1, 5, 10, 25)


@dataclass
class OrderLines:
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
    order : a number for the quote of each line, the same for all lines of a quote
    terms : what each line has of its own in its price
    sets : which set each line is a part of; None where no line is
    """

    quote: Texts
    customer: Texts
    day: NDArray[np.datetime64]
    product: NDArray[np.intp]
    quantity: Floats
    plans: TextColumns
    dimensions: dict[str, Floats]
    given_price: Floats
    overrides: NDArray[np.bool_]
    enquiry: NDArray[np.intp]
    places: dict[str, Sequence[str]] = field(default_factory=dict)
    order: Codes = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    terms: LineTerms = field(default_factory=lambda: LineTerms.none(0))
    sets: LineSets | None = None

    def __post_init__(self) -> None:
        if len(self.order) != len(self.quantity):
            self.order = DictionaryColumn.of(self.quote).codes
        if len(self.terms) != len(self.quantity):
            self.terms = LineTerms.none(len(self.quantity))

    def __len__(self) -> int:
        return len(self.quantity)

    @cached_property
    def each_product_once(self) -> bool:
        """Whether they are the first products of the price book, one after another: a list."""
        return bool((self.product == np.arange(len(self.product))).all())

    @cached_property
    def quotes(self) -> tuple[str, ...]:
        """The quotes, each once, in the order of their first lines."""
        return tuple(dict.fromkeys(self.quote.tolist()))

    @cached_property
    def alike(self) -> NDArray[np.intp]:
        """A number for each line, the same for lines whose moulds are cut alike: of one enquiry or product, day, plan and size."""
        plan = self.plans.words("mould_plan").codes
        sizes = (np.nan_to_num(values, nan=-1.0) for values in self.dimensions.values())
        facts = np.stack([self.product, self.enquiry, self.day.astype(np.int64), plan, *sizes], axis=1).astype(np.float64)
        return np.unique(facts, axis=0, return_inverse=True)[1].reshape(-1)

    def taken(self, rows: Sequence[int] | NDArray[np.intp]) -> OrderLines:
        """Some of the lines, in the order given, counted from 0; a line may be taken more than once."""
        at = np.asarray(rows, dtype=np.intp)
        return OrderLines(
            self.quote[at], self.customer[at], self.day[at], self.product[at], self.quantity[at],
            self.plans.of_rows(at), {name: values[at] for name, values in self.dimensions.items()},
            self.given_price[at], self.overrides[at], self.enquiry[at],
            {name: taken_places(places, at) for name, places in self.places.items()}, self.order[at],
            self.terms.taken(at), None if self.sets is None else self.sets.taken(at),
        )

    def sizes(self, shape: Shape, rows: int | NDArray[np.intp], blank: float = 0.0) -> dict[str, Any]:
        """The dimensions that a shape has, of some lines that are made in it [SI].

        Parameters
        ----------
        rows : counted from 0
        blank : what stands for a dimension that is given nowhere and has no value of its own in the shape
        """
        given = {name: self.dimensions[name][rows] for name in shape.dimensions}
        return shape.filled(given, blank)


def place_of(table: SheetTable, column: str, row: int) -> str:
    """``Products!F14``, or nothing where the sheet has no such column."""
    cell = table.cell(column, row)
    return f"{table.sheet}!{cell}" if cell else ""


def places_of(table: SheetTable, column: str, rows: Codes, said: NDArray[np.bool_] | None = None) -> Sequence[str]:
    """The places of some rows of a sheet; empty where nothing of the column stands in any of them.

    Parameters
    ----------
    said : for each of the rows, whether what stands there is meant; all where None
    """
    letters = table.letters.get(column, "")
    at = table.rows[table.typed_in[column][rows] if column in table.typed_in else rows]
    nowhere = np.zeros(len(rows), dtype=np.int64)
    there = at > 0 if said is None else said & (at > 0)
    return Places((f"{table.sheet}!{letters}", ""), (at, nowhere), np.where(there, 0, 1)) if letters and there.any() else ()


class _Resolver:
    """What each line has of its own, and what it takes from the catalogue.

    Parameters
    ----------
    enquiry : row of the Enquiries sheet of each line; -1 where there is none
    product : row of the Products sheet of each line
    """

    def __init__(self, book: PriceBook, enquiry: NDArray[np.intp], product: NDArray[np.intp]) -> None:
        self.enquiries, self.products = book.tables["Enquiries"], book.tables["Products"]
        self.product = product
        self.enquired = enquiry >= 0
        self.typed = np.maximum(enquiry, 0) if self.enquired.any() and len(self.enquiries) else None
        listed = np.array_equal(product, np.arange(len(product)))
        self.every = slice(len(product)) if listed else product
        in_book = self.products.rows[self.every]
        self.numbers = (in_book, in_book if self.typed is None else self.enquiries.rows[self.typed], in_book)
        self.overrides = np.zeros(len(product), dtype=np.bool_)

    def of_product(self, column: str) -> Any:
        """A column of the catalogue, line by line; not to be altered."""
        return self.products.columns[column][self.every]

    def of_enquiry(self, column: str) -> Any:
        """A column of the enquiries, line by line; only the enquired lines mean something."""
        return self.enquiries.columns[column][self.typed]

    def places(self, column: str, which: Codes | None = None, typed: str = "") -> Places:
        """Where a column stands.

        Parameters
        ----------
        which : for each line 0 where it is the catalogue's, 1 where it is the line's own, 2 where it stands nowhere
        typed : the column of the enquiries, where it is called differently there
        """
        columns = [
            f"{table.sheet}!{table.letters[name]}" if name in table.letters else ""
            for table, name in ((self.products, column), (self.enquiries, typed or column))
        ]
        return Places([*columns, ""], self.numbers, None if which is None else which.astype(np.int8))

    def merged(self, column: str) -> tuple[Floats, Places]:
        """The line's own number where it gives one, otherwise the catalogue's; and the places."""
        values = self.of_product(column)
        if self.typed is None or column not in self.enquiries.columns:
            return values, self.places(column)
        typed = self.of_enquiry(column)
        own = self.enquired & ~np.isnan(typed)
        if own.any():
            self.overrides |= own & (typed != values)
            values = np.where(own, typed, values)
        return values, self.places(column, own.astype(np.int8))

    def merged_words(self, column: str) -> tuple[DictionaryColumn, Places]:
        """The same of a column of words."""
        listed = self.products.words(column).taken(self.every)
        if self.typed is None or column not in self.enquiries.columns:
            return listed, self.places(column)
        typed = self.enquiries.words(column).taken(self.typed)
        own = self.enquired & ~typed.is_among(("",))
        if own.any():
            both = listed.followed_by(typed)
            values, typed_values = np.split(both.codes, 2)
            self.overrides |= own & (typed_values != values)
            listed = DictionaryColumn(np.where(own, typed_values, values), both.words)
        return listed, self.places(column, own.astype(np.int8))


def _order_lines(
    book: PriceBook, quote: Texts, customer: Texts, day: NDArray[np.datetime64], product: NDArray[np.intp],
    quantity: Floats, enquiry: NDArray[np.intp], order: Codes,
) -> OrderLines:
    resolver = _Resolver(book, enquiry, product)
    plans: dict[str, TextColumn] = {}
    dimensions: dict[str, Floats] = {}
    places: dict[str, Sequence[str]] = {}
    for name in (*PLANS, OUTLINE):
        plans[name], places[name] = resolver.merged_words(name)
    for name in (*DIMENSIONS, *EDGES):
        if name in resolver.products.columns:
            dimensions[name], places[name] = resolver.merged(name)
    resolver.overrides |= _with_own_cut_outs(book, enquiry)
    sets = sets_of_lines(book, enquiry, order)
    terms = terms_of_lines(book, enquiry, product, customer, sets)
    listed = np.where(resolver.overrides | terms.has_margin, np.nan, resolver.of_product("list_price"))
    given, places["given_price"] = price_columns(book, terms, listed, resolver.numbers, product)
    places |= terms.places(book, resolver.numbers[1])
    if resolver.typed is not None:
        places["quantity"] = resolver.places("", np.where(resolver.enquired, 1, 2), "quantity")
    for name in ("rejects", "made_for", "usual_run"):
        places[name] = resolver.places(name)
    return OrderLines(
        quote, customer, day, product, quantity, TextColumns(plans), dimensions, given, resolver.overrides, enquiry, places, order, terms,
        sets)


def _with_own_cut_outs(book: PriceBook, enquiry: NDArray[np.intp]) -> NDArray[np.bool_]:
    """The lines that have cut-outs of their own."""
    own = cut_outs_of_lines(book)
    if not own:
        return np.zeros(len(enquiry), dtype=np.bool_)
    has = np.array([key in own for key in line_keys(book)], dtype=np.bool_)
    return np.array([row >= 0 and has[row] for row in enquiry.tolist()], dtype=np.bool_)


def enquired(book: PriceBook, quotes: Sequence[str] | None = None, day: datetime.date | None = None) -> OrderLines:
    """The lines of the enquiries, of all quotes or of those named.

    Parameters
    ----------
    quotes : numbers as the Enquiries sheet spells them; all where None
    day : the day whose prices hold; each quote's own date where None
    """
    return _of_quotes(book, quotes, day, book.tables["Enquiries"].columns["offer"] == "")


def with_offers(book: PriceBook, quotes: Sequence[str]) -> OrderLines:
    """Every line of some quotes as if all that is offered were ordered too."""
    return _of_quotes(book, quotes, None, np.ones(len(book.tables["Enquiries"]), dtype=np.bool_))


def _of_quotes(book: PriceBook, quotes: Sequence[str] | None, day: datetime.date | None, asked: NDArray[np.bool_]) -> OrderLines:
    """The lines of some quotes, or of all, that are asked for."""
    table = book.tables["Enquiries"]
    names = DictionaryColumn.of(table.columns["quote"])
    chosen = np.flatnonzero(asked)
    if quotes is not None:
        wanted = set(quotes)
        chosen = np.flatnonzero(asked & np.array([name in wanted for name in names.words], dtype=np.bool_)[names.codes])
    _, first, order = first_seen(names.codes[chosen], len(names.words))
    together = np.argsort(order, kind="stable")
    opening = chosen[first[order[together]]]
    chosen, order = chosen[together], order[together]
    return _enquired_rows(book, chosen, opening, order, table.columns["quote"][chosen], day)


def _enquired_rows(
    book: PriceBook, chosen: NDArray[np.intp], opening: NDArray[np.intp], order: Codes, quote: Texts, day: datetime.date | None
) -> OrderLines:
    """Some rows of the Enquiries sheet as lines.

    Parameters
    ----------
    opening : the row that says date and customer of each
    order, quote : number and name of the quote of each
    """
    table = book.tables["Enquiries"]
    days = table.columns["date"][opening].astype("datetime64[D]")
    if day is not None:
        days = np.full(len(chosen), np.datetime64(day, "D"))
    today = np.datetime64(datetime.date.today(), "D")
    days = np.where(np.isnat(days), today, days)
    rows = {name: row for row, name in enumerate(book.tables["Products"].columns["product"].tolist())}
    product = np.array([rows[name] for name in table.columns["product"][chosen].tolist()], dtype=np.intp)
    return _order_lines(
        book, quote, table.columns["customer"][opening], days, product, table.columns["quantity"][chosen].astype(float), chosen, order)


def offered(book: PriceBook, offers: Sequence[Offer], day: datetime.date | None = None) -> OrderLines:
    """What is offered beside quotes, each as an order of its own.

    Parameters
    ----------
    day : the day whose prices hold; each line's own date where None
    """
    order = np.repeat(np.arange(len(offers)), [len(each.rows) for each in offers])
    chosen = np.array([row for each in offers for row in each.rows], dtype=np.intp)
    names = np.array([each.name for each in offers], dtype=object)
    return _enquired_rows(book, chosen, chosen, order, names[order], day)


def with_quantities(lines: OrderLines, quantities: Sequence[float], *, calculated: bool = False) -> OrderLines:
    """Each line again at each quantity, as an order of its own, by the same rules: the quantity table.

    A list price and a typed price stand as they would in a quote for so many, unless *calculated* asks for the price that
    the cost leads to. A part of a set stands by itself; see :func:`alone` for the price that it has then.

    The result has ``len(lines) * len(quantities)`` lines, the quantities of one line standing together.
    """
    repeat = np.repeat(np.arange(len(lines)), len(quantities))
    quantity = np.tile(np.asarray(quantities, dtype=np.float64), len(lines))
    quote = np.array([f"{row + 1} x {number:g}" for row, number in zip(repeat.tolist(), quantity.tolist(), strict=True)], dtype=object)
    again = lines.taken(repeat)
    return replace(
        again, quote=quote, quantity=quantity, order=np.arange(len(repeat)), sets=None,
        given_price=np.full(len(repeat), np.nan) if calculated else again.given_price,
        places={name: places for name, places in again.places.items() if name != "quantity"},
    )


def with_set_quantities(lines: OrderLines, quantities: Sequence[float], *, calculated: bool = False) -> OrderLines:
    """The same, but that so many sets are meant where a line is a part of one, and the parts of a set are one order."""
    made = with_quantities(lines, quantities, calculated=calculated)
    if lines.sets is None:
        return made
    times, leader = len(quantities), np.arange(len(lines))
    for of in lines.sets.groups().values():
        leader[of] = of[0]
    repeat = np.repeat(np.arange(len(lines)), times)
    order = np.repeat(leader, times) * times + np.tile(np.arange(times), len(lines))
    sets = lines.sets.taken(repeat)
    number = np.where(sets.number >= 0, sets.number * times + np.tile(np.arange(times), len(lines)), -1)
    return replace(
        made, order=order, quote=made.quote[order], quantity=made.quantity * np.where(np.isnan(sets.pieces), 1.0, sets.pieces),
        sets=replace(sets, number=number, count=made.quantity),
    )


def alone(lines: OrderLines, prices: Floats) -> OrderLines:
    """The same lines without their sets, each part at the price that it has as its share.

    Parameters
    ----------
    prices : of one piece of each line [currency/piece]
    """
    if lines.sets is None:
        return lines
    shared = lines.sets.has_price
    price, given = (np.where(shared, prices, each) for each in (lines.terms.price, lines.given_price))
    return replace(lines, sets=None, given_price=given, terms=replace(lines.terms, price=price))


def usual_runs(book: PriceBook) -> Floats:
    """The usual run of every product; one piece where none is stated [pieces]."""
    usual = book.tables["Products"].columns["usual_run"]
    return np.where(np.isnan(usual), 1.0, usual)


def list_lines(book: PriceBook, day: datetime.date, quantities: Sequence[float] | None = None) -> OrderLines:
    """Every product as an order of its own: at its usual run, or at each of the *quantities* (products outermost)."""
    count = product_count(book)
    product = np.arange(count, dtype=np.intp)
    quantity = usual_runs(book)[:count]
    if quantities is not None:
        product = np.repeat(product, len(quantities))
        quantity = np.tile(np.asarray(quantities, dtype=np.float64), count)
    quote = np.array(list(map(str, range(1, len(product) + 1))), dtype=object)
    customer: Texts = np.broadcast_to(np.array("", dtype=object), len(product))
    days = np.full(len(product), np.datetime64(day, "D"))
    nowhere = np.full(len(product), -1, dtype=np.intp)
    return _order_lines(book, quote, customer, days, product, quantity, nowhere, np.arange(len(product)))
