"""A process killed at any moment leaves whole quotes: a workbook and its record, or neither."""

from __future__ import annotations

import hashlib
import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from books import small_book, write_book
from kept_files import fingerprints

from pricing.book.reading.read import load_price_book
from pricing.costing.jobs.accepted_jobs import in_force
from pricing.register.accepted_standards import acceptances
from pricing.register.database import register_path
from pricing.register.register import Register

KILLING = Path(__file__).with_name("killing.py")
ROOT = Path(__file__).parents[2]

Sheets: TypeAlias = dict[str, list[list[Any]]]

pytestmark = pytest.mark.skipif(os.name != "posix", reason="processes are forked and killed in the way of POSIX systems")


def killed(folder: Path, kills: int, seed: int) -> dict[str, object]:
    """What *kills* killed processes left."""
    write_book(folder / "book.xlsx", small_book())
    done = subprocess.run(
        [sys.executable, str(KILLING), str(folder), str(kills), str(seed)], capture_output=True, text=True, timeout=570, check=False
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, object] = json.loads(done.stdout.splitlines()[-1])
    return found


def test_killed_a_few_dozen_times(tmp_path: Path) -> None:
    """After each of forty kills, no workbook lacks its record; after the next opening, no record lacks its workbook."""
    found = killed(tmp_path, 40, 1)
    assert found["wrong"] == []
    assert isinstance(found["quotes"], int)
    assert found["quotes"] > 8


@pytest.mark.slow
@pytest.mark.parametrize("seed", [100, 200, 300])
def test_killed_many_times(seed: int, tmp_path: Path) -> None:
    """Two hundred and fifty kills a seed, some of which must have hit between the record and the move."""
    found = killed(tmp_path, 250, seed)
    assert found["wrong"] == []
    assert isinstance(found["interrupted"], int)
    assert found["interrupted"] > 0


def killed_command(folder: Path, after: float) -> None:
    """Run ``pricing quote`` and kill it after a while."""
    book = folder / "book.xlsx"
    running = subprocess.Popen(
        [sys.executable, "-c", "from pricing.cli import main; main()", "quote", str(book), "--out", str(folder / "out")],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )
    time.sleep(after)
    running.send_signal(signal.SIGKILL)
    running.wait()


def whole(folder: Path) -> None:
    """Every quote workbook in the folder is on record, and every record has its workbook."""
    book = folder / "book.xlsx"
    before = {}
    if register_path(book).exists():
        with sqlite3.connect(register_path(book)) as connection:
            before = dict(connection.execute("SELECT fingerprint, file FROM workbooks").fetchall()) if _has_tables(connection) else {}
        connection.close()
    for path in folder.glob("out/* quote.xlsx"):
        assert hashlib.sha256(path.read_bytes()).hexdigest() in before
    with Register.open(book) as register:
        for entry in register.quotes(every_revision=True):
            assert hashlib.sha256((folder / entry.file).read_bytes()).hexdigest() == entry.fingerprint


def _has_tables(connection: sqlite3.Connection) -> bool:
    return bool(connection.execute("SELECT count(*) FROM sqlite_master WHERE name = 'workbooks'").fetchone()[0])


def test_the_command_itself_is_killed(tmp_path: Path) -> None:
    """``pricing quote``, killed while it reads, writes or records, leaves whole quotes; the next run writes them all."""
    write_book(tmp_path / "book.xlsx", small_book())
    for after in (0.6, 0.9, 1.1, 1.3):
        killed_command(tmp_path, after)
        whole(tmp_path)
    _finish(tmp_path)


@pytest.mark.slow
def test_the_command_itself_is_killed_often(tmp_path: Path) -> None:
    """The same at forty random moments."""
    write_book(tmp_path / "book.xlsx", small_book())
    chance = random.Random(7)
    for _ in range(40):
        killed_command(tmp_path, chance.uniform(0.4, 2.2))
        whole(tmp_path)
    _finish(tmp_path)


def _finish(folder: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from pricing.cli import main; main()", "quote", str(folder / "book.xlsx"), "--out", str(folder / "out")],
        capture_output=True, text=True, check=False,
    )
    assert done.returncode == 0, done.stderr
    whole(folder)
    assert sorted(path.name for path in folder.glob("out/* quote.xlsx")) == ["Q-1 quote.xlsx", "Q-2 quote.xlsx"]
    assert [path.name for path in (folder / "out").iterdir() if path.name.startswith(".issuing")] == []


def issued_files(folder: Path) -> list[bytes]:
    """The bytes of the quote workbooks, by name."""
    return [path.read_bytes() for path in sorted(folder.glob("out/* quote.xlsx"))]


def test_reissuing_an_unchanged_quote_gives_the_same_bytes(tmp_path: Path) -> None:
    """Run again, by another process and at another time, the command writes the same workbooks and no new revision."""
    write_book(tmp_path / "book.xlsx", small_book())
    _finish(tmp_path)
    first = issued_files(tmp_path)
    time.sleep(1.1)
    _finish(tmp_path)
    assert issued_files(tmp_path) == first
    with Register.open(tmp_path / "book.xlsx") as register:
        assert [(entry.number, entry.revision) for entry in register.quotes(every_revision=True)] == [("Q-1", 1), ("Q-2", 1)]
        assert all(len(found) == 1 for entry in register.quotes() for found in fingerprints(register, entry).values())


#: Commands that are killed at any moment and run again, each with the sheets of its book beyond the small one, and what is run before it.
COMMANDS: dict[str, tuple[Sheets, list[list[str]], list[str]]] = {
    "quote with two processes": ({}, [], ["quote", "book.xlsx", "--jobs", "2"]),
    "quote --revise": ({}, [["quote", "book.xlsx"]], ["quote", "book.xlsx", "--revise", "Q-1"]),
    "reprice --reissue": ({}, [["quote", "book.xlsx"]], ["reprice", "book.xlsx", "--date", "2026-03-20", "--reissue", "--quote", "Q-1"]),
    "review --accept": ({"Actuals": [["Quote", "Product", "Item", "Kind", "Quantity"], ["Q-2", "Block", "Set out", "step", 0.75]]}, [],
                        ["review", "book.xlsx", "--accept", "Labour!D2"]),
    "publish": ({}, [], ["publish", "book.xlsx", "--list"]),
    "workshop": ({}, [], ["workshop", "book.xlsx", "--quote", "Q-1"]),
}


def ran(folder: Path, arguments: list[str], *, kill_after: float | None = None) -> tuple[int, str]:
    """A command run in a folder to its end, or killed after a while; how it ended, and what it said."""
    command = [sys.executable, "-c", "from pricing.cli import main; main()", *arguments]
    with subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
                          env=os.environ | {"PYTHONPATH": str(ROOT)}) as running:
        if kill_after is not None:
            time.sleep(kill_after)
            running.kill()
        said = running.communicate()[1]
    return running.returncode, said


def result_in(folder: Path) -> tuple[object, ...]:
    """What stands in a folder: the book, its backups, the files that are seen, what is promised and what was accepted and holds."""
    book = folder / "book.xlsx"
    backups = sorted({path.read_bytes() for path in folder.glob("book backup*")})
    seen = sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if "backup" not in path.name and "sqlite" not in path.name)
    read, promised = load_price_book(book), list[object]()
    if register_path(book).exists():
        whole(folder)
        with Register.open(book) as register:
            promised = [[(each.number, each.revision) for each in register.quotes(every_revision=True)],
                        len(in_force(acceptances(register), float(read.tables["Labour"]["minutes"][0])))]
    return read.file, book.read_bytes(), backups, seen, promised


@pytest.mark.slow
@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_killed_at_any_moment_and_run_again_comes_to_the_same(command: str, tmp_path: Path) -> None:
    """Killed at thirty random moments and run again, each time in a folder of its own, a command leaves what one whole run leaves."""
    sheets, first, arguments = COMMANDS[command]
    start = tmp_path / "start"
    start.mkdir()
    write_book(start / "book.xlsx", small_book() | sheets)
    for each in first:
        assert ran(start, each)[0] == 0
    undisturbed = shutil.copytree(start, tmp_path / "undisturbed")
    begun = time.monotonic()
    assert ran(undisturbed, arguments)[0] == 0
    lasts, wanted, chance = time.monotonic() - begun, result_in(undisturbed), random.Random(11)
    stopped = 0
    for number in range(30):
        folder = shutil.copytree(start, tmp_path / str(number))
        stopped += ran(folder, arguments, kill_after=chance.uniform(0.2, 1.1) * lasts)[0] == -signal.SIGKILL
        code, said = ran(folder, arguments)
        assert code == 0 or "nothing new is known" in said  # the standard was accepted already
        if code == 0:
            assert result_in(folder) == wanted, number
        assert result_in(folder)[:3] == wanted[:3]
        assert result_in(folder)[4] == wanted[4]
        assert not list(folder.rglob(".*"))
    assert stopped > 10
