"""The register of quotes: what was issued, marked, and is still open.

>>> from tempfile import TemporaryDirectory
>>> with TemporaryDirectory() as folder, Register.open(Path(folder) / "price book.xlsx") as register:
...     register.next_number("Q-"), register.next_number("Q-"), register.quotes()
('Q-1', 'Q-2', [])
"""

from __future__ import annotations

import datetime
import itertools
import json
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from pricing.dataclass import dataclass
from pricing.register.damage import damaged, of_record
from pricing.register.database import RegisterError, faults, transaction
from pricing.register.issue_files import (
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
from pricing.register.kept.nonsense import NonsenseError
from pricing.register.on_record import QuotesOnRecord
from pricing.register.reading import plain_rows
from pricing.register.recorded_quote import OPEN, STATES, TAKEN, RecordedQuote, state_of
from pricing.register.rows import new_number, record_snapshot, record_workbook, set_options, set_state

if TYPE_CHECKING:
    from pricing.costing.engine.model import Model
    from pricing.register.kept.lines import OfferedLine, SnapshotLine
    from pricing.register.kept.quote_snapshot import QuoteSnapshot


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


class Asked(NamedTuple):
    """The lines of many quotes as an Enquiries sheet would state them; those that are the same stand once.

    Parameters
    ----------
    lines : each of them
    of_quote : by the key of a quote which of them it has, in order
    """

    lines: Sequence[dict[str, Any]]
    of_quote: Mapping[int, Sequence[int]]


class Register(QuotesOnRecord):
    """The register of one price book, with the contents of its quotes; close it, or use it in a ``with`` statement.

    Every method raises RegisterError where the register cannot be used.
    """

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
        from pricing.book.wording.sentences import listed
        from pricing.register.marks import day_of_mark, refuse_mark, refuse_options, said_of_mark

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
        from pricing.costing.engine.evaluation import evaluate
        from pricing.register.kept.quote_snapshot import KEPT, PROMISED

        model = self.model(quote._replace(options=options))
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

    def lines(self, quote: RecordedQuote) -> list[SnapshotLine]:
        """The lines of a quote."""
        from pricing.register.kept.lines import line_of

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
        from pricing.register.kept.lines import offered_of

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
        lines = itertools.groupby(enumerate(self.lines(quote._replace(options=()))), lambda one: one[1].asked.get("set_line", -one[0]))
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
        from pricing.costing.options import lines_ordered

        offers = {each.number: each.instead_of for each in self.offers(quote) or ()}
        return lines_ordered([number for number, *_ in self.every_line(quote)], offers, quote.options)

    def asked(self, quotes: Iterable[RecordedQuote]) -> Asked:
        """The lines of many quotes as an Enquiries sheet would state them, read in one go; quotes that have a damaged line are left out."""
        from pricing.register.kept.lines import all_asked

        wanted = {quote.key for quote in quotes}
        with faults(self.path):
            rows = plain_rows(self._connection, "SELECT quote, asked FROM lines ORDER BY quote, line")
        numbers: dict[Any, int] = {}
        found: dict[int, list[int]] = {}
        for key, text in rows:
            if key in wanted:
                found.setdefault(key, []).append(numbers.setdefault(text, len(numbers)))
        lines = all_asked(list(numbers))
        of_quote = {key: own for key, own in found.items() if all(lines[number] is not None for number in own)}
        return Asked([line or {} for line in lines], of_quote)

    def model(self, quote: RecordedQuote) -> Model | None:
        """The costing model with the inputs that a quote was made with; None where another version made it in another way."""
        from pricing.costing.method.chosen_lines import with_lines_alone
        from pricing.register.kept.stored_model import InputRow, restored

        with faults(self.path):
            rows = self._connection.execute(
                f"SELECT part, row, key, numbers, words, places FROM {'offered_inputs' if quote.options else 'inputs'} "
                "WHERE quote = ? ORDER BY part, row", (quote.key,)
            ).fetchall()
        with of_record(f"quote {quote.name}", self.path):
            model = restored(InputRow(*row) for row in rows)
            if model is not None:
                model.resolve()
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


__all__ = ["OPEN", "STATES", "Issued", "RecordedQuote", "Register", "RegisterError"]
