"""The register of quotes: what was issued, marked, and is still open.

>>> from tempfile import TemporaryDirectory
>>> with TemporaryDirectory() as folder, Register.open(Path(folder) / "price book.xlsx") as register:
...     register.next_number("Q-"), register.next_number("Q-"), register.quotes()
('Q-1', 'Q-2', [])
"""

from __future__ import annotations

import contextlib
import datetime
import itertools
import json
import math
import sqlite3
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pricing.book.wording.sentences import listed, near_matches
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.model import Model
from pricing.costing.method.chosen_lines import with_lines_alone
from pricing.costing.options import lines_ordered
from pricing.problems import Problem
from pricing.register.backups import keep_backup
from pricing.register.damage import NonsenseError, damaged, day_of, of_record
from pricing.register.database import RegisterError, connect, faults, register_path, transaction
from pricing.register.homes import ENDING, register_for
from pricing.register.issue_files import (
    complete,
    complete_within,
    fingerprint_of,
    finish_move,
    finished_beside,
    free_place,
    move,
    refuse_other_file,
    remove_drafts,
    spoken_place,
    withdraw,
)
from pricing.register.marks import day_of_mark, refuse_mark, refuse_options, said_of_mark
from pricing.register.quote_snapshot import KEPT, PROMISED, OfferedLine, QuoteSnapshot, SnapshotLine, asked_of, line_of, offered_of
from pricing.register.reading import read_quotes
from pricing.register.recorded_quote import RecordedQuote, standing
from pricing.register.rows import new_number, record_snapshot, record_workbook, set_options, set_state
from pricing.register.states import OPEN, STATES, TAKEN, state_of
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

    def __init__(self, book: Path, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self.home = path.parent
        self.book = book
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
        return cls._opened(book, register_for(book), to_read)

    @classmethod
    def adopt(cls, book: Path, path: Path) -> Register:
        """A register in which a price book goes on from now on, made where there is none.

        Parameters
        ----------
        path : of the register

        Problems raised: RegisterError, also where the book has another register, or this one lies elsewhere.
        """
        own = register_path(book)
        if own.exists() and own.resolve() != path.resolve():
            raise RegisterError("which-register", f"{book.name} goes on in {own.name}; move that away to have it go on in another")
        if path.resolve().parent != book.resolve().parent or not path.name.endswith(ENDING):
            remedy = f"lay it beside {book.name}, under a name that ends in {ENDING}"
            raise RegisterError("which-register", f"{path} is no register beside {book.name}; {remedy}")
        register = cls._opened(book, path, False)
        register.note_book("")
        return register

    def note_book(self, business: str) -> None:
        """Note that the price book goes on in this register, and whose it is."""
        given = "DO UPDATE SET business = excluded.business WHERE excluded.business <> ''"
        query = f"INSERT INTO price_books VALUES (?, ?) ON CONFLICT (file) {given}"
        with faults(self.path), transaction(self._connection):
            self._connection.execute(query, (self.book.name, business))

    @classmethod
    def _opened(cls, book: Path, path: Path, to_read: bool) -> Register:
        register = cls(book, path, connect(path, to_read=to_read))
        try:
            with faults(path):
                complete(register._connection, path.parent)
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

        The same promise again is the same revision, of which nothing is written again where its workbook is in its place. Another
        promise under the same number is the next revision; a draft takes the place of the draft before it. What was ordered is
        followed by another revision only where that is asked for. A file that is not a draft of this quote is never written over.

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
        day, state = today or datetime.date.today(), state_of(state)
        self.keep_backup()
        with faults(self.path), finished_beside(target, write) as staged:
            fingerprint = fingerprint_of(staged)
            with transaction(self._connection):
                complete_within(self._connection, self.home)
                free_place(self._connection, snapshot.number, target, fingerprint, self.book)
                try:
                    key, fresh = record_snapshot(self._connection, snapshot, state, revision, day)
                    if not fresh and state == "issued":
                        refuse_other_file(self._connection, key, fingerprint)
                except NonsenseError as error:
                    raise RegisterError("damaged-record", damaged(f"quote {snapshot.number}", self.path, error).message) from None
                if snapshot.business:
                    self._connection.execute("INSERT OR REPLACE INTO price_books VALUES (?, ?)", (self.book.name, snapshot.business))
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
        if state == "issued":
            with faults(self.path):
                remove_drafts(self._connection, self.home, key)
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

    def mark(
        self, number: str, state: str, when: datetime.date | None = None, *, revision: int | None = None, late: bool = False,
        options: Sequence[int] | None = None,
    ) -> RecordedQuote:
        """Note what became of a quote; what is to be said of it is among the problems, as warnings.

        A mark in the word of an earlier state takes back what came after it, and the same mark on another day corrects the day.

        Parameters
        ----------
        number : in any letter case
        state : ``issued``, ``ordered``, ``refused``, ``lapsed``, ``made``, ``delivered`` or ``settled``, or what these were called earlier
        when : the day on which it happened; today where None, and where a mark is taken back the day of the state before
        revision : which; the one that stands where None
        late : True where an order after the last day of the quote is meant
        options : numbers of the lines that were offered beside it and are ordered too; where None what was ordered stays

        Problems raised: RegisterError where there is no such quote, it cannot become that, or a line is not offered.
        """
        state = state_of(state)
        if state not in STATES or state == "draft":
            raise RegisterError("unknown-state", f'a quote cannot be marked "{state}"; mark it {listed(STATES[1:])}')
        if options and state != "ordered":
            remedy = f"write {number}=ordered, or leave the lines out"
            raise RegisterError("options-of-no-order", f"a quote is ordered with options, and not {state} with them; {remedy}")
        self.keep_backup()
        with faults(self.path), transaction(self._connection):
            quote = self._marked(number, revision, when or datetime.date.today())
            history = self.histories(quote.key).get(quote.key, [])
            day = day_of_mark(quote, state, when, history)
            if state != quote.marked:
                others = self.quotes(number=quote.number, every_revision=True, day=day)
                refuse_mark(quote, state, day, [each for each in others if each.key != quote.key], late)
            if state != quote.marked or (when is not None and (state, when) not in history[-1:]):
                self._problems |= dict.fromkeys(said_of_mark(quote, state, day, history, self._paid(quote)))
                set_state(self._connection, quote.key, state, day)
            if state not in TAKEN:
                set_options(self._connection, quote.key, (), {})
            elif options is not None or quote.marked not in TAKEN:
                chosen = tuple(sorted(dict.fromkeys(options or ())))
                refuse_options(quote, self.offers(quote), chosen)
                set_options(self._connection, quote.key, chosen, self._totals_with(quote, chosen) if chosen else {})
        return self._marked(number, quote.revision, day)

    def _totals_with(self, quote: RecordedQuote, options: tuple[int, ...]) -> dict[str, float]:
        """What a quote comes to with some of what is offered beside it."""
        model = self.model(replace(quote, options=options))
        if model is None:
            remedy = "issue it again with: pricing reprice --reissue"
            text = f"what quote {quote.name} comes to with options cannot be said: an earlier costing method made it; {remedy}"
            raise RegisterError("no-options", text)
        values = evaluate(model)
        totals = {name: float(values.value("quotes", name)[0]) for name in (*PROMISED, *KEPT)}
        if not math.isfinite(sum(totals.values())):
            remedy = "its zone has no band for the weight of all; issue it again with other lines"
            raise RegisterError("no-options", f"what quote {quote.name} comes to with so much cannot be said; {remedy}")
        return totals

    def _paid(self, quote: RecordedQuote) -> float:
        query = "SELECT total(amount) FROM payments JOIN quotes ON quotes.id = payments.quote WHERE number = ? AND currency = ?"
        row = self._connection.execute(query, (quote.number, quote.currency)).fetchone()
        return float(row[0])

    def marked(self, number: str, revision: int | None = None) -> RecordedQuote:
        """The revision of a number that stands, or another.

        Problems raised: RegisterError where there is none.
        """
        return self._marked(number, revision, datetime.date.today())

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

    def said(self, quote: RecordedQuote) -> dict[str, list[Any]] | None:
        """The terms of a quote in words, and its prices by quantity; None where an earlier version did not keep them."""
        with faults(self.path):
            row = self._connection.execute("SELECT terms, prices FROM said WHERE quote = ?", (quote.key,)).fetchone()
        with of_record(f"quote {quote.name}", self.path):
            return None if row is None else {name: list(json.loads(row[name])) for name in ("terms", "prices")}

    def histories(self, key: int | None = None, *, of: Container[int] | None = None) -> dict[int, list[tuple[str, datetime.date]]]:
        """The history of every quote, or of the one with a key, or of those *of* some keys, by its key, read in one go."""
        found: dict[int, list[tuple[str, datetime.date]]] = {}
        query = "SELECT quote, state, day FROM states WHERE ? IS NULL OR quote = ? ORDER BY sequence"
        with faults(self.path):
            for quote, state, day in self._connection.execute(query, (key, key)):
                if of is None or quote in of:
                    with contextlib.suppress(NonsenseError):
                        found.setdefault(quote, []).append((state, day_of(day, "day")))
        return found

    def lines(self, quote: RecordedQuote) -> list[SnapshotLine]:
        """The lines of a quote."""
        with faults(self.path):
            rows = self._connection.execute("SELECT * FROM lines WHERE quote = ? ORDER BY line", (quote.key,)).fetchall()
        with of_record(f"quote {quote.name}", self.path):
            lines = [line_of(row) for row in rows]
        if not quote.options:
            return lines
        ordered = set(self.numbers_ordered(quote))
        return [  # what is ordered is offered no more
            replace(line, asked={name: value for name, value in line.asked.items() if name != "offer"})
            for number, line, _ in self.every_line(quote) if number in ordered
        ]

    def offers(self, quote: RecordedQuote) -> list[OfferedLine] | None:
        """What was offered beside a quote; None where an earlier version did not keep it."""
        with faults(self.path):
            kept = self._connection.execute("SELECT count FROM offers_kept WHERE quote = ?", (quote.key,)).fetchone()
            rows = self._connection.execute("SELECT * FROM offers WHERE quote = ? ORDER BY line, part", (quote.key,)).fetchall()
        with of_record(f"quote {quote.name}", self.path):
            return None if kept is None else [offered_of(row) for row in rows]

    def every_line(self, quote: RecordedQuote) -> list[tuple[int, SnapshotLine, str]]:
        """The lines of a quote and those that are offered beside it, in order: number, line, and as what it is offered; the parts of a set
        have one number."""
        offers: dict[int, list[OfferedLine]] = {}
        for each in self.offers(quote) or ():
            offers.setdefault(each.number, []).append(each)
        lines = itertools.groupby(enumerate(self.lines(replace(quote, options=()))), lambda one: one[1].asked.get("set_line", -one[0]))
        found: list[tuple[int, SnapshotLine, str]] = []
        for number in itertools.count(1):
            if number in offers:
                found += [(number, each.line, each.offer) for each in offers[number]]
            elif (group := next(lines, None)) is not None:
                found += [(number, line, "") for _, line in group[1]]
            elif all(each < number for each in offers):
                return found
        return found

    def numbers_ordered(self, quote: RecordedQuote) -> list[int]:
        """The numbers of the lines of a quote that are ordered, or that stand in its total."""
        offers = {each.number: each.instead_of for each in self.offers(quote) or ()}
        return lines_ordered([number for number, *_ in self.every_line(quote)], offers, quote.options)

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
                f"SELECT part, row, key, numbers, words, places FROM {'offered_inputs' if quote.options else 'inputs'} "
                "WHERE quote = ? ORDER BY part, row", (quote.key,)
            ).fetchall()
        with of_record(f"quote {quote.name}", self.path):
            model = restored(InputRow(*row) for row in rows)
        if model is None or not quote.options:
            return model
        numbers = [number for number, *_ in self.every_line(quote)]
        ordered = set(self.numbers_ordered(quote))
        return with_lines_alone(model, [place for place, number in enumerate(numbers) if number in ordered])

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
