"""The page of a quote from top to bottom, as a letter reads: who, to whom, what, how much, until when, and what then."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pricing.algebra.simplify import live_formula
from pricing.reports.quote import wording as words
from pricing.reports.quote.facts import QuoteFacts, QuoteLine
from pricing.reports.quote.sketch import LAYOUT_HEIGHT, LAYOUT_WIDTH, Sketch, sketch_of
from pricing.reports.quote.totals import TotalsWriter
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
    WIDTHS,
    Page,
    widened,
)
from pricing.reports.shared.paging import ROOM_FILLED, page_room
from pricing.reports.shared.styles import ACCENT, INK, NORMAL, QUIET, SMALL, set_page
from pricing.rules import prices, totals
from pricing.xlsx.writing.safe_text import one_line
from pricing.xlsx.writing.text_width import line_height, wrapped

DAY = "d mmm yyyy"

#: Size of the type of an empty line that keeps a text off the rule above it [points].
AIR = 3

#: How wide sketches are laid out, and how high: as high as leaves the quote on one page, or else its lines [px of the layout].
SKETCH_WIDTH, SKETCH_HEIGHTS = 230, (180, 160, 140, 125, 110, 100, 90)

#: The columns that a table of prices by quantity may use.
BREAK_COLUMNS = (PIECE_TOO, WEIGHT, QUANTITY, PRICE, NET)

#: Room for a signature [points], and what stays free between how to order and the totals [pixels].
SIGNATURE, BESIDE = 30.0, 16

#: How much of its width a text fills whose subjects are bold, and so wider [share].
BOLD_AMONG = 0.98

QUIETLY: Mapping[str, Any] = {"font_size": SMALL, "font_color": QUIET}
ASIDE: Mapping[str, Any] = {"font_color": QUIET}


def money_format(decimals: int) -> str:
    """The number format of amounts.

    >>> money_format(2), money_format(0)
    ('#,##0.00', '#,##0')
    """
    return "#,##0" + ("." + "0" * decimals if decimals else "")


def page_widths(facts: QuoteFacts) -> tuple[int, ...]:
    """Widths of the columns, wide enough for the longest figure of each [pixels]."""
    money, unit = facts.digits, unit_decimals(facts)
    widths = widened(WIDTHS, NET, [f"{value:,.{money}f}" for value in (*facts.totals.values(), *(line.net for line in facts.lines))], True)
    widths = widened(widths, PRICE, [f"{line.unit_price:,.{unit}f}" for line in facts.lines])
    widths = widened(widths, QUANTITY, [f"{line.quantity:,.0f}" for line in facts.lines])
    widths = widened(widths, WEIGHT, [f"{line.mass:,.1f}" for line in facts.lines])
    widths = widened(widths, NUMBER, [str(len(facts.lines))])
    for place, column in enumerate(BREAK_COLUMNS):
        shown = [f"{price:,.{money}f}" for line in facts.lines for price in line.prices[place :: len(BREAK_COLUMNS)]]
        shown += [f"{words.LABELS['each of']} {quantity:,.0f}" for quantity in facts.quantities[place :: len(BREAK_COLUMNS)]]
        widths = widened(widths, column, shown)
    return widths


def within_a_sentence(tax_name: str) -> str:
    """The name of a tax within a sentence: a tax that is called so begins small, an abbreviation stays as it is.

    >>> within_a_sentence("Sales tax"), within_a_sentence("VAT")
    ('sales tax', 'VAT')
    """
    first, _, rest = tax_name.partition(" ")
    called_so = tax_name.casefold().endswith("tax") and not (len(first) > 1 and first.isupper())
    return f"{first.lower()} {rest}".strip() if called_so else tax_name


def unit_decimals(facts: QuoteFacts) -> int:
    """Decimals that show every unit price in full: those of the currency, or more where a typed price has more."""
    decimals = facts.digits
    while decimals < 6 and any(abs(line.unit_price - round(line.unit_price, decimals)) > 1e-9 for line in facts.lines):
        decimals += 1
    return decimals


class QuotePage:
    """One quote's page while it is written.

    Parameters
    ----------
    facts : what the quote says
    page : an empty page
    """

    def __init__(self, facts: QuoteFacts, page: Page) -> None:
        self.facts, self.page = facts, page
        self.money = money_format(facts.digits)
        self.tax = within_a_sentence(facts.tax_name)
        self.text_column = PIECE if any(self.sketches((LAYOUT_WIDTH, LAYOUT_HEIGHT))) else SKETCH
        self.opened: list[int] = []
        self.weight_row = self.heading_row = self.first = self.last = 0

    def sketches(self, size: tuple[int, int]) -> list[Sketch | None]:
        """The sketches of the lines, laid out for a size [px of the layout]."""
        return [sketch_of(line.shape, line.dimensions, line.figures, line.details, size) for line in self.facts.lines]

    def write(self) -> None:
        """Everything, and the page's set-up."""
        facts, page = self.facts, self.page
        self._sender()
        self._particulars()
        opening = words.OPENING if facts.totals["tax_rate"] > 0 else words.OPENING_WITHOUT_TAX
        page.paragraph(opening.format(currency=facts.currency, tax=self.tax), NUMBER, LAST, "text wrapped")
        page.gap(8.0)
        self._headings()
        for line in facts.lines:
            self._line(line)
        self._delivery_weight()
        end_of_lines = page.row
        page.gap(4.0)
        how = page.row
        TotalsWriter(page, facts, self._lines_in(NET), self.money, self.tax).write()
        self._order(how)
        signed = page.row
        self._breaks()
        self._cautions()
        room = page_room(facts.paper, page.widths)
        self._set_sketches(room * ROOM_FILLED[0], signed)
        runs_over = page.height(end_of_lines) > room * ROOM_FILLED[0]
        page.keep_together(how, signed, room, page.heights.get(self.heading_row, 0.0) if runs_over else 0.0)
        foot = one_line(f"{facts.business} · {words.LABELS['quote']} {facts.quote}", 90)
        set_page(page.sheet, paper=facts.paper, business=foot, repeat_row=self.heading_row if runs_over else None)
        page.finish()

    def _set_sketches(self, room: float, lines_end: int) -> None:
        """Set the sketches beside the lines: as large as leaves all on one page, or else the lines with their totals.

        Parameters
        ----------
        room : what a page surely holds [points]
        lines_end : the row below the signature
        """
        page = self.page

        def height(sketches: Sequence[Sketch | None], end: int) -> float:
            more = (max(_row_of(sketch) - page.heights[row], 0.0) for row, sketch in zip(self.opened, sketches, strict=True) if sketch)
            return page.height(end) + sum(more)

        sizes = [(SKETCH_WIDTH, each) for each in SKETCH_HEIGHTS]
        size = next((
            each for end in (page.row, lines_end) if page.height(end) <= room
            for each in sizes if height(self.sketches(each), end) <= room
        ), sizes[len(sizes) // 2])
        for line, row, sketch in zip(self.facts.lines, self.opened, self.sketches(size), strict=True):
            if sketch is not None:
                page.need(_row_of(sketch), row)
                page.picture(sketch.png, SKETCH, words.LABELS["sketch"].format(number=line.number), sketch.scale, row)

    # who, to whom

    def _sender(self) -> None:
        facts, page = self.facts, self.page
        page.paragraph(facts.business, NUMBER, LAST, "headline", text_wrap=True)
        number = words.LABELS["tax number"].format(tax=facts.tax_name, number=facts.tax_number) if facts.tax_number else ""
        for parts in ((facts.address,), (facts.contact, number)):
            lines = [line.strip() for part in parts for line in part.split("\n") if line.strip()]
            if lines:
                page.paragraph(" · ".join(lines), NUMBER, LAST, "note wrapped")
        page.gap(12.0)

    def _particulars(self) -> None:
        """To whom on the left; number, dates, time and weight on the right, side by side."""
        facts, page = self.facts, self.page
        room = page.width(NUMBER, PIECE_TOO) - 12
        left: list[tuple[str, Mapping[str, Any]]] = [(words.LABELS["to"], ASIDE)]
        left += [(text, {"bold": True}) for text in wrapped(facts.customer, room, NORMAL, True)]
        left += [(text, {}) for line in facts.customer_address.split("\n") if line.strip() for text in wrapped(line.strip(), room, NORMAL)]
        right = ["quote", "date", "valid", "ready", "delivery weight"]
        for place in range(max(len(left), len(right))):
            if place < len(left):
                text, more = left[place]
                page.text(text, NUMBER, PIECE_TOO, "text", valign="top", **more)
            if place < len(right):
                page.text(words.LABELS[right[place]], WEIGHT, QUANTITY, "text", valign="top", **ASIDE)
                self._particular(right[place])
            page.need(15.0)
            page.next_row()
        page.gap(8.0)

    def _particular(self, name: str) -> None:
        facts, page = self.facts, self.page
        top: dict[str, Any] = {"valign": "top", "align": "left"}
        match name:
            case "quote":
                page.text(facts.quote, PRICE, NET, "text wrapped", bold=True)
            case "date" | "valid":
                page.day(facts.day if name == "date" else facts.valid_until, PRICE, NET, DAY, **top)
            case "ready":
                unit = words.LABELS["working day" if facts.lead_days == 1 else "working days"]
                page.number(facts.lead_days, NET, "text", f'#,##0" {unit}"', first=PRICE, **top)
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

    def _headings(self) -> None:
        page, labels, currency = self.page, words.LABELS, self.facts.currency
        self.heading_row = page.row
        page.text(labels["number"], NUMBER, NUMBER, "heading")
        page.text(labels["piece"], SKETCH, PIECE_TOO, "heading")
        for name, column in (("weight", WEIGHT), ("quantity", QUANTITY), ("unit price", PRICE), ("net", NET)):
            page.text(labels[name].format(currency=currency, mass=self.facts.mass_unit), column, column, "heading right")
        page.next_row()
        self.first = page.row

    def _line(self, line: QuoteLine) -> None:
        page = self.page
        top: dict[str, Any] = {"valign": "top"}
        blocks = self._text_blocks(line)
        page.gap(5.0)
        opening = page.row
        for number, (parts, height) in enumerate(blocks):
            role = "row" if number == len(blocks) - 1 else "text"
            more = {"bottom": 0} if role == "text" else {}
            page.rich(parts, self.text_column, PIECE_TOO, role, height, text_wrap=True, valign="top", align="left")
            if number:
                for first, last in ((NUMBER, self.text_column - 1), (WEIGHT, LAST)):
                    page.empty(first, last, role, **more)
            page.next_row()
        page.row = opening
        role = "row" if len(blocks) == 1 else "text"
        page.number(line.number, NUMBER, role, "0", align="left", font_color=QUIET, **top)
        if self.text_column == PIECE:
            page.empty(SKETCH, SKETCH, role)
        page.number(line.mass, WEIGHT, role, "#,##0.0", align="right", **top)
        page.number(line.quantity, QUANTITY, role, "#,##0", align="right", **top)
        page.number(line.unit_price, PRICE, role, money_format(unit_decimals(self.facts)), align="right", **top)
        cells = {"quantity": page.cell(QUANTITY), "unit_price": page.cell(PRICE)}
        formula = live_formula(prices.line_net, cells, {"minor_digits": self.facts.digits})
        page.formula(formula, line.net, NET, role, self.money, align="right", **top)
        self.opened.append(opening)
        self.last = opening + len(blocks) - 1
        page.row = opening + len(blocks)

    def _text_blocks(self, line: QuoteLine) -> list[tuple[list[tuple[str, dict[str, Any]]], float]]:
        """What is said of a piece, with the height that it takes [points]; in several rows where one cannot hold it."""
        width = self.page.width(self.text_column, PIECE_TOO)
        said: list[tuple[str, dict[str, Any]]] = [(line.title, {"bold": True, "font_size": NORMAL})]
        said += [(text, {"font_size": SMALL}) for text in (line.size, line.colour) if text]
        if line.note:
            said.append((line.note, dict(QUIETLY)))
        lines = [(each, own) for text, own in said for each in wrapped(text, width, own["font_size"], own.get("bold", False))]
        if len(lines) <= MOST_LINES:
            return [(_run_on(said), _height(lines))]
        rows = [lines[start : start + MOST_LINES] for start in range(0, len(lines), MOST_LINES)]
        return [(_run_on(_joined(row)), _height(row)) for row in rows]

    def _lines_in(self, column: int) -> str:
        return f"{self.page.cell(column, self.first)}:{self.page.cell(column, self.last)}"

    def _breaks(self) -> None:
        facts, page = self.facts, self.page
        if not facts.quantities:
            return
        note = words.LABELS["breaks note"].format(currency=facts.currency, tax=self.tax)
        self._section(words.LABELS["breaks"], note, SMALL)
        for start in range(0, len(facts.quantities), len(BREAK_COLUMNS)):
            quantities = facts.quantities[start : start + len(BREAK_COLUMNS)]
            page.text(words.LABELS["number"], NUMBER, NUMBER, "heading")
            page.text(words.LABELS["piece"], SKETCH, PIECE, "heading")
            for column, quantity in zip(BREAK_COLUMNS, quantities, strict=False):
                page.number(quantity, column, "heading right", f'"{words.LABELS["each of"]} "#,##0')
            page.next_row()
            for line in facts.lines:
                page.number(line.number, NUMBER, "row", "0", align="left", font_color=QUIET)
                page.text(one_line(line.title, 160), SKETCH, PIECE, "row", text_wrap=True, align="left")
                for column, price in zip(BREAK_COLUMNS, line.prices[start : start + len(quantities)], strict=False):
                    page.number(price, column, "row", self.money)
                page.need(19.0)
                page.next_row()
            page.gap(6.0)

    # how to say yes, what to take care of

    def _section(self, title: str, text: str, size: float = NORMAL, room: float = 0.0) -> None:
        """A section's title and its text in one cell, so that no page ends with a title."""
        page, body = self.page, {"font_size": size}
        page.gap(8.0)
        lines = len(wrapped(text, page.width(NUMBER, LAST), size))
        height = line_height(AIR) + line_height(NORMAL) + lines * line_height(size) + 2 * ROOM + room
        parts: list[tuple[str, dict[str, Any]]] = [(" \n", {"font_size": AIR}), (title, {"bold": True, "font_color": ACCENT})]
        page.rich([*parts, (f"\n{text}", body)], NUMBER, LAST, "text wrapped", height, top=1, top_color=ACCENT)
        page.next_row()

    def _notes(self, said: Sequence[tuple[str, str, bool]]) -> None:
        """Texts in small type that run on, each behind its subject in bold.

        Parameters
        ----------
        said : subject and text, and True where it opens a section of its own and so a line
        """
        page, body = self.page, {"font_size": SMALL}
        page.gap(8.0)
        parts: list[tuple[str, dict[str, Any]]] = [(" ", {"font_size": AIR})]
        for subject, text, opens in said:
            head = {**body, "bold": True, **({"font_color": ACCENT} if opens else {})}
            parts += [(f"{chr(10) if opens else ' '}{subject}", head), (f" {text}", body)]
        text = "".join(part for part, _ in parts).lstrip()
        lines = len(wrapped(text, page.width(NUMBER, LAST) * BOLD_AMONG, SMALL))
        height = line_height(AIR) + lines * line_height(SMALL) + ROOM
        page.rich(parts, NUMBER, LAST, "text wrapped", height, top=1, top_color=ACCENT)
        page.next_row()

    def _order(self, first: int) -> None:
        """How to order, beside the totals from a row on, and below them the place for the signature."""
        facts, page = self.facts, self.page
        text = words.ORDER.format(until=words.written_date(facts.valid_until))
        received = words.ORDER_RECEIVED
        if facts.deposit_share:
            text, received = text + words.ORDER_WITH_DEPOSIT, words.ORDER_AND_DEPOSIT_RECEIVED
        text += words.ORDER_LEAD_TIME.format(what=received)
        lines = len(wrapped(text, page.width(NUMBER, PIECE) - BESIDE, SMALL))
        title = {"bold": True, "font_color": ACCENT}
        parts: list[tuple[str, dict[str, Any]]] = [(" \n", {"font_size": AIR}), (words.LABELS["order"], title)]
        height = line_height(AIR) + line_height(NORMAL) + lines * line_height(SMALL) + ROOM
        page.beside([*parts, (f"\n{text}", {"font_size": SMALL})], first, NUMBER, PIECE, height)
        page.gap(SIGNATURE)
        for start, end, label in ((NUMBER, PIECE, "signed"), (WEIGHT, NET, "signed on")):
            page.text(words.LABELS[label], start, end, "note", top=1, top_color=INK)
        page.next_row()

    def _cautions(self) -> None:
        """How to care for the pieces, and all that is to be careful of."""
        facts = self.facts
        masses = [(line.number, line.mass) for line in facts.lines]
        weight = words.weight_sentence(masses, facts.one_person_lift, facts.mass_unit)
        said = [(words.LABELS["care"], words.care_for({line.uses for line in facts.lines}), True), (words.LABELS["cautions"], "", True)]
        said += [(words.WEIGHT_TITLE, weight, False)]
        said += [(each.title, each.text, False) for each in words.cautions_for({(line.shape.name, line.uses) for line in facts.lines})]
        self._notes(said)


def _row_of(sketch: Sketch) -> float:
    """Height of the row that a sketch needs [points]."""
    return sketch.height * 0.75 + 7.0


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
