"""Quotes priced, written, and recorded: the whole of ``pricing quote``."""

from __future__ import annotations

import contextlib
import datetime
import functools
import os
from collections.abc import Callable, Sequence
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pricing.api.books import Number, Source, named_quotes, opened_for
from pricing.api.faults import told
from pricing.api.printing import printed
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.options import HOW_RECKONED, as_json, options_of, what_each_adds
from pricing.costing.run import at_quantities, cost_lines
from pricing.costing.warnings import report_rises
from pricing.dataclass import dataclass
from pricing.problems import BookError, Problems
from pricing.quantities import pieces
from pricing.text import fold

if TYPE_CHECKING:
    from pricing.api.promising import Plan
    from pricing.register.recorded_quote import RecordedQuote
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
    stands : quotes that were issued before and come out the same: they are left alone
    left : quotes that have their answer or have lapsed, and are left as they are
    register : in which they are recorded; None where they are not
    """

    costing: Costing | None
    problems: Problems
    written: list[Path] = field(default_factory=list)
    issued: list[Issued] = field(default_factory=list)
    stands: list[RecordedQuote] = field(default_factory=list)
    left: list[RecordedQuote] = field(default_factory=list)
    register: Path | None = None

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
        result["left"] = [{"quote": each.number, "revision": each.revision, "state": each.state} for each in (*self.stands, *self.left)]
        return result


def quote(
    source: Source, *, quotes: Sequence[str] | None = None, day: datetime.date | None = None, out: Path | str | None = None,
    breaks: Sequence[Number] | None = None, record: Literal["issued", "sent", "draft"] | None = None, revise: Sequence[str] = (),
    jobs: int | None = 1, done: Callable[[int, int], None] | None = None, pdf: bool = False,
) -> Priced:
    """Price the quotes of a price book, and write the workbooks where a folder is named.

    What was issued is a promise: its file is never written over. A quote that comes out as it was issued is left alone; one that comes
    out differently is written as a draft, and a problem of the code ``promised-otherwise`` says what was promised and what it would be
    now. One that is ordered, refused or lapsed is left as it is, unless it is named under *revise*.

    A quote whose workbook would give away what its customer must not see is neither delivered nor recorded, and is a problem
    of the code ``leak``; the others are. Very many lines stand in several margin workbooks, each whole in itself.

    Parameters
    ----------
    source : the price book, or its path
    quotes : numbers of quotes, each of which has a margin workbook of its own then; all, with one margin summary, where None
    day : the day whose prices hold; each quote's own date where None
    out : folder for the workbooks; none are written where None
    breaks : quantities of the price table in each quote, as numbers or quantities [pieces]; none where None
    record : ``issued`` (or ``sent``, as it was called) to record each quote that is written in the register beside the price book,
        ``draft`` to write and record drafts, which promise nothing yet; not recorded where None
    revise : numbers of quotes that are promised anew: the next revision of each is issued; no other quotes where *quotes* is None
    jobs : processes that write the workbooks; where None all that the machine has, if there are many quotes. A script that
        asks for several has to be one that can be imported: the work stands below ``if __name__ == "__main__":``
    done : called after each quote with how many are written and how many there are
    pdf : True for a PDF beside each quote's workbook; a problem says so where there is no LibreOffice to make it

    Problems raised: ValueError where quotes are to be promised anew and nothing is recorded.
    """
    if revise and (record is None or out is None):
        raise ValueError("what is promised anew is recorded and written; give record and out")
    named = None if quotes is None and not revise else [*(quotes or ()), *revise]
    book, problems = opened_for(source, named)
    if book is None:
        return Priced(None, problems)
    names = named_quotes(book, named, problems, "price")
    if problems.errors:
        return Priced(None, problems)
    from pricing.register.ordered_work import ordered_work

    book.ordered = ordered_work(book, day or datetime.date.today())
    with contextlib.ExitStack() as stack:
        priced = Priced(None, problems)
        costing = cost_lines(book, enquired(book, names, day), problems)
        if not problems.errors:
            options_of(costing)
        register = _register(priced, book.path, record, stack) if out is not None and not problems.errors else None
        if problems.errors:
            return priced
        priced.costing, priced.register = costing, register.path if register is not None else None
        if out is not None:
            order = _Order(Path(out), record, [name for name in names or () if fold(name) in {fold(each) for each in revise}], names, jobs)
            with told(problems, out):
                _write(priced, costing, order, None if breaks is None else pieces(breaks), register, done or (lambda *_: None))
                if pdf:
                    priced.written += printed(_to_print(priced), problems)
    return priced


def _to_print(priced: Priced) -> list[Path]:
    """The quotes that were written, and those that stand as they were promised and have no PDF yet."""
    home = Path() if priced.register is None else priced.register.parent
    stand = [path for each in priced.stands if (path := home / each.file).exists() and not path.with_suffix(".pdf").exists()]
    written = [path for path in priced.written if path.name.endswith((" quote.xlsx", " draft.xlsx"))]
    return [*written, *(path for path in stand if path not in written)]


@dataclass(frozen=True)
class _Order:
    """What was asked for.

    Parameters
    ----------
    out : folder for the workbooks
    record : ``issued`` or ``draft``; nothing is recorded where None
    revise : quotes that are promised anew
    named : the quotes that were named; None where all are meant
    jobs : processes that write
    """

    out: Path
    record: str | None
    revise: Sequence[str]
    named: Sequence[str] | None
    jobs: int | None


def _write(
    priced: Priced, costing: Costing, order: _Order, breaks: Sequence[float] | None, register: Register | None,
    done: Callable[[int, int], None],
) -> None:
    from pricing.api.promising import plan_of
    from pricing.register.recorded_quote import state_of
    from pricing.reports.margin.part import MarginPart
    from pricing.reports.quote.many import QuoteRun

    own = None if order.named is None else [MarginPart(1, 1, (quote,)) for quote in costing.quotes]
    at = at_quantities(costing, breaks) if breaks else None
    if at is not None and breaks:
        report_rises(at, len(breaks), priced.problems)
    work = QuoteRun(costing, at, snapshots=register is not None, parts=own)
    record = state_of(order.record) if order.record else "issued"
    plan = plan_of(priced.problems, work, register, "draft" if record == "draft" else "issued", order.revise, order.out)
    priced.stands, priced.left = plan.stands, plan.left
    _write_quotes(priced, work, order, plan, register, done)
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
    priced: Priced, work: QuoteRun, order: _Order, plan: Plan, register: Register | None, done: Callable[[int, int], None]
) -> None:
    from pricing.files.processes import processes_for
    from pricing.reports.margin.parts import margin_file_name, remove_earlier_parts
    from pricing.reports.quote.many import Finished, finished_quotes
    from pricing.reports.shared.owner import refuse_others

    count, processes = len(plan.tasks), processes_for(len(plan.tasks), order.jobs)
    margin = MARGIN_FILE if order.named is None else [margin_file_name(quote) for quote in work.costing.quotes]
    options, alone = options_of(work.costing).costing, order.named is not None and len(work.costing.quotes) == 1
    of_options = margin_file_name(f"{work.costing.lines.quotes[0]} options") if alone else OPTIONS_FILE
    names = [*([MARGIN_FILE] if isinstance(margin, str) else margin), *([of_options] if options is not None else []),
             *(each.file for each in plan.tasks), *(Path(each.file).with_suffix(".pdf").name for each in plan.tasks)]
    refuse_others((order.out / name for name in names), work.costing.book.path, priced.problems)
    if priced.problems.errors:
        return
    beside = order.jobs is None
    with finished_quotes(work, plan.tasks, order.out, margin=margin, processes=processes, beside=beside) as (finished, margins):
        for number, each in enumerate(finished, 1):
            if isinstance(each, Finished):
                _deliver(priced, each, order.out, register, plan)
            else:
                priced.problems.add("leak", str(each), sheet="Enquiries")
            done(number, count)
        for path in margins():
            os.replace(path, order.out / path.name)
            priced.written.append(order.out / path.name)
    if options is not None:
        from pricing.reports.margin.part import MarginPart
        from pricing.reports.margin.workbook import write_margin

        part = MarginPart(1, 1, tuple(options.quotes), HOW_RECKONED, what_each_adds(work.costing))
        write_margin(options, order.out / of_options, part)
        priced.written.append(order.out / of_options)
    if order.named is None:
        for code, message in remove_earlier_parts(order.out, MARGIN_FILE, len(work.parts)):
            priced.problems.add(code, message, warning=True)


def _deliver(priced: Priced, finished: Finished, out: Path, register: Register | None, plan: Plan) -> None:
    """Move a finished quote to its place, and record it where quotes are recorded."""
    from pricing.register.issue_files import fingerprint_of
    from pricing.register.register import RegisterError

    target, move = out / finished.path.name, functools.partial(os.replace, finished.path)
    if register is None or finished.snapshot is None:
        if plan.issued_stand and target.exists() and fingerprint_of(target) in plan.issued_stand:
            text = f"{target} was issued, and is not written over; choose another folder"
            priced.problems.add("file-in-the-way", f"quote {finished.quote} is not written: {text}", sheet="Enquiries")
            return
        move(target)
        priced.written.append(target)
        return
    state = "draft" if finished.task.draft else "issued"
    try:
        issued = register.issue(finished.snapshot, target, move, state=state, revision=plan.revisions[finished.quote])
    except RegisterError as error:
        priced.problems.add(error.code, str(error), sheet="Enquiries")
    else:
        priced.issued.append(issued)
        priced.written.append(target)
