"""A register that an earlier version wrote, taken over: nothing in it is lost, and its words become those of today.

Layout 1 knew the states *sent*, *accepted* and *declined*, and refused any other; it knew neither payments, nor the day on which
something was noted, nor what a quote rests on besides its inputs.
"""

from __future__ import annotations

import sqlite3

from pricing.register.states import EARLIER

#: What layout 2 has besides.
ADDED = """
CREATE TABLE IF NOT EXISTS payments (
    sequence INTEGER PRIMARY KEY AUTOINCREMENT,
    quote INTEGER NOT NULL REFERENCES quotes (id) ON DELETE CASCADE,
    amount REAL NOT NULL,
    day TEXT NOT NULL,
    noted TEXT NOT NULL
);
CREATE INDEX IF NOT EXISTS payments_of_quote ON payments (quote);
CREATE TABLE IF NOT EXISTS book_rows (
    quote INTEGER NOT NULL REFERENCES quotes (id) ON DELETE CASCADE,
    sheet TEXT NOT NULL,
    row INTEGER NOT NULL,
    cells TEXT NOT NULL,
    PRIMARY KEY (quote, sheet, row)
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS price_books (
    file TEXT PRIMARY KEY COLLATE NOCASE,
    business TEXT NOT NULL
) WITHOUT ROWID;
"""


def migrate(connection: sqlite3.Connection, quotes: str, version: int) -> None:
    """Bring the tables of layout 1 to layout 2, all of it or nothing; foreign keys have to be off, and no transaction open.

    Parameters
    ----------
    quotes : the statement that makes the table of quotes as it is today
    version : of today's layout
    """
    columns = "id, number, revision, customer, date, valid_until, currency, totals, content, state, replaces"
    statements = [
        quotes.replace("CREATE TABLE quotes", "CREATE TABLE taken_over"),
        f"INSERT INTO taken_over ({columns}) SELECT {columns} FROM quotes",
        "DROP TABLE quotes",
        "ALTER TABLE taken_over RENAME TO quotes",
        "CREATE UNIQUE INDEX one_revision ON quotes (number, revision) WHERE replaces IS NULL",
        "CREATE INDEX by_number ON quotes (number)",
        "ALTER TABLE states ADD COLUMN noted TEXT",
        *(f"UPDATE {table} SET state = '{now}' WHERE state = '{before}'"
          for table in ("quotes", "states") for before, now in EARLIER.items()),
        *ADDED.split(";\n"),
        f"PRAGMA user_version = {version}",
    ]
    connection.execute("BEGIN IMMEDIATE")
    try:
        if connection.execute("PRAGMA user_version").fetchone()[0] < version:  # another process may have done it meanwhile
            for statement in statements:
                connection.execute(statement)
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
