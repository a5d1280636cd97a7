"""Processes that issue quotes and are killed: what they leave behind is told as one JSON object.

Run as: python killing.py FOLDER KILLS SEED. A child issues quote after quote, with workbooks that are written piece by
piece; it is killed without warning after a random time; what stands in the folder is looked at as it is, and once more
after the register was opened, as the next run would.
"""

from __future__ import annotations

import dataclasses
import datetime
import hashlib
import json
import os
import random
import signal
import sqlite3
import sys
import time
from pathlib import Path

from pricing.book.reading.read import load_price_book
from pricing.costing.run import cost_quotes
from pricing.register.database import register_path
from pricing.register.kept.quote_snapshot import QuoteSnapshot, snapshot_of
from pricing.register.register import Register

DAY = datetime.date(2026, 3, 2)


def issue_for_ever(book: Path, snapshots: list[QuoteSnapshot], seed: int) -> None:
    """Issue quotes until killed: sent, drafts, unchanged and changed ones, some numbers again and again."""
    chance = random.Random(seed)
    with Register.open(book) as register:
        while True:
            snapshot = chance.choice(snapshots)
            number = f"{snapshot.number}-{chance.randint(1, 4)}"
            net = float(chance.randint(1, 3))
            made = dataclasses.replace(snapshot, number=number, totals={**snapshot.totals, "net": net})
            state = chance.choice(["issued", "draft"])
            file = f"{number} draft.xlsx" if state == "draft" else f"{number} at {net:g}.xlsx"
            mark = f"{number} {net}\n".encode() * 2000  # the same promise is the same file

            def write(path: Path, mark: bytes = mark) -> None:
                with path.open("wb") as file:
                    for start in range(0, len(mark), 8192):
                        file.write(mark[start : start + 8192])
                        file.flush()

            register.issue(made, book.parent / "out" / file, write, state=state, today=DAY)


def fingerprints(connection: sqlite3.Connection, *, staged: bool) -> dict[str, set[str]]:
    """The fingerprints on record for each place; those that wait to be moved among them if asked for."""
    found: dict[str, set[str]] = {}
    for file, fingerprint, waits in connection.execute("SELECT file, fingerprint, staged FROM workbooks"):
        if waits is None or staged:
            found.setdefault(file, set()).add(fingerprint)
    return found


def look(book: Path, when: str) -> list[str]:
    """What is wrong in the folder: a workbook without its record, a record without its workbook, a broken revision."""
    wrong = []
    with sqlite3.connect(register_path(book)) as connection:
        known = fingerprints(connection, staged=when == "killed")
        for path in sorted((book.parent / "out").glob("*.xlsx")):
            held = hashlib.sha256(path.read_bytes()).hexdigest()
            if held not in known.get(f"out/{path.name}", set()):
                wrong.append(f"{when}: {path.name} has no record")
        if when == "opened":
            for file in known:
                if not (book.parent / file).exists() and not file.endswith(" draft.xlsx"):  # a draft goes when its quote is issued
                    wrong.append(f"{when}: {file} is on record and not there")
            hidden = [path.name for path in (book.parent / "out").iterdir() if path.name.startswith(".")]
            waiting = connection.execute("SELECT count(*) FROM workbooks WHERE staged IS NOT NULL").fetchone()[0]
            bare = connection.execute("SELECT count(*) FROM quotes WHERE id NOT IN (SELECT quote FROM workbooks)").fetchone()[0]
            twice = connection.execute("SELECT count(*) - count(DISTINCT number || '/' || revision) FROM quotes").fetchone()[0]
            lines = connection.execute("SELECT count(*) FROM quotes WHERE id NOT IN (SELECT quote FROM lines)").fetchone()[0]
            inputs = connection.execute("SELECT count(*) FROM quotes WHERE id NOT IN (SELECT quote FROM inputs)").fetchone()[0]
            for what, count in (("waiting", waiting), ("bare", bare), ("twice", twice), ("no lines", lines), ("no inputs", inputs)):
                if count:
                    wrong.append(f"{when}: {what} {count}")
            if len(hidden) > 1:  # the killed process's own unfinished folder goes when the next quote is issued
                wrong.append(f"{when}: left over {hidden}")
    connection.close()
    return wrong


def main(folder: Path, kills: int, seed: int) -> dict[str, object]:
    """Kill as often as asked, and tell what was found."""
    book = folder / "book.xlsx"
    costing = cost_quotes(load_price_book(book))
    snapshots = [snapshot_of(costing, quote) for quote in costing.quotes]
    Register.open(book).close()
    chance = random.Random(seed)
    wrong: list[str] = []
    interrupted = 0
    for kill in range(kills):
        child = os.fork()
        if child == 0:
            issue_for_ever(book, snapshots, seed + kill)
        time.sleep(chance.uniform(0.0, 0.12))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        if not (folder / "out").exists():
            continue
        with sqlite3.connect(register_path(book)) as connection:
            interrupted += connection.execute("SELECT count(*) FROM workbooks WHERE staged IS NOT NULL").fetchone()[0]
        connection.close()
        wrong += look(book, "killed")
        with Register.open(book) as register:
            entries = register.quotes(every_revision=True, day=DAY)
        wrong += look(book, "opened")
    return {"wrong": wrong, "interrupted": interrupted, "quotes": len(entries)}


if __name__ == "__main__":
    sys.stdout.write(json.dumps(main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))) + "\n")
