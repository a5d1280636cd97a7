"""The customer's price list: every product with its sketch, size and weight, and the price of one where so many are ordered.

Its figures are those of a quote with every product on it: each price is what a quote of that day says for so many. It is
written from the same facts and searched by the same gate, so that nothing of what the pieces cost can get onto it.
"""

from __future__ import annotations

import datetime
import functools
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from pricing.book.price_book import PriceBook
from pricing.costing.lines.enquiries import with_enquiries
from pricing.costing.lines.order_lines import BREAKS, enquired, usual_runs
from pricing.costing.list_prices import same_at_any_quantity
from pricing.costing.method.costing import Costing
from pricing.costing.method.measures import measure_prices
from pricing.costing.run import at_quantities, cost_lines
from pricing.costing.warnings import report_rises
from pricing.files.atomic import written_beside
from pricing.problems import BookError, Problems
from pricing.reports.leaks.gate import LeakError
from pricing.reports.quote import wording as words
from pricing.reports.quote.facts import QuoteFacts, QuoteLine, quote_facts
from pricing.reports.quote.layout import SHRUNK
from pricing.reports.quote.letter import Letter, money_format
from pricing.reports.quote.secrets import secrets_of_facts
from pricing.reports.quote.skeleton import leaks_of
from pricing.reports.quote.sketch import LAYOUT_HEIGHT, Sketch
from pricing.reports.shared.flowing_page import (
    LAST,
    NUMBER,
    PIECE,
    PIECE_TOO,
    ROOM,
    SKETCH,
    WEIGHT,
    Kept,
    Page,
    widened,
)
from pricing.reports.shared.owner import mark_of
from pricing.reports.shared.paging import page_room
from pricing.reports.shared.report_book import House, ReportBook
from pricing.reports.shared.styles import NORMAL, QUIET, SMALL, set_page
from pricing.xlsx.writing.text_width import line_height, wrapped

PRICE_LIST_FILE = "price list.xlsx"

#: The quote that stands for the list.
TITLE = words.PRICE_LIST["title"]

#: Columns of the page: number, sketch, description, weight, and a price for each of up to four quantities [pixels]. With fewer
#: prices the description goes on into the columns that they leave.
WIDTHS = (28, 156, 172, 60, 66, 66, 66, 66)
MOST_QUANTITIES = LAST - WEIGHT + 1

#: With so few prices the sketches take so much of the room of the description; what stays free beside them [pixels].
FEW_PRICES, WIDER, BESIDE_SKETCH = 2, 44, 8

#: More pieces than this do not stand on one page.
MOST_ON_A_PAGE = 20


def write_price_list(book: PriceBook, day: datetime.date, path: Path, quantities: Sequence[float] = BREAKS) -> Problems:
    """Write the price list of a day for customers: what a quote of that day says for each product at each quantity.

    Where no product's price hangs on the quantity, there is one column of prices.

    Parameters
    ----------
    book : the price book, with the list prices as they are to stand
    day : whose prices hold; it heads the list
    path : where it goes; it is written beside and moved into place
    quantities : up to four [pieces]

    Returns
    -------
    what the maker has to know of the prices: which product is dearer each at one quantity than at a smaller one, and why

    Problems raised: BookError where a product cannot be priced; LeakError where the finished file holds what a customer must
    not see, and nothing is delivered; OSError where the folder cannot be written; ValueError for too many quantities.
    """
    if not 0 < len(quantities) <= MOST_QUANTITIES:
        raise ValueError(f"a price list has room for one to {MOST_QUANTITIES} quantities")
    columns = book.tables["Products"].columns
    every = with_enquiries(book, [
        {"quote": TITLE, "date": day, "product": product, "quantity": run, "customer": ""}
        for product, run, listed in zip(columns["product"].tolist(), usual_runs(book).tolist(), columns["on_list"].tolist(), strict=True)
        if listed != 0
    ])
    costing = cost_lines(every, enquired(every), Problems(book.file))
    if costing.problems.errors:
        raise BookError(costing.problems.errors)
    breaks = at_quantities(costing, quantities)
    facts = _as_quoted(quote_facts(costing, TITLE, breaks), breaks)
    with written_beside(path) as beside:
        _write(facts, beside, mark_of(book.file), delivered=len(book.tables["Delivery"]) > 0, whatever=same_at_any_quantity(book))
        leaks = leaks_of(beside, secrets_of_facts(costing, facts, range(len(costing.lines)), 0))
        if leaks:
            raise LeakError(TITLE, leaks)
    told = Problems(book.file)
    report_rises(breaks, len(quantities), told, of_list=True)
    return told


def _as_quoted(facts: QuoteFacts, breaks: Costing) -> QuoteFacts:
    """The facts with the price that a quote for each number of a product would say."""
    prices = measure_prices(breaks.values).reshape(len(facts.lines), -1).tolist()
    return replace(facts, lines=tuple(replace(line, prices=tuple(row)) for line, row in zip(facts.lines, prices, strict=True)))


def _write(facts: QuoteFacts, path: Path, mark: str, *, delivered: bool, whatever: bool) -> None:
    with ReportBook(str(path), House(facts.business, facts.paper, facts.currency, mark=mark), in_memory=True) as book:
        title = facts.words.say(words.PRICE_LIST["title"])
        book.add_sheets([title])
        kept = Kept()
        measured = PriceListPage(facts, Page(kept, book.styles, WIDTHS), delivered, whatever, one_page=True)
        if len(facts.lines) <= MOST_ON_A_PAGE:
            measured.write()
        if 0 < measured.page.used * SHRUNK[1] <= page_room(facts.paper, measured.page.widths):
            kept.put_on(book.sheets[title])
        else:
            PriceListPage(facts, Page(book.sheets[title], book.styles, WIDTHS), delivered, whatever, one_page=False).write()
        book.close(title, facts.day)


class PriceListPage(Letter):
    """The page of a price list: the sender and the remarks of a quote, and a table of prices instead of lines that add up.

    Parameters
    ----------
    facts : a quote with every product on it, and its prices by quantity
    page : an empty page
    delivered : True where the workshop has charges for carriage
    whatever : True where no price hangs on the number
    one_page : whether it is printed as small as one page needs
    """

    def __init__(self, facts: QuoteFacts, page: Page, delivered: bool, whatever: bool, one_page: bool) -> None:
        self.delivered, self.whatever = delivered, whatever
        self.alike = len(facts.quantities) > 1 and all(len(set(line.prices)) == 1 for line in facts.lines)
        self.measures = sorted({line.per for line in facts.lines})
        self.quantities = facts.quantities[:1] if whatever or self.alike else facts.quantities
        if len(self.quantities) <= FEW_PRICES:
            page.widths = (*page.widths[:SKETCH], page.widths[SKETCH] + WIDER, page.widths[PIECE] - WIDER, *page.widths[PIECE_TOO:])
        super().__init__(facts, page, (int(page.widths[SKETCH]) - BESIDE_SKETCH, LAYOUT_HEIGHT), one_page)
        self.first_price = LAST + 1 - len(self.quantities)
        self.weight = self.first_price - 1
        self.decimals = _decimals(facts)
        for place, quantity in enumerate(self.quantities):
            shown = [f"{line.prices[place]:,.{self.decimals}f}" for line in facts.lines]
            page.widths = widened(page.widths, self.first_price + place, shown)
            page.widths = widened(page.widths, self.first_price + place, [self._heading(quantity)], bold=True)

    def _heading(self, quantity: float) -> str:
        return self._price_of_one() if self.whatever or self.alike else f"{self.label('each of')} {quantity:,.0f}"

    def _price_of_one(self) -> str:
        """What the one column of prices is called: by what they are for, where that is the same for all."""
        if len(self.measures) > 1:
            return self._said("price")
        unit = self.measures[0] if self.measures else "piece"
        return self._said("each") if unit == "piece" else self._said("per", unit=words.MEASURES[unit])

    def _opening(self) -> str:
        measured = "" if self.measures in ([], ["piece"]) else " measured"
        opening = f"opening{measured}{' whatever' if self.whatever else ' alike' if self.alike else ''}"
        quantities = self.facts.words.listed([self.facts.words.amount(quantity, 0) for quantity in self.facts.quantities], choice=True)
        text = self._said(opening, currency=self.facts.currency, tax=self.tax, quantities=quantities)
        return text + (self._said("carriage") if self.delivered else "")

    def _said(self, name: str, **values: object) -> str:
        return self.facts.words.say(words.PRICE_LIST[name], **values)

    def write(self) -> None:
        """Everything, and the page's set-up."""
        facts, page = self.facts, self.page
        self._sender()
        page.paragraph(self._said("dated", day=facts.words.day(facts.day)), NUMBER, LAST, "text bold", font_size=NORMAL + 2)
        page.gap(4.0)
        page.paragraph(self._opening(), NUMBER, LAST, "text wrapped")
        page.gap(8.0)
        self._price_headings()
        pieces = [functools.partial(self._piece, line, sketch) for line, sketch in zip(facts.lines, self.sketches, strict=True)]
        for piece in pieces[:-1]:
            self._whole(piece, self._price_headings)
        ordering = self._said("ordering") + self._said("requests whatever" if self.whatever else "requests")
        ends: list[Callable[[], None]] = [*pieces[-1:], functools.partial(self._section, self.label("order"), ordering), self._care]
        self._whole(functools.partial(self._all_of, ends), self._price_headings)  # no page holds these without a price
        set_page(page.sheet, paper=facts.paper, business=f"{facts.business} · {self._said('title')}", page=self.label("page"))
        if self.one_page:
            page.sheet.fit_to_pages(1, 1)
        page.finish()

    def _price_headings(self) -> None:
        page = self.page
        page.text(self.label("number"), NUMBER, NUMBER, "heading")
        page.text(self.label("piece"), SKETCH, self.weight - 1, "heading")
        page.text(self.label("weight", mass=self.facts.mass_unit), self.weight, self.weight, "heading right")
        for place, quantity in enumerate(self.quantities):
            if self.whatever or self.alike:
                page.text(self._price_of_one(), self.first_price, self.first_price, "heading right")
            else:
                page.number(quantity, self.first_price + place, "heading right", f'"{self.label("each of")} "#,##0')
        page.next_row()

    def _piece(self, line: QuoteLine, sketch: Sketch | None) -> None:
        page = self.page
        top: dict[str, Any] = {"valign": "top"}
        page.gap(5.0)
        said: list[tuple[str, dict[str, Any]]] = [(line.title, {"bold": True, "font_size": NORMAL})]
        said += [(text, {"font_size": SMALL}) for text in (line.size, line.colour, _per(self.facts, line)) if text]
        width = page.width(self.text_column, self.weight - 1)
        lines = [(part, own["font_size"]) for text, own in said for part in wrapped(text, width, own["font_size"], own.get("bold", False))]
        parts = [(text if not number else f"\n{text}", own) for number, (text, own) in enumerate(said)]
        height = sum(line_height(size) for _, size in lines) + ROOM
        page.rich(parts, self.text_column, self.weight - 1, "row", height, text_wrap=True, valign="top", align="left")
        page.number(line.number, NUMBER, "row", "0", align="left", font_color=QUIET, **top)
        if self.text_column == PIECE:
            page.empty(SKETCH, SKETCH, "row")
        page.number(line.mass, self.weight, "row", "#,##0.0", align="right", **top)
        for place, price in enumerate(line.prices[: len(self.quantities)]):
            page.number(price, self.first_price + place, "row", money_format(self.decimals), align="right", **top)
        if sketch is not None:
            page.need(sketch.height * 0.75 + 9)
            page.picture(lambda: sketch.png, SKETCH, self.label("sketch", number=line.number), sketch.scale)
        page.next_row()


def _per(facts: QuoteFacts, line: QuoteLine) -> str:
    """What the prices of a product are for, where that is not a piece."""
    return "" if line.per == "piece" else facts.words.say(words.LABELS["priced by"], unit=words.MEASURES[line.per])


def _decimals(facts: QuoteFacts) -> int:
    """Decimals that show every price in full, as a quote does."""
    return replace(facts, lines=tuple(replace(line, unit_price=price) for line in facts.lines for price in line.prices)).unit_decimals
