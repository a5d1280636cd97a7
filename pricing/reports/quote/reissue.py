"""A quote issued again: its recorded lines at the prices of the day, as the next revision of its number."""

from __future__ import annotations

import datetime
import functools
from pathlib import Path

from pricing.book.price_book import PriceBook
from pricing.costing.method.costing import Costing
from pricing.register.kept.quote_snapshot import QuoteSnapshot, snapshot_of
from pricing.register.of_record import with_its_own_rows
from pricing.register.recorded_quote import TAKEN, RecordedQuote, named
from pricing.register.register import Issued, Register, RegisterError
from pricing.reports.quote.file_names import quote_file_name
from pricing.reports.quote.workbook import write_quote
from pricing.repricing.reprice import recosted

#: Codes of a RegisterError that refuses one quote, and says nothing of the others.
REFUSALS = frozenset({"already-ordered", "cannot-revise", "damaged-record", "file-in-the-way", "reads-otherwise", "revision-taken"})


def reissue(book: PriceBook, register: Register, recorded: RecordedQuote, out: Path, day: datetime.date) -> tuple[Issued, Path]:
    """Issue the lines of a recorded quote once more, dated *day*, at the prices of that day.

    The number stays; number and revision head the new workbook, which stands beside the old one. Where the latest revision waits
    for an answer and promises the same already, as after a run that was stopped, that one is written once more.

    Parameters
    ----------
    recorded : the latest revision of the quote
    out : folder for the workbook

    Problems raised: RegisterError where it is ordered, cannot be costed today, or is issued by somebody else meanwhile;
    LeakError where the workbook would give away what the customer must not see; OSError where the folder cannot be written.
    """
    if recorded.state in TAKEN:
        remedy = "give what is new a number of its own"
        raise RegisterError("already-ordered", f"quote {recorded.name} is {recorded.state} and is not issued again; {remedy}")
    latest = max(register.quotes(number=recorded.number, every_revision=True), key=lambda each: each.revision)
    if latest.marked == "issued" and latest.day == day:
        costing, snapshot = _as_of(book, register, recorded, latest.name, day)
        if register.promises(latest, snapshot):
            return _issue(register, costing, snapshot, latest.name, out, latest.revision)
    revision = latest.revision + (latest.marked != "draft")
    label = named(recorded.number, revision)
    return _issue(register, *_as_of(book, register, recorded, label, day), label, out, revision)


def _as_of(
    book: PriceBook, register: Register, recorded: RecordedQuote, label: str, day: datetime.date
) -> tuple[Costing, QuoteSnapshot]:
    """The lines of a recorded quote at the prices of a day, under a label, and what the register keeps of them."""
    own = with_its_own_rows(book, register, recorded, label)
    costing = recosted(own, day, label, recorded.customer, [line for _, line, _ in register.every_line(recorded)])
    if isinstance(costing, str):
        raise RegisterError("cannot-revise", f"quote {recorded.name} cannot be revised: {costing}")
    return costing, snapshot_of(costing, label, number=recorded.number)


def _issue(
    register: Register, costing: Costing, snapshot: QuoteSnapshot, label: str, out: Path, revision: int | None
) -> tuple[Issued, Path]:
    target = out / quote_file_name(label)
    return register.issue(snapshot, target, functools.partial(write_quote, costing, label), revision=revision), target
