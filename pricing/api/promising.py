"""What becomes of each quote of a run: it is issued, stands as it was promised, is written as a draft, or is left as it is."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Sequence
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING

from pricing import money
from pricing.book.wording.sentences import listed
from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.register.issue_files import fingerprint_of
from pricing.register.kept.quote_snapshot import QuoteSnapshot, model_of_quote, snapshot_of
from pricing.register.promised import asked_otherwise, differences
from pricing.register.recorded_quote import RecordedQuote, named, standing
from pricing.register.register import Register, RegisterError
from pricing.reports.quote.file_names import draft_file_name, quote_file_name
from pricing.reports.quote.many import Task
from pricing.text import fold

if TYPE_CHECKING:
    from pricing.reports.quote.many import QuoteRun

#: A date further away than this is pointed at [days].
FAR = 366

#: Of so many changed quotes the causes are worked out, and so many causes are named.
MOST_CAUSED, MOST_CAUSES = 20, 3

#: So many quotes are named in one sentence.
MOST_NAMED = 8

#: What a cause contributes is named from this share of the whole on.
_LEAST = 0.005


@dataclass
class Plan:
    """What a run does with its quotes.

    Parameters
    ----------
    tasks : the workbooks that are written
    revisions : of each quote that is written; the next where the register is not asked
    stands : quotes that come out as they were issued
    left : quotes that are ordered, refused or lapsed
    issued_stand : where quotes are not recorded, the fingerprints of files that were issued and are not written over
    """

    tasks: list[Task] = field(default_factory=list)
    revisions: dict[str, int | None] = field(default_factory=dict)
    stands: list[RecordedQuote] = field(default_factory=list)
    left: list[RecordedQuote] = field(default_factory=list)
    issued_stand: frozenset[str] = frozenset()

    def add(self, quote: str, revision: int, *, draft: bool) -> None:
        """Have a quote written, as a revision."""
        label = named(quote, revision)
        self.revisions[quote] = revision
        self.tasks.append(Task(quote, draft_file_name(quote) if draft else quote_file_name(label), label, draft))


def plan_of(
    problems: Problems, work: QuoteRun, register: Register | None, state: str, revise: Sequence[str], out: Path
) -> Plan:
    """What is to be written, and what is to be said of the rest.

    Parameters
    ----------
    problems : takes what the maker has to know
    register : None where nothing is recorded: then every quote is written
    state : of what is new, ``issued`` or ``draft``
    revise : quotes that are promised anew
    out : folder for the workbooks
    """
    plan, today = Plan(), datetime.date.today()
    if register is None:
        drafts = state == "draft"
        name_of = draft_file_name if drafts else quote_file_name
        plan.tasks = [Task(quote, name_of(quote), "", drafts) for quote in work.costing.quotes]
        with contextlib.suppress(RegisterError), Register.open(work.costing.book.path, to_read=True) as held:
            plan.issued_stand = frozenset(each.fingerprint for each in held.quotes(every_revision=True) if each.marked != "draft")
        return plan
    on_record: dict[str, list[RecordedQuote]] = {}
    for each in register.quotes(every_revision=True, day=today):
        on_record.setdefault(fold(each.number), []).append(each)
    planner = _Planner(problems, work, register, plan, out, today)
    for quote in work.costing.quotes:
        planner.place(quote, on_record.get(fold(quote), []), state, quote in revise)
    planner.say()
    return plan


class _Planner:
    """Goes through the quotes of a run."""

    def __init__(self, problems: Problems, work: QuoteRun, register: Register, plan: Plan, out: Path, today: datetime.date) -> None:
        self.problems, self.work, self.register, self.plan, self.out, self.today = problems, work, register, plan, out, today
        self.lapsed: list[str] = []
        self.caused = 0

    def place(self, quote: str, revisions: Sequence[RecordedQuote], state: str, anew: bool) -> None:
        """Decide on a quote."""
        promised = [each for each in revisions if each.marked != "draft"]
        latest = max((each.revision for each in promised), default=0)
        following = max((each.revision for each in revisions if each.revision > latest), default=latest + 1)
        if not promised or anew:
            if promised and not self._is_new(quote, standing(promised)[0]):
                return
            self.plan.add(quote, following, draft=state == "draft")
            if state != "draft":
                self._look_at_days(quote)
            return
        stands = standing(promised)[0]
        if stands.state != "issued":
            self.plan.left.append(stands)
            return
        snapshot = self._snapshot(quote)
        try:
            different = differences(
                stands, self.register.lines(stands), self.register.said(stands), snapshot, self.register.offers(stands))
        except RegisterError as error:
            self.problems.add(error.code, str(error), warning=True)
            self.plan.left.append(stands)
            return
        if not different:
            self._stands(quote, stands, state)
            return
        self.plan.add(quote, following, draft=True)
        why = self._why(quote, stands, snapshot)
        because = listed([each for each in (why, asked_otherwise(different)) if each], "and") or "its prices"
        self.problems.add(
            "promised-otherwise",
            f"quote {stands.name} was promised at {_to_pay(stands.totals['payable'], stands.currency)} and would now come to "
            f"{_to_pay(snapshot.totals['payable'], snapshot.currency)}, because of {because}; what was promised stands, and "
            f'"{draft_file_name(quote)}" shows what is new; to promise that, add --revise {quote}',
            sheet="Enquiries", warning=True,
        )

    def _is_new(self, quote: str, stands: RecordedQuote) -> bool:
        """Whether a revision would promise anything else; where it would not, or had lapsed already, that is said."""
        snapshot = self._snapshot(quote)
        if self.register.promises(stands, snapshot):
            remedy = "give it another date, or change what it says, and repeat"
            if stands.state == "lapsed":
                remedy = f"write today's date on its row of the sheet Enquiries, or: pricing reprice --reissue --quote {quote}"
            self.problems.add(
                "nothing-new", f"quote {stands.name} promises the same already, and nothing is promised anew; {remedy}",
                sheet="Enquiries", warning=True,
            )
            self.plan.stands.append(stands)
            return False
        return True

    def _stands(self, quote: str, stands: RecordedQuote, state: str) -> None:
        """A quote that comes out as it was issued: its file is looked at, and written again only where it is gone and no draft is meant."""
        self.plan.stands.append(stands)
        file = self.register.home / stands.file
        try:
            held = fingerprint_of(file)
        except OSError:
            if state != "draft":
                self.plan.add(quote, stands.revision, draft=False)
            return
        if held != stands.fingerprint:
            self.problems.add(
                "changed-by-hand", f"{file.name} of quote {stands.name} was changed since it was issued; it is left as it is",
                sheet="Enquiries", warning=True,
            )

    def _snapshot(self, quote: str) -> QuoteSnapshot:
        return snapshot_of(self.work.costing, quote, breaks=self.work.breaks, promise_alone=True)

    def _why(self, quote: str, stands: RecordedQuote, snapshot: QuoteSnapshot) -> str:
        """What moved the net, the largest part first, in words; nothing where it stays or the causes are not known."""
        self.caused += 1
        change = snapshot.totals["net"] - stands.totals["net"]
        if not change or stands.currency != snapshot.currency or self.caused > MOST_CAUSED:
            return ""
        try:
            old = self.register.model(stands)
        except RegisterError:
            return ""
        if old is None:
            return "an earlier costing method"
        from pricing.costing.comparison.compare import Comparison, net_of_quotes

        comparison = Comparison(old, model_of_quote(self.work.costing, quote))
        parts = comparison.split({"net": net_of_quotes})["net"].parts[:, 0].tolist()
        found = sorted(((part, cause.name) for part, cause in zip(parts, comparison.causes, strict=True)), key=lambda each: -abs(each[0]))
        digits = money.minor_units(stands.currency)
        told = [f"{name} ({part:+,.{digits}f} net)" for part, name in found[:MOST_CAUSES] if abs(part) > _LEAST * abs(change)]
        return ", ".join(told)

    def _look_at_days(self, quote: str) -> None:
        costing = self.work.costing
        day: datetime.date = costing.lines.day[costing.lines_of(quote)[0]].astype("datetime64[D]").astype(object)
        away, until = (day - self.today).days, costing.own_terms.valid_until(quote, day)
        if abs(away) > FAR:
            which = f"{away:,} days ahead" if away > 0 else f"{-away:,} days ago"
            self.problems.add(
                "far-date", f"quote {quote} is dated {day}, {which}; look at its date", sheet="Enquiries", warning=True)
        if until < self.today:
            self.lapsed.append(f"{quote} ({until})")

    def say(self) -> None:
        """What is said of several quotes together."""
        if self.lapsed:
            more = f" and {len(self.lapsed) - MOST_NAMED} more" if len(self.lapsed) > MOST_NAMED else ""
            text = f"lapsed before the day on which it was issued: {', '.join(self.lapsed[:MOST_NAMED])}{more}"
            remedy = "to promise it anew, write today's date on its row and add --revise with its number"
            self.problems.add("lapsed-when-issued", f"{text}; {remedy}", sheet="Enquiries", warning=True)


def _to_pay(amount: float, currency: str) -> str:
    return f"{amount:,.{money.minor_units(currency)}f} {currency}"
