"""A review with what the register knows: finished jobs by the standards they were promised with, and the orders at hand."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Iterator, Sequence
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.book.wording.sentences import listed
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.jobs.accept import Accepted, accept_standards, chosen_proposals
from pricing.costing.jobs.accepted_jobs import Acceptance
from pricing.costing.jobs.capacity import Capacity, Order, capacity_of
from pricing.costing.jobs.finished_jobs import Promise, finished_quotes
from pricing.costing.jobs.proposals import Proposal, propose_standards
from pricing.costing.jobs.review import Review, recorded_share, review_jobs
from pricing.costing.lines.order_lines import enquired
from pricing.costing.run import cost_lines
from pricing.dataclass import dataclass
from pricing.frames import frame_of_rows
from pricing.problems import Problems
from pricing.register.accepted_standards import acceptances, note_accepted, withdraw_accepted
from pricing.register.database import RegisterError
from pricing.register.of_record import book_of_record
from pricing.register.recorded_quote import TAKEN, RecordedQuote
from pricing.register.register import Register
from pricing.register.setting_aside import read_for
from pricing.text import fold
from pricing.xlsx.editing.write_cells import file_fingerprint

if TYPE_CHECKING:
    import pandas


@dataclass
class Reviewed:
    """What a review gave.

    Parameters
    ----------
    book : None where the price book cannot be read
    review : finished jobs; None where there is none, or something stops it
    proposals : better standards
    capacity : what the ordered quotes take; None where none is ordered
    accepted : standards written into the price book; None where none was asked for, or it was refused
    problems : all of them, warnings among them
    written : the workbooks
    """

    book: PriceBook | None
    problems: Problems
    review: Review | None = None
    proposals: list[Proposal] = field(default_factory=list)
    capacity: Capacity | None = None
    accepted: Accepted | None = None
    written: list[Path] = field(default_factory=list)

    def jobs_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per finished job: what it was allowed to cost, what it cost, and what it earned."""
        money = dict.fromkeys(("net", "cost_allowed", "cost", "variance"), "currency")
        return frame_of_rows(self.review.as_json() if self.review else [], money, units=units)

    def standards_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per standard that finished jobs would move; the unit of each stands in its row."""
        return frame_of_rows([proposal.as_json() for proposal in self.proposals], {}, units=units)

    def capacity_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per resource: what the ordered quotes take of it."""
        resources = self.capacity.as_json()["resources"] if self.capacity else []
        return frame_of_rows(resources, {"hours": "hour", "hours_per_week": "hour/week", "weeks": "week"}, units=units)

    def as_json(self) -> dict[str, Any]:
        """The object that ``pricing review --json`` prints."""
        accepted = self.accepted.proposals if self.accepted else ()
        return {
            "currency": self.book.word("currency") if self.book else "",
            "sign": "actual minus allowed: above zero is adverse",
            "jobs": self.review.as_json() if self.review else [],
            "recorded_share": recorded_share(self.review) if self.review else 0.0,
            "standards": [proposal.as_json() for proposal in self.proposals],
            "capacity": self.capacity.as_json() if self.capacity else None,
            "accepted": [proposal.place for proposal in accepted],
            "backup": str(self.accepted.backup) if self.accepted and self.accepted.backup else "",
            "written": [str(path) for path in self.written],
            "problems": [{**problem.as_json(), "warning": problem.warning} for problem in self.problems],
        }


def look_back(path: Path, *, quotes: Sequence[str] | None = None, accept: Sequence[str] = ()) -> Reviewed:
    """Review the finished jobs of a price book and look ahead at its ordered quotes.

    Parameters
    ----------
    path : the price book; the register beside it is read where there is one
    quotes : only these: those with rows in Actuals as finished jobs, the others as ordered quotes; where None all
        finished jobs, and what the register has as ordered and is not finished
    accept : standards to write into the price book, by cell or by name

    Nothing is written but the standards that are accepted, and into the register, which is made where there is none, the jobs
    that they rest on: these are not counted for them again.
    """
    fingerprint = file_fingerprint(path) if path.is_file() else None
    book, problems = read_for(path, quotes, from_record=True, back=True)
    if book is None:
        return Reviewed(None, problems)
    found = Reviewed(book, problems)
    entries, promised, accepted = _known(book, problems)
    finished, ahead = _wanted(book, quotes, entries, problems)
    if problems.errors:
        return found
    if finished:
        found.review = review_jobs(book, problems, quotes=finished, promised=promised)
        found.proposals = propose_standards(book, found.review, accepted)
    orders = [order for quote in ahead if (order := _order(book, quote, entries.get(fold(quote)), problems)) is not None]
    if problems.errors:
        found.review, found.proposals = None, []
        return found
    if orders:
        found.capacity = capacity_of(book, sorted(orders, key=lambda order: (order.ordered, order.quote)), problems)
    if not finished and not orders:
        text = "there is nothing to look back or ahead at: no row in Actuals, and no ordered quote in the register"
        remedy = "write what a finished job took into Actuals, or name a quote with --quote"
        problems.add("nothing-to-review", f"{text}; {remedy}", sheet="Actuals")
    if accept and not problems.errors:
        chosen = chosen_proposals(found.proposals, accept, problems)
        if not problems.errors:
            found.accepted = _accept(book, chosen, problems, fingerprint)
    return found


def _accept(book: PriceBook, chosen: Sequence[Proposal], problems: Problems, fingerprint: str | None) -> Accepted | None:
    """Note the jobs of the chosen proposals and write these into the price book; struck off again where that is refused.

    Where the process ends in between, the figure in the price book says whether the note holds (``accepted_jobs.in_force``).
    """
    try:
        with Register.open(book.path) as register:
            rows = note_accepted(register, chosen, datetime.date.today())
            accepted = accept_standards(book, chosen, problems, fingerprint=fingerprint)
            if accepted is None:
                withdraw_accepted(register, rows)
            return accepted
    except RegisterError as error:
        problems.add(error.code, f"{error}; without a note of its jobs no standard is accepted, for they would count again")
        return None


@dataclass(frozen=True, slots=True)
class _Ordered:
    """An ordered quote as the register has it: what was recorded, and a price book in which it stands as it was promised."""

    recorded: RecordedQuote
    book: PriceBook | None


def _known(book: PriceBook, problems: Problems) -> tuple[dict[str, _Ordered], dict[str, Promise], list[Acceptance]]:
    """The ordered quotes of the register by number, the models that they were promised with, and the standards accepted."""
    spelled = {fold(quote): quote for quote in finished_quotes(book)}
    entries: dict[str, _Ordered] = {}
    promised: dict[str, Promise] = {}
    accepted: list[Acceptance] = []
    try:
        with Register.open(book.path, to_read=True) as register:
            accepted = acceptances(register)
            for recorded in [each for each in register.quotes() if each.state in TAKEN]:
                with _left_out(problems):
                    own = book_of_record(book, register, recorded) if recorded.state == "ordered" else None
                    entries[fold(recorded.number)] = _Ordered(recorded, own)
                    _promise(register, recorded, book.word("currency"), spelled, promised)
            for recorded in register.quotes():
                if recorded.marked == "issued" and fold(recorded.number) in spelled:
                    with _left_out(problems):
                        _promise(register, recorded, book.word("currency"), spelled, promised)
                    text = f"quote {recorded.name} is finished, and the register has it as {recorded.state}"
                    remedy = f"note the order with: pricing register --mark {recorded.number}=ordered"
                    problems.add("not-ordered", f"{text}; it is held against what was issued; {remedy}", sheet="Actuals", warning=True)
            problems.take(register.problems)
    except RegisterError as error:
        problems.add(error.code, f"{error}; the price book alone is looked at", warning=True)
    return entries, promised, accepted


@contextlib.contextmanager
def _left_out(problems: Problems) -> Iterator[None]:
    """Say of a quote whose record is damaged, or whose product is gone, that it is left out, and go on without it."""
    try:
        yield
    except RegisterError as error:
        if error.code not in ("damaged-record", "product-gone"):
            raise
        problems.add(error.code, f"{error}; it is left out here" if error.code == "product-gone" else str(error), warning=True)


def _promise(
    register: Register, recorded: RecordedQuote, currency: str, spelled: dict[str, str], promised: dict[str, Promise]
) -> None:
    """Add what a finished job was promised with, where the register has its figures, in the currency of the book."""
    same = recorded.currency == currency
    model = register.model(recorded) if same and fold(recorded.number) in spelled else None
    if model is not None:
        quote = spelled[fold(recorded.number)]
        promised[quote] = Promise(quote, recorded.customer, np.datetime64(recorded.day, "D"), model, evaluate(model))


def _wanted(
    book: PriceBook, quotes: Sequence[str] | None, entries: dict[str, _Ordered], problems: Problems
) -> tuple[list[str], list[str]]:
    """The finished jobs, and the ordered quotes that are not finished."""
    finished = finished_quotes(book)
    done = {fold(quote) for quote in finished}
    if quotes is None:
        return finished, [each.recorded.number for name, each in entries.items() if name not in done and each.recorded.state == "ordered"]
    known = {fold(quote): quote for quote in book.tables["Enquiries"].columns["quote"].tolist()}
    known |= {name: each.recorded.number for name, each in entries.items()} | {fold(quote): quote for quote in finished}
    for quote in quotes:
        if fold(quote) not in known:
            some = listed(list(dict.fromkeys(known.values()))[:12], "and")
            problems.add("unknown-quote", f'there is no quote "{quote}"; the quotes are {some}', sheet="Enquiries")
    names = [known[fold(quote)] for quote in dict.fromkeys(quotes) if fold(quote) in known]
    return [quote for quote in names if fold(quote) in done], [quote for quote in names if fold(quote) not in done]


def _order(book: PriceBook, quote: str, ordered: _Ordered | None, problems: Problems) -> Order | None:
    """An ordered quote: as the register has it, or as the price book makes it today."""
    source = book if ordered is None or ordered.book is None else ordered.book
    costing = cost_lines(source, enquired(source, [quote]), own := Problems(book.file))
    for problem in own.errors:
        problems.add(problem.code, problem.message, sheet=problem.sheet, cell=problem.cell)
    if own.errors:
        return None
    if ordered is None:
        day = costing.lines.day[0].astype("datetime64[D]").astype(object)
        return Order(costing, day, float(costing.quote("payable")[0]), float(costing.quote("deposit")[0]))
    totals = ordered.recorded.totals
    if ordered.recorded.currency != book.word("currency"):
        text = f"quote {quote} was promised in {ordered.recorded.currency}; what is paid for it is left out of the cash"
        problems.add("other-currency", text, warning=True)
        return Order(costing, ordered.recorded.since, 0.0, 0.0)
    return Order(costing, ordered.recorded.since, totals["payable"], totals["deposit"])
