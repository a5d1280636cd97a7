"""A promise stays a promise: whatever is typed, run, marked, renamed or stopped, in whatever order.

Sequences of commands are drawn at random over a small book; after each of them everything that was promised is looked at.
"""

from __future__ import annotations

import contextlib
import datetime
import functools
import hashlib
import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import set_cell, small_book, write_book
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

import pricing
from pricing.problems import PricingError
from pricing.register import issue_files
from pricing.register import register as register_module
from pricing.register.recorded_quote import MAY_BECOME, STATES, TAKEN, RecordedQuote, standing

TODAY = datetime.date.today()
NUMBERS = ("Q-1", "Q-2")

#: Why a mark may be refused though the state could become the other: codes of the refusal.
REFUSED = {"only-a-draft", "already-ordered", "lapsed-order"}


def to_pay(path: Path) -> float:
    """What a quote's page asks for, as it stands on the page."""
    sheet = openpyxl.load_workbook(path, data_only=True).worksheets[0]
    row = next(row for row in sheet.iter_rows(values_only=True) if any(str(each).startswith("To pay (") for each in row))
    return next(float(each) for each in reversed(row) if isinstance(each, int | float))


@functools.cache
def to_pay_of(content: bytes) -> float:
    with tempfile.NamedTemporaryFile(suffix=".xlsx") as file:
        file.write(content)
        file.flush()
        return to_pay(Path(file.name))


class Promises(RuleBasedStateMachine):
    """A workshop with two enquiries, and everything that can be done with them."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.book = self.folder / "book.xlsx"
        self.sheets = small_book()
        for row in self.sheets["Enquiries"][1:]:
            row[1] = TODAY
        self.save()
        self.issued: dict[tuple[str, int], tuple[str, bytes]] = {}
        self.ordered: dict[str, int] = {}
        self.told: set[str] = set()
        self.names = 0

    def teardown(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)

    def save(self) -> None:
        write_book(self.book, self.sheets)

    def quote(self, **more: Any) -> pricing.Priced:
        done = pricing.quote(self.book, out=self.folder / "out", record="issued", **more)
        assert not [each for each in done.problems.errors if each.code != "reads-otherwise"], list(map(str, done.problems))
        return done

    @initialize(issued=st.booleans(), ordered=st.sampled_from([None, *NUMBERS]))
    def begun(self, issued: bool, ordered: str | None) -> None:
        """A new book, or one whose quotes went out before, of which one may be ordered."""
        if issued:
            self.quote()
            if ordered is not None:
                self.mark(ordered, "ordered", False, None)

    @rule(named=st.sampled_from([None, *NUMBERS]), breaks=st.booleans())
    def quote_all(self, named: str | None, breaks: bool) -> None:
        """All quotes, or the one that is named, with a table of prices or without."""
        if named is not None and named not in self.on_sheet():
            return
        self.quote(quotes=named and [named], breaks=[1, 5] if breaks else None)

    @rule()
    def draft(self) -> None:
        pricing.quote(self.book, out=self.folder / "out", record="draft")

    @rule(number=st.sampled_from(NUMBERS))
    def revise(self, number: str) -> None:
        """Promised anew: afterwards what stands is what the sheet says, or it is said why not."""
        if number in self.on_sheet():
            done = self.quote(revise=[number])
            assert [each.quote.number for each in done.issued] == [number] or done.stands or done.problems.warnings

    def on_sheet(self) -> set[str]:
        return {row[0] for row in self.sheets["Enquiries"][1:]}

    @rule(number=st.sampled_from(NUMBERS))
    def rows_gone(self, number: str) -> None:
        """The lines of an order leave the sheet, as the maker is told that they may."""
        if number in self.ordered and len(self.on_sheet()) > 1:
            self.sheets["Enquiries"][1:] = [row for row in self.sheets["Enquiries"][1:] if row[0] != number]
            self.save()

    @rule(currency=st.sampled_from(["EUR", "GBP"]))
    def other_currency(self, currency: str) -> None:
        set_cell(self.sheets, "Workshop", "Currency", "Value", currency)
        self.save()

    @rule(number=st.sampled_from(NUMBERS), quantity=st.integers(1, 4))
    def edit(self, number: str, quantity: int) -> None:
        if number not in self.on_sheet():
            return
        set_cell(self.sheets, "Enquiries", number, "Quantity", quantity)
        self.save()

    @rule(price=st.sampled_from([10, 12, 15]))
    def dearer(self, price: float) -> None:
        set_cell(self.sheets, "Materials", "Cement", "Pack price", price)
        self.save()

    @rule(number=st.sampled_from(NUMBERS), state=st.sampled_from(STATES[1:]), late=st.booleans(), days=st.sampled_from([None, 0, 3, 40]))
    def mark(self, number: str, state: str, late: bool, days: int | None) -> None:
        """A mark, or a mark that is taken back; refused exactly where the quote cannot become that."""
        before = {each.number: each for each in standing(self.recorded())}
        day = None if days is None else TODAY + datetime.timedelta(days=days)
        marked, told = None, pricing.Problems()
        try:
            marked = pricing.mark(self.book, number, state, day=day, late=late, told=told)
        except PricingError as error:
            refused = error.code
        if marked is None:
            assert number not in before or state not in MAY_BECOME[before[number].marked] or refused in REFUSED, refused
            return
        assert state == marked.marked
        if any(each.code == "paid-too-much" for each in told):
            self.told.add(marked.name)
        assert state == before[number].marked or state in MAY_BECOME[before[number].marked]
        if state in TAKEN:
            self.ordered[number] = marked.revision
        elif self.ordered.get(number) == marked.revision:
            del self.ordered[number]

    @rule(named=st.sampled_from([None, "Q-1"]), days=st.sampled_from([3, 45]))
    def reissue(self, named: str | None, days: int) -> None:
        """Issued again, and at once once more: the second run issues nothing new."""
        later = TODAY + datetime.timedelta(days=days)
        for again in (False, True):
            before = len(self.recorded())
            pricing.reprice(self.book, day=later, out=self.folder / "out", reissue=True if named is None else [named])
            assert not again or len(self.recorded()) == before

    @rule()
    def looked_at(self) -> None:
        """Repriced, checked, prepared and reviewed: nothing that is on record changes."""
        before = self.recorded()
        pricing.reprice(self.book, out=self.folder / "looked")
        pricing.check(self.book)
        pricing.workshop(self.book)
        assert self.recorded() == before

    @rule(number=st.sampled_from(NUMBERS), amount=st.sampled_from([-50.0, 100.0, 400.0, 1500.0]))
    def paid(self, number: str, amount: float) -> None:
        """A payment; one that comes to more than is payable is told."""
        problems = pricing.Problems()
        try:
            account = pricing.paid(self.book, number, amount, told=problems)
        except PricingError:
            return
        assert (account.open < 0) == any(each.code == "paid-too-much" for each in problems)
        assert account.total_paid >= 0
        if account.open < 0:
            self.told.add(account.quote.name)

    @rule(number=st.sampled_from(NUMBERS))
    def papers(self, number: str) -> None:
        """The papers ask for what the register says is open, whatever became of the book."""
        done = pricing.papers(self.book, number, out=self.folder / "papers", kinds=["statement", "delivery"])
        assert bool(done.written) == (number in self.ordered), list(map(str, done.problems))

    @rule()
    def tidy(self) -> None:
        with contextlib.suppress(PricingError):
            pricing.no_longer_needed(self.book)

    @rule()
    def rename(self) -> None:
        """The book gets another name: nothing is begun anew in silence, and its register is found when it is named."""
        self.names += 1
        new = self.folder / f"book {self.names}.xlsx"
        self.book = self.book.rename(new)
        held = sorted(self.folder.glob("*.register.sqlite"))
        if held:
            with pytest.raises(PricingError, match="to go on in it, add --register"):
                pricing.recorded(self.book)
            pricing.use_register(self.book, held[0])

    @rule(where=st.sampled_from(["before the record", "before the move", "after the move"]))
    def killed(self, where: str) -> None:
        """A run that is ended in the middle of issuing; whatever comes next completes or removes what it left."""
        child = os.fork()
        if child == 0:
            with contextlib.suppress(BaseException):
                _die_at(where)
                pricing.quote(self.book, out=self.folder / "out", record="issued")
            os._exit(0)
        os.waitpid(child, 0)

    def recorded(self) -> list[RecordedQuote]:
        try:
            return list(pricing.recorded(self.book, every_revision=True).quotes)
        except PricingError:
            return []

    @invariant()
    def what_was_promised_stands(self) -> None:
        """Every file that was issued is there to the last byte, and the register says what it says; an order stands."""
        quotes = {(each.number, each.revision): each for each in self.recorded()}
        assert len(quotes) == len(self.recorded())
        for name, each in quotes.items():
            if each.marked == "draft":
                assert name not in self.issued
                continue
            content = (self.folder / each.file).read_bytes()
            assert hashlib.sha256(content).hexdigest() == each.fingerprint
            assert not each.file.endswith("draft.xlsx")
            assert self.issued.setdefault(name, (each.file, content)) == (each.file, content)
            assert to_pay_of(content) == each.totals["payable"]
        assert set(self.issued) <= set(quotes)
        places = [file for file, _ in self.issued.values()]
        assert len(places) == len(set(places))
        for number, revision in self.ordered.items():
            assert quotes[number, revision].marked in TAKEN
        if quotes:
            for account in pricing.recorded(self.book).accounts.values():
                assert account.total_paid <= account.quote.totals["payable"] or account.quote.name in self.told


def _die_at(where: str) -> None:
    """End this process, without a word, when a quote that is issued has come so far."""
    finish = issue_files.finish_move

    def dying(*arguments: Any) -> None:
        if where == "after the move":
            finish(*arguments)
        os._exit(9)

    if where == "before the record":
        register_module.record_snapshot = dying  # type: ignore[assignment]
    else:
        register_module.finish_move = dying


@pytest.fixture(autouse=True)
def without_margins(monkeypatch: pytest.MonkeyPatch) -> None:
    """The maker's margin workbook, which takes the most time, is a blank file here."""
    monkeypatch.setattr("pricing.reports.quote.many.write_margin_part", lambda costing, part, path: (path.write_bytes(b"") and []) or [])
    monkeypatch.setattr("pricing.reports.repricing.workbook.write_repricing", lambda *_: None)


HEALTH = [HealthCheck.too_slow, HealthCheck.filter_too_much]


@pytest.mark.skipif(os.name != "posix", reason="processes are forked and ended in the way of POSIX systems")
def test_promises_stand_whatever_is_done() -> None:
    """A few sequences of six commands."""
    few = settings(max_examples=10, stateful_step_count=6, deadline=None, suppress_health_check=HEALTH)
    run_state_machine_as_test(Promises, settings=few)


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="processes are forked and ended in the way of POSIX systems")
def test_promises_stand_whatever_is_done_for_long() -> None:
    """Many sequences of six commands."""
    many = settings(max_examples=1000, stateful_step_count=6, deadline=None, suppress_health_check=HEALTH)
    run_state_machine_as_test(Promises, settings=many)
