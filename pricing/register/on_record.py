"""The quotes on record beside a price book: the file opened and closed, its quotes found, and what was damaged among them.

Listing quotes needs nothing of their contents, and nothing that computes.
"""

from __future__ import annotations

import contextlib
import datetime
import sqlite3
from collections.abc import Container, Iterator
from pathlib import Path
from typing import Self

from pricing.problems import Problem
from pricing.register.backups import keep_backup
from pricing.register.damage import damaged
from pricing.register.database import RegisterError, connect, faults, register_path, transaction
from pricing.register.homes import ENDING, register_for
from pricing.register.issue_files import complete
from pricing.register.kept.nonsense import NonsenseError, day_of
from pricing.register.reading import read_quotes
from pricing.register.recorded_quote import RecordedQuote, standing, state_of
from pricing.text import fold


class QuotesOnRecord:
    """The quotes on record beside a price book; close it, or use it in a ``with`` statement.

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
    def open(cls, book: Path, *, to_read: bool = False) -> Self:
        """The register beside a price book, made where there is none; what was interrupted is completed.

        Parameters
        ----------
        book : path of the price book
        to_read : True where nothing will be written: no file is made then
        """
        return cls._opened(book, register_for(book), to_read)

    @classmethod
    def adopt(cls, book: Path, path: Path) -> Self:
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
    def _opened(cls, book: Path, path: Path, to_read: bool) -> Self:
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

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextlib.contextmanager
    def left_out(self, record: str) -> Iterator[None]:
        """Remember that a record, told in words, is damaged, and go on without it."""
        try:
            yield
        except NonsenseError as error:
            self._problems[damaged(record, self.path, error)] = None

    def _read(self, day: datetime.date, number: str | None = None, *, brief: bool = False) -> list[RecordedQuote]:
        with faults(self.path):
            found, nonsense = read_quotes(self._connection, day, number, brief=brief)
        for record, error in nonsense:
            self._problems[damaged(record, self.path, error)] = None
        return found

    def quotes(
        self, *, state: str | None = None, customer: str | None = None, number: str | None = None, every_revision: bool = False,
        day: datetime.date | None = None, brief: bool = False,
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
        brief : True where of the amounts those are enough that a list shows, which is faster where there are many
        """
        on, state = day or datetime.date.today(), None if state is None else state_of(state)
        found = self._read(on, number, brief=brief)
        if number is not None and not found:  # the same number in other letters or with other spaces
            found = [quote for quote in self._read(on) if fold(quote.number) == fold(number)]
        if not every_revision and state != "draft":
            stands = standing(found)
            if len(stands) < len(found):
                chosen = {quote.key for quote in stands}
                found = [quote for quote in found if quote.key in chosen]
        if customer is not None:
            found = [quote for quote in found if fold(customer) in fold(quote.customer)]
        return found if state is None else [quote for quote in found if quote.state == state]

    def marked(self, number: str, revision: int | None = None) -> RecordedQuote:
        """The revision of a number that stands, or another.

        Problems raised: RegisterError where there is none.
        """
        return self._marked(number, revision, datetime.date.today())

    def _marked(self, number: str, revision: int | None, day: datetime.date) -> RecordedQuote:
        found = self.quotes(number=number, every_revision=True, day=day)
        if not found:
            from pricing.book.wording.sentences import near_it, near_matches

            names = [quote.number for quote in self.quotes()]
            near, latest = near_matches(number, names), ", ".join(names[-5:])
            hint = near_it(near) if near else f"it holds {latest}" if latest else "it is still empty"
            raise RegisterError("unknown-quote", f'there is no quote "{number}" in the register; {hint}')
        if revision is None:
            return standing(found)[0]
        chosen = next((quote for quote in found if quote.revision == revision), None)
        if chosen is None:
            from pricing.book.wording.sentences import listed

            there = listed(str(quote.revision) for quote in found)
            raise RegisterError("unknown-quote", f"quote {number} has no revision {revision}, only {there}")
        return chosen

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
