"""The Python interface: the same engine as the command line.

>>> import pricing
>>> callable(pricing.price_quotes) and callable(pricing.load_price_book)
True
"""

from __future__ import annotations

import contextlib
import datetime
import functools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pricing.book.price_book import PriceBook, load_price_book, read_price_book
from pricing.book.values import fold
from pricing.costing.costing import Costing, cost_catalogue, cost_quotes
from pricing.costing.explain import explain
from pricing.costing.lines import enquired
from pricing.problems import Problems

if TYPE_CHECKING:
    from pricing.register.offer import Offer
    from pricing.register.register import Issued, Register
    from pricing.register.reviewing import Reviewed

MARGIN_FILE, REVIEW_FILE = "margin summary.xlsx", "review.xlsx"


@dataclass
class Priced:
    """What a run gave: the costing, the files written, and what the maker has to know.

    Parameters
    ----------
    costing : None where something cannot be priced; then nothing was written
    problems : all of them, warnings among them
    written : the files, in the order in which they were written
    issued : what the register recorded, where the quotes were recorded
    """

    costing: Costing | None
    problems: Problems
    written: list[Path] = field(default_factory=list)
    issued: list[Issued] = field(default_factory=list)

    def as_json(self, day: datetime.date | None = None) -> dict[str, Any]:
        """The object that ``pricing quote --json`` prints."""
        if self.costing is None:
            shown = day or datetime.date.today()
            return {"currency": "", "date": str(shown), "quotes": [], "problems": [problem.as_json() for problem in self.problems]}
        result = self.costing.as_json(day)
        result["problems"] = [problem.as_json() for problem in self.problems]
        return result


def price_quotes(
    path: Path | str, *, quotes: Sequence[str] | None = None, day: datetime.date | None = None, out: Path | str | None = None,
    breaks: Sequence[float] | None = None, record: Literal["sent", "draft"] | None = None,
) -> Priced:  # fmt: skip
    """Read a price book, price its quotes, and write the workbooks where a folder is named.

    Parameters
    ----------
    path : the price book
    quotes : numbers of quotes; all where None
    day : the day whose prices hold; each quote's own date where None
    out : folder for the workbooks; none are written where None
    breaks : quantities of the price table in each quote [pieces]; none where None
    record : ``sent`` to record each quote that is written in the register beside the price book, ``draft`` to record it as no
        promise yet; not recorded where None
    """
    book, problems = read_price_book(Path(path))
    if book is None:
        return Priced(None, problems)
    names = _named(book, quotes, problems)
    if problems.errors:
        return Priced(None, problems)
    costing = Costing(book, enquired(book, names, day), problems)
    if problems.errors:
        return Priced(None, problems)
    priced = Priced(costing, problems)
    if out is not None:
        _write(priced, costing, Path(out), breaks, record)
    return priced


def _named(book: PriceBook, quotes: Sequence[str] | None, problems: Problems) -> list[str] | None:
    """The quotes asked for, as the book spells them; a problem for each that is not there."""
    table = book.tables["Enquiries"]
    if not len(table):
        problems.add("no-enquiries", "there is no enquiry to price; write one into the Enquiries sheet", sheet="Enquiries")
    if quotes is None:
        return None
    known = {fold(name): name for name in table.columns["quote"].tolist()}
    names = []
    for quote in quotes:
        if fold(quote) in known:
            names.append(known[fold(quote)])
        else:
            listed = ", ".join(list(dict.fromkeys(known.values()))[:12])
            problems.add("unknown-quote", f'there is no quote "{quote}"; the quotes are {listed}', sheet="Enquiries")
    return names


def _write(priced: Priced, costing: Costing, out: Path, breaks: Sequence[float] | None, record: str | None) -> None:
    from pricing.sheets.disk_faults import disk_fault
    from pricing.sheets.leaks import LeakError
    from pricing.sheets.margin import write_margin

    with contextlib.ExitStack() as stack:
        register = _register(priced, costing.book.path, record, stack)
        if priced.problems.errors:
            return
        try:
            _write_quotes(priced, costing, out, breaks, register, record)
            write_margin(costing, out / MARGIN_FILE)
            priced.written.append(out / MARGIN_FILE)
        except LeakError as error:
            priced.problems.add("leak", str(error))
        except Exception as error:
            fault = disk_fault(error)
            if fault is None:
                raise
            reason = fault.strerror or type(fault).__name__
            remedy = "close the file where it is open, or choose another folder with --out"
            priced.problems.add("cannot-write", f"{fault.filename or out}: {reason}; {remedy}")


def _register(priced: Priced, book: Path, record: str | None, stack: contextlib.ExitStack) -> Register | None:
    """The register, or None where nothing is recorded: a promise is not made without one, a draft may be."""
    if record is None:
        return None
    from pricing.register.register import Register, RegisterError

    try:
        return stack.enter_context(Register.open(book))
    except RegisterError as error:
        draft = record == "draft"
        ending = "; the drafts are written all the same" if draft else "; or write drafts, which need no record, with --draft"
        priced.problems.add(error.code, f"{error}{ending}", warning=draft)
        return None


def _write_quotes(
    priced: Priced, costing: Costing, out: Path, breaks: Sequence[float] | None, register: Register | None, record: str | None
) -> None:
    from pricing.register.offer import offer_of
    from pricing.sheets.quote import quote_file_name, write_quote

    table = costing.breaks(breaks) if breaks else None
    for quote in costing.quotes:
        target, write = out / quote_file_name(quote), functools.partial(write_quote, costing, quote, breaks=table)
        if register is None or record is None:
            write(target)
        elif not _issue(priced, register, offer_of(costing, quote, breaks=table), target, write, record):
            continue
        priced.written.append(target)


def _issue(priced: Priced, register: Register, offer: Offer, target: Path, write: Callable[[Path], None], record: str) -> bool:
    """Write and record a quote; False, with the reason as a problem, where it is left as it is."""
    from pricing.register.register import RegisterError

    try:
        issued = register.issue(offer, target, write, state=record)
    except RegisterError as error:
        priced.problems.add(error.code, str(error), sheet="Enquiries", warning=error.code == "already-accepted")
        return False
    priced.issued.append(issued)
    if issued.entry.revision < issued.latest:
        priced.problems.add(
            "earlier-revision",
            f"quote {offer.number}: what is written is revision {issued.entry.revision} again; revision {issued.latest} was issued since",
            sheet="Enquiries", warning=True,
        )  # fmt: skip
    return True


def review(
    path: Path | str, *, quotes: Sequence[str] | None = None, accept: Sequence[str] = (), out: Path | str | None = None
) -> Reviewed:
    """Look back at finished jobs and ahead at accepted quotes, and write ``review.xlsx`` where a folder is named.

    Parameters
    ----------
    path : the price book; the register beside it is read where there is one
    quotes : only these: those with rows in Actuals as finished, the others as accepted; all finished ones, and the accepted
        ones of the register, where None
    accept : better standards to write into the price book, by cell (``Labour!D7``) or by name
    out : folder for the workbook; none is written where None
    """
    from pricing.register.reviewing import look_back
    from pricing.sheets.review import write_review

    found = look_back(Path(path), quotes=quotes, accept=accept)
    if found.book is not None and out is not None and (found.review or found.capacity):
        target = Path(out) / REVIEW_FILE
        try:
            write_review(found.book, target, found.review, found.proposals, found.capacity)
            found.written.append(target)
        except OSError as error:
            reason = error.strerror or type(error).__name__
            remedy = "close the file where it is open, or choose another folder with --out"
            found.problems.add("cannot-write", f"{error.filename or out}: {reason}; {remedy}")
    return found


__all__ = [
    "Costing", "PriceBook", "Priced", "cost_catalogue", "cost_quotes", "explain", "load_price_book", "price_quotes", "read_price_book",
    "review",
]  # fmt: skip
