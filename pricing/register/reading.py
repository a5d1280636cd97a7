"""Quotes read from the register, all of them in a few passes over its tables, or those of one number; and what is damaged."""

from __future__ import annotations

import datetime
import json
import sqlite3
from collections.abc import Sequence
from typing import Any

from pricing.register.damage import NonsenseError, object_of
from pricing.register.recorded_quote import COLUMNS, NEEDED, RecordedQuote, recorded_of
from pricing.register.states import TAKEN


def read_quotes(
    connection: sqlite3.Connection, day: datetime.date, number: str | None = None, *, with_workbook: bool = True
) -> tuple[list[RecordedQuote], list[tuple[str, NonsenseError]]]:
    """Every revision on record, in the order in which it was issued, and the records that are damaged, in words, with why.

    Parameters
    ----------
    day : on which the states are asked for
    number : only this number; all where None
    with_workbook : False for those too whose workbook never came into its place
    """
    which, values = ("", ()) if number is None else ("WHERE number = ?", (number,))
    of_them = "" if number is None else "AND quote IN (SELECT id FROM quotes WHERE number = ?)"
    cursor = connection.cursor()
    cursor.row_factory = None
    since = dict(cursor.execute(f"SELECT quote, day FROM states WHERE 1 {of_them} ORDER BY sequence", values).fetchall())
    placed = f"SELECT quote, fingerprint, file FROM workbooks WHERE staged IS NULL {of_them} ORDER BY sequence"
    workbooks = {quote: (fingerprint, file) for quote, fingerprint, file in cursor.execute(placed, values)}
    rows = cursor.execute(f"SELECT id, totals, {', '.join(COLUMNS)} FROM quotes {which} ORDER BY id", values).fetchall()
    if with_workbook:
        rows = [row for row in rows if row[0] in workbooks]
    ordered = {key: held for key, *held in cursor.execute(f"SELECT quote, options, totals FROM ordered_with WHERE 1 {of_them}", values)}
    found, damaged = [], []
    for (key, _, *row), totals in zip(rows, _totals([row[1] for row in rows]), strict=True):
        try:
            options: list[int] = []
            if key in ordered and row[COLUMNS.index("state")] in TAKEN:
                options, totals = _ordered(*ordered[key])
            found.append(recorded_of(key, row, since.get(key), workbooks.get(key, ("", "")), totals, day, options))
        except NonsenseError as error:
            damaged.append((called(key, row[0], row[1]), error))
    return found, damaged


def _ordered(options: Any, totals: Any) -> tuple[list[int], dict[str, Any]]:
    """The lines that a quote is ordered with, and what it comes to with them."""
    try:
        numbers = json.loads(options)
    except (TypeError, ValueError, RecursionError):
        numbers = None
    if not isinstance(numbers, list) or not all(type(each) is int for each in numbers):
        raise NonsenseError("the list of what it is ordered with cannot be read")
    return numbers, object_of(totals, "list of amounts of the order", tuple(NEEDED))


def _totals(texts: Sequence[Any]) -> list[dict[str, Any] | NonsenseError]:
    """The amounts of each quote, read all at once where every one can be read, otherwise one by one."""
    try:
        read = json.loads(f"[{','.join(texts)}]")
        if len(read) == len(texts) and all(type(each) is dict and each.keys() >= NEEDED for each in read):
            return list(read)
    except (TypeError, ValueError, RecursionError):
        pass
    return [_one(text) for text in texts]


def _one(text: Any) -> dict[str, Any] | NonsenseError:
    try:
        return object_of(text, "list of amounts", tuple(NEEDED))
    except NonsenseError as error:
        return error


def called(key: int, number: Any, revision: Any) -> str:
    """A record as it is spoken of, whatever it holds: by number and revision where these can be read, otherwise by its row."""
    if not isinstance(number, str):
        return f"the quote in row {key}"
    return f"quote {number}" if not isinstance(revision, int) or revision == 1 else f"quote {number} revision {revision}"
