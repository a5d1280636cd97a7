"""A run that was stopped at its worst moment: the next one completes what was begun, removes what was left, and none works on alone."""

from __future__ import annotations

import contextlib
import datetime
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from books import small_book, write_book

import pricing
from pricing.files.left_behind import unfinished_name
from pricing.register.database import register_path
from pricing.register.register import Register
from pricing.xlsx.editing.replace_file import replace_contents

ROOT = Path(__file__).parents[1]

pytestmark = pytest.mark.skipif(os.name != "posix", reason="processes are killed in the way of POSIX systems")

#: The command line, which is killed in the moment in which a finished file would take its place.
KILLED = """
import os, signal, sys
from pricing.cli import main
places = sys.argv[1].split("|")
def killing(real):
    def move(source, target):
        if any(os.fspath(target).endswith(place) for place in places):
            os.kill(os.getpid(), signal.SIGKILL)
        real(source, target)
    return move
os.replace, os.link = killing(os.replace), killing(os.link)
main(sys.argv[2:])
"""


def killed_when(place: str, *arguments: str | Path) -> None:
    """Run a command that is killed when a file of such a name would take its place."""
    done = subprocess.run(
        [sys.executable, "-c", KILLED, place, *map(str, arguments)], env=os.environ | {"PYTHONPATH": str(ROOT)}, capture_output=True,
        text=True, check=False,
    )
    assert done.returncode == -signal.SIGKILL, done.stderr


def completed(*arguments: str | Path) -> str:
    """Run a command to its end."""
    done = subprocess.run(
        [sys.executable, "-c", "from pricing.cli import main; main()", *map(str, arguments)], env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True, text=True, check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def hidden(*folders: Path) -> list[str]:
    """What is hidden in some folders."""
    return [path.name for folder in folders if folder.exists() for path in folder.iterdir() if path.name.startswith(".")]


COMMANDS: dict[str, tuple[str, list[str]]] = {
    "publish": ("book.xlsx", ["publish", "book.xlsx"]),
    "publish, killed over its backup": (".xlsx", ["publish", "book.xlsx"]),
    "publish --list": ("price list.xlsx", ["publish", "book.xlsx", "--list"]),
    "workshop": ("Q-1 workshop.xlsx", ["workshop", "book.xlsx", "--quote", "Q-1"]),
    "catalogue as a workbook": ("catalogue.xlsx", ["catalogue", "book.xlsx", "--out", "out", "--format", "xlsx"]),
    "catalogue in parts": ("part-000000.parquet", ["catalogue", "book.xlsx", "--out", "out"]),
    "catalogue, before its first part": ("_catalogue.json", ["catalogue", "book.xlsx", "--out", "out"]),
    "reprice": ("repricing.xlsx", ["reprice", "book.xlsx"]),
    "review": ("review.xlsx", ["review", "book.xlsx", "--quote", "Q-1"]),
    "review --accept, killed at its trial": ("book.xlsx", ["review", "book.xlsx", "--accept", "Labour!D2"]),
    "register --export": ("list.xlsx", ["register", "book.xlsx", "--export", "list.xlsx"]),
    "quote": ("margin summary.xlsx", ["quote", "book.xlsx"]),
}


@pytest.mark.parametrize("command", COMMANDS)
def test_the_next_run_removes_what_a_killed_one_left(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Killed before its file takes its place, a command leaves something hidden; the same command again leaves nothing."""
    monkeypatch.chdir(tmp_path)
    finished = {"Actuals": [["Quote", "Product", "Item", "Kind", "Quantity"], ["Q-2", "Block", "Set out", "step", 0.75]]}
    write_book(tmp_path / "book.xlsx", small_book() | (finished if "accept" in command else {}))
    place, arguments = COMMANDS[command]
    killed_when(place, *arguments)
    assert hidden(tmp_path, tmp_path / "out")
    completed(*arguments)
    assert hidden(tmp_path, tmp_path / "out") == []


def test_what_a_living_process_holds_is_left_alone(tmp_path: Path) -> None:
    """The hidden file of a process that is alive stays, that of one that has ended is removed; so is one a day old of another machine,
    and one that is older by a day than the living process that has its number now.
    """
    out = tmp_path / "out"
    out.mkdir()
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    own = out / unfinished_name("list", ".xlsx")
    machine, process, token = own.name.removeprefix(".list.unfinished-").split("-")
    dead, elsewhere, old, again = (
        out / f".list.unfinished-{where}-{number}-{token}{ending}"
        for where, number, ending in ((machine, ended.pid, ""), ("abcdef01", 1, ""), ("abcdef02", 1, ""), (machine, os.getpid(), ".again")))
    for path in (own, dead, elsewhere, old, again):
        path.write_text("half a workbook")
    for path in (old, again):
        os.utime(path, (time.time() - 900_000, time.time() - 900_000))
    assert process == str(os.getpid())
    book = write_book(tmp_path / "book.xlsx", small_book())
    assert not pricing.reprice(book, out=out).problems.errors
    kept = [] if Path("/proc/stat").exists() else [again.name]
    assert sorted(hidden(out)) == sorted([own.name, elsewhere.name, *kept])


# ---- quotes issued again -------------------------------------------------------------------------------------------------


def revisions(book: Path) -> list[tuple[str, int]]:
    """Every revision on record."""
    with Register.open(book) as register:
        return [(quote.number, quote.revision) for quote in register.quotes(every_revision=True)]


@pytest.mark.parametrize("place", ["Q-1 revision 2 quote.xlsx", "Q-2 revision 2 quote.xlsx"])
def test_reissuing_again_completes_what_was_begun(place: str, tmp_path: Path) -> None:
    """Killed between the record and the move, in the first quote or in the second, and run again: one new revision of each."""
    book, out = write_book(tmp_path / "book.xlsx", small_book()), tmp_path / "out"
    completed("quote", book, "--out", out)
    again = ["reprice", book, "--date", "2026-03-20", "--reissue", "--quote", "Q-1", "--quote", "Q-2", "--out", out]
    killed_when(place, *again)
    told = completed(*again)
    assert revisions(book) == [("Q-1", 1), ("Q-2", 1), ("Q-1", 2), ("Q-2", 2)]
    assert "Q-1 revision 2, valid until 2026-04-19" in told
    assert "Q-2 revision 2, valid until 2026-04-19" in told
    assert sorted(path.name for path in out.glob("Q-*")) == [
        "Q-1 quote.xlsx", "Q-1 revision 2 quote.xlsx", "Q-2 quote.xlsx", "Q-2 revision 2 quote.xlsx"]
    assert hidden(tmp_path, out) == []


def test_reissuing_at_other_prices_is_a_further_revision(tmp_path: Path) -> None:
    """On the same day, at prices that have changed meanwhile, what is promised is another thing and has a number of its own."""
    sheets = small_book()
    book, out, day = write_book(tmp_path / "book.xlsx", sheets), tmp_path / "out", datetime.date(2026, 3, 20)
    assert not pricing.quote(book, out=out, record="issued").problems.errors
    for _ in range(2):
        assert not pricing.reprice(book, day=day, out=out, reissue=["Q-1"]).problems.errors
    sheets["Materials"][1][4] = 90
    write_book(book, sheets)
    assert not pricing.reprice(book, day=day, out=out, reissue=["Q-1"]).problems.errors
    assert [number for name, number in revisions(book) if name == "Q-1"] == [1, 2, 3]


def test_a_quote_killed_in_its_first_moment_leaves_a_register_that_is_read(tmp_path: Path) -> None:
    """Killed as it makes the tables of the register, ``quote`` leaves a file without them, and every command goes on."""
    book = write_book(tmp_path / "book.xlsx", small_book())
    script = (
        "import os, signal, sys\nfrom pricing.register import database\n"
        "database.transaction = lambda connection: os.kill(os.getpid(), signal.SIGKILL)\nfrom pricing.cli import main\nmain(sys.argv[1:])"
    )
    done = subprocess.run([sys.executable, "-c", script, "quote", str(book), "--out", str(tmp_path / "out")], check=False,
                          env=os.environ | {"PYTHONPATH": str(ROOT)}, capture_output=True)
    assert done.returncode == -signal.SIGKILL
    assert register_path(book).exists()
    assert "no quote is on record" in completed("register", book)
    assert "recorded: 2 quotes" in completed("quote", book, "--out", tmp_path / "out")


# ---- several processes ---------------------------------------------------------------------------------------------------

WORKING = """
import multiprocessing, sys, time
from concurrent.futures import ProcessPoolExecutor
from pricing.files.processes import end_with_parent
if __name__ == "__main__":
    with ProcessPoolExecutor(3, multiprocessing.get_context(sys.argv[1]), end_with_parent) as pool:
        waiting = [pool.submit(time.sleep, 600) for _ in range(6)]
        time.sleep(1.0)
        print(*pool._processes, flush=True)
        time.sleep(600)
"""


def gone(processes: list[int], seconds: float) -> bool:
    """Whether some processes have ended before long."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if not any(alive(process) for process in processes):
            return True
        time.sleep(0.05)
    return False


def alive(process: int) -> bool:
    """Whether a process is at work; one that has ended and is not asked for yet is not."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="who is alive is looked up in /proc")
@pytest.mark.parametrize("method", ["fork", "spawn"])
def test_workers_end_with_the_one_that_began_them(method: str, tmp_path: Path) -> None:
    """Where the process that began them is killed, the others end at once, whatever they are at."""
    script = tmp_path / "working.py"
    script.write_text(WORKING)
    parent = subprocess.Popen([sys.executable, str(script), method], stdout=subprocess.PIPE, text=True,
                              env=os.environ | {"PYTHONPATH": str(ROOT)})
    assert parent.stdout is not None
    workers = [int(each) for each in parent.stdout.readline().split()]
    assert len(workers) == 3
    assert all(alive(each) for each in workers)
    parent.kill()
    parent.wait()
    assert gone(workers, 5.0)
    parent.stdout.close()


#: The command as it is started, which is stopped when it imports a module or moves a file to such a place.
STOPPED = """
import os, sys
from pricing.__main__ import run
number, place = int(sys.argv[1]), sys.argv[2]
class Finder:
    def find_spec(self, name, path=None, target=None):
        if name == place:
            os.kill(os.getpid(), number)
sys.meta_path.insert(0, Finder())
real = os.replace
def replace(source, target):
    if os.fspath(target).endswith(place):
        os.kill(os.getpid(), number)
    real(source, target)
os.replace, sys.argv = replace, ["pricing", *sys.argv[3:]]
run()
"""


@pytest.mark.parametrize(("number", "place"), [(signal.SIGINT, "pricing.api.quoting"), (signal.SIGTERM, "Q-2 quote.xlsx")])
def test_a_stopped_run_says_so_in_a_sentence(number: signal.Signals, place: str, tmp_path: Path) -> None:
    """Whether it was still beginning or moves its files: no traceback, the exit code of the signal, and nothing hidden is left."""
    write_book(tmp_path / "book.xlsx", small_book())
    done = subprocess.run([sys.executable, "-c", STOPPED, str(int(number)), place, "quote", "book.xlsx"], capture_output=True, text=True,
                          env=os.environ | {"PYTHONPATH": str(ROOT)}, check=False, cwd=tmp_path)
    said = "\nstopped: nothing is half-written; run the command again to do the rest\n"
    assert (done.returncode, done.stdout, done.stderr) == (128 + number, "", said)
    assert hidden(tmp_path, tmp_path / "out") == []
    assert not (tmp_path / "out" / "Q-2 quote.xlsx").exists()


def test_a_run_stopped_right_after_it_changed_the_book_keeps_the_old_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The backup is removed only where the book is as it was."""
    book, real = tmp_path / "book.xlsx", os.replace
    book.write_bytes(b"old")

    def replace(source: Path, target: Path) -> None:
        real(source, target)
        if target == book:
            raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", replace)
    with pytest.raises(KeyboardInterrupt):
        replace_contents(book, b"old", b"new", lambda _: None, datetime.datetime(2026, 3, 2))
    assert sorted(path.read_bytes() for path in tmp_path.iterdir()) == [b"new", b"old"]


def children(process: int) -> list[int]:
    """The processes that one has begun; a thread that ends while they are counted has none."""
    found: list[int] = []
    for task in Path(f"/proc/{process}/task").iterdir():
        with contextlib.suppress(FileNotFoundError, ProcessLookupError):
            found += map(int, (task / "children").read_text().split())
    return found


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="who is alive is looked up in /proc")
def test_a_killed_run_over_many_quotes_leaves_nobody_at_work(tmp_path: Path) -> None:
    """``pricing quote`` with three processes is killed while they write; within seconds none is left, and the next run ends well."""
    sheets = small_book()
    head, *rows = sheets["Enquiries"]
    sheets["Enquiries"] = [head, *([f"Q-{number}", *row[1:]] for number in range(1, 161) for row in rows[:2])]
    book = write_book(tmp_path / "book.xlsx", sheets)
    arguments = ["quote", str(book), "--out", str(tmp_path / "out"), "--jobs", "3"]
    parent = subprocess.Popen([sys.executable, "-c", "from pricing.cli import main; main()", *arguments], stdout=subprocess.DEVNULL,
                              stderr=subprocess.DEVNULL, env=os.environ | {"PYTHONPATH": str(ROOT)})
    workers = wait_for(lambda: children(parent.pid) if len(children(parent.pid)) == 3 else [])
    parent.kill()
    parent.wait()
    assert gone(workers, 5.0)
    completed(*arguments)
    assert len(list((tmp_path / "out").glob("Q-*"))) == 160
    assert hidden(tmp_path, tmp_path / "out") == []


BESIDE = """
import multiprocessing, time
from pricing.files.processes import done_beside
with done_beside(lambda: time.sleep(600)):
    print(*(each.pid for each in multiprocessing.active_children()), flush=True)
    time.sleep(600)
"""


@pytest.mark.skipif(len(os.sched_getaffinity(0)) < 2 if hasattr(os, "sched_getaffinity") else True, reason="one processor makes no copies")
def test_a_copy_at_work_beside_ends_with_the_one_it_is_of() -> None:
    """Where a process is killed while its copy writes, the copy ends too."""
    parent = subprocess.Popen([sys.executable, "-c", BESIDE], stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONPATH": str(ROOT)})
    assert parent.stdout is not None
    (copy,) = (int(each) for each in parent.stdout.readline().split())
    assert alive(copy)
    parent.kill()
    parent.wait()
    assert gone([copy], 5.0)
    parent.stdout.close()


def wait_for(found: Callable[[], list[int]]) -> list[int]:
    """What comes to be found before long."""
    for _ in range(600):
        if there := found():
            return there
        time.sleep(0.02)
    raise AssertionError("the processes did not come to be")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no file stands for a full disk on this system")
@pytest.mark.parametrize("arguments", [["register", "book.xlsx"], ["--help"]])
def test_what_cannot_be_printed_is_said_in_a_sentence(arguments: list[str], tmp_path: Path) -> None:
    """Where the output goes into a file on a full disk, the command ends with 1 and a sentence."""
    write_book(tmp_path / "book.xlsx", small_book())
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "pricing", *arguments], env=os.environ | {"PYTHONPATH": str(ROOT)}, stdout=full, stderr=subprocess.PIPE,
            text=True, check=False, cwd=tmp_path,
        )
    assert (done.returncode, done.stderr) == (1, "what was done stands, but could not be printed (no space left on device)\n")
