"""The page of a quote from top to bottom, as a letter reads: who, to whom, what, how much, until when, and what then."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from pricing.algebra.simplify import live_formula
from pricing.reports.quote import wording as words
from pricing.reports.quote.facts import QuoteFacts, QuoteLine, QuoteOption
from pricing.reports.quote.letter import AIR, ASIDE, QUIETLY, Block, Letter, money_format, titled
from pricing.reports.quote.price_remarks import price_remarks
from pricing.reports.quote.sketch import Sketch
from pricing.reports.quote.totals import TotalsWriter, percent_text, tax_label
from pricing.reports.shared.flowing_page import (
    LAST,
    MOST_LINES,
    NET,
    NUMBER,
    PIECE,
    PIECE_TOO,
    PRICE,
    QUANTITY,
    ROOM,
    SKETCH,
    WEIGHT,
    Page,
)
from pricing.reports.shared.styles import INK, NORMAL, QUIET, SMALL, set_page
from pricing.rules import measured_prices, prices, totals
from pricing.xlsx.writing.safe_text import one_line
from pricing.xlsx.writing.text_width import line_height, wrapped

#: Room for a signature [points], and what stays free between how to order and the totals [pixels].
SIGNATURE, BESIDE = 30.0, 16

#: How figures stand beside a text of several lines.
_TOP: dict[str, Any] = {"valign": "top", "align": "right"}

#: The columns that a table of prices by quantity may use.
BREAK_COLUMNS = (PIECE_TOO, WEIGHT, QUANTITY, PRICE, NET)

#: So many rows of it stay on one page with its headings.
_KEPT = 6


def counted_format(number: float, text: str) -> str:
    """The number format in which a number is shown with the words around it.

    >>> counted_format(15, "15 working days"), counted_format(2, "in 2 days")
    ('#,##0" working days"', '"in "#,##0" days"')
    """
    before, _, after = text.partition(f"{number:.0f}")
    return "".join(f'"{part}"' if part != "#,##0" else part for part in (before, "#,##0", after) if part)


class QuotePage(Letter):
    """One quote's page while it is written.

    Parameters
    ----------
    facts : what the quote says
    page : an empty page
    size : what the sketches are laid out for [px of the layout]
    one_page : whether it is printed as small as one page needs
    """

    def __init__(self, facts: QuoteFacts, page: Page, size: tuple[int, int], one_page: bool) -> None:
        super().__init__(facts, page, size, one_page)
        self.weight_row = self.first = self.last = 0
        self.nets: dict[int, str] = {}
        #: On one page the row of each line.
        self.rows: list[int] = []

    def write(self) -> None:
        """Everything, and the page's set-up; but on one page the sketches, and with them the heights of the rows, have yet to be drawn."""
        facts, page = self.facts, self.page
        self._sender()
        self._particulars()
        opening = words.OPENING if any(each.rate for each in facts.taxes) else words.OPENING_WITHOUT_TAX
        said = facts.opening or facts.words.say(opening, currency=facts.currency, tax=self.tax)
        page.paragraph(said, NUMBER, LAST, "text wrapped")
        page.gap(6.0)
        self._lines()
        self._delivery_weight()
        self._options()
        self._breaks()
        ends: list[Callable[[], None]] = [functools.partial(self._section, heading, text, SMALL) for heading, text in facts.terms]
        ends += [self._care] if facts.pieces else []
        for end in ends[:-2]:
            self._whole(end)
        self._whole(functools.partial(self._all_of, ends[-2:]))
        foot = one_line(f"{facts.business} · {self.label('titled', quote=facts.quote)}", 90)
        set_page(page.sheet, paper=facts.paper, business=foot, mark=facts.mark, page=self.label("page"))
        if self.one_page:
            page.sheet.fit_to_pages(1, 1)
        else:
            page.finish()

    def heights(self, sketches: Sequence[Sketch | None]) -> dict[int, float]:
        """Heights of the rows with such sketches [points]."""
        tried = replace(self.page, heights=dict(self.page.heights))
        for row, sketch in zip(self.rows, sketches, strict=True):
            if sketch is not None:
                tried.need(_height_of_sketch(sketch), row)
        return tried.heights

    def draw(self, sketches: Sequence[Sketch | None]) -> None:
        """Set the sketches beside their lines, on one page."""
        self.page.heights = self.heights(sketches)
        for line, row, sketch in zip(self.facts.lines, self.rows, sketches, strict=True):
            if sketch is not None:
                self._picture(line, row, sketch)
        self.page.finish()

    def _picture(self, line: QuoteLine, row: int, sketch: Sketch) -> None:
        self.page.picture(lambda: sketch.png, SKETCH, self.label("sketch", number=line.number), sketch.scale, row)

    # who, to whom

    def _particulars(self) -> None:
        """To whom on the left; number, dates, time and weight on the right, side by side."""
        facts, page = self.facts, self.page
        room = page.width(NUMBER, PIECE_TOO) - 12
        left: list[tuple[str, Mapping[str, Any]]] = [(self.label("to"), ASIDE)]
        left += [(text, {"bold": True}) for text in wrapped(facts.customer, room, NORMAL, True)]
        left += [(text, {}) for line in facts.customer_address.split("\n") if line.strip() for text in wrapped(line.strip(), room, NORMAL)]
        site = ", ".join(line.strip() for line in facts.site.split("\n") if line.strip())
        besides = [*([facts.e_mail] if facts.e_mail else []), *([self.label("site", site=site)] if site else [])]
        left += [(text, ASIDE) for each in besides for text in wrapped(each, room, NORMAL)]
        right = ["quote", *(["reference"] if facts.reference else []), "date", "valid", "ready", "delivery weight"]
        for place in range(max(len(left), len(right))):
            if place < len(left):
                text, more = left[place]
                page.text(text, NUMBER, PIECE_TOO, "text", valign="top", **more)
            if place < len(right):
                page.text(self.label(right[place]), WEIGHT, QUANTITY, "text", valign="top", **ASIDE)
                self._particular(right[place])
            page.need(15.0)
            page.next_row()
        page.gap(9.0)

    def _particular(self, name: str) -> None:
        facts, page = self.facts, self.page
        top: dict[str, Any] = {"valign": "top", "align": "left"}
        match name:
            case "quote":
                page.text(facts.quote, PRICE, NET, "text wrapped", bold=True)
            case "reference":
                page.text(facts.reference, PRICE, NET, "text wrapped")
            case "date" | "valid":
                page.day(facts.day if name == "date" else facts.valid_until, PRICE, NET, facts.words.day_format, **top)
            case "ready":
                counted = facts.words.count(*words.WORKING_DAYS, facts.lead_days)
                page.number(facts.lead_days, NET, "text", counted_format(facts.lead_days, counted), first=PRICE, **top)
            case _:
                self.weight_row = page.row

    def _delivery_weight(self) -> None:
        """Weight in all, among the particulars: the lines' quantities times weights, as a live formula."""
        row, self.page.row = self.page.row, self.weight_row
        summed = f"SUMPRODUCT({self._lines_in(QUANTITY)},{self._lines_in(WEIGHT)})"
        formula = live_formula(totals.quote_mass, {"quote_mass_sum": summed}, {})
        mass = self.facts.totals["quote_mass"]
        number = ("#,##0" if mass >= 10 else "0.0") + f'" {self.facts.mass_unit}"'
        self.page.formula(formula, mass, NET, "text", number, first=PRICE, valign="top", align="left")
        self.page.row = row

    # what, how much

    def _lines(self) -> None:
        """The table of the lines, its headings on every page of it, and the totals below the last line."""
        lines = list(zip(self.facts.lines, self.sketches, strict=True))
        for place, (line, sketch) in enumerate(lines):
            before, after = (lines[other][0].part_of if 0 <= other < len(lines) else None for other in (place - 1, place + 1))
            blocks, rule = self._text_blocks(line, self._column_of(line)), line.part_of is None or after is not line.part_of
            parts = [functools.partial(self._line, line, sketch, blocks[0], last=rule and len(blocks) == 1)]
            parts += [functools.partial(self._more_text, line, block, last=rule and block is blocks[-1]) for block in blocks[1:]]
            if line.part_of is not None and before is not line.part_of:
                parts[0] = functools.partial(self._set, line.part_of, parts[0])
            if not place:
                self._whole(functools.partial(self._headed, parts.pop(0)))
            if place == len(lines) - 1:
                end = parts.pop() if parts else None
                parts.append(functools.partial(self._end_of_lines, end))
            for part in parts:
                self._whole(part, self._headings)

    def _headed(self, write: Callable[[], None]) -> None:
        self._headings()
        self.first = self.page.row
        write()

    def _headings(self, amount: str = "net") -> None:
        page = self.page
        page.text(self.label("number"), NUMBER, NUMBER, "heading")
        page.text(self.label("piece"), SKETCH, PIECE_TOO, "heading")
        for name, column in (("weight", WEIGHT), ("quantity", QUANTITY), ("unit price", PRICE), (amount, NET)):
            page.text(self._unit_below(name, page.width(column, column)), column, column, "heading right")
        page.next_row()

    def _unit_below(self, name: str, room: int) -> str:
        """A heading with its unit in a line of its own, so that it stands clear of the one beside it; in two lines where it can be.

        Parameters
        ----------
        room : width of its column [pixels]
        """
        text = self.label(name, currency=self.facts.currency, mass=self.facts.mass_unit)
        below = text.replace(" (", "\n(")
        if len(wrapped(below, room, SMALL, True)) <= below.count("\n") + 1:
            return below
        places = [place for place, letter in enumerate(text) if letter == " "]
        divided = [f"{text[:place]}\n{text[place + 1 :]}" for place in places]
        return min([below, *divided], key=lambda each: len(wrapped(each, room, SMALL, True)))

    def _line(self, line: QuoteLine, sketch: Sketch | None, block: Block, last: bool) -> None:
        """A line: its sketch, its figures and what is said of it, or as much of that as a row holds."""
        page = self.page
        top: dict[str, Any] = {"valign": "top"}
        role = "row" if last else "text"
        page.gap(4.0)
        page.rich(block[0], self._column_of(line), PIECE_TOO, role, block[1], text_wrap=True, valign="top", align="left")
        if self._column_of(line) == PIECE:
            page.empty(SKETCH, SKETCH, role)
        if line.service:
            page.empty(WEIGHT, WEIGHT, role)
        else:
            page.number(line.mass, WEIGHT, role, "#,##0.0", align="right", **top)
        page.number(line.quantity, QUANTITY, role, "#,##0", align="right", **top)
        if line.part_of is None:
            page.number(line.number, NUMBER, role, "0", align="left", font_color=QUIET, **top)
            self._price(line, role)
        else:
            page.empty(NUMBER, NUMBER, role)
            page.empty(PRICE, NET, role)
        if self.one_page:
            self.rows.append(page.row)
        elif sketch is not None:
            page.need(_height_of_sketch(sketch))
            self._picture(line, page.row, sketch)
        self.last = page.row
        page.next_row()

    def _set(self, heading: QuoteLine, part: Callable[[], None]) -> None:
        """The heading of a set: what it is called and what it costs, and its first part on the same page."""
        page = self.page
        page.gap(4.0)
        for place, block in enumerate(self._text_blocks(heading, SKETCH)):
            page.rich(block[0], SKETCH, PIECE_TOO, "text", block[1], text_wrap=True, valign="top", align="left")
            if not place:
                page.number(heading.number, NUMBER, "text", "0", align="left", font_color=QUIET, valign="top")
                page.number(heading.quantity, QUANTITY, "text", "#,##0", align="right", valign="top")
                self._price(heading, "text")
            page.next_row()
        part()

    def _price(self, line: QuoteLine, role: str) -> None:
        """Unit price and net of the line at hand; live unless it is the heading of a set whose parts come to a coin more or less."""
        page, top = self.page, _TOP
        worked_out = float(prices.line_net(line.quantity, line.unit_price, line.discount, self.facts.digits))
        if line.unit_price == line.unit_price:
            page.number(line.unit_price, PRICE, role, money_format(self.facts.unit_decimals), **top)
        else:
            page.empty(PRICE, PRICE, role)
        if not line.heading or abs(worked_out - line.net) < 1e-9:
            self.nets[line.number] = page.formula(self._net_formula(line), line.net, NET, role, self.money, **top)
            return
        page.number(line.net, NET, role, self.money, **top)
        self.nets[line.number] = page.cell(NET)

    def _net_formula(self, line: QuoteLine) -> str:
        """The net of the line at hand, over its quantity and its price."""
        quantity, price = self.page.cell(QUANTITY), self.page.cell(PRICE)
        settled = {"minor_digits": float(self.facts.digits), "own_discount": line.discount}
        if line.per == "piece":
            return live_formula(prices.line_net, {"quantity": quantity, "unit_price": price}, settled)
        charged = live_formula(measured_prices.charged_measure, {"quantity": quantity}, {"measure_each": line.measure_each})
        cells = {"charged_measure": charged.removeprefix("="), "measure_price": price}
        return live_formula(measured_prices.line_net, cells, settled)

    def _column_of(self, line: QuoteLine) -> int:
        """Where the words of a line begin: those of a service, which is not drawn, in the place of a sketch."""
        return SKETCH if line.service else self.text_column

    def _more_text(self, line: QuoteLine, block: Block, last: bool) -> None:
        """What is said of a line and did not fit its row."""
        page, role = self.page, "row" if last else "text"
        more = {} if last else {"bottom": 0}
        page.rich(block[0], self._column_of(line), PIECE_TOO, role, block[1], text_wrap=True, valign="top", align="left")
        for first, end in ((NUMBER, self._column_of(line) - 1), (WEIGHT, LAST)):
            page.empty(first, end, role, **more)
        page.next_row()

    def _end_of_lines(self, last: Callable[[], None] | None) -> None:
        """The end of the last line, the totals, how to order beside them, and the signature: none stands on a page without the others."""
        if last is not None:
            last()
        self.page.gap(4.0)
        first = self.page.row
        written = TotalsWriter(self.page, self.facts, [self.nets[line.number] for line in self.facts.charged], self.money, self.tax)
        written.write()
        self._order(first, written.free_until)

    def _text_blocks(self, line: QuoteLine, column: int) -> list[Block]:
        """What is said of a piece, with the height that it takes [points]; in several rows where one cannot hold it.

        Parameters
        ----------
        column : with which the text begins
        """
        width = self.page.width(column, PIECE_TOO)
        said: list[tuple[str, dict[str, Any]]] = [(line.title, {"bold": line.part_of is None, "font_size": NORMAL})]
        told = (line.size, line.colour, *([*price_remarks(line, self.facts.words), self._tax_of(line)] if line.part_of is None else []))
        said += [(text, {"font_size": SMALL}) for text in told if text]
        if line.note:
            said.append((line.note, dict(QUIETLY)))
        lines = [(each, own) for text, own in said for each in wrapped(text, width, own["font_size"], own.get("bold", False))]
        if len(lines) <= MOST_LINES:
            return [(_run_on(said), _height(lines))]
        rows = [lines[start : start + MOST_LINES] for start in range(0, len(lines), MOST_LINES)]
        return [(_run_on(_joined(row)), _height(row)) for row in rows]

    def _tax_of(self, line: QuoteLine) -> str:
        """Which tax a line bears, where the quote has several."""
        facts, tax = self.facts, self.facts.taxes[line.tax]
        return f"{tax_label(facts.tax_name, tax)} {percent_text(tax.rate, facts.words)}" if len(facts.taxes) > 1 else ""

    def _lines_in(self, column: int) -> str:
        return f"{self.page.cell(column, self.first)}:{self.page.cell(column, self.last)}"

    def _options(self) -> None:
        """What is offered beside the quote, below its total, with what each adds."""
        for option in self.facts.options:
            first = option is self.facts.options[0]
            self._whole(functools.partial(self._option, option, self._option_headings if first else None))
        if self.facts.options:
            self.page.gap(6.0)

    def _option_headings(self) -> None:
        note = self.label("options note", currency=self.facts.currency, tax=self.tax)
        self._section(self.label("options"), note, SMALL)
        self._headings("adds")

    def _option(self, option: QuoteOption, headings: Callable[[], None] | None) -> None:
        page, line = self.page, option.line
        if headings is not None:
            headings()
        offered = self.label("instead", number=option.instead_of) if option.instead_of else ""
        role, top = "text" if option.parts else "row", _TOP
        self._offered(line, (offered, line.size, line.colour, *price_remarks(line, self.facts.words), line.note), role)
        page.number(line.number, NUMBER, role, "0", align="left", font_color=QUIET, valign="top")
        if line.unit_price == line.unit_price:
            page.number(line.unit_price, PRICE, role, money_format(self.facts.unit_decimals), **top)
        else:
            page.empty(PRICE, PRICE, role)
        page.number(option.adds, NET, role, f"+{self.money};-{self.money}", **top)
        page.next_row()
        for part in option.parts:
            role = "row" if part is option.parts[-1] else "text"
            self._offered(part, (part.size, part.colour), role)
            for column in (NUMBER, PRICE, NET):
                page.empty(column, column, role)
            page.next_row()

    def _offered(self, line: QuoteLine, told: Sequence[str], role: str) -> None:
        """What is said of a line that is offered, or of a part of a set, with its weight and its quantity."""
        page, top = self.page, _TOP
        said: list[tuple[str, dict[str, Any]]] = [(line.title, {"bold": line.part_of is None, "font_size": NORMAL})]
        said += [(text, {"font_size": SMALL}) for text in told if text]
        width = page.width(SKETCH, PIECE_TOO)
        lines = [(each, own) for text, own in said for each in wrapped(text, width, own["font_size"], own.get("bold", False))][:MOST_LINES]
        page.rich(_run_on(_joined(lines)), SKETCH, PIECE_TOO, role, _height(lines), text_wrap=True, valign="top", align="left")
        if line.service or line.heading:
            page.empty(WEIGHT, WEIGHT, role)
        else:
            page.number(line.mass, WEIGHT, role, "#,##0.0", **top)
        page.number(line.quantity, QUANTITY, role, "#,##0", **top)

    def _breaks(self) -> None:
        """The table of prices by quantity, in as many parts as the page is wide for."""
        facts, columns = self.facts, len(BREAK_COLUMNS)
        for start in range(0, len(facts.quantities), columns):
            places = slice(start, start + columns)
            headings = functools.partial(self._break_headings, places)
            rows = [functools.partial(self._break_row, line, places) for line in facts.charged if not line.service]
            if rows:
                self._whole(functools.partial(self._all_of, [functools.partial(headings, titled=not start), *rows[:_KEPT]]))
            for row in rows[_KEPT:]:
                self._whole(row, headings)
            self.page.gap(6.0)

    def _break_headings(self, places: slice, titled: bool = False) -> None:
        facts, page = self.facts, self.page
        if titled:
            note = self.label("breaks note", currency=facts.currency, tax=self.tax)
            self._section(self.label("breaks"), note, SMALL)
        page.text(self.label("number"), NUMBER, NUMBER, "heading")
        page.text(self.label("piece"), SKETCH, PIECE, "heading")
        for column, quantity in zip(BREAK_COLUMNS, facts.quantities[places], strict=False):
            page.number(quantity, column, "heading right", f'"{self.label("each of")} "#,##0')
        page.next_row()

    def _break_row(self, line: QuoteLine, places: slice) -> None:
        page = self.page
        page.number(line.number, NUMBER, "row", "0", align="left", font_color=QUIET)
        page.text(one_line(_titled(line), 160), SKETCH, PIECE, "row", text_wrap=True, align="left")
        for column, price in zip(BREAK_COLUMNS, line.prices[places], strict=False):
            page.number(price, column, "row", self.money)
        page.need(19.0)
        page.next_row()

    # how to say yes

    def _order(self, first: int, end: int) -> None:
        """How to order, beside the totals where they leave rows free for it, or else below them; and the place for the signature.

        Parameters
        ----------
        first, end : the first of those rows, and the one below the last
        """
        facts, page = self.facts, self.page
        if facts.mark:
            return  # nothing can be ordered yet
        ways = [words.ORDER, words.ORDER_LEAD_TIME]
        if facts.totals["deposit"] and any(each.stage for each in facts.payments):
            ways = [words.ORDER, words.ORDER_WITH_PAYMENT, words.ORDER_LEAD_TIME_WITH_PAYMENT]
        elif facts.totals["deposit"]:
            ways = [words.ORDER, words.ORDER_WITH_DEPOSIT, words.ORDER_LEAD_TIME_WITH_DEPOSIT]
        until = facts.words.day(facts.valid_until)
        text = "".join(facts.words.say(way, until=until) for way in (*ways, words.ORDER_CHANGES))
        lines = len(wrapped(text, page.width(NUMBER, PIECE) - BESIDE, SMALL))
        height = line_height(AIR) + line_height(NORMAL) + lines * line_height(SMALL) + ROOM
        if page.height(first, end) >= height:
            page.beside([*titled(self.label("order")), (f"\n{text}", {"font_size": SMALL})], first, end, NUMBER, PIECE)
        else:
            self._section(self.label("order"), text, SMALL)
        page.gap(SIGNATURE)
        for start, last, label in ((NUMBER, PIECE, "signed"), (WEIGHT, NET, "signed on")):
            page.text(self.label(label), start, last, "note", top=1, top_color=INK)
        page.next_row()


def _height_of_sketch(sketch: Sketch) -> float:
    """What a row has to have for a sketch, and what stays free around it [points]."""
    return sketch.height * 0.75 + 7


def _titled(line: QuoteLine) -> str:
    """What a line is called in the table of prices, with what they are for where that is not a piece."""
    return line.title if line.per == "piece" else f"{line.title} (1 {words.MEASURES[line.per]})"


def _height(lines: Sequence[tuple[str, dict[str, Any]]]) -> float:
    return sum(line_height(own["font_size"]) for _, own in lines) + ROOM


def _joined(lines: Sequence[tuple[str, dict[str, Any]]]) -> list[tuple[str, dict[str, Any]]]:
    """Lines of the same style as one text."""
    texts: list[tuple[str, dict[str, Any]]] = []
    for text, own in lines:
        if texts and texts[-1][1] == own:
            texts[-1] = (f"{texts[-1][0]}\n{text}", own)
        else:
            texts.append((text, own))
    return texts


def _run_on(said: Sequence[tuple[str, dict[str, Any]]]) -> list[tuple[str, dict[str, Any]]]:
    """Texts below one another in one cell."""
    return [(text if not number else f"\n{text}", own) for number, (text, own) in enumerate(said)]
