"""The whole of a register looked through: the file itself, every record in it, and whether a quote's lines come to its net."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Callable, Iterator
from typing import Any

from pricing.problems import Problem
from pricing.register.damage import damaged
from pricing.register.database import RegisterError, faults
from pricing.register.kept.lines import line_of
from pricing.register.kept.nonsense import NonsenseError, day_of, number_of, words_of
from pricing.register.reading import called, read_quotes
from pricing.register.recorded_quote import STATES, RecordedQuote
from pricing.register.register import Register

#: What is looked through, and the words for it.
TABLES = (("quotes", "quotes"), ("lines", "lines"), ("inputs", "inputs"), ("states", "changes of state"), ("workbooks", "workbooks"))

#: What is kept besides: looked through column by column, whatever it is about, with what its rows are called.
_CALLED = {"accepted_standards": "accepted standard", "counted_jobs": "job of an accepted standard", "numbers": "range of numbers"}

#: Of so many faults of the file itself each is told.
_MOST = 20


def look_through(register: Register) -> tuple[dict[str, int], list[Problem]]:
    """How many records there are of each kind, and what is wrong with any of them; nothing is changed.

    Problems raised: RegisterError where the file cannot be read at all.
    """
    connection = register._connection
    found: dict[Problem, None] = {}
    with faults(register.path):
        for row in connection.execute(f"PRAGMA integrity_check({_MOST})"):
            if row[0] != "ok":
                found[damaged("the file", register.path, NonsenseError(f"SQLite says of it: {row[0]}"))] = None
        for row in connection.execute("PRAGMA foreign_key_check"):
            what = f"row {row['rowid']} of the table {row['table']}" if row["rowid"] is not None else f"a row of the table {row['table']}"
            found[damaged(what, register.path, NonsenseError("the quote that it belongs to is not there"))] = None
        counts = {words: connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table, words in TABLES}
        found |= {damaged(record, register.path, error): None for record, error in _others(connection)}
        rows = connection.execute("SELECT * FROM quotes ORDER BY id").fetchall()
        quotes, nonsense = read_quotes(connection, datetime.date.max, with_workbook=False)
    found |= {damaged(record, register.path, error): None for record, error in nonsense}
    sound = {quote.key: quote for quote in quotes}
    for row in rows:
        found |= dict.fromkeys(_of_quote(register, row, sound.get(row["id"])))
    return counts, list(found)


def _others(connection: sqlite3.Connection) -> Iterator[tuple[str, NonsenseError]]:
    """The damaged rows of all other tables, in words, with why: what is no text, no number or no day where one has to stand."""
    known = {table for table, _ in TABLES}
    tables = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name").fetchall()
    for table in (row["name"] for row in tables if row["name"] not in known):
        columns = [
            (row["name"].replace("_", " "), _CHECKS["day" if row["name"] == "day" else row["type"]], row["notnull"])
            for row in connection.execute(f"PRAGMA table_info({table})")]
        what = _CALLED.get(table, f"row of the table {table}")
        for number, row in enumerate(connection.execute(f"SELECT * FROM {table}"), 1):
            try:
                for value, (name, check, needed) in zip(row, columns, strict=True):
                    if value is not None or needed:
                        check(value, name)
            except NonsenseError as error:
                yield f"the {what} in place {number}", error


_CHECKS: dict[str, Callable[[Any, str], object]] = {"day": day_of, "TEXT": words_of, "REAL": number_of, "INTEGER": number_of}


def _of_quote(register: Register, row: sqlite3.Row, quote: RecordedQuote | None) -> Iterator[Problem]:
    """What is wrong with the records that belong to a quote, each kind by itself."""
    looks: list[tuple[Callable[[Register, Any], None], Any]] = [(_states, row), (_workbooks, row)]
    if quote is not None:
        looks.append((_promise, quote))
    for look, of in looks:
        try:
            look(register, of)
        except NonsenseError as error:
            yield damaged(called(row["id"], row["number"], row["revision"]), register.path, error)
        except RegisterError as error:
            yield Problem(error.code, str(error), warning=True)


def _rows(register: Register, table: str, key: Any) -> list[sqlite3.Row]:
    with faults(register.path):
        return register._connection.execute(f"SELECT * FROM {table} WHERE quote = ?", (key,)).fetchall()


def _promise(register: Register, quote: RecordedQuote) -> None:
    """The lines of a quote, what is offered beside it, and its inputs."""
    register.offers(quote)
    lines = [line_of(each) for each in _rows(register, "lines", quote.key)]
    if not lines:
        raise NonsenseError("it has no lines")
    lines = register.lines(quote) if quote.options else lines
    net = number_of(quote.totals.get("lines_net", sum(line.net for line in lines)), "net of the lines")
    if abs(net - sum(line.net for line in lines)) > 1e-6 * max(abs(net), 1.0):
        raise NonsenseError(f"its lines come to {sum(line.net for line in lines):,.2f} and not to {net:,.2f}")
    register.model(quote)


def _states(register: Register, row: sqlite3.Row) -> None:
    states = _rows(register, "states", row["id"])
    for each in states:
        day_of(each["day"], "change of state")
        if each["state"] not in STATES:
            raise NonsenseError(f'one of its states is "{each["state"]}"')
    if states and states[-1]["state"] != row["state"]:
        raise NonsenseError(f"it is {row['state']}, and was marked {states[-1]['state']} last")


def _workbooks(register: Register, row: sqlite3.Row) -> None:
    for each in _rows(register, "workbooks", row["id"]):
        words_of(each["file"], "place of a workbook")
        if len(words_of(each["fingerprint"], "fingerprint")) != 64:
            raise NonsenseError("the fingerprint of a workbook is none")


