"""The file of the register: an SQLite database beside the price book, made when it is first needed.

``price book.xlsx`` has ``price book.register.sqlite``. Writers work in short transactions and wait for each other; what was
committed outlives the process and the power (WAL, synchronous FULL).
"""

from __future__ import annotations

import contextlib
import datetime
import errno
import functools
import os
import re
import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path

from pricing.problems import PricingError
from pricing.register.backups import keep_backup, newest_backup
from pricing.register.layout import LATER, SCHEMA, VERSION, migrate

#: Marks the file as a register of quotes (SQLite's application_id): "CPRQ".
APPLICATION = 0x43505251

#: How long a writer waits for the others [s].
PATIENCE = 60.0

#: A system takes names of 255 bytes; what lies beside a price book has up to 50 more than its own.
LONGEST_NAME = 200


class RegisterError(PricingError):
    """Raised where the register cannot be used, or refuses something; its text is a sentence with the remedy."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code


def register_path(book: Path) -> Path:
    """Where the register of a price book lies.

    Problems raised: RegisterError where the name is too long for what comes to lie beside it: a register, and backups with their day.

    >>> register_path(Path("shop/price book.xlsx")).name
    'price book.register.sqlite'
    """
    if len(os.fsencode(book.stem)) > LONGEST_NAME:
        text = f"the name of the price book {book.name[:40]}… is too long for a register and backups beside it"
        raise RegisterError("long-name", f"{text}; give it a name of at most {LONGEST_NAME} letters")
    return book.with_name(f"{book.stem}.register.sqlite")


def connect(path: Path, *, to_read: bool = False) -> sqlite3.Connection:
    """A connection to the register, whose tables are made where there are none.

    Parameters
    ----------
    path : of the register
    to_read : True where nothing will be written: no file is made, and a folder that cannot be written is no hindrance

    Problems raised: RegisterError.
    """
    if to_read and not path.exists():
        return _empty()
    with faults(path):
        try:
            return _taken_over_in_memory(path) if to_read and _is_earlier(path) else _prepared(path)
        except sqlite3.OperationalError:
            if not to_read:
                raise
        wal = path.with_name(f"{path.name}-wal")
        frozen = "" if wal.exists() and wal.stat().st_size else "&immutable=1"
        connection = _opened(f"{path.absolute().as_uri()}?mode=ro{frozen}", uri=True)
        if _is_blank(connection):  # its tables were about to be made when the run was stopped
            connection.close()
            return _empty()
        _check(connection, path)
        earlier = connection.execute("PRAGMA user_version").fetchone()[0] < VERSION
        return _in_memory(connection) if earlier or not _has_later_tables(connection) else connection


def _is_earlier(path: Path) -> bool:
    """Whether a register has an earlier layout."""
    with contextlib.closing(_opened(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as connection:
        application, version = (connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("application_id", "user_version"))
        return bool(application == APPLICATION and version < VERSION)


def _taken_over_in_memory(path: Path) -> sqlite3.Connection:
    """A register of an earlier layout as today's reads it; the file stays as it is until something is written."""
    return _in_memory(_opened(f"{path.absolute().as_uri()}?mode=ro", uri=True))


def _in_memory(held: sqlite3.Connection) -> sqlite3.Connection:
    connection = _opened(":memory:")
    with contextlib.closing(held):
        held.backup(connection)
    _take_over(connection)
    connection.executescript(LATER)
    return connection


def _take_over(connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA foreign_keys = OFF")
    migrate(connection)
    connection.execute("PRAGMA foreign_keys = ON")


def _empty() -> sqlite3.Connection:
    """A register without quotes, of which no file is made."""
    connection = _opened(":memory:")
    connection.executescript(SCHEMA + LATER)
    return connection


def _opened(name: str, *, uri: bool = False) -> sqlite3.Connection:
    connection = sqlite3.connect(name, timeout=PATIENCE, isolation_level=None, uri=uri)
    connection.row_factory = sqlite3.Row
    connection.text_factory = functools.partial(str, encoding="utf-8", errors="replace")  # a damaged text is told with its record
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def _prepared(path: Path) -> sqlite3.Connection:
    connection = _opened(str(path))
    try:
        if not _is_blank(connection):
            _check(connection, path)
        # Several first writers may switch the journal at once; the switch itself does not wait, so it is repeated.
        deadline = time.monotonic() + PATIENCE
        while True:
            try:
                connection.execute("PRAGMA journal_mode = WAL")
                break
            except sqlite3.OperationalError as error:
                if "locked" not in str(error) or time.monotonic() > deadline:
                    raise
                time.sleep(0.01)
        connection.execute("PRAGMA synchronous = FULL")
        if not _is_blank(connection) and connection.execute("PRAGMA user_version").fetchone()[0] < VERSION:
            keep_backup(path, connection, datetime.datetime.now(), again=True)
            _take_over(connection)
        with transaction(connection):
            if _is_blank(connection):
                for statement in SCHEMA.split(";\n"):
                    connection.execute(statement)
                connection.execute(f"PRAGMA application_id = {APPLICATION}")
                connection.execute(f"PRAGMA user_version = {VERSION}")
            for statement in LATER.split(";\n"):
                connection.execute(statement)
        _check(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


def _has_later_tables(connection: sqlite3.Connection) -> bool:
    """Whether no table of today is missing."""
    there = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    return set(re.findall(r"CREATE TABLE IF NOT EXISTS (\w+)", LATER)) <= there


def _is_blank(connection: sqlite3.Connection) -> bool:
    return not connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]


def _check(connection: sqlite3.Connection, path: Path) -> None:
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if application != APPLICATION:
        raise RegisterError("not-a-register", f"{path.name} is not a register of quotes; move it away, and a new one is begun")
    if version > VERSION:
        raise RegisterError("newer-register", f"{path.name} was written by a later version of this program; use that version")


@contextlib.contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """All or nothing, and no other writer meanwhile."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        with contextlib.suppress(sqlite3.Error):
            connection.execute("ROLLBACK")
        raise


@contextlib.contextmanager
def faults(path: Path) -> Iterator[None]:
    """Turn the faults of the database and the disk into sentences."""
    try:
        yield
    except sqlite3.Error as error:
        text = str(error)
        if "unable to open" in text or "readonly" in text or "read-only" in text:
            raise RegisterError(
                "register-read-only",
                f"the register {path.name} cannot be written, because its folder or the file is read-only; "
                "put the price book into a folder that can be written",
            ) from None
        if "disk I/O" in text:  # also where there is no room for what it keeps beside it
            told = f"the register {path.name} cannot be read or written ({text}): the disk is full or does not answer"
            raise RegisterError("disk-full", f"{told}; free some space, look whether the disk is there, and repeat") from None
        if "full" in text:
            raise RegisterError("disk-full", f"the register {path.name} cannot be written: the disk is full; free some space") from None
        if "locked" in text or "busy" in text:
            raise RegisterError("register-busy", f"the register {path.name} is in use by another program; close it there") from None
        backup = newest_backup(path)
        which = f" (the newest is {backup.name})" if backup is not None else ""
        remedy = f"put a backup of it in its place{which}, or move it away to begin a new one"
        raise RegisterError("damaged-register", f"the register {path.name} cannot be read ({text}); {remedy}") from None
    except OSError as error:
        if error.errno == errno.ENOSPC:
            raise RegisterError("disk-full", f"{error.filename or path.name}: the disk is full; free some space, and repeat") from None
        raise
