"""What the register keeps of a quote: the promise, what it costs, and the inputs that the cost rests on."""

from __future__ import annotations

import contextlib
import datetime
import hashlib
import json
import weakref
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import field
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from pricing.book.declared.sheets import SHEETS
from pricing.book.offers import number_instead
from pricing.book.price_book import PriceBook, price_row_on
from pricing.book.sets import OF_A_PART
from pricing.costing.engine.model import Model
from pricing.costing.lines.enquiries import columns_of
from pricing.costing.lines.order_lines import DIMENSIONS, OUTLINE, OrderLines
from pricing.costing.method.build import model_of
from pricing.costing.method.costing import Costing
from pricing.costing.method.measures import measure_prices
from pricing.costing.options import options_of
from pricing.costing.price_table import prices_by_quantity
from pricing.dataclass import dataclass
from pricing.money import Currency
from pricing.register.damage import NonsenseError, day_of, number_of, object_of, objects_of, words_of
from pricing.register.stored_model import InputRow, stored
from pricing.text import fold

#: The amounts of a quote that its customer sees.
PROMISED = ("lines_net", "discount", "small_order_charge", "carriage", "net", "tax", "gross", "payable", "deposit")

#: What a line is called to cost that is priced by a measure: one of it, as it was offered.
PRICE_OF_MEASURE = "price_of_measure"

#: The figures of a line, and what is a number of the line as it was asked for.
_FIGURES = ("quantity", "unit_cost", "unit_price", "net")
_NUMBERS = frozenset({PRICE_OF_MEASURE, *DIMENSIONS, *(name for name, blank in OF_A_PART.items() if blank != ""), *(
    column.name for sheet in SHEETS if sheet.name == "Enquiries" for column in sheet.columns if column.is_number)})

#: Without these there is no line.
_NEEDED = ("product", "quantity")

#: The amounts that only the maker sees.
KEPT = ("quote_cost", "quote_margin", "quote_mass")


class BookRow(NamedTuple):
    """A row of a sheet of the price book: its cells that are not blank, as a JSON object by column."""

    sheet: str
    row: int
    cells: str


@dataclass(frozen=True)
class SnapshotLine:
    """A line of a quote.

    Parameters
    ----------
    product, quantity : what, and how many [pieces]
    unit_cost, unit_price : of one [currency/piece]
    net : of all [currency]
    asked : the line as an Enquiries sheet would state it, plans and dimensions as they held
    """

    product: str
    quantity: float
    unit_cost: float
    unit_price: float
    net: float
    asked: dict[str, Any]

    @property
    def promised(self) -> dict[str, Any]:
        """What of it the customer is told: how a piece is made is the maker's own business."""
        return {name: value for name, value in self.asked.items() if name not in ("mould_plan", "labour_plan", "unit_price", "margin")}


def line_of(row: Any) -> SnapshotLine:
    """A line from its row in the register.

    Problems raised: NonsenseError where the row holds nonsense.
    """
    what = f"line {row['line']}"
    quantity, cost, price, net = (float(number_of(row[name], f"{name.replace('_', ' ')} in {what}")) for name in _FIGURES)
    return SnapshotLine(words_of(row["product"], f"product in {what}"), quantity, cost, price, net, asked_of(row["asked"], what))


def asked_of(text: Any, what: str) -> dict[str, Any]:
    """A line as an Enquiries sheet would state it, from the text that the register keeps.

    Parameters
    ----------
    what : the line, in words

    Problems raised: NonsenseError where it is none.
    """
    return _checked(object_of(text, what, _NEEDED), what)


def all_asked(texts: Sequence[Any]) -> list[dict[str, Any] | None]:
    """Many lines as an Enquiries sheet would state them; None in place of one that is damaged.

    Parameters
    ----------
    texts : as the register keeps them
    """
    read = objects_of(texts, "line", _NEEDED)
    try:
        values: dict[str, set[Any]] = {}
        for name, _, some in columns_of([each for each in read if not isinstance(each, NonsenseError)]):
            values.setdefault(name, set()).update(some)
        for name, some_values in values.items():
            for value in some_values:
                _check(name, value, "line")
    except (NonsenseError, TypeError):  # a value that is none, or a list of values
        return [_checked_or_none(each) for each in read]
    return [None if isinstance(each, NonsenseError) else each for each in read]


def _checked_or_none(asked: dict[str, Any] | NonsenseError) -> dict[str, Any] | None:
    with contextlib.suppress(NonsenseError):
        return None if isinstance(asked, NonsenseError) else _checked(asked, "line")
    return None


def _checked(asked: dict[str, Any], what: str) -> dict[str, Any]:
    for name, value in asked.items():
        _check(name, value, what)
    return asked


def _check(name: str, value: Any, what: str) -> None:
    check = day_of if name == "wanted_by" else number_of if name in _NUMBERS else words_of
    check(value, f"{name.replace('_', ' ')} in {what}")


@dataclass(frozen=True)
class OfferedLine:
    """A line that is offered beside a quote, or a part of a set that is.

    Parameters
    ----------
    number : in the quote
    offer : as the enquiry says it
    adds : what the net of the quote changes by with it [currency]
    line : itself, as an order of its own
    """

    number: int
    offer: str
    adds: float
    line: SnapshotLine

    @property
    def instead_of(self) -> int:
        """The line that it takes the place of; 0 for an option."""
        return number_instead(self.offer) or 0


def offered_of(row: Any) -> OfferedLine:
    """A line that is offered from its row in the register.

    Problems raised: NonsenseError where the row holds nonsense.
    """
    number = int(number_of(row["line"], "number of an option"))
    offer = words_of(row["offer"], f"offer in line {number}")
    return OfferedLine(number, offer, float(number_of(row["adds"], f"what is added by line {number}")), line_of(row))


@dataclass(frozen=True)
class QuoteSnapshot:
    """A quote as it is offered.

    Parameters
    ----------
    number : of the quote
    day, valid_until : its date, and the last day on which it can be ordered
    totals : the amounts of the quote by their names in the glossary [currency; margin 1; mass kg]
    terms : what of the terms is not among the amounts, such as stages and words; empty where the book says nothing
    inputs : the rows of its costing model
    book_rows : the rows of the price book that its lines name, and those by which their pieces are worked
    business : who promises
    offers : what is offered beside it
    offered_inputs : the rows of its costing model with all that is offered among its lines, at the prices of its page
    """

    number: str
    customer: str
    day: datetime.date
    valid_until: datetime.date
    currency: str
    lines: tuple[SnapshotLine, ...]
    totals: dict[str, float]
    prices_by_quantity: tuple[float, ...] = ()
    inputs: tuple[InputRow, ...] = field(default=(), repr=False)
    book_rows: tuple[BookRow, ...] = field(default=(), repr=False)
    business: str = ""
    terms: tuple[str, ...] = ()
    offers: tuple[OfferedLine, ...] = ()
    offered_inputs: tuple[InputRow, ...] = field(default=(), repr=False)

    @cached_property
    def content(self) -> str:
        """A mark of all that the customer is promised: equal for equal promises, whatever they cost the maker."""
        told = _told([each.line for each in self.offers])
        offers = [[each.number, each.offer, each.adds, *line] for each, line in zip(self.offers, told, strict=True)]
        return self._mark({"offers": offers} if offers else {})

    @cached_property
    def content_alone(self) -> str:
        """The mark without what is offered beside it, as registers of before have it."""
        return self._mark({})

    def _mark(self, more: dict[str, Any]) -> str:
        promise: dict[str, Any] = {
            "number": self.number, "customer": self.customer, "date": str(self.day), "valid_until": str(self.valid_until),
            "currency": self.currency, "lines": list(_told(self.lines)),
            "totals": {name: self.totals[name] for name in PROMISED}, "prices": self.prices_by_quantity,
        }
        promise |= ({"terms": self.terms} if self.terms else {}) | more
        return hashlib.sha256(json.dumps(promise, sort_keys=True).encode()).hexdigest()


def _told(lines: Sequence[SnapshotLine]) -> Iterator[list[Any]]:
    """What the customer is told of each line; of the parts of a set, what they come to together."""
    nets: dict[float, float] = {}
    for line in lines:
        if "set" in line.asked:
            nets[line.asked["set_line"]] = round(nets.get(line.asked["set_line"], 0.0) + line.net, 6)
    for line in lines:
        own = [line.unit_price, line.net] if "set" not in line.asked else [0.0, nets[line.asked["set_line"]]]
        yield [*own, line.promised]


def snapshot_of(
    costing: Costing, quote: str, *, number: str = "", breaks: Costing | None = None, promise_alone: bool = False
) -> QuoteSnapshot:
    """What the register keeps of a quote.

    Parameters
    ----------
    costing : a costing without errors that holds the quote
    quote : as the costing calls it
    number : as the register calls it; the same where empty
    breaks : the same lines at other quantities, where the quote has a table of them
    promise_alone : True for what the customer is told, without the inputs

    Problems raised: KeyError where the costing has no such quote.
    """
    rows = costing.lines_of(quote)
    if not rows:
        raise KeyError(quote)
    lines = costing.lines.taken(rows)
    inputs = () if promise_alone else tuple(stored(model_of_quote(costing, quote)))
    day = _date(lines.day[0])
    products = costing.book.tables["Products"].columns["product"][lines.product].tolist()
    figures = {name: costing.line(name)[rows].tolist() for name in ("quantity", "unit_cost", "unit_price", "line_net")}
    prices = () if breaks is None else tuple(price for row in rows for price in prices_by_quantity(costing, row, breaks))
    at = costing.quotes.index(quote)
    offers, whole = _offers(costing, quote), options_of(costing).wholes.get(quote)
    return QuoteSnapshot(
        number or quote, str(lines.customer[0]), day, costing.own_terms.valid_until(quote, day), costing.currency,
        tuple(
            SnapshotLine(product, figures["quantity"][row], figures["unit_cost"][row], figures["unit_price"][row], figures["line_net"][row],
                      _asked(costing.book, lines, row, product) | _of_measure(costing, rows[row]))
            for row, product in enumerate(products)
        ),
        {name: float(costing.quote(name)[at]) for name in (*PROMISED, *KEPT)} | _own_places(costing), prices, inputs,
        () if promise_alone else tuple(_book_rows(costing, quote, products, lines)),
        costing.book.word("business_name"), promised_terms(costing, quote, at), offers,
        () if promise_alone or whole is None else tuple(stored(whole.model)),
    )


def _own_places(costing: Costing) -> dict[str, float]:
    """The decimal places of amounts, where a smallest coin is set."""
    return {"minor_digits": costing.setting("minor_digits")} if isinstance(costing.currency, Currency) else {}


def _offers(costing: Costing, quote: str) -> tuple[OfferedLine, ...]:
    """What is offered beside a quote."""
    options = options_of(costing)
    own, products = options.costing, costing.book.tables["Products"].columns["product"]
    found = []
    offered = [(option, row) for option in options.of_quote.get(quote, []) for row in option.rows]
    for each, row in offered if own is not None else ():
        assert own is not None
        product = str(products[own.lines.product[row]])
        quantity, cost, price, net = (float(own.line(name)[row]) for name in ("quantity", "unit_cost", "unit_price", "line_net"))
        asked = _asked(costing.book, own.lines, row, product) | _of_measure(own, row)
        found.append(OfferedLine(each.offer.line, each.offer.words, each.adds, SnapshotLine(product, quantity, cost, price, net, asked)))
    return tuple(found)


def of_product(book: PriceBook) -> list[str]:
    """The sheets whose rows belong to a product, or to a quote."""
    apart = ("Products", "Enquiries", "Actuals", "Sets")  # what a set was made of stands in the lines
    return [name for name, table in book.tables.items() if {"product", "quote"} & table.columns.keys() and name not in apart]


#: The sheets that say how pieces are worked, each by the column that its rows are called by, and those that these name in turn.
WORKING = {"Mixes": "mix", "Labour": "labour_plan", "Moulds": "mould_plan", "Finishes": "finish"}
OF_WORKING = {"Trades": "trade", "Machines": "machine", "Materials": "material"}

#: By costing, sheet and name the rows of the price book that belong to a product, to a quote or to an outline.
_ROWS: weakref.WeakKeyDictionary[Costing, dict[str, dict[str, list[int]]]] = weakref.WeakKeyDictionary()


def _rows_by_name(costing: Costing) -> dict[str, dict[str, list[int]]]:
    if costing not in _ROWS:
        found: dict[str, dict[str, list[int]]] = {}
        named = dict.fromkeys(("Products", *of_product(costing.book)), ("product", "quote"))
        for sheet, keys in (named | {"Outlines": (OUTLINE,)} | {name: (key,) for name, key in (WORKING | OF_WORKING).items()}).items():
            columns, rows = costing.book.tables[sheet].columns, found.setdefault(sheet, {})
            for column in [each for each in keys if each in columns]:
                for row, name in enumerate(columns[column].tolist()):
                    rows.setdefault(name, []).append(row)
        _ROWS[costing] = found
    return _ROWS[costing]


def _book_rows(costing: Costing, quote: str, products: Sequence[str], lines: OrderLines) -> Iterator[BookRow]:
    """The rows of the price book that the lines of a quote name, those offered among them, and those by which their pieces are worked."""
    options, plans = options_of(costing), {name: values.tolist() for name, values in lines.plans.items()}
    if options.costing is not None and quote in options.of_quote:
        own = options.costing.lines.taken([row for each in options.of_quote[quote] for row in each.rows])
        products = [*products, *costing.book.tables["Products"].columns["product"][own.product].tolist()]
        plans = {name: [*values, *own.plans[name].tolist()] for name, values in plans.items()}
    told = {fold(str(name)) for values in plans.values() for name in values}
    for sheet, rows in _rows_by_name(costing).items():
        names: Iterable[str] = products if sheet == "Products" else (*products, quote)
        if sheet == "Outlines":
            names = plans[OUTLINE]
        elif sheet in WORKING or sheet in OF_WORKING:
            names = [name for name in rows if fold(name) in told]
        for row in _in_force(costing.book, sheet, {row for name in names if name for row in rows.get(name, ())}, lines.day[0]):
            cells = kept_cells(costing.book.tables[sheet].columns, row)
            told.update(fold(value) for value in cells.values() if isinstance(value, str))
            yield BookRow(sheet, row, json.dumps(cells, ensure_ascii=False))


def _in_force(book: PriceBook, sheet: str, rows: set[int], day: np.datetime64) -> list[int]:
    """Rows of a sheet in order; of a material's prices the one of a day."""
    if sheet != "Materials":
        return sorted(rows)
    names = {str(book.tables[sheet].columns["material"][row]) for row in rows}
    return sorted(row for name in names if (row := price_row_on(book, name, day)) is not None)


def kept_cells(columns: dict[str, Any], row: int) -> dict[str, str | float]:
    """The cells of a row that are not blank, as they are kept."""
    cells = {name: values[row] for name, values in columns.items() if not _blank(values[row])}
    return {name: str(value) if isinstance(value, np.datetime64 | str) else float(value) for name, value in cells.items()}


def model_of_quote(costing: Costing, quote: str) -> Model:
    """The costing model of one quote alone."""
    rows = costing.lines_of(quote)
    return costing.model if len(rows) == len(costing.lines) else model_of(costing, rows)


def promised_terms(costing: Costing, quote: str, number: int) -> tuple[str, ...]:
    """What of the terms the customer is told besides amounts, in words: nothing where the price book says nothing of its own.

    Parameters
    ----------
    number : of the quote, counted from 0
    """
    own, customer = costing.own_terms, str(costing.lines.customer[costing.lines_of(quote)[0]])
    said = [str(own.of_quote(quote, name) or "") for name in ("reference", "opening", "terms")]
    said += [own.text(quote, customer, "site_address"), own.text(quote, customer, "language")]
    said += [f"{each.called} {each.amount} {each.due}" for each in costing.payments[number] if each.stage or each.days]
    if "quote taxes" in costing.model.tables:
        said += [f"{each.tax} {each.category} {each.rate} {each.base} {each.reasons}" for each in costing.taxes[number]]
    return tuple(text for text in said if text)




def _date(day: np.datetime64) -> datetime.date:
    found = day.astype("datetime64[D]").astype(object)
    assert isinstance(found, datetime.date)
    return found


def _asked(book: PriceBook, lines: OrderLines, row: int, product: str) -> dict[str, Any]:
    """A line as an Enquiries sheet would state it."""
    asked: dict[str, Any] = {"product": product, "quantity": float(lines.quantity[row])}
    enquiry = int(lines.enquiry[row])
    if enquiry >= 0:
        for name, values in book.tables["Enquiries"].columns.items():
            if name not in ("quote", "date", "customer") and not _blank(values[enquiry]):
                asked[name] = str(values[enquiry]) if values.dtype.kind == "M" else values[enquiry]
    asked |= {name: str(values[row]) for name, values in lines.plans.items() if values[row]}
    asked |= {name: float(values[row]) for name, values in lines.dimensions.items() if not np.isnan(values[row])}
    return {name: float(value) if isinstance(value, np.floating) else value for name, value in asked.items()}


def _of_measure(costing: Costing, line: int) -> dict[str, float]:
    """The price of one of what a line is priced by, where that is not a piece."""
    price = float(measure_prices(costing.values)[line])
    return {} if price == costing.line("unit_price")[line] else {PRICE_OF_MEASURE: price}


def _blank(value: Any) -> bool:
    return value == "" or bool(value != value)


def enquiry_of(number: str, customer: str, day: datetime.date, asked: dict[str, Any]) -> dict[str, Any]:
    """A recorded line as a row of an Enquiries sheet of *day*; a date of delivery that is past is left out."""
    row = {**asked, "quote": number, "customer": customer, "date": np.datetime64(day, "D")}
    if wanted := row.pop("wanted_by", ""):
        by = np.datetime64(wanted, "D")
        row |= {"wanted_by": by} if by >= row["date"] else {}
    return row
