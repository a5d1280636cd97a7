"""The register of quotes from Python: what is on record, what became of it, and the list as a workbook."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pricing.api.books import opened
from pricing.api.faults import refused
from pricing.problems import Problem
from pricing.register.recorded_quote import RecordedQuote
from pricing.register.register import Register, RegisterError
from pricing.register.states import STATES

if TYPE_CHECKING:
    import pandas

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
    """

    day: datetime.date
    quotes: Sequence[RecordedQuote]
    histories: Mapping[int, Sequence[tuple[str, datetime.date]]] = field(default_factory=dict)
    problems: Sequence[Problem] = ()

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
            {**quote.as_json(), "history": [{"state": state, "date": str(day)} for state, day in self.histories.get(quote.key, ())]}
            for quote in self.quotes
        ]
        problems = {"problems": [problem.as_json() for problem in self.problems]} if self.problems else {}
        return {"date": str(self.day), "quotes": quotes, **problems}


@contextlib.contextmanager
def _register(path: Path | str, *, to_read: bool) -> Iterator[Register]:
    path = Path(path)
    if not path.exists():
        raise RegisterError("no-such-file", f"{path.name}: there is no such price book; look at its name and folder")
    with refused(path), Register.open(path, to_read=to_read) as register:
        yield register


def recorded(
    path: Path | str, *, state: str | None = None, customer: str | None = None, every_revision: bool = False,
    day: datetime.date | None = None, histories: bool = False,
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

    Problems raised: RegisterError.
    """
    on = day or datetime.date.today()
    with _register(path, to_read=True) as register:
        quotes = register.quotes(state=state, customer=customer, every_revision=every_revision, day=on)
        return Recorded(on, quotes, register.histories() if histories else {}, register.problems)


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
    path: Path | str, number: str, state: str, *, day: datetime.date | None = None, revision: int | None = None
) -> RecordedQuote:
    """Note what became of a quote.

    Parameters
    ----------
    path : the price book
    number : of the quote, in any letter case
    state : ``issued``, ``ordered``, ``refused``, ``lapsed``, ``made``, ``delivered`` or ``settled``
    day : on which it happened; today where None
    revision : which; the one that stands where None

    Problems raised: RegisterError where there is no such quote, or it cannot become that.
    """
    with _register(path, to_read=False) as register:
        return register.mark(number, state, day, revision=revision)


def next_number(path: Path | str, prefix: str = "Q-") -> str:
    """A number that no quote of a price book has and that is given out once, however many ask at the same time.

    Parameters
    ----------
    path : the price book, whose Enquiries sheet is looked at too
    prefix : what the numbers begin with

    Problems raised: RegisterError.
    """
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

    Problems raised: RegisterError; DiskError where it cannot be written.
    """
    from pricing.reports.lists.register import write_register

    found = recorded(path) if found is None else found
    book, _ = opened(Path(path))
    business = str(book.settings["business_name"]) if book is not None else Path(path).stem
    with refused(target):
        write_register(found.quotes, Path(target), business=business, day=found.day)
    return Path(target)


__all__ = ["STATES", "Recorded", "RegisterChecked", "check_register", "export_register", "mark", "next_number", "recorded"]
