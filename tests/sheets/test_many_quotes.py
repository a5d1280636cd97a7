"""Many quotes: the same files from any number of processes, in order, and nothing left behind."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from quote_books import costed, demo, line

from pricing.cli import main
from pricing.costing.costing import Costing
from pricing.interface import price_quotes
from pricing.sheets import many_quotes
from pricing.sheets.leaks import LeakError
from pricing.sheets.many_quotes import Finished, Work, finished_quotes, processes_for

PRODUCTS = ("Shelf 900", "Hearth 1000", "Worktop 1800", "Sill 1100", "Stool")


def data_of(quotes: int, note: str = "") -> Any:
    """The demo workshop with so many quotes; the ninth has a note."""
    data = demo()
    customers = ("Ottilie Marrable", "Vellmoor Garden Rooms", "Atelier Ruszow")
    data["Enquiries"] = [
        line(f"E-{number}", customers[number % 3], PRODUCTS[number % 5], 1 + number % 4, note if number == 9 else "")
        for number in range(quotes)
    ]
    return data


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    return costed(data_of(30), tmp_path_factory.mktemp("many"))


def files_of(costing: Costing, folder: Path, processes: int, method: str | None = None) -> dict[str, bytes]:
    """Name and content of every file of a run, in the order in which the quotes came."""
    quotes = [(quote, f"{quote} quote.xlsx") for quote in costing.quotes]
    with finished_quotes(
        Work(costing, costing.breaks((1, 5)), offers=False), quotes, folder, margin="margin.xlsx", processes=processes, method=method
    ) as (finished, margin):
        made = {each.path.name: each.path.read_bytes() for each in finished}
        made["margin.xlsx"] = margin().read_bytes()
    assert list(folder.iterdir()) == []
    return made


@pytest.fixture(scope="module")
def by_one(costing: Costing, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return files_of(costing, tmp_path_factory.mktemp("one"), 1)


@pytest.mark.parametrize(("processes", "method"), [(2, None), (3, "spawn")])
def test_the_files_are_the_same_from_any_number_of_processes(
    processes: int, method: str | None, costing: Costing, by_one: dict[str, bytes], tmp_path: Path
) -> None:
    """Two and three processes, started in either way, give byte for byte the files of one, in the same order."""
    made = files_of(costing, tmp_path, processes, method)
    assert list(made) == list(by_one)
    assert made == by_one


def test_a_quote_is_the_same_file_alone_and_among_others(costing: Costing, by_one: dict[str, bytes], tmp_path: Path) -> None:
    """What is written before a quote leaves no trace in it."""
    quotes = [(quote, f"{quote} quote.xlsx") for quote in costing.quotes[17:18]]
    with finished_quotes(Work(costing, costing.breaks((1, 5)), offers=False), quotes, tmp_path, margin="m.xlsx") as (finished, _):
        assert [each.path.read_bytes() for each in finished] == [by_one[quotes[0][1]]]


def deliver(finished: Iterator[Finished], delivered: list[str]) -> None:
    for each in finished:
        delivered.append(each.quote)


@pytest.mark.parametrize("processes", [1, 2])
def test_what_came_before_a_leak_is_delivered_and_nothing_after_it(processes: int, tmp_path: Path) -> None:
    """The quotes before the one that names another customer are handed on; that one and those behind it are not."""
    costing = costed(data_of(30, "As for Vellmoor Garden Rooms"), tmp_path)
    quotes = [(quote, f"{quote}.xlsx") for quote in costing.quotes]
    delivered: list[str] = []
    work = Work(costing, None, offers=False)
    with (
        finished_quotes(work, quotes, tmp_path / "out", margin="m.xlsx", processes=processes) as (finished, _),
        pytest.raises(LeakError, match="quote E-9 is not delivered"),
    ):
        deliver(finished, delivered)
    assert delivered == [f"E-{number}" for number in range(9)]
    assert list((tmp_path / "out").iterdir()) == []


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no signal that ends a process at once")
def test_a_process_that_is_killed_is_stood_in_for(
    costing: Costing, by_one: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a process is ended from outside, what it had to do is done all the same."""
    here, real = os.getpid(), Work.quote

    def killed(self: Work, quote: str, path: Path) -> Finished:
        if quote == "E-12" and os.getpid() != here:
            os.kill(os.getpid(), signal.SIGKILL)
        return real(self, quote, path)

    monkeypatch.setattr(Work, "quote", killed)
    assert files_of(costing, tmp_path, 2, "fork") == by_one


def test_few_quotes_are_not_worth_a_second_process() -> None:
    """Processes are started for many quotes, and as many as are asked for, but never more than there are quotes."""
    assert processes_for(5) == processes_for(many_quotes.WORTH_WHILE) == 1
    assert processes_for(1000) >= 1
    assert (processes_for(5, 4), processes_for(2, 4)) == (4, 2)


def test_the_interface_and_the_command_write_the_same(tmp_path: Path) -> None:
    """``--jobs`` changes nothing but the time it takes; the register has every quote either way."""
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    costed(data_of(24), tmp_path / "one")
    book = next((tmp_path / "one").glob("*.xlsx"))
    (tmp_path / "two" / book.name).write_bytes(book.read_bytes())
    told: list[tuple[int, int]] = []
    priced = price_quotes(book, out=tmp_path / "one" / "out", record="sent", done=lambda *each: told.append(each))
    run = CliRunner().invoke(main, ["quote", str(tmp_path / "two" / book.name), "--out", str(tmp_path / "two" / "out"), "--jobs", "2"])
    assert run.exit_code == 0, run.output
    assert told == [(number, 24) for number in range(1, 25)]
    assert len(priced.issued) == 24
    assert "recorded: 24 quotes" in run.output
    files = {path.name: path.read_bytes() for path in (tmp_path / "one" / "out").iterdir()}
    assert len(files) == 25
    assert {path.name: path.read_bytes() for path in (tmp_path / "two" / "out").iterdir()} == files


def test_progress_is_shown_at_a_terminal_only(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Who sits at a terminal sees a bar on standard error; a file or a pipe is left alone, and so is a short run."""
    from pricing.cli.common import Progress

    for at_terminal, many, shown in ((False, 30, False), (True, 5, False), (True, 30, True)):
        monkeypatch.setattr("sys.stderr.isatty", lambda at=at_terminal: at)
        with Progress("writing quotes") as progress:
            for number in range(1, many + 1):
                progress.done(number, many)
        captured = capsys.readouterr()
        assert ("writing quotes" in captured.err) == shown
        assert captured.out == ""


