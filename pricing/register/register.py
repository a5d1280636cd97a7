"""The register of quotes: what was issued, marked, and is still open.

>>> from tempfile import TemporaryDirectory
>>> with TemporaryDirectory() as folder, Register.open(Path(folder) / "price book.xlsx") as register:
...     register.next_number("Q-"), register.next_number("Q-"), register.quotes()
('Q-1', 'Q-2', [])
"""

from __future__ import annotations

import contextlib
import datetime
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pricing.book.wording.sentences import listed, near_matches
from pricing.costing.engine.model import Model
from pricing.problems import Problem
from pricing.register.backups import keep_backup
from pricing.register.damage import NonsenseError, damaged, day_of, of_record
from pricing.register.database import RegisterError, connect, faults, register_path, transaction
from pricing.register.issue_files import (
    complete,
    complete_within,
    fingerprint_of,
    finish_move,
    finished_beside,
    move,
    spoken_place,
    withdraw,
)
from pricing.register.quote_snapshot import QuoteSnapshot, SnapshotLine, asked_of, line_of
from pricing.register.reading import read_quotes
from pricing.register.recorded_quote import RecordedQuote, standing
from pricing.register.rows import new_number, record_snapshot, record_workbook, set_state
from pricing.register.states import MAY_BECOME, OPEN, STATES, TAKEN, state_of
from pricing.register.stored_model import InputRow, restored
from pricing.text import fold


@dataclass(frozen=True)
class Issued:
    """What issuing a quote came to.

    Parameters
    ----------
    quote : as the register has it now
    fresh : True where a new revision was recorded, False where the same promise stood there already
    latest : the latest revision of the number
    """

    quote: RecordedQuote
    fresh: bool
    latest: int


class Register:
    """The register of one price book; close it, or use it in a ``with`` statement.

    Every method raises RegisterError where the register cannot be used.
    """

    def __init__(self, book: Path, connection: sqlite3.Connection) -> None:
        self.path = register_path(book)
        self.home = book.parent
        self._connection = connection
        self._problems: dict[Problem, None] = {}
        self._kept = False

    @property
    def problems(self) -> list[Problem]:
        """The damaged records that were met and left out so far, as warnings."""
        return list(self._problems)

    @classmethod
    def open(cls, book: Path, *, to_read: bool = False) -> Register:
        """The register beside a price book, made where there is none; what was interrupted is completed.

        Parameters
        ----------
        book : path of the price book
        to_read : True where nothing will be written: no file is made then
        """
        path = register_path(book)
        register = cls(book, connect(path, to_read=to_read))
        try:
            with faults(path):
                complete(register._connection, book.parent)
        except RegisterError:
            if not to_read:
                register.close()
                raise
        return register

    def keep_backup(self) -> None:
        """Keep the register as it was, once, before something is changed in it."""
        if not self._kept:
            self._kept = True
            keep_backup(self.path, self._connection, datetime.datetime.now())

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def __enter__(self) -> Register:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def issue(
        self, snapshot: QuoteSnapshot, target: Path, write: Callable[[Path], None], *, state: str = "issued",
        revision: int | None = None, today: datetime.date | None = None,
    ) -> Issued:
        """Write the workbook of a quote and record it: both, or neither, whenever the process ends.

        The same promise again is the same revision. Another promise under the same number is the next revision; a draft
        takes the place of the draft before it. What was ordered is not replaced.

        Parameters
        ----------
        snapshot : what is promised
        target : where the workbook is to stand
        write : writes the workbook to the path it is given; what it raises is passed on and nothing is recorded
        state : ``issued``, or ``draft`` for one that is not yet a promise
        revision : the revision that it has to become; whichever comes next where None
        today : the day on which this is done

        Problems raised: RegisterError; OSError where the folder of the workbook cannot be written.
        """
        day = today or datetime.date.today()
        self.keep_backup()
        with faults(self.path), finished_beside(target, write) as staged:
            fingerprint = fingerprint_of(staged)
            with transaction(self._connection):
                complete_within(self._connection, self.home)
                try:
                    key, fresh = record_snapshot(self._connection, snapshot, state, revision, day)
                except NonsenseError as error:
                    raise RegisterError("damaged-record", damaged(f"quote {snapshot.number}", self.path, error).message) from None
                places = spoken_place(target, self.home), spoken_place(staged, self.home)
                sequence = record_workbook(self._connection, key, fingerprint, *places)
            try:
                with transaction(self._connection):
                    finish_move(self._connection, self.home, sequence)
                    if staged.exists():
                        move(staged, target)
            except OSError:
                with transaction(self._connection):
                    withdraw(self._connection, sequence)
                raise
        return self._issued(snapshot.number, key, fresh, day)

    def _issued(self, number: str, key: int, fresh: bool, day: datetime.date) -> Issued:
        quotes = self._read(day, number)
        if not any(each.key == key for each in quotes):
            raise RegisterError("damaged-record", next(iter(reversed(self._problems))).message)
        latest = max(quotes, key=lambda each: each.revision)
        return Issued(next(each for each in quotes if each.key == key), fresh, latest.revision)

    @contextlib.contextmanager
    def left_out(self, record: str) -> Iterator[None]:
        """Remember that a record, told in words, is damaged, and go on without it."""
        try:
            yield
        except NonsenseError as error:
            self._problems[damaged(record, self.path, error)] = None

    def _read(self, day: datetime.date, number: str | None = None) -> list[RecordedQuote]:
        with faults(self.path):
            found, nonsense = read_quotes(self._connection, day, number)
        for record, error in nonsense:
            self._problems[damaged(record, self.path, error)] = None
        return found

    def quotes(
        self, *, state: str | None = None, customer: str | None = None, number: str | None = None, every_revision: bool = False,
        day: datetime.date | None = None,
    ) -> list[RecordedQuote]:
        """What is on record, in the order in which it was issued.

        Parameters
        ----------
        state : only those in this state on the day
        customer : only those of a customer whose name holds this, in any letter case
        number : only this number
        every_revision : True for all; otherwise of each number the revision that stands: the one that is ordered, or the latest that
            was issued; where drafts are asked for, all of them
        day : on which the state is asked for; today where None
        """
        on, state = day or datetime.date.today(), None if state is None else state_of(state)
        found = self._read(on, number)
        if number is not None and not found:  # the same number in other letters or with other spaces
            found = [quote for quote in self._read(on) if fold(quote.number) == fold(number)]
        if not every_revision and state != "draft":
            chosen = {id(quote) for quote in standing(found)}
            found = [quote for quote in found if id(quote) in chosen]
        if customer is not None:
            found = [quote for quote in found if fold(customer) in fold(quote.customer)]
        return found if state is None else [quote for quote in found if quote.state == state]

    def mark(self, number: str, state: str, when: datetime.date | None = None, *, revision: int | None = None) -> RecordedQuote:
        """Note what became of a quote.

        Parameters
        ----------
        number : in any letter case
        state : ``issued``, ``ordered``, ``refused``, ``lapsed``, ``made``, ``delivered`` or ``settled``, or what these were called earlier
        when : the day on which it happened; today where None
        revision : which; the one that stands where None

        Problems raised: RegisterError where there is no such quote, or it cannot become that.
        """
        state = state_of(state)
        if state not in STATES or state == "draft":
            raise RegisterError("unknown-state", f'a quote cannot be marked "{state}"; mark it {listed(STATES[1:])}')
        day = when or datetime.date.today()
        self.keep_backup()
        with faults(self.path), transaction(self._connection):
            quote = self._marked(number, revision, day)
            if state != quote.marked:
                if state not in MAY_BECOME[quote.marked]:
                    can = listed(each for each in STATES if each in MAY_BECOME[quote.marked])
                    raise RegisterError("wrong-state", f"quote {quote.name} is {quote.marked} and cannot become {state}, only {can}")
                others = [each for each in self.quotes(number=number, every_revision=True, day=day) if each.marked in TAKEN]
                if state in TAKEN and others and others[0].key != quote.key:
                    remedy = f"take that back first, with --mark {quote.number}=issued --revision {others[0].revision}"
                    raise RegisterError("already-ordered", f"quote {others[0].name} is {others[0].marked} already; {remedy}")
                set_state(self._connection, quote.key, state, day)
        return self._marked(number, quote.revision, day)

    def _marked(self, number: str, revision: int | None, day: datetime.date) -> RecordedQuote:
        found = self.quotes(number=number, every_revision=True, day=day)
        if not found:
            names = [quote.number for quote in self.quotes()]
            near = near_matches(number, names) or names[-5:]
            hint = f"it holds {', '.join(near)}" if near else "it is still empty"
            raise RegisterError("unknown-quote", f'there is no quote "{number}" in the register; {hint}')
        if revision is None:
            return standing(found)[0]
        chosen = next((quote for quote in found if quote.revision == revision), None)
        if chosen is None:
            there = listed(str(quote.revision) for quote in found)
            raise RegisterError("unknown-quote", f"quote {number} has no revision {revision}, only {there}")
        return chosen

    def promises(self, quote: RecordedQuote, snapshot: QuoteSnapshot) -> bool:
        """Whether a recorded quote promises exactly what a snapshot does."""
        with faults(self.path):
            row = self._connection.execute("SELECT content FROM quotes WHERE id = ?", (quote.key,)).fetchone()
        return row is not None and row["content"] == snapshot.content

    def histories(self) -> dict[int, list[tuple[str, datetime.date]]]:
        """The history of every quote, by its key, read in one go."""
        found: dict[int, list[tuple[str, datetime.date]]] = {}
        with faults(self.path):
            for row in self._connection.execute("SELECT quote, state, day FROM states ORDER BY sequence"):
                with contextlib.suppress(NonsenseError):
                    found.setdefault(row["quote"], []).append((row["state"], day_of(row["day"], "day")))
        return found

    def lines(self, quote: RecordedQuote) -> list[SnapshotLine]:
        """The lines of a quote."""
        with faults(self.path):
            rows = self._connection.execute("SELECT * FROM lines WHERE quote = ? ORDER BY line", (quote.key,)).fetchall()
        with of_record(f"quote {quote.name}", self.path):
            return [line_of(row) for row in rows]

    def asked(self, quotes: Iterable[RecordedQuote]) -> dict[int, list[dict[str, Any]]]:
        """The lines of many quotes as an Enquiries sheet would state them, by the key of the quote, read in one go.

        Quotes that have a damaged line are left out.
        """
        wanted = {quote.key for quote in quotes}
        found: dict[int, list[dict[str, Any]]] = {}
        with faults(self.path):
            for key, text in self._connection.execute("SELECT quote, asked FROM lines ORDER BY quote, line"):
                if key in wanted:
                    with contextlib.suppress(NonsenseError):
                        found.setdefault(key, []).append(asked_of(text, "line"))
                        continue
                    wanted.discard(key)
                    found.pop(key, None)
        return found

    def model(self, quote: RecordedQuote) -> Model | None:
        """The costing model with the inputs that a quote was made with; None where another version made it in another way."""
        with faults(self.path):
            rows = self._connection.execute(
                "SELECT part, row, key, numbers, words, places FROM inputs WHERE quote = ? ORDER BY part, row", (quote.key,)
            ).fetchall()
        with of_record(f"quote {quote.name}", self.path):
            return restored(InputRow(*row) for row in rows)

    def next_number(self, prefix: str = "Q-", taken: Iterable[str] = ()) -> str:
        """A number that no quote has and that is given out once, however many ask at the same time.

        Parameters
        ----------
        prefix : what the numbers begin with
        taken : numbers that stand elsewhere, such as in the Enquiries sheet
        """
        self.keep_backup()
        with faults(self.path), transaction(self._connection):
            return new_number(self._connection, prefix, taken)


__all__ = ["OPEN", "STATES", "Issued", "QuoteSnapshot", "RecordedQuote", "Register", "RegisterError"]
