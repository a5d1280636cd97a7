"""Rows of the register: a snapshot as a revision of its number, its lines and inputs, its states and its workbooks.

Every function here works inside a transaction of its caller.
"""

from __future__ import annotations

import datetime
import json
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from pricing.money import minor_units, with_places
from pricing.register.database import RegisterError
from pricing.register.kept.nonsense import number_of, object_of
from pricing.register.recorded_quote import TAKEN, named
from pricing.text import fold

if TYPE_CHECKING:
    from pricing.register.kept.quote_snapshot import QuoteSnapshot

#: How the file of a draft ends; no other does.
DRAFT_FILE = " draft.xlsx"


def record_snapshot(
    connection: sqlite3.Connection, snapshot: QuoteSnapshot, state: str, revision: int | None, day: datetime.date
) -> tuple[int, bool]:
    """The row of a snapshot, and whether it is a new draft or promise.

    A draft takes the place of the draft before it; what is issued takes the place of a draft. What was issued stays: the same promise
    once more is the row that stands there, another one is the next revision.

    Parameters
    ----------
    state : ``issued`` or ``draft``
    revision : the revision that it has to become, or is already; whichever it is where None
    day : of this

    Problems raised: RegisterError where the quote is ordered and no revision is asked for, or the revision is taken; NonsenseError where
    what stands there is damaged.
    """
    rows = connection.execute(
        "SELECT id, revision, state, content, ifnull(ordered_with.totals, quotes.totals) AS totals, currency, count FROM quotes "
        "LEFT JOIN ordered_with ON ordered_with.quote = id LEFT JOIN offers_kept ON offers_kept.quote = id "
        "WHERE number = ? ORDER BY revision, id", (snapshot.number,)
    ).fetchall()
    draft = rows.pop() if rows and rows[-1]["state"] == "draft" else None
    if state == "issued":
        for row in reversed(rows):
            if _same(row, snapshot) and row["state"] != "draft" and revision in (None, row["revision"]):
                return row["id"], False
        if revision is None:
            _refuse_ordered(rows, snapshot)
    latest = int(number_of(rows[-1]["revision"], "revision")) if rows else 0
    number = latest + 1 if draft is None else int(number_of(draft["revision"], "revision"))
    if revision not in (None, number):
        raise RegisterError("revision-taken", f"quote {named(snapshot.number, revision or 1)} was issued meanwhile; repeat")
    if draft is not None and draft["content"] == snapshot.content and state == "draft":
        return draft["id"], False
    return _new_quote(connection, snapshot, number, state, None if draft is None else draft["id"], day), True


def _same(row: sqlite3.Row, snapshot: QuoteSnapshot) -> bool:
    """Whether a row promises what a snapshot does; what is offered beside it was not kept in a register of before."""
    return bool(row["content"] == (snapshot.content_alone if row["count"] is None else snapshot.content))


def _refuse_ordered(rows: Sequence[sqlite3.Row], snapshot: QuoteSnapshot) -> None:
    ordered = next((row for row in rows if row["state"] in TAKEN), None)
    if ordered is not None:
        raise RegisterError(
            "already-ordered",
            f"quote {named(snapshot.number, ordered['revision'])} is {ordered['state']} and stands as it was issued, at "
            f"{_to_pay(_totals(ordered), ordered['currency'])}, though it would now read differently and come to "
            f"{_to_pay(snapshot.totals, snapshot.currency)}, as it is shown here; to promise what is new, ask for it with --revise",
        )


def _totals(row: sqlite3.Row) -> dict[str, float]:
    return object_of(row["totals"], "list of amounts", ("payable",))


def _to_pay(totals: Mapping[str, float], currency: str) -> str:
    return f"{number_of(totals['payable'], 'payable'):,.{minor_units(with_places(currency, totals.get('minor_digits')))}f} {currency}"


def _new_quote(
    connection: sqlite3.Connection, snapshot: QuoteSnapshot, revision: int, state: str, replaced: int | None, day: datetime.date
) -> int:
    columns = {
        "number": snapshot.number, "revision": revision, "customer": snapshot.customer, "date": str(snapshot.day),
        "valid_until": str(snapshot.valid_until), "currency": snapshot.currency, "totals": json.dumps(snapshot.totals),
        "content": snapshot.content, "state": state, "replaces": replaced,
    }
    key = connection.execute(
        f"INSERT INTO quotes ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})", tuple(columns.values())
    ).lastrowid
    assert key is not None
    lines = (
        (key, number, line.product, line.quantity, line.unit_cost, line.unit_price, line.net, json.dumps(line.asked, ensure_ascii=False))
        for number, line in enumerate(snapshot.lines, 1)
    )
    connection.executemany("INSERT INTO lines VALUES (?, ?, ?, ?, ?, ?, ?, ?)", lines)
    connection.executemany("INSERT INTO inputs VALUES (?, ?, ?, ?, ?, ?, ?)", ((key, *row) for row in snapshot.inputs))
    connection.executemany("INSERT INTO book_rows VALUES (?, ?, ?, ?)", ((key, *row) for row in snapshot.book_rows))
    offers = (
        (key, each.number, part, each.offer, each.adds, each.line.product, each.line.quantity, each.line.unit_cost, each.line.unit_price,
         each.line.net, json.dumps(each.line.asked, ensure_ascii=False))
        for part, each in enumerate(snapshot.offers, 1)
    )
    connection.executemany("INSERT INTO offers VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", offers)
    connection.executemany("INSERT INTO offered_inputs VALUES (?, ?, ?, ?, ?, ?, ?)", ((key, *row) for row in snapshot.offered_inputs))
    connection.execute("INSERT INTO offers_kept VALUES (?, ?)", (key, len(snapshot.offers)))
    said = (key, json.dumps(snapshot.terms, ensure_ascii=False), json.dumps(snapshot.prices_by_quantity))
    connection.execute("INSERT INTO said VALUES (?, ?, ?)", said)
    _note(connection, key, state, day)
    return key


def record_workbook(connection: sqlite3.Connection, key: int, fingerprint: str, file: str, staged: str | None) -> int:
    """Note a workbook of a quote: where it stands, or where it is finished and waits to be moved; returns its row.

    One that stood there before is on record whether or not it is moved there once more.
    """
    there = connection.execute(
        "SELECT 1 FROM workbooks WHERE quote = ? AND fingerprint = ? AND file = ? AND staged IS NULL", (key, fingerprint, file)
    ).fetchone()
    sequence = connection.execute(
        "INSERT OR REPLACE INTO workbooks (quote, fingerprint, file, staged) VALUES (?, ?, ?, ?)",
        (key, fingerprint, file, None if there else staged),
    ).lastrowid
    assert sequence is not None
    return sequence


def fingerprints_of(connection: sqlite3.Connection, number: str, *, drafts: bool, revision: int | None = None) -> set[str]:
    """The fingerprints of the workbooks of a number: of its drafts, or of what was issued, of every revision where None is named."""
    query = (
        f"SELECT fingerprint FROM workbooks JOIN quotes ON quotes.id = quote WHERE number = ? AND (? IS NULL OR revision = ?) "
        f"AND {'' if drafts else 'NOT'} (state = 'draft' OR file LIKE '%{DRAFT_FILE}')"
    )
    return {row["fingerprint"] for row in connection.execute(query, (number, revision, revision))}


def set_state(connection: sqlite3.Connection, key: int, state: str, day: datetime.date) -> None:
    """Give a quote another state."""
    connection.execute("UPDATE quotes SET state = ? WHERE id = ?", (state, key))
    _note(connection, key, state, day)


def set_options(connection: sqlite3.Connection, key: int, options: Sequence[int], totals: Mapping[str, float]) -> None:
    """Note with what of that which is offered beside it a quote is ordered; with nothing, it is ordered as it stands.

    Parameters
    ----------
    options : numbers of the lines
    totals : of the order [currency; margin 1; mass kg]
    """
    connection.execute("DELETE FROM ordered_with WHERE quote = ?", (key,))
    if options:
        values = (key, json.dumps(list(options)), json.dumps(dict(totals)))
        connection.execute("INSERT INTO ordered_with VALUES (?, ?, ?)", values)


def _note(connection: sqlite3.Connection, key: int, state: str, day: datetime.date) -> None:
    """The state of a quote from a day on, and the day on which that is noted."""
    values = (key, state, str(day), str(datetime.date.today()))
    connection.execute("INSERT INTO states (quote, state, day, noted) VALUES (?, ?, ?, ?)", values)


def new_number(connection: sqlite3.Connection, prefix: str, taken: Iterable[str]) -> str:
    """A number that no quote has, given out once.

    Parameters
    ----------
    prefix : what the numbers begin with
    taken : numbers that stand elsewhere
    """
    known = [str(row["number"]) for row in connection.execute("SELECT number FROM quotes")]
    tails = [name[len(prefix):] for name in (*known, *taken) if fold(name).startswith(fold(prefix))]
    digits = [tail for tail in tails if tail.isascii() and tail.isdigit() and len(tail) < 16]
    row = connection.execute("SELECT last FROM numbers WHERE prefix = ?", (prefix,)).fetchone()
    given = row["last"] if row is not None and isinstance(row["last"], int) else 0
    last = max([int(tail) for tail in digits] + [given])
    width = max((len(tail) for tail in digits), default=1)
    connection.execute("INSERT OR REPLACE INTO numbers VALUES (?, ?)", (prefix, last + 1))
    return f"{prefix}{last + 1:0{width}}"
