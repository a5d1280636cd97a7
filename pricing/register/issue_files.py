"""A quote's workbook and its record come into being together, or not at all.

The workbook is finished in a hidden folder beside its place. Then the record is committed, with the workbook's fingerprint
and both places. Then the workbook is moved, and the move is noted. Whatever is interrupted after the commit is completed by
whoever opens the register next, and whatever was interrupted before it leaves nothing: there is never a workbook in its
place without a record, and never for long a record without a workbook.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

from pricing.files.atomic import make_durable, make_names_durable
from pricing.files.hidden_folders import hidden_folder
from pricing.files.left_behind import remove
from pricing.register.database import RegisterError, transaction
from pricing.register.recorded_quote import named
from pricing.register.rows import DRAFT_FILE, fingerprints_of


def fingerprint_of(path: Path) -> str:
    """SHA-256 of a file, in hexadecimal digits."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


@contextlib.contextmanager
def finished_beside(target: Path, write: Callable[[Path], None]) -> Iterator[Path]:
    """The workbook, whole and safe against a power failure, in a hidden folder beside its place.

    Parameters
    ----------
    target : where it is to stand
    write : writes the workbook to the path it is given
    """
    with hidden_folder(target.parent, "issuing") as hidden:
        staged = hidden / target.name
        write(staged)
        make_durable(staged)
        make_names_durable(hidden)
        yield staged


def spoken_place(path: Path, home: Path) -> str:
    """A path as the register keeps it: from the folder of the price book where that can be said."""
    try:
        return Path(os.path.relpath(path.absolute(), home.absolute())).as_posix()
    except ValueError:
        return path.absolute().as_posix()


def complete(connection: sqlite3.Connection, home: Path) -> None:
    """Complete whatever was interrupted between the record and the move; what has lost its workbook is taken back.

    Parameters
    ----------
    home : the folder of the price book
    """
    if connection.execute("SELECT 1 FROM workbooks WHERE staged IS NOT NULL LIMIT 1").fetchone() is not None:
        with transaction(connection):
            complete_within(connection, home)


def complete_within(connection: sqlite3.Connection, home: Path) -> None:
    """The same inside a transaction, while no other writer is at work; what cannot be moved now waits for another time."""
    for row in connection.execute("SELECT sequence FROM workbooks WHERE staged IS NOT NULL ORDER BY sequence").fetchall():
        with contextlib.suppress(OSError, TypeError, ValueError):  # what is damaged stays as it is
            finish_move(connection, home, row["sequence"])


def finish_move(connection: sqlite3.Connection, home: Path, sequence: int) -> None:
    """Move one workbook that is on record into its place, unless that is done; inside a transaction.

    Problems raised: OSError where it cannot be moved.
    """
    row = connection.execute("SELECT * FROM workbooks WHERE sequence = ? AND staged IS NOT NULL", (sequence,)).fetchone()
    if row is None:
        return
    target, staged = home / row["file"], home / row["staged"]
    if _is(staged, row["fingerprint"]):
        move(staged, target)
    elif not _is(target, row["fingerprint"]):
        withdraw(connection, sequence)
        return
    connection.execute("UPDATE workbooks SET staged = NULL WHERE sequence = ?", (sequence,))
    replace_draft(connection, row["quote"])


def move(staged: Path, target: Path) -> None:
    """Move a finished workbook into its place, durably; its hidden folder goes."""
    os.replace(staged, target)
    make_names_durable(target.parent)
    remove(staged.parent)


def free_place(connection: sqlite3.Connection, number: str, target: Path, fingerprint: str, book: Path) -> None:
    """Refuse a place in which another file stands: only a draft of the same quote gives way.

    Parameters
    ----------
    number : of the quote
    fingerprint : of what is to stand there; the same once more is no hindrance
    book : the price book

    Problems raised: RegisterError.
    """
    try:
        held = fingerprint_of(target)
    except OSError:
        return  # nothing stands there; what else is wrong with the place is told when the workbook is moved
    if held == fingerprint or held in fingerprints_of(connection, number, drafts=True):
        return
    if target.resolve() == book.resolve():
        text = "it is the price book itself, and is never written over; choose another folder with --out"
        raise RegisterError("file-in-the-way", f"quote {number} is not written, because {target} stands there already: {text}")
    issued = held in fingerprints_of(connection, number, drafts=False)
    what = "it was issued and is not written over" if issued else "it is not known to the register, or was changed by hand since"
    remedy = "move it away, or choose another folder with --out"
    raise RegisterError("file-in-the-way", f"quote {number} is not written, because {target} stands there already: {what}; {remedy}")


def refuse_other_file(connection: sqlite3.Connection, key: int, fingerprint: str) -> None:
    """Refuse another file for what was issued once: one number and revision is one file.

    Problems raised: RegisterError.
    """
    number, revision = connection.execute("SELECT number, revision FROM quotes WHERE id = ?", (key,)).fetchone()
    known = fingerprints_of(connection, number, drafts=False, revision=revision)
    if known and fingerprint not in known:
        text = f"quote {named(number, revision)} was issued, its file is not in its place, and it would not read the same today"
        raise RegisterError("reads-otherwise", f"{text}; put the file back, or promise the quote anew with --revise {number}")


def remove_drafts(connection: sqlite3.Connection, home: Path, key: int) -> None:
    """Remove the drafts of what was issued, unless somebody changed them."""
    rows = connection.execute(f"SELECT file, fingerprint FROM workbooks WHERE quote = ? AND file LIKE '%{DRAFT_FILE}'", (key,)).fetchall()
    for row in rows:
        if _is(home / row["file"], row["fingerprint"]):
            remove(home / row["file"])


def withdraw(connection: sqlite3.Connection, sequence: int) -> None:
    """Take back a workbook that never came into its place, and its quote where it has no other; inside a transaction."""
    connection.execute("DELETE FROM workbooks WHERE sequence = ? AND staged IS NOT NULL", (sequence,))
    connection.execute("DELETE FROM quotes WHERE NOT EXISTS (SELECT 1 FROM workbooks WHERE quote = quotes.id)")


def replace_draft(connection: sqlite3.Connection, quote: int) -> None:
    """A new draft takes the place of the one before it; the workbooks of that one stay on record."""
    before = connection.execute("SELECT replaces FROM quotes WHERE id = ? AND replaces IS NOT NULL", (quote,)).fetchone()
    if before is not None:
        connection.execute("UPDATE OR IGNORE workbooks SET quote = ? WHERE quote = ?", (quote, before["replaces"]))
        connection.execute(
            "UPDATE states SET quote = ? WHERE quote = ? AND (SELECT state FROM quotes WHERE id = ?) <> 'draft'",
            (quote, before["replaces"], quote),
        )
        connection.execute("DELETE FROM quotes WHERE id = ?", (before["replaces"],))
        connection.execute("UPDATE quotes SET replaces = NULL WHERE id = ?", (quote,))


def _is(path: Path, fingerprint: str) -> bool:
    try:
        return fingerprint_of(path) == fingerprint
    except OSError:
        return False
