"""Many quotes: the same files from any number of processes, in order, and nothing left behind."""

from __future__ import annotations

import errno
import json
import multiprocessing
import os
import signal
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from quote_books import costed, demo, line

from pricing.api import price_quotes
from pricing.cli import main
from pricing.costing.method.costing import Costing
from pricing.costing.run import at_quantities
from pricing.files.processes import WORTH_WHILE, processes_for
from pricing.problems import Problem
from pricing.register.register import Register
from pricing.reports.leaks.gate import LeakError
from pricing.reports.quote.many import Finished, QuoteRun, Task, finished_quotes

PRODUCTS = ("Shelf 900", "Hearth 1000", "Worktop 1800", "Sill 1100", "Stool")


def data_of(quotes: int, notes: Mapping[int, str] = MappingProxyType({})) -> Any:
    """The demo workshop with so many quotes, some of them with a note."""
    data = demo()
    customers = ("Ottilie Marrable", "Vellmoor Garden Rooms", "Atelier Ozwelin")
    data["Enquiries"] = [
        line(f"E-{number}", customers[number % 3], PRODUCTS[number % 5], 1 + number % 4, notes.get(number, ""))
        for number in range(quotes)
    ]
    return data


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    return costed(data_of(30), tmp_path_factory.mktemp("many"))


def path_of(each: Finished | LeakError) -> Path:
    """Where a finished quote stands."""
    assert isinstance(each, Finished), each
    return each.path


def files_of(costing: Costing, folder: Path, processes: int, method: str | None = None, beside: bool = False) -> dict[str, bytes]:
    """Name and content of every file of a run, in the order in which the quotes came."""
    quotes = [Task(quote, f"{quote} quote.xlsx") for quote in costing.quotes]
    work = QuoteRun(costing, at_quantities(costing, (1, 5)), snapshots=False)
    with finished_quotes(
        work, quotes, folder, margin="margin.xlsx", processes=processes, method=method, beside=beside,
    ) as (finished, margins):
        made = {path.name: path.read_bytes() for path in map(path_of, finished)}
        made |= {path.name: path.read_bytes() for path in margins()}
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
    quotes = [Task(quote, f"{quote} quote.xlsx") for quote in costing.quotes[17:18]]
    work = QuoteRun(costing, at_quantities(costing, (1, 5)), snapshots=False)
    with finished_quotes(work, quotes, tmp_path, margin="m.xlsx") as (finished, _):
        assert [path_of(each).read_bytes() for each in finished] == [by_one[quotes[0][1]]]


#: Whole names of other customers, which a quote must not hold.
TELLING = {9: "As for Vellmoor Garden Rooms", 21: "The colour of Atelier Ozwelin"}


@pytest.mark.parametrize("processes", [1, 2])
def test_a_refusal_takes_no_other_quote_with_it(processes: int, tmp_path: Path) -> None:
    """The quotes that name another customer come as refusals in their turn; all others, and the margin workbook, are finished."""
    costing = costed(data_of(30, TELLING), tmp_path)
    quotes = [Task(quote, f"{quote}.xlsx") for quote in costing.quotes]
    work = QuoteRun(costing, None, snapshots=False)
    with finished_quotes(work, quotes, tmp_path / "out", margin="m.xlsx", processes=processes) as (finished, margins):
        made = list(finished)
        assert [each.quote for each in made] == costing.quotes
        assert [number for number, each in enumerate(made) if isinstance(each, LeakError)] == list(TELLING)
        assert all(each.path.is_file() for each in made if isinstance(each, Finished))
        assert [path.is_file() for path in margins()] == [True]
    assert list((tmp_path / "out").iterdir()) == []


@pytest.mark.parametrize("processes", [1, 2])
def test_a_fault_of_the_disk_stops_the_run(processes: int, costing: Costing, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What came before the fault is handed on; it is raised in its turn, and nothing comes after it."""
    real = QuoteRun.quote

    def failing(self: QuoteRun, task: Task, path: Path) -> Finished | LeakError:
        if task.quote == "E-9":
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
        return real(self, task, path)

    monkeypatch.setattr(QuoteRun, "quote", failing)
    quotes = [Task(quote, f"{quote}.xlsx") for quote in costing.quotes]
    work = QuoteRun(costing, None, snapshots=False)
    came: list[str] = []
    with finished_quotes(work, quotes, tmp_path, margin="m.xlsx", processes=processes, method="fork") as (finished, _):
        with pytest.raises(OSError, match="space"):
            came.extend(path_of(each).name for each in finished)
        came.extend(path_of(each).name for each in finished)
    assert came == [f"E-{number}.xlsx" for number in range(9)]
    assert list(tmp_path.iterdir()) == []


def recorded(book: Path) -> dict[str, list[int]]:
    """The revisions of each quote that are on record."""
    found: dict[str, list[int]] = {}
    with Register.open(book, to_read=True) as register:
        for entry in register.quotes(every_revision=True):
            found.setdefault(entry.number, []).append(entry.revision)
    return found


@pytest.mark.parametrize("jobs", [1, 2])
def test_refused_quotes_are_neither_delivered_nor_recorded_and_all_others_are(jobs: int, tmp_path: Path) -> None:
    """One problem for each refused quote, in their order; what stood there before stays; the rest of the run is as without them."""
    costed(data_of(12), tmp_path)
    book, out = tmp_path / "price-book.xlsx", tmp_path / "out"
    price_quotes(book, out=out, record="issued")
    before = (out / "E-9 quote.xlsx").read_bytes()
    costed(data_of(24, TELLING), tmp_path)
    told: list[tuple[int, int]] = []
    priced = price_quotes(book, out=out, record="issued", jobs=jobs, done=lambda *each: told.append(each))
    assert [(problem.code, problem.message.split(" is not")[0]) for problem in priced.problems.errors] == [
        ("leak", "quote E-9 revision 2"), ("leak", "quote E-21"),
    ]
    delivered = [f"E-{number}" for number in range(12, 24) if number != 21]
    assert [path.name for path in priced.written] == [*(f"{quote} quote.xlsx" for quote in delivered), "margin summary.xlsx"]
    assert [issued.quote.number for issued in priced.issued] == delivered
    assert told == [(number, 13) for number in range(1, 14)]
    assert [quote.number for quote in priced.stands] == [f"E-{number}" for number in range(12) if number != 9]
    assert (out / "E-9 quote.xlsx").read_bytes() == before
    assert not (out / "E-21 quote.xlsx").exists()
    assert recorded(book) == {f"E-{number}": [1] for number in range(24) if number != 21}
    lines = openpyxl.load_workbook(out / "margin summary.xlsx")["Build-up"].iter_rows(min_row=7, max_col=2, values_only=True)
    assert [row[1] for row in lines] == [f"E-{number}" for number in range(24)]


def test_the_command_tells_every_refusal_and_shows_what_was_written(tmp_path: Path) -> None:
    """Exit code 1, a sentence for each refused quote, the table and the files of the others; the same in ``--json``."""
    costed(data_of(24, TELLING), tmp_path)
    arguments = ["quote", str(tmp_path / "price-book.xlsx"), "--out", str(tmp_path / "out"), "--jobs", "2"]
    shown, printed = CliRunner().invoke(main, arguments), CliRunner().invoke(main, [*arguments, "--json"])
    assert (shown.exit_code, printed.exit_code) == (1, 1)
    refusals = [line for line in shown.stderr.splitlines() if "is not delivered" in line]
    assert [line.split("quote ")[1].split(" ")[0] for line in refusals] == ["E-9", "E-21"]
    assert shown.stdout.count("written: ") == 23
    assert "recorded: 22 quotes" in shown.stdout
    found = json.loads(printed.stdout)
    leaks = [problem["message"].split(" is not")[0] for problem in found["problems"] if problem["code"] == "leak"]
    assert leaks == ["quote E-9", "quote E-21"]
    assert found["written"] == [str(tmp_path / "out" / "margin summary.xlsx")]
    assert len(found["left"]) == 22
    assert len(found["quotes"]) == 24


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no signal that ends a process at once")
def test_a_process_that_is_killed_is_stood_in_for(
    costing: Costing, by_one: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a process is ended from outside, what it had to do is done all the same."""
    here, real = os.getpid(), QuoteRun.quote

    def killed(self: QuoteRun, task: Task, path: Path) -> Finished | LeakError:
        if task.quote == "E-12" and os.getpid() != here:
            os.kill(os.getpid(), signal.SIGKILL)
        return real(self, task, path)

    monkeypatch.setattr(QuoteRun, "quote", killed)
    assert files_of(costing, tmp_path, 2, "fork") == by_one


# ---- the margin workbook of few quotes, written by a copy of the process ---------------------------------------------------


copied = pytest.mark.skipif(sys.platform != "linux", reason="this system makes no copies of a process that are sure to work")


@pytest.fixture(scope="module")
def few(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    return costed(data_of(2), tmp_path_factory.mktemp("few"))


@pytest.fixture(scope="module")
def few_by_one(few: Costing, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return files_of(few, tmp_path_factory.mktemp("few by one"), 1)


@pytest.fixture
def two_processors(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pricing.files.processes.processors", lambda: 2)


def noted(monkeypatch: pytest.MonkeyPatch, folder: Path, then: Callable[[], object] = lambda: None) -> Callable[[], list[int]]:
    """Which processes wrote a margin workbook; each does something else before."""
    real, note = QuoteRun.margin, folder / "who wrote"
    note.touch()

    def margin(self: QuoteRun, place: int, path: Path) -> list[Problem]:
        with note.open("a") as file:
            print(os.getpid(), file=file)
        then()
        return real(self, place, path)

    monkeypatch.setattr(QuoteRun, "margin", margin)
    return lambda: [int(each) for each in note.read_text().split()]


@copied
def test_the_margin_workbook_written_beside_is_the_same(
    few: Costing, few_by_one: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, two_processors: None
) -> None:
    """Another process writes it, byte for byte as this one would."""
    wrote = noted(monkeypatch, tmp_path)
    (tmp_path / "out").mkdir()
    assert files_of(few, tmp_path / "out", 1, beside=True) == few_by_one
    assert len(wrote()) == 1
    assert os.getpid() not in wrote()


def test_one_processor_writes_one_after_the_other(few: Costing, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a copy would only take turns, there is none."""
    monkeypatch.setattr("pricing.files.processes.processors", lambda: 1)
    wrote = noted(monkeypatch, tmp_path)
    with finished_quotes(QuoteRun(few, None, snapshots=False), [], tmp_path / "out", margin="m.xlsx", beside=True) as (_, margins):
        assert wrote() == []
        assert [path.is_file() for path in margins()] == [True]
    assert wrote() == [os.getpid()]


@copied
def test_a_copy_that_is_killed_is_stood_in_for(
    few: Costing, few_by_one: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, two_processors: None
) -> None:
    """The margin workbook is written all the same, by the process that waits for it."""
    here = os.getpid()
    wrote = noted(monkeypatch, tmp_path, lambda: None if os.getpid() == here else os.kill(os.getpid(), signal.SIGKILL))
    (tmp_path / "out").mkdir()
    assert files_of(few, tmp_path / "out", 1, beside=True) == few_by_one
    assert wrote()[1:] == [here]


@copied
def test_a_fault_of_the_disk_beside_is_told_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, two_processors: None) -> None:
    """What the copy cannot write is said in a sentence by the command, which leaves nothing hidden; the quotes went out before."""
    costed(data_of(2), tmp_path)

    def full() -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), "margin summary.xlsx")

    wrote = noted(monkeypatch, tmp_path, full)
    priced = price_quotes(tmp_path / "price-book.xlsx", out=tmp_path / "out", record="issued", jobs=None)
    assert [problem.message for problem in priced.problems.errors if "space" in problem.message]
    assert os.getpid() not in wrote()
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["E-0 quote.xlsx", "E-1 quote.xlsx"]


@copied
def test_a_run_that_stops_takes_its_copy_with_it(
    few: Costing, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, two_processors: None
) -> None:
    """Stopped while the copy is at work, the run waits for nothing and leaves nothing."""
    noted(monkeypatch, tmp_path, lambda: time.sleep(600))
    copies: list[int | None] = []

    def stopped() -> None:
        with finished_quotes(QuoteRun(few, None, snapshots=False), [], tmp_path / "out", margin="m.xlsx", beside=True):
            copies.extend(each.pid for each in multiprocessing.active_children())
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert len(copies) == 1
    assert not multiprocessing.active_children()
    assert list((tmp_path / "out").iterdir()) == []


def test_few_quotes_are_not_worth_a_second_process() -> None:
    """Processes are started for many quotes, and as many as are asked for, but never more than there are quotes."""
    assert processes_for(5) == processes_for(WORTH_WHILE) == 1
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
    priced = price_quotes(book, out=tmp_path / "one" / "out", record="issued", done=lambda *each: told.append(each))
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
