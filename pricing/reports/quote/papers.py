"""Papers to an order: its confirmation, what is asked to be paid next, the note that goes with the delivery, what is paid and open.

Each is a letter like the quote, written from what was recorded, and passes the same gate: no cost stands in it.
"""

from __future__ import annotations

import datetime
import functools
import io
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pricing.dataclass import dataclass
from pricing.files.atomic import written_beside
from pricing.register.payments import Account, Stage
from pricing.reports.leaks.figures import figures_in
from pricing.reports.leaks.gate import LeakError
from pricing.reports.quote import wording as words
from pricing.reports.quote.facts import QuoteFacts, QuoteLine, index_of, quote_facts
from pricing.reports.quote.layout import page_widths
from pricing.reports.quote.letter import ASIDE, Letter
from pricing.reports.quote.price_remarks import price_remarks
from pricing.reports.quote.secrets import secrets_of_facts
from pricing.reports.quote.skeleton import leaks_of
from pricing.reports.quote.totals import TotalsWriter
from pricing.reports.shared.flowing_page import LAST, NET, NUMBER, PIECE, PIECE_TOO, PRICE, QUANTITY, ROOM, SKETCH, WEIGHT, Page
from pricing.reports.shared.owner import mark_of
from pricing.reports.shared.report_book import House, ReportBook
from pricing.reports.shared.styles import INK, NORMAL, SMALL, set_page
from pricing.xlsx.writing.safe_text import one_line, safe_file_name
from pricing.xlsx.writing.text_width import line_height, wrapped

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing

#: The papers, in the order in which they are sent, and the names of their files.
PAPERS = {
    "confirmation": "order confirmation", "request": "payment request", "delivery": "delivery note", "statement": "statement",
}

_SMALLEST_SKETCH = (160, 90)


@dataclass(frozen=True)
class Paper:
    """What a paper says.

    Parameters
    ----------
    kind : one of PAPERS
    facts : what the quote says
    account : what is paid and open
    ordered, day : days of the order and of the paper
    """

    kind: str
    facts: QuoteFacts
    account: Account
    ordered: datetime.date
    day: datetime.date

    @property
    def next_stage(self) -> Stage | None:
        """The first stage of which something is open."""
        return next((stage for stage in self.account.stages if stage.open > 0), None)


def paper_file_name(number: str, kind: str) -> str:
    """The name of the file of a paper.

    >>> paper_file_name("Q-1041", "delivery")
    'Q-1041 delivery note.xlsx'
    """
    return safe_file_name(number, f" {PAPERS[kind]}.xlsx")


def papers_of(costing: Costing, account: Account, ordered: datetime.date, day: datetime.date) -> list[Paper]:
    """The papers that an order has on a day: the request only while something is open.

    Parameters
    ----------
    costing : of the quote alone, as it was recorded
    """
    facts = quote_facts(costing, costing.lines.quotes[0], label=account.quote.name)
    made = [Paper(kind, facts, account, ordered, day) for kind in PAPERS]
    return [paper for paper in made if paper.kind != "request" or paper.next_stage is not None]


def write_paper(costing: Costing, paper: Paper, path: Path) -> None:
    """Write a paper for the customer.

    Parameters
    ----------
    costing : of the quote alone, as it was recorded
    path : where it goes; it is written beside and moved into place

    Problems raised: LeakError where it would hold what the customer must not see, and is not delivered; OSError where the folder cannot
    be written.
    """
    facts, file = paper.facts, io.BytesIO()
    house = House(facts.business, facts.paper, facts.currency, mark=mark_of(costing.book.file))
    with ReportBook(file, house, in_memory=True) as book:
        title = facts.words.say(words.PAPERS[paper.kind])
        book.add_sheets([title])
        _PaperPage(paper, Page(book.sheets[title], book.styles, page_widths(facts))).write()
        book.close(facts.words.say(words.PAPER_LABELS["foot"], paper=title, quote=one_line(facts.quote, 100)), paper.day)
    index, quote = index_of(costing), costing.lines.quotes[0]
    secrets = secrets_of_facts(costing, facts, index.lines[quote], index.number[quote])
    own = replace(
        secrets, shown=sorted([*secrets.shown, *_amounts(paper), *_serials(paper)]),
        shown_money=sorted([*secrets.shown_money, *_amounts(paper)]),
        particulars=secrets.particulars.union(figure for day in _days(paper) for figure in figures_in(facts.words.day(day))),
    )
    leaks = leaks_of(file, own)
    if leaks:
        raise LeakError(facts.quote, leaks)
    with written_beside(path) as beside:
        beside.write_bytes(file.getbuffer())


def _amounts(paper: Paper) -> list[float]:
    """The figures that a paper holds by right besides those of its quote."""
    account = paper.account
    figures = [account.total_paid, abs(account.open), *(amount for _, amount in account.paid)]
    figures += [figure for stage in account.stages for figure in (stage.amount, stage.open, stage.amount - stage.open)]
    masses = [round(line.mass, 1) * line.quantity for line in paper.facts.lines]
    figures += [*masses, sum(masses)]
    return [abs(each) for each in figures]


def _serials(paper: Paper) -> list[float]:
    """Its days as a spreadsheet keeps them, and their years."""
    return [figure for day in _days(paper) for figure in (float((day - datetime.date(1899, 12, 30)).days), float(day.year))]


def _days(paper: Paper) -> list[datetime.date]:
    """The days that a paper speaks of."""
    account = paper.account
    due = [stage.due for stage in account.stages if stage.due is not None]
    return [paper.day, paper.ordered, paper.facts.day, *(day for day, _ in account.paid), *due]


class _PaperPage(Letter):
    """A paper while it is written."""

    def __init__(self, paper: Paper, page: Page) -> None:
        super().__init__(paper.facts, page, _SMALLEST_SKETCH, one_page=False)
        self.paper = paper

    def write(self) -> None:
        """Everything, and the page's set-up."""
        paper, facts, page = self.paper, self.facts, self.page
        self._sender()
        self._head()
        stage, dates = paper.next_stage, {"ordered": facts.words.day(paper.ordered), "date": facts.words.day(facts.day)}
        called = {} if paper.kind != "request" or stage is None else {"stage": self._called_due(stage)}
        said = facts.words.say(words.PAPER_OPENINGS[paper.kind], quote=facts.quote, **dates, **called)
        if paper.kind == "confirmation" and paper.account.quote.options:
            lines = [f"{self.label('number')} {number}" for number in paper.account.quote.options]
            said += facts.words.say(words.CONFIRMED_WITH, lines=facts.words.listed(lines))
        page.paragraph(said, NUMBER, LAST, "text wrapped")
        page.gap(8.0)
        {"confirmation": self._confirmed, "request": self._requested, "delivery": self._delivered, "statement": self._stated}[paper.kind]()
        titled = self._say("foot", paper=facts.words.say(words.PAPERS[paper.kind]), quote=facts.quote)
        set_page(page.sheet, paper=facts.paper, business=one_line(f"{facts.business} · {titled}", 90), page=self.label("page"))
        page.finish()

    def _say(self, name: str, **values: object) -> str:
        """A label of the papers, in the language of the quote."""
        return self.facts.words.say(words.PAPER_LABELS[name], **values)

    def _called(self, stage: Stage) -> str:
        return words.stage_words(stage.plan.stage, stage.called, self.facts.words)

    def _called_due(self, stage: Stage) -> str:
        return words.with_due(self._called(stage), self._due(stage), self.facts.words, words.PAPER_LABELS["stage due"])

    def _due(self, stage: Stage) -> str:
        """When a stage falls due, in words."""
        return words.due_words(stage.plan.when, stage.plan.days, self.facts.collected, self.facts.words)

    def _head(self) -> None:
        """To whom on the left; what it is, of which order and of which day on the right."""
        paper, facts, page = self.paper, self.facts, self.page
        page.paragraph(facts.words.say(words.PAPERS[paper.kind]), NUMBER, LAST, "section")
        page.gap(4.0)
        room = page.width(NUMBER, PIECE_TOO) - 12
        left = [self.label("to"), *wrapped(facts.customer, room, NORMAL, True)]
        address = facts.site if paper.kind == "delivery" and facts.site else facts.customer_address
        left += [text for line in address.split("\n") if line.strip() for text in wrapped(line.strip(), room, NORMAL)]
        right: list[tuple[str, str | datetime.date]] = [
            (self.label("quote"), facts.quote), *([(self.label("reference"), facts.reference)] if facts.reference else []),
            (self.label("date"), paper.day), (self._say("ordered"), paper.ordered),
        ]
        for place in range(max(len(left), len(right))):
            if place < len(left):
                page.text(left[place], NUMBER, PIECE_TOO, "text", valign="top", **(ASIDE if not place else {"bold": place == 1}))
            if place < len(right):
                label, value = right[place]
                page.text(label, WEIGHT, QUANTITY, "text", valign="top", **ASIDE)
                if isinstance(value, str):
                    page.text(value, PRICE, NET, "text wrapped", bold=not place)
                else:
                    page.day(value, PRICE, NET, facts.words.day_format, align="left", valign="top")
            page.need(15.0)
            page.next_row()
        page.gap(9.0)

    def _headings(self, columns: Sequence[tuple[str, int]], last: int) -> None:
        page = self.page
        page.text(self.label("number"), NUMBER, NUMBER, "heading")
        page.text(self.label("piece"), SKETCH, last, "heading")
        for name, column in columns:
            say = self._say if name in words.PAPER_LABELS else self.label
            page.text(say(name, currency=self.facts.currency, mass=self.facts.mass_unit), column, column, "heading right")
        page.next_row()

    def _piece(self, line: QuoteLine, last: int, remarks: Sequence[str] = ()) -> None:
        """Number and words of a line, and what is to be said of its price."""
        role = "text" if line.heading else "row"
        if line.part_of is None:
            self.page.number(line.number, NUMBER, role, "0", align="left", valign="top")
        else:
            self.page.empty(NUMBER, NUMBER, role)
        said = [text for text in (line.title, line.size, *remarks) if text]
        usual: dict[str, Any] = {"text_wrap": True, "align": "left", "valign": "top"}
        if line.heading and len(said) > 1:
            lines = [each for place, text in enumerate(said) for each in wrapped(text, self.page.width(SKETCH, last), NORMAL, not place)]
            parts: list[tuple[str, dict[str, Any]]] = [(said[0], {"bold": True}), *((f"\n{text}", {}) for text in said[1:])]
            self.page.rich(parts, SKETCH, last, role, len(lines) * line_height(NORMAL) + ROOM, **usual)
        else:
            self.page.text("\n".join(said), SKETCH, last, role, bold=line.heading, **usual)

    def _confirmed(self) -> None:
        """Lines and amounts as they were promised, and when they are paid."""
        page, facts = self.page, self.facts
        self._headings([("quantity", QUANTITY), ("unit price", PRICE), ("net", NET)], last=WEIGHT)
        decimals = "#,##0" + ("." + "0" * facts.unit_decimals if facts.unit_decimals else "")
        nets = []
        for line in facts.listed:
            role = "text" if line.heading else "row"
            self._piece(line, WEIGHT, price_remarks(line, facts.words) if line.part_of is None else ())
            page.number(line.quantity, QUANTITY, role, "#,##0", valign="top", align="right")
            if line.part_of is not None:
                page.empty(PRICE, NET, role)
            else:
                if line.unit_price == line.unit_price:
                    page.number(line.unit_price, PRICE, role, decimals, valign="top", align="right")
                page.number(line.net, NET, role, self.money, valign="top", align="right")
                nets.append(page.cell(NET))
            page.next_row()
        TotalsWriter(page, facts, nets, self.money, self.tax).write()
        said = facts.words.count(*words.CONFIRMED, facts.lead_days) + facts.words.say(words.CHANGES)
        self._with_cautions(functools.partial(self._section, self._say("next"), said))

    def _amount(self, label: str, value: float, formula: str = "", role: str = "working") -> str:
        page = self.page
        page.text(label, PIECE, PRICE, role, align="right")
        if formula:
            cell = page.formula(f"={formula}", value, NET, role, self.money)
        else:
            page.number(value, NET, role, self.money)
            cell = page.cell(NET)
        page.need(18.0)
        page.next_row()
        return cell

    def _requested(self) -> None:
        """The stage that is paid next, what of it is paid already, and what is asked for."""
        stage = self.paper.next_stage
        assert stage is not None
        whole = self._amount(words.with_due(self._called(stage), self._due(stage), self.facts.words), stage.amount)
        paid = self._amount(self._say("paid on it"), stage.amount - stage.open)
        label = self.label("payable", currency=self.facts.currency)
        self._amount(label, stage.open, f"{whole}-{paid}", role="grand total")
        if stage.due is not None:
            when = words.PAY_BY if self.paper.day <= stage.due else words.PAY_NOW
            said = self.facts.words.say(when, due=self.facts.words.day(stage.due), quote=self.facts.quote)
            self._section(self._say("due"), said)
        self._section(self._say("invoice"), self.facts.words.say(words.NO_INVOICE), SMALL)

    def _delivered(self) -> None:
        """Pieces with their weights, by piece and in all; no price."""
        page, facts = self.page, self.facts
        self._headings([("quantity", QUANTITY), ("weight", PRICE), ("line weight", NET)], last=WEIGHT)
        first = page.row
        for line in facts.listed:
            if line.service:
                continue
            self._piece(line, WEIGHT)
            if line.heading:
                page.next_row()
                continue
            page.number(line.quantity, QUANTITY, "row", "#,##0", valign="top")
            page.number(round(line.mass, 1), PRICE, "row", "#,##0.0", valign="top")
            formula = f"={page.cell(QUANTITY)}*{page.cell(PRICE)}"
            page.formula(formula, line.quantity * round(line.mass, 1), NET, "row", "#,##0.0", valign="top")
            page.next_row()
        whole = sum(line.quantity * round(line.mass, 1) for line in facts.pieces)
        page.text(f"{self.label('delivery weight')} ({facts.mass_unit})", PIECE, PRICE, "grand total", align="right")
        formula = f"=SUM({page.cell(NET, first)}:{page.cell(NET, max(page.row - 1, first))})"
        page.formula(formula, whole, NET, "grand total", "#,##0.0")
        page.next_row()
        self._with_cautions(self._received)

    def _received(self) -> None:
        """Where the customer signs for what came."""
        self._section(self._say("received"), self.facts.words.say(words.RECEIVED), room=28.0)
        for start, end, label in ((NUMBER, PIECE, "signed"), (WEIGHT, NET, "signed on")):
            self.page.text(self.label(label), start, end, "note", top=1, top_color=INK)
        self.page.next_row()

    def _with_cautions(self, section: Callable[[], None]) -> None:
        """A section, and on the same page what is to be careful of."""
        both = functools.partial(self._all_of, [section, *([self._care] if self.facts.pieces else [])])
        if self.page.used <= self.room:
            self._whole(both)
        else:
            both()

    def _stated(self) -> None:
        """What is payable, every payment, and what is open."""
        page, account = self.page, self.paper.account
        payable = self._amount(self.label("payable", currency=self.facts.currency), account.quote.totals["payable"], role="total")
        cells = []
        for day, amount in sorted(account.paid, key=lambda one: one[0]):
            cells.append(self._amount(self._say("paid on" if amount > 0 else "paid back on", day=self.facts.words.day(day)), amount))
        if not cells:
            page.text(self._say("nothing paid"), PIECE, PRICE, "working", align="right")
            page.next_row()
        paid = "".join(f"-{cell}" for cell in cells)
        label = self._say("still open" if account.open >= 0 else "too much", currency=self.facts.currency)
        self._amount(label, account.open, f"{payable}{paid}", role="grand total")
        for stage in account.stages:
            if stage.open > 0:
                called = self._called_due(stage)
                if stage.due is not None:
                    called = self._say("stage due on", stage=self._called(stage), day=self.facts.words.day(stage.due))
                self._amount(self._say("open of stage", stage=called), stage.open)
        self._section(self._say("invoice"), self.facts.words.say(words.NO_INVOICE), SMALL)
