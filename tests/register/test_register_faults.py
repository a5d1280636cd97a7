"""The register under faults: full disks, read-only folders, files that are none, other programs at work."""

from __future__ import annotations

import datetime
import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from books import small_book, write_book
from click.testing import CliRunner

from pricing.book.reading.read import load_price_book
from pricing.cli import main
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.register import database
from pricing.register.database import RegisterError, register_path
from pricing.register.kept.quote_snapshot import snapshot_of
from pricing.register.register import Register

PROJECT = Path(__file__).parents[2]
DAY = datetime.date(2026, 3, 2)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """The small workshop's price book."""
    return write_book(tmp_path / "book.xlsx", small_book())


@pytest.fixture
def costing(book: Path) -> Costing:
    """Its quotes."""
    return cost_quotes(load_price_book(book))


def _write(path: Path) -> None:
    path.write_bytes(b"workbook")


NOT_REGISTERS: list[tuple[str, Callable[[Path], object], str]] = [
    ("some text", lambda path: path.write_text("this is no database at all, whatever its name says" * 20), "cannot be read"),
    ("another database", lambda path: _database(path), "not a register"),
    ("a folder", lambda path: path.mkdir(), "cannot be written"),
    ("a later version", lambda path: _later(path), "later version"),
    ("cut off", lambda path: _cut(path), "cannot be read"),
]


def _database(path: Path) -> None:
    connection = sqlite3.connect(path)
    connection.executescript("CREATE TABLE a (b); CREATE TABLE quotes (c);")
    connection.close()


def _later(path: Path) -> None:
    Register.open(path.with_name("book.xlsx")).close()
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA user_version = 99")
    connection.close()


def _cut(path: Path) -> None:
    Register.open(path.with_name("book.xlsx")).close()
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2] + b"\xff" * 2000)


@pytest.mark.parametrize(("make", "words"), [case[1:] for case in NOT_REGISTERS], ids=[case[0] for case in NOT_REGISTERS])
def test_a_file_that_is_no_register(make: Callable[[Path], object], words: str, book: Path) -> None:
    """It is refused in a sentence that names the file; it is not altered, and nothing is issued without it."""
    path = register_path(book)
    make(path)
    before = path.read_bytes() if path.is_file() else None
    result = CliRunner().invoke(main, ["quote", str(book), "--out", str(book.parent / "out")], catch_exceptions=False)
    assert result.exit_code == 1
    assert words in result.stderr
    assert path.name in result.stderr
    assert not list(book.parent.glob("out/*quote.xlsx"))
    if before is not None:
        assert path.read_bytes() == before


def test_drafts_need_no_register(book: Path) -> None:
    """Where the register cannot be used, drafts are written all the same, and it is said."""
    register_path(book).write_text("no database" * 200)
    result = CliRunner().invoke(main, ["quote", str(book), "--draft", "--out", str(book.parent / "out")], catch_exceptions=False)
    assert result.exit_code == 0
    assert "the drafts are written all the same" in result.stderr
    assert len(list(book.parent.glob("out/*draft.xlsx"))) == 2
    assert "recorded" not in result.stdout


WITHOUT_RIGHTS = """
import contextlib, io, os, shutil, sys, tempfile, traceback
from pathlib import Path
from pricing.cli import main
with tempfile.TemporaryDirectory() as name, contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
    book = shutil.copy(sys.argv[1], name)  # whatever the commands import is imported while everything may be read
    marked = ["register", book, "--mark", "Q-9=issued"]
    for arguments in (["quote", book, "--out", name], ["register", book, "--date", "2026-03-02"], marked):
        with contextlib.suppress(SystemExit):
            main(arguments)
if os.geteuid() == 0:  # the rights of folders do not hold for the superuser
    os.setegid(65534)
    os.seteuid(65534)
main(sys.argv[2:])
"""


@pytest.fixture
def read_only() -> Iterator[Path]:
    """A folder with a price book in which nothing can be written, and an out folder beside it in which something can."""
    with tempfile.TemporaryDirectory() as name:
        outer = Path(name)
        outer.chmod(0o755)
        folder, out = outer / "shop", outer / "out"
        folder.mkdir()
        out.mkdir()
        out.chmod(0o777)
        write_book(folder / "book.xlsx", small_book())
        folder.chmod(0o555)
        yield folder
        folder.chmod(0o755)


def run_without_rights(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    """The command line as a user who may not write everywhere."""
    return subprocess.run(
        [sys.executable, "-c", WITHOUT_RIGHTS, str(arguments[1]), *map(str, arguments)],
        env=os.environ | {"PYTHONPATH": str(PROJECT), "PYTHONDONTWRITEBYTECODE": "1"}, capture_output=True, text=True, check=False,
    )


@pytest.mark.skipif(os.name != "posix", reason="rights of folders are set in the way of POSIX systems")
def test_a_read_only_folder(read_only: Path) -> None:
    """Nothing is promised where nothing can be recorded; drafts can be written elsewhere; the list is read all the same."""
    out = read_only.parent / "out"
    issued = run_without_rights("quote", read_only / "book.xlsx", "--out", out)
    assert issued.returncode == 1
    assert "read-only" in issued.stderr
    assert "--draft" in issued.stderr
    assert "Traceback" not in issued.stderr
    assert list(out.iterdir()) == []
    draft = run_without_rights("quote", read_only / "book.xlsx", "--draft", "--out", out)
    assert draft.returncode == 0, draft.stderr
    assert len(list(out.glob("*draft.xlsx"))) == 2
    listed = run_without_rights("register", read_only / "book.xlsx")
    assert listed.returncode == 0, listed.stderr
    assert "no quote is on record" in listed.stdout


@pytest.mark.skipif(os.name != "posix", reason="rights of folders are set in the way of POSIX systems")
def test_a_register_in_a_read_only_folder_is_read(read_only: Path) -> None:
    """A register that may not be written is listed; marking in it is refused in a sentence."""
    book = read_only / "book.xlsx"
    read_only.chmod(0o755)
    costing = cost_quotes(load_price_book(book))
    with Register.open(book) as register:
        register.issue(snapshot_of(costing, "Q-1"), read_only / "Q-1.xlsx", _write)
    read_only.chmod(0o555)
    listed = run_without_rights("register", book, "--date", "2026-03-02")
    assert listed.returncode == 0, listed.stderr
    assert "Ada Field" in listed.stdout
    marked = run_without_rights("register", book, "--mark", "Q-1=ordered")
    assert marked.returncode == 1
    assert "read-only" in marked.stderr
    assert "Traceback" not in marked.stderr


def _issue_many(register: Register, costing: Costing) -> None:
    for number in range(50):
        offer = snapshot_of(costing, "Q-2", number=f"Q-{number}")
        register.issue(offer, register.home / "out" / f"{number}.xlsx", _write, today=DAY)


def test_a_full_disk_under_the_register(book: Path, costing: Costing) -> None:
    """Where the register cannot grow, nothing is issued and what stood there stands."""
    with Register.open(book) as register:
        entry = register.issue(snapshot_of(costing, "Q-1"), book.parent / "out" / "Q-1.xlsx", _write, today=DAY).quote
        pages = register._connection.execute("PRAGMA page_count").fetchone()[0]
        register._connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(RegisterError, match="disk is full"):
            _issue_many(register, costing)
        on_record = {each.file for each in register.quotes()}
        assert {f"out/{path.name}" for path in (book.parent / "out").iterdir()} == on_record
        assert entry in register.quotes(day=DAY)


SMALL_FILES = """
import resource, signal, sys
from pricing.cli import main
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), int(sys.argv[1])))
main(sys.argv[2:])
"""


@pytest.mark.skipif(os.name != "posix", reason="the size of files is limited in the way of POSIX systems")
@pytest.mark.parametrize("limit", [0, 2_000, 20_000, 60_000, 100_000])
def test_files_that_cannot_grow(limit: int, book: Path) -> None:
    """Wherever the room ends, in a workbook or in the register: a sentence, no workbook without a record, nothing half-written."""
    done = subprocess.run(
        [sys.executable, "-c", SMALL_FILES, str(limit), "quote", str(book), "--out", str(book.parent / "out")],
        env=os.environ | {"PYTHONDONTWRITEBYTECODE": "1"}, capture_output=True, text=True, check=False,
    )
    assert done.returncode == 1
    assert done.stderr.strip()
    assert "Traceback" not in done.stderr
    assert "begin a new one" not in done.stderr  # what was promised is in the one that is there
    with Register.open(book) as register:
        on_record = {entry.file for entry in register.quotes()}
    assert {f"out/{path.name}" for path in book.parent.glob("out/*")} - {"out/margin summary.xlsx"} == on_record


@pytest.mark.parametrize("command", ["quote", "register"])
def test_a_price_book_with_too_long_a_name(command: str, tmp_path: Path) -> None:
    """A name that leaves no room for a register and backups beside it is refused in a sentence, and nothing is written."""
    book = write_book(tmp_path / f"{'b' * 201}.xlsx", small_book())
    done = CliRunner().invoke(main, [command, str(book), *(["--out", str(tmp_path / "out")] if command == "quote" else [])])
    assert done.exit_code == 1
    assert "give it a name of at most 200 letters" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == [book.name]


def test_another_program_holds_the_register(book: Path, costing: Costing, monkeypatch: pytest.MonkeyPatch) -> None:
    """A register that another program has locked is waited for, and then refused in a sentence."""
    Register.open(book).close()
    monkeypatch.setattr(database, "PATIENCE", 0.2)
    other = sqlite3.connect(register_path(book), isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    try:
        with pytest.raises(RegisterError, match="in use"), Register.open(book) as register:
            register.issue(snapshot_of(costing, "Q-1"), book.parent / "Q-1.xlsx", _write)
    finally:
        other.close()
    assert not (book.parent / "Q-1.xlsx").exists()
    assert [path.name for path in book.parent.iterdir() if path.name.startswith(".issuing")] == []
