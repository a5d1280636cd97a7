"""The tables of the register, and one that an earlier version wrote, taken over: nothing in it is lost, and its words become those of
today.

Layout 1 knew the states *sent*, *accepted* and *declined*, and refused any other; it knew neither payments, nor the day on which
something was noted, nor what a quote rests on besides its inputs.
"""

from __future__ import annotations

import sqlite3

from pricing.register.recorded_quote import EARLIER

#: Layout of the tables; a register of a later layout is not opened, one of an earlier layout is taken over.
VERSION = 2

QUOTES = """
CREATE TABLE quotes (
    id INTEGER PRIMARY KEY,
    number TEXT NOT NULL COLLATE NOCASE,
    revision INTEGER NOT NULL,
    customer TEXT NOT NULL,
    date TEXT NOT NULL,
    valid_until TEXT NOT NULL,
    currency TEXT NOT NULL,
    totals TEXT NOT NULL,
    content TEXT NOT NULL,
    state TEXT NOT NULL,
    replaces INTEGER REFERENCES quotes (id) ON DELETE SET NULL
)"""

#: A line of a quote, whether it is asked for or offered beside it.
LINE = """product TEXT NOT NULL,
    quantity REAL NOT NULL,
    unit_cost REAL NOT NULL,
    unit_price REAL NOT NULL,
    net REAL NOT NULL,
    asked TEXT NOT NULL,"""

#: The inputs of a model, row by row: of what is asked for, and of the model with what is offered beside it.
INPUTS = """(
    quote INTEGER NOT NULL REFERENCES quotes (id) ON DELETE CASCADE,
    part TEXT NOT NULL,
    row INTEGER NOT NULL,
    key TEXT NOT NULL,
    numbers TEXT NOT NULL,
    words TEXT NOT NULL,
    places TEXT NOT NULL,
    PRIMARY KEY (quote, part, row)
) WITHOUT ROWID;"""

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

SCHEMA = f"""{QUOTES};
CREATE UNIQUE INDEX one_revision ON quotes (number, revision) WHERE replaces IS NULL;
CREATE INDEX by_number ON quotes (number);
CREATE TABLE lines (
    quote INTEGER NOT NULL REFERENCES quotes (id) ON DELETE CASCADE,
    line INTEGER NOT NULL,
    {LINE}
    PRIMARY KEY (quote, line)
) WITHOUT ROWID;
CREATE TABLE inputs {INPUTS}
CREATE VIEW input_cells AS
    SELECT inputs.quote, inputs.part, inputs.key, number.key AS quantity, number.value AS value, place.value AS place
    FROM inputs, json_each(inputs.places) AS place JOIN json_each(inputs.numbers) AS number ON number.key = place.key;
CREATE TABLE states (
    sequence INTEGER PRIMARY KEY AUTOINCREMENT,
    quote INTEGER NOT NULL REFERENCES quotes (id) ON DELETE CASCADE,
    state TEXT NOT NULL,
    day TEXT NOT NULL,
    noted TEXT
);
CREATE INDEX states_of_quote ON states (quote);
CREATE TABLE workbooks (
    sequence INTEGER PRIMARY KEY AUTOINCREMENT,
    quote INTEGER NOT NULL REFERENCES quotes (id) ON DELETE CASCADE,
    fingerprint TEXT NOT NULL,
    file TEXT NOT NULL,
    staged TEXT,
    UNIQUE (quote, fingerprint, file)
);
CREATE TABLE numbers (
    prefix TEXT PRIMARY KEY COLLATE NOCASE,
    last INTEGER NOT NULL
) WITHOUT ROWID;
{ADDED}"""


#: The amounts that a list of quotes shows.
SHOWN = ("net", "tax", "payable", "quote_cost", "quote_margin")

#: What a list of quotes shows, as it stands in an index of its own: the amounts are taken out of their text when a quote is recorded.
LISTED = ("id", "number", "revision", "customer", "date", "valid_until", "currency", "state", *(
    f"CASE WHEN json_valid(totals) THEN json_extract(totals, '$.{name}') END" for name in (*SHOWN, "minor_digits")))

#: What came later: a program that does not know it works with the rest as before.
LATER = f"""
CREATE INDEX IF NOT EXISTS listed ON quotes ({", ".join(LISTED)});
CREATE TABLE IF NOT EXISTS accepted_standards (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    standard TEXT NOT NULL,
    before REAL NOT NULL,
    after REAL NOT NULL,
    day TEXT NOT NULL
);
CREATE TABLE IF NOT EXISTS counted_jobs (
    accepted INTEGER NOT NULL REFERENCES accepted_standards (id) ON DELETE CASCADE,
    quote TEXT NOT NULL,
    weight REAL NOT NULL,
    observations INTEGER NOT NULL,
    PRIMARY KEY (accepted, quote)
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS said (
    quote INTEGER PRIMARY KEY REFERENCES quotes (id) ON DELETE CASCADE,
    terms TEXT NOT NULL,
    prices TEXT NOT NULL
);
CREATE TABLE IF NOT EXISTS offers_kept (
    quote INTEGER PRIMARY KEY REFERENCES quotes (id) ON DELETE CASCADE,
    count INTEGER NOT NULL
);
CREATE TABLE IF NOT EXISTS offers (
    quote INTEGER NOT NULL REFERENCES quotes (id) ON DELETE CASCADE,
    line INTEGER NOT NULL,
    part INTEGER NOT NULL,
    offer TEXT NOT NULL,
    adds REAL NOT NULL,
    {LINE}
    PRIMARY KEY (quote, line, part)
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS offered_inputs {INPUTS}
CREATE TABLE IF NOT EXISTS ordered_with (
    quote INTEGER PRIMARY KEY REFERENCES quotes (id) ON DELETE CASCADE,
    options TEXT NOT NULL,
    totals TEXT NOT NULL
);
"""


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the tables of layout 1 to layout 2, all of it or nothing; foreign keys have to be off, and no transaction open."""
    columns = "id, number, revision, customer, date, valid_until, currency, totals, content, state, replaces"
    statements = [
        QUOTES.replace("CREATE TABLE quotes", "CREATE TABLE taken_over"),
        f"INSERT INTO taken_over ({columns}) SELECT {columns} FROM quotes",
        "DROP TABLE quotes",
        "ALTER TABLE taken_over RENAME TO quotes",
        "CREATE UNIQUE INDEX one_revision ON quotes (number, revision) WHERE replaces IS NULL",
        "CREATE INDEX by_number ON quotes (number)",
        "ALTER TABLE states ADD COLUMN noted TEXT",
        *(f"UPDATE {table} SET state = '{now}' WHERE state = '{before}'"
          for table in ("quotes", "states") for before, now in EARLIER.items()),
        *ADDED.split(";\n"),
        f"PRAGMA user_version = {VERSION}",
    ]
    connection.execute("BEGIN IMMEDIATE")
    try:
        if connection.execute("PRAGMA user_version").fetchone()[0] < VERSION:  # another process may have done it meanwhile
            for statement in statements:
                connection.execute(statement)
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
