"""Quotes priced, written, and recorded: the whole of ``pricing quote``."""

from __future__ import annotations

import contextlib
import datetime
import functools
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pricing.api.books import Number, Source, named_quotes, opened
from pricing.api.faults import told
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.options import as_json, options_of
from pricing.costing.run import at_quantities, cost_lines
from pricing.problems import BookError, Problems
from pricing.quantities import pieces

if TYPE_CHECKING:
    from pricing.register.quote_snapshot import QuoteSnapshot
    from pricing.register.register import Issued, Register
    from pricing.reports.quote.many import Finished, QuoteRun

MARGIN_FILE = "margin summary.xlsx"

#: The same of what is offered beside the quotes, where there is anything.
OPTIONS_FILE = "margin of options.xlsx"


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

    @property
    def register(self) -> Path | None:
        """The register that recorded the quotes; None where nothing is priced."""
        from pricing.register.database import register_path

        return register_path(self.costing.book.path) if self.costing is not None else None

    @property
    def costed(self) -> Costing:
        """The costing.

        Problems raised: BookError where something cannot be priced.
        """
        if self.costing is None:
            raise BookError(self.problems.errors)
        return self.costing

    def as_json(self, day: datetime.date | None = None) -> dict[str, Any]:
        """The object that ``pricing quote --json`` prints."""
        if self.costing is None:
            shown = day or datetime.date.today()
            result: dict[str, Any] = {"currency": "", "date": str(shown), "quotes": []}
        else:
            result = as_json(self.costing, day)
        result["problems"] = [problem.as_json() for problem in self.problems]
        result["written"] = [str(path) for path in self.written]
        return result


def quote(
    source: Source, *, quotes: Sequence[str] | None = None, day: datetime.date | None = None, out: Path | str | None = None,
    breaks: Sequence[Number] | None = None, record: Literal["issued", "sent", "draft"] | None = None, jobs: int | None = 1,
    done: Callable[[int, int], None] | None = None, pdf: bool = False,
) -> Priced:
    """Price the quotes of a price book, and write the workbooks where a folder is named.

    A quote whose workbook would give away what its customer must not see is neither delivered nor recorded, and is a problem
    of the code ``leak``; the others are. Very many lines stand in several margin workbooks, each whole in itself.

    Parameters
    ----------
    source : the price book, or its path
    quotes : numbers of quotes; all where None
    day : the day whose prices hold; each quote's own date where None
    out : folder for the workbooks; none are written where None
    breaks : quantities of the price table in each quote, as numbers or quantities [pieces]; none where None
    record : ``issued`` (or ``sent``, as it was called) to record each quote that is written in the register beside the price book,
        ``draft`` to record it as no promise yet; not recorded where None
    jobs : processes that write the workbooks; where None all that the machine has, if there are many quotes. A script that
        asks for several has to be one that can be imported: the work stands below ``if __name__ == "__main__":``
    done : called after each quote with how many are written and how many there are
    pdf : True for a PDF beside each quote's workbook; a problem says so where there is no LibreOffice to make it
    """
    book, problems = opened(source)
    if book is None:
        return Priced(None, problems)
    names = named_quotes(book, quotes, problems, "price")
    if problems.errors:
        return Priced(None, problems)
    from pricing.register.ordered_work import ordered_work

    book.ordered = ordered_work(book, day or datetime.date.today())
    costing = cost_lines(book, enquired(book, names, day), problems)
    if problems.errors:
        return Priced(None, problems)
    priced = Priced(costing, problems)
    if out is not None:
        with told(problems, out):
            _write(priced, costing, Path(out), None if breaks is None else pieces(breaks), record, jobs, done or (lambda *_: None))
            if pdf:
                _print(priced)
    return priced


def _print(priced: Priced) -> None:
    """A PDF beside each quote that was written."""
    from pricing.files.pdf import PdfError, pdfs_beside
    from pricing.reports.quote.workbook import quote_file_name

    assert priced.costing is not None
    names = {quote_file_name(quote) for quote in priced.costing.quotes}
    try:
        priced.written += pdfs_beside([path for path in priced.written if path.name in names])
    except PdfError as error:
        priced.problems.add("no-pdf", str(error), warning=True)


def _write(
    priced: Priced, costing: Costing, out: Path, breaks: Sequence[float] | None, record: str | None, jobs: int | None,
    done: Callable[[int, int], None],
) -> None:
    from pricing.register.states import state_of
    from pricing.reports.quote.many import QuoteRun
    from pricing.reports.quote.wording import LABELS

    record = None if record is None else state_of(record)
    with contextlib.ExitStack() as stack:
        register = _register(priced, costing.book.path, record, stack)
        if not priced.problems.errors:
            mark = LABELS["draft"] if record == "draft" else ""
            work = QuoteRun(costing, at_quantities(costing, breaks) if breaks else None, snapshots=register is not None, mark=mark)
            _write_quotes(priced, work, out, register, record or "", jobs, done)
        if register is not None:
            priced.problems.take(register.problems)


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
    priced: Priced, work: QuoteRun, out: Path, register: Register | None, record: str, jobs: int | None, done: Callable[[int, int], None]
) -> None:
    from pricing.files.processes import processes_for
    from pricing.reports.leaks.gate import LeakError
    from pricing.reports.margin.parts import remove_earlier_parts
    from pricing.reports.margin.workbook import write_margin
    from pricing.reports.quote.many import finished_quotes
    from pricing.reports.quote.workbook import quote_file_name

    quotes = [(quote, quote_file_name(quote)) for quote in work.costing.quotes]
    drafts: list[str] = []
    with finished_quotes(work, quotes, out, margin=MARGIN_FILE, processes=processes_for(len(quotes), jobs)) as (finished, margins):
        for number, each in enumerate(finished, 1):
            if isinstance(each, LeakError):
                priced.problems.add("leak", str(each), sheet="Enquiries")
            else:
                stood = (out / each.path.name).exists()
                _deliver(priced, each, out, register, record)
                if stood and record == "draft" and priced.issued and _stands_for_another(priced.issued[-1], each.quote):
                    drafts.append(priced.issued[-1].quote.name)
            done(number, len(quotes))
        for path in margins():
            os.replace(path, out / path.name)
            priced.written.append(out / path.name)
    options = options_of(work.costing).costing
    if options is not None:
        write_margin(options, out / OPTIONS_FILE)
        priced.written.append(out / OPTIONS_FILE)
    if drafts:
        others, verb = (" and others" if len(drafts) > 5 else ""), ("is a draft" if len(drafts) == 1 else "are drafts")
        priced.problems.add(
            "draft-in-place",
            f"what stands in {out} of {', '.join(drafts[:5])}{others} now {verb}, and no longer what was sent before; to keep both, "
            "write drafts into a folder of their own with --out",
            sheet="Enquiries", warning=True,
        )
    for code, message in remove_earlier_parts(out, MARGIN_FILE, len(work.parts)):
        priced.problems.add(code, message, warning=True)


def _stands_for_another(issued: Issued, quote: str) -> bool:
    """Whether a quote was just recorded as a draft after it had been sent."""
    return issued.fresh and issued.quote.number == quote and issued.quote.marked == "draft" and issued.quote.revision > 1


def _deliver(priced: Priced, finished: Finished, out: Path, register: Register | None, record: str) -> None:
    """Move a finished quote to its place, and record it where quotes are recorded."""
    target, move = out / finished.path.name, functools.partial(os.replace, finished.path)
    if register is None or finished.snapshot is None:
        move(target)
        priced.written.append(target)
    elif _issue(priced, register, finished.snapshot, target, move, record):
        priced.written.append(target)


def _issue(priced: Priced, register: Register, snapshot: QuoteSnapshot, target: Path, write: Callable[[Path], None], record: str) -> bool:
    """Write and record a quote; False, with the reason as a problem, where it is left as it is."""
    from pricing.register.register import RegisterError

    try:
        issued = register.issue(snapshot, target, write, state=record)
    except RegisterError as error:
        priced.problems.add(error.code, str(error), sheet="Enquiries", warning=error.code == "already-ordered")
        return False
    priced.issued.append(issued)
    if issued.quote.revision < issued.latest:
        priced.problems.add(
            "earlier-revision",
            f"quote {snapshot.number}: what is written is revision {issued.quote.revision} again; "
            f"revision {issued.latest} was issued since",
            sheet="Enquiries", warning=True,
        )
    return True
