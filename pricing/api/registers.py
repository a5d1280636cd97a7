"""The register of quotes from Python: what is on record, what became of it, and the list as a workbook."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pricing.api.faults import refused
from pricing.dataclass import dataclass
from pricing.problems import BookError, Problem, Problems
from pricing.register.recorded_quote import STATES, TAKEN, RecordedQuote, state_of
from pricing.register.register import Register, RegisterError
from pricing.text import fold

if TYPE_CHECKING:
    import pandas

    from pricing.costing.method.costing import Costing
    from pricing.register.payments import Account, Stage

#: The amounts of a quote that a table shows, and the names by which programs know them.
_AMOUNTS = (("net", "net"), ("tax", "tax"), ("payable", "payable"), ("cost", "quote_cost"))


@dataclass(frozen=True)
class Recorded:
    """Quotes on record.

    Parameters
    ----------
    day : on which their states hold
    quotes : in the order in which they were issued
    histories : by key of the quote the states and the days of each change, where they were asked for
    problems : warnings of records that are damaged and left out
    accounts : by key of the quote what is paid and open of those that are ordered
    """

    day: datetime.date
    quotes: Sequence[RecordedQuote]
    histories: Mapping[int, Sequence[tuple[str, datetime.date]]] = field(default_factory=dict)
    problems: Sequence[Problem] = ()
    accounts: Mapping[int, Account] = field(default_factory=dict)

    def lapsing(self, days: int) -> list[RecordedQuote]:
        """The quotes that wait for an answer and lapse within so many days."""
        until = self.day + datetime.timedelta(days=days)
        return [quote for quote in self.quotes if quote.state == "issued" and quote.valid_until <= until]

    def due(self, days: int) -> list[tuple[RecordedQuote, Stage]]:
        """The stages of payment that are open and fall due within so many days, or have fallen due."""
        until = self.day + datetime.timedelta(days=days)
        return [(account.quote, stage) for account in self.accounts.values() for stage in account.due_by(until)]

    def undated(self) -> list[tuple[RecordedQuote, Stage]]:
        """The stages of payment that are open and whose day is not known until the pieces are made or delivered."""
        every = ((account.quote, stage) for account in self.accounts.values() for stage in account.stages)
        return [(quote, stage) for quote, stage in every if stage.open > 0 and stage.due is None]

    def quotes_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per quote: its state, its amounts, and its workbook."""
        from pricing.frames import frame

        names = ("number", "revision", "customer", "date", "valid_until", "state", "since", "currency", "file")
        columns: dict[str, Any] = {name: [getattr(quote, "day" if name == "date" else name) for quote in self.quotes] for name in names}
        columns |= {name: [quote.totals[total] for quote in self.quotes] for name, total in _AMOUNTS}
        columns["margin"] = [quote.totals["quote_margin"] for quote in self.quotes]
        return frame(columns, {**dict.fromkeys(dict(_AMOUNTS), "currency"), "margin": "dimensionless"}, units=units)

    def as_json(self) -> dict[str, Any]:
        """The object that ``pricing register --json`` prints."""
        quotes = [
            {**quote.as_json(), "history": [{"state": state, "date": str(day)} for state, day in self.histories.get(quote.key, ())],
             **(self.accounts[quote.key].as_json() if quote.key in self.accounts else {})}
            for quote in self.quotes
        ]
        problems = {"problems": [problem.as_json() for problem in self.problems]} if self.problems else {}
        return {"date": str(self.day), "quotes": quotes, **problems}


def _refuse_missing(path: Path) -> None:
    if not path.exists():
        raise RegisterError("no-such-file", f"{path.name}: there is no such price book; look at its name and folder")


@contextlib.contextmanager
def _register(path: Path | str, *, to_read: bool) -> Iterator[Register]:
    path = Path(path)
    _refuse_missing(path)
    with refused(path), Register.open(path, to_read=to_read) as register:
        yield register


def recorded(
    path: Path | str, *, state: str | None = None, customer: str | None = None, every_revision: bool = False,
    day: datetime.date | None = None, histories: bool = False, stages: bool = True, brief: bool = False,
) -> Recorded:
    """The quotes that were issued from a price book.

    Parameters
    ----------
    path : the price book
    state : only those in this state on the day
    customer : only those of a customer whose name holds this, in any letter case
    every_revision : True for all; otherwise of each number the revision that stands
    day : on which the state is asked for; today where None
    histories : True to read the history of each too
    stages : False where the stages of payment of what is ordered are not needed, which take far longer than what is open of it
    brief : True where of the amounts those are enough that a list shows, which is faster where there are many quotes

    Problems raised: RegisterError.
    """
    from pricing.register.payments import accounts

    on = day or datetime.date.today()
    with _register(path, to_read=True) as register:
        quotes = register.quotes(state=state, customer=customer, every_revision=every_revision, day=on, brief=brief)
        held = accounts(register, quotes, stages=stages)
        return Recorded(on, quotes, register.histories() if histories else {}, register.problems, held)


def no_longer_needed(path: Path | str) -> list[str]:
    """The rows of the sheet Enquiries that may go, in words: their quotes are ordered or refused, and stand in the register.

    Parameters
    ----------
    path : the price book, in which nothing is changed

    Problems raised: RegisterError.
    """
    from pricing.register.setting_aside import enquiry_rows

    with _register(path, to_read=True) as register:
        answered = {fold(each.number): each for each in register.quotes(brief=True) if each.state in ("refused", *TAKEN)}
    return [
        f"{row}: {answered[name].name}, {answered[name].state} since {answered[name].since}"
        for name, rows in enquiry_rows(Path(path)).items() if name in answered for row in rows
    ]


def use_register(path: Path | str, register: Path | str) -> Path:
    """Have a price book go on in a register that lies beside it under another name, or begin one of that name.

    Parameters
    ----------
    path : the price book
    register : the file, which is made where there is none

    Problems raised: RegisterError where the book has another register, or the file is none.
    """
    from pricing.api.books import opened

    path, target = Path(path), Path(register)
    _refuse_missing(path)
    if target.parent == Path() and not target.exists():
        target = path.with_name(target.name)
    book, _ = opened(path)
    with refused(path), Register.adopt(path, target) as found:
        found.note_book(book.word("business_name") if book is not None else "")
        return found.path


@dataclass(frozen=True)
class RegisterChecked:
    """What a look through a register found.

    Parameters
    ----------
    file : its name
    counts : how many records there are of each kind
    problems : a warning for each record that is damaged
    """

    file: str
    counts: Mapping[str, int]
    problems: Sequence[Problem]

    def as_json(self) -> dict[str, Any]:
        """The object that ``pricing register --check --json`` prints."""
        return {"file": self.file, "counts": dict(self.counts), "problems": [problem.as_json() for problem in self.problems]}


def check_register(path: Path | str) -> RegisterChecked:
    """Look through the whole register of a price book: every record, and the file itself; nothing is changed.

    Parameters
    ----------
    path : the price book

    Problems raised: RegisterError where the file cannot be read at all.
    """
    from pricing.register.look_through import look_through

    with _register(path, to_read=True) as register:
        return RegisterChecked(register.path.name, *look_through(register))


def mark(
    path: Path | str, number: str, state: str, *, day: datetime.date | None = None, revision: int | None = None, late: bool = False,
    told: Problems | None = None, options: Sequence[int] | None = None,
) -> RecordedQuote:
    """Note what became of a quote. The word of an earlier state takes back what came after it.

    Parameters
    ----------
    path : the price book
    number : of the quote, in any letter case
    state : ``issued``, ``ordered``, ``refused``, ``lapsed``, ``made``, ``delivered`` or ``settled``
    day : on which it happened; today where None
    revision : which; the one that stands where None
    late : True where an order after the last day of the quote is meant
    told : takes what is to be said of the mark, as warnings: what it takes back, a day that is far away
    options : with ``ordered``, numbers of the lines that were offered beside the quote and are ordered too: an option is added, an
        alternative takes the place of its line; where None what was ordered stays

    Problems raised: RegisterError where there is no such quote, it cannot become that, or a line is not offered.
    """
    from pricing.register.marks import is_late

    with _register(path, to_read=False) as register:
        before = next(iter(register.quotes(number=number, day=day)), None) if revision is None else None
        try:
            marked = register.mark(number, state, day, revision=revision, late=late, options=options)
        except RegisterError as error:
            if error.code != "lapsed-order" or before is None:
                raise
            raise RegisterError(error.code, f"{error}; {_earns(Path(path), register, before, day)}") from None
        if told is not None:
            told.take(register.problems)
            if before is not None and is_late(before, state_of(state), marked.since):
                told.add("late-order", f"{marked.name} had lapsed on {before.valid_until}; {_earns(Path(path), register, before, day)}",
                         warning=True)
        return marked


def paid(
    path: Path | str, number: str, amount: float, *, day: datetime.date | None = None, told: Problems | None = None
) -> Account:
    """Note a payment on an ordered quote, and give its account as it is then.

    Parameters
    ----------
    path : the price book
    number : of the quote, in any letter case
    amount : in the currency of the quote; below zero where it was paid back
    day : on which it was paid; today where None
    told : takes what is to be said of it, as warnings: more than is payable, a day that lies ahead

    Problems raised: RegisterError where the quote is not ordered, the same is noted already, or more is paid back than was paid.
    """
    from pricing.register.payments import note_payment

    with _register(path, to_read=False) as register:
        account, said = note_payment(register, number, amount, day or datetime.date.today())
    if told is not None:
        told.take(said)
    return account


def _earns(path: Path, register: Register, quote: RecordedQuote, day: datetime.date | None) -> str:
    """What a promise earns at the prices of a day, in words."""
    from pricing.api.books import opened
    from pricing.register.of_record import lines_in_place, with_its_own_rows
    from pricing.repricing.reprice import recosted

    on = day or datetime.date.today()
    book, _ = opened(path)
    unread = "the price book cannot be read"
    costing: Costing | str = unread
    if book is not None:
        own = with_its_own_rows(book, register, quote)
        costing = recosted(own, on, quote.number, quote.customer, lines_in_place(register, quote))
    if isinstance(costing, str):
        return f"what it earns at the prices of {on} cannot be said: {costing}"
    if costing.currency != quote.currency:
        return f"what it earns at the prices of {on} cannot be said: it was promised in {quote.currency}"
    net = quote.totals["net"]
    margin = (net - float(costing.quote("quote_cost")[0])) / net if net else 0.0
    made = quote.totals["quote_margin"]
    return f"at the prices of {on} what was promised earns {margin:.1%}, where it earned {made:.1%} when it was made"


def next_number(path: Path | str, prefix: str = "Q-") -> str:
    """A number that no quote of a price book has and that is given out once, however many ask at the same time.

    Parameters
    ----------
    path : the price book, whose Enquiries sheet is looked at too
    prefix : what the numbers begin with

    Problems raised: RegisterError.
    """
    from pricing.api.books import opened

    with _register(path, to_read=False) as register:
        book, _ = opened(Path(path))
        return register.next_number(prefix, book.tables["Enquiries"].columns["quote"].tolist() if book is not None else ())


def export_register(path: Path | str, target: Path | str, found: Recorded | None = None) -> Path:
    """Write quotes on record as a workbook.

    Parameters
    ----------
    path : the price book
    target : of the workbook
    found : which quotes; those that stand where None

    Problems raised: RegisterError; BookError where the price book, or a workbook of another, stands there; DiskError where it cannot
    be written.
    """
    from pricing.api.books import opened
    from pricing.reports.lists.register import write_register
    from pricing.reports.shared.owner import refuse_others

    found = recorded(path) if found is None else found
    book, _ = opened(Path(path))
    business = str(book.settings["business_name"]) if book is not None else Path(path).stem
    refuse = Problems(Path(path).name)
    refuse_others([Path(target)], Path(path), refuse, remedy="name another file")
    if refuse.errors:
        raise BookError(refuse.errors)
    with refused(target):
        write_register(found.quotes, Path(target), business=business, price_book=Path(path).name, day=found.day)
    return Path(target)


__all__ = [
    "STATES", "Recorded", "RegisterChecked", "check_register", "export_register", "mark", "next_number", "no_longer_needed", "paid",
    "recorded", "use_register",
]
