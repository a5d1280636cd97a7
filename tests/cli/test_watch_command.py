"""``pricing watch``: the workbooks follow the price book while it is being edited."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from books import set_cell, small_book, write_book
from click.testing import CliRunner

from pricing.api.watching import Watch
from pricing.cli import main


class Watching:
    """A watch that runs in the background, and the lines that it said."""

    def __init__(self, book: Path) -> None:
        self.book = book
        self.lines: list[str] = []
        self.stop = threading.Event()
        self.thread = threading.Thread(target=Watch(book, book.parent / "out", self.lines.append, 0.03).run, args=(self.stop,))
        self.thread.start()

    def heard(self, words: str, seconds: float = 20.0) -> str:
        """The first line that holds some words, waited for."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for line in self.lines:
                if words in line:
                    return line
            time.sleep(0.02)
        raise AssertionError(f"{words!r} was not said: {self.lines}")

    def edit(self, change: Callable[[dict[str, list[list[object]]]], object]) -> None:
        """Save the book again after a change, as a spreadsheet program does: beside, then in its place."""
        sheets = small_book()
        change(sheets)
        os.replace(write_book(self.book.with_name("saving.xlsx"), sheets), self.book)


@pytest.fixture
def watching(tmp_path: Path) -> Iterator[Watching]:
    """The small workshop's book under watch."""
    found = Watching(write_book(tmp_path / "book.xlsx", small_book()))
    try:
        yield found
    finally:
        found.stop.set()
        found.thread.join(timeout=30)
        assert not found.thread.is_alive()


def test_a_save_is_followed(watching: Watching) -> None:
    """A saved change is told in one line, with its cell, its figures and the quotes that moved; the workbooks are new."""
    watching.heard("watching book.xlsx")
    quote = watching.book.parent / "out" / "Q-1 draft.xlsx"
    before = quote.read_bytes()
    watching.edit(lambda sheets: set_cell(sheets, "Materials", "Cement", "Pack price", 20))  # type: ignore[arg-type]
    line = watching.heard("Materials!E2")
    assert "Cement: pack price 10 → 20" in line
    assert "net of Q-1 +" in line
    assert "\n" not in line
    assert quote.read_bytes() != before
    assert len(watching.lines) == 2


def test_a_half_saved_file_is_waited_for(watching: Watching) -> None:
    """While a file is only half there nothing is said; when it is whole, what changed is."""
    watching.heard("watching")
    sheets = small_book()
    set_cell(sheets, "Workshop", "Target margin", "Value", "50 %")
    whole = write_book(watching.book.with_name("whole.xlsx"), sheets).read_bytes()
    for part in (0, 1000, len(whole) // 2):
        watching.book.write_bytes(whole[:part])
        time.sleep(0.08)
    assert len(watching.lines) == 1
    watching.book.write_bytes(whole)
    assert "target margin 0.4 → 0.5" in watching.heard("Workshop!B6")
    assert len(watching.lines) == 2


def test_a_file_that_stays_broken_is_said(watching: Watching) -> None:
    """What is no workbook for long is said once; the watch goes on, and recovers with the next good save."""
    watching.heard("watching")
    watching.book.write_bytes(b"no workbook")
    watching.heard("nothing rewritten")
    watching.edit(lambda sheets: set_cell(sheets, "Trades", "Maker", "Hourly cost", 25))  # type: ignore[arg-type]
    assert "hourly cost 24 → 25" in watching.heard("Trades!B2")


def test_problems_are_told_and_nothing_is_rewritten(watching: Watching) -> None:
    """A save with a mistake in it is answered with its cell, and the workbooks stay as they were."""
    watching.heard("watching")
    files = {path: path.read_bytes() for path in (watching.book.parent / "out").iterdir()}
    watching.edit(lambda sheets: set_cell(sheets, "Products", "Block", "Mix", "Gray"))  # type: ignore[arg-type]
    assert "Products!" in watching.heard("nothing rewritten")
    assert {path: path.read_bytes() for path in (watching.book.parent / "out").iterdir()} == files


def test_a_save_without_a_change_is_no_news(watching: Watching) -> None:
    """Touched, or saved with the same content, the book causes no work; a file away for a while is waited for."""
    watching.heard("watching")
    content = watching.book.read_bytes()
    os.utime(watching.book)
    time.sleep(0.2)
    watching.book.unlink()
    watching.heard("waiting for it")
    watching.book.write_bytes(content)
    time.sleep(0.3)
    assert len(watching.lines) == 2


def test_rows_come_and_go(watching: Watching) -> None:
    """New and removed rows are told as such."""
    watching.heard("watching")

    def edit(sheets: dict[str, list[list[object]]]) -> None:
        sheets["Enquiries"].append(["Q-3", *sheets["Enquiries"][1][1:]])

    watching.edit(edit)
    assert "Enquiries row 6 Q-3 is new" in watching.heard("is new")


@pytest.mark.skipif(os.name != "posix", reason="signals are sent in the way of POSIX systems")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_stops_cleanly(number: int, tmp_path: Path) -> None:
    """Ctrl-C and a request to end stop it with the code 0 and without a traceback; nothing is left half-written."""
    book = write_book(tmp_path / "book.xlsx", small_book())
    running = subprocess.Popen(
        [sys.executable, "-u", "-c", "from pricing.cli import main; main()", "watch", str(book), "--out", str(tmp_path / "out")],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )
    assert running.stdout is not None
    assert "watching book.xlsx" in running.stdout.readline()
    running.send_signal(number)
    said, errors = running.communicate(timeout=30)
    assert running.returncode == 0
    assert said.strip() == "stopped"
    assert errors == ""
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["Q-1 draft.xlsx", "Q-2 draft.xlsx", "margin summary.xlsx"]


def test_a_book_that_is_not_there(tmp_path: Path) -> None:
    """A misspelt name is refused at once."""
    result = CliRunner().invoke(main, ["watch", str(tmp_path / "none.xlsx")], catch_exceptions=False)
    assert result.exit_code == 1
    assert "no such file" in result.stderr
