"""Writing under faults: at every moment the workbook's name leads to the old or the new file, whole."""

from __future__ import annotations

import errno
import os
import random
import resource
import signal
import subprocess
import sys
import tempfile
import textwrap
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest
from writeback_workbooks import codes, parts, rich_workbook, values, worksheet, zipped

from pricing.files.left_behind import unfinished_name
from pricing.problems import Problems
from pricing.xlsx.editing import replace_file
from pricing.xlsx.editing import write_cells as writeback
from pricing.xlsx.editing.write_cells import CellWrite, write_cells
from pricing.xlsx.package.archive import LARGEST_FILE

PROJECT = Path(__file__).resolve().parents[2]
NOW = datetime(2031, 5, 4, 9, 30)

# a process that writes two values in turn until it is stopped, and says so after each
WRITER = """
import sys
from pathlib import Path
from pricing.xlsx.editing.write_cells import CellWrite, write_cells
from pricing.problems import Problems
path = Path(sys.argv[1])
print("ready", flush=True)
while True:
    for value in (111.5, 222.5):
        problems = Problems()
        if write_cells(path, [CellWrite("Products", "D5", value)], problems) is None:
            sys.exit(str(list(problems)))
        print("written", flush=True)
"""


def contents(path: Path, value: float) -> bytes:
    """The bytes of the workbook after a value has been written, made in another folder."""
    folder = path.parent / f"made {value}"
    folder.mkdir()
    copy = folder / path.name
    copy.write_bytes(path.read_bytes())
    problems = Problems()
    assert write_cells(copy, [CellWrite("Products", "D5", value)], problems, backup=False), list(problems)
    return copy.read_bytes()


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return rich_workbook(tmp_path / "book.xlsx")


@pytest.mark.parametrize("kills", [15, pytest.param(200, marks=pytest.mark.slow)])
def test_a_kill_at_any_moment_leaves_a_whole_file(kills: int, book: Path) -> None:
    """A process that keeps writing is killed again and again at random: file and backups are always whole versions.

    It goes on until one was killed in the middle of a copy and both values were met, four times as often at most.
    """
    old = book.read_bytes()
    versions = {old, contents(book, 111.5), contents(book, 222.5)}
    assert len(versions) == 3
    dice, seen, unfinished, backups = random.Random(kills), set(), 0, 0
    environment = os.environ | {"PYTHONPATH": str(PROJECT)}
    one_write = 0.0
    for kill in range(4 * kills):
        if kill >= kills and unfinished and len(seen) > 1:
            break
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(book)], env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE
        ) as process:
            assert process.stdout is not None
            assert process.stderr is not None
            assert process.stdout.readline() == b"ready\n"
            for _ in range(3 if kill == 0 else dice.randrange(3)):
                start = time.perf_counter()
                assert process.stdout.readline() == b"written\n", process.stderr.read()
                one_write = time.perf_counter() - start
            time.sleep(dice.uniform(0, 1.2 * one_write))
            process.send_signal(signal.SIGKILL)
            process.wait()
            assert process.returncode == -signal.SIGKILL, process.stderr.read()
        assert book.read_bytes() in versions
        seen.add(book.read_bytes())
        for entry in book.parent.iterdir():
            if "backup" in entry.name:
                assert entry.read_bytes() in versions
                backups += 1
            unfinished += entry.name.startswith(".")
            if entry != book and entry.is_file():
                entry.unlink()
    assert len(seen) > 1
    assert backups > kills / 4
    assert unfinished > 0  # some were killed in the middle of a copy


def stopped_before(step: int, path: Path) -> bool:
    """Write in a process that ends without warning just before its n-th step on the disk; whether it got to its end."""
    child = os.fork()
    if child == 0:
        left = step

        def counted(function: Callable[..., object]) -> Callable[..., object]:
            def call(*arguments: object, **options: object) -> object:
                nonlocal left
                if left == 0:
                    os._exit(9)
                left -= 1
                return function(*arguments, **options)

            return call

        for name in ("write", "fsync", "replace", "open", "unlink", "chmod", "chown", "stat"):
            setattr(os, name, counted(getattr(os, name)))
        replace_file.STEP = 1500
        os._exit(0 if write_cells(path, [CellWrite("Products", "D5", 111.5)], Problems()) else 1)
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    assert code in (0, 9)
    return code == 0


def test_a_stop_before_each_single_step_leaves_a_whole_file(tmp_path: Path) -> None:
    """Stopped before its first, second, third ... step, a write leaves the old file until the move, then the new."""
    book = tmp_path / "book.xlsx"
    sheet = worksheet('<row r="5"><c r="D5"><v>1</v></c><c r="E5"><f>D5*2</f><v>2</v></c></row>')
    book.write_bytes(zipped(parts({"Products": sheet}, extra={"notes.bin": bytes(range(256)) * 9})))
    old, new = book.read_bytes(), contents(book, 111.5)
    states: list[bytes] = []
    done = False
    while not done:
        book.write_bytes(old)
        done = stopped_before(len(states), book)
        states.append(book.read_bytes())
        for entry in tmp_path.glob("*backup*"):
            assert entry.read_bytes() == old
            entry.unlink()
        for entry in tmp_path.glob(".*"):
            entry.unlink()
        assert len(states) < 100
    assert set(states) == {old, new}
    assert states == sorted(states, key=[old, new].index)
    assert len(states) > 12


def failing(function: Callable[..., object], number: int, code: int) -> Callable[..., object]:
    """The function, which from its n-th call on fails with an error of the operating system."""
    calls = 0

    def call(*arguments: object, **options: object) -> object:
        nonlocal calls
        calls += 1
        if calls >= number:
            raise OSError(code, os.strerror(code))
        return function(*arguments, **options)

    return call


@pytest.mark.parametrize(
    ("error", "expected", "word"),
    [
        (errno.ENOSPC, "disk-full", "free some space"),
        (errno.EDQUOT, "disk-full", "free some space"),
        (errno.EACCES, "not-allowed", "another program has the file open"),
        (errno.EROFS, "not-allowed", "allow changes to the folder"),
        (errno.EIO, "not-written", "check the disk"),
    ],
)
@pytest.mark.parametrize(
    ("step", "number"), [("write", 1), ("write", 2), ("fsync", 1), ("fsync", 2), ("replace", 1), ("replace", 2)]
)
def test_a_fault_of_the_disk_leaves_everything_as_it_was(
    step: str, number: int, error: int, expected: str, word: str, book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever step fails, with whatever error: a sentence with its remedy, the old file, nothing left beside it."""
    old = book.read_bytes()
    if (step, number) == ("replace", 2):  # the backup is moved, and then the file, on a file system without links
        monkeypatch.setattr(os, "link", failing(os.link, 1, errno.EPERM))
    monkeypatch.setattr(os, step, failing(getattr(os, step), number, error))
    problems = Problems(book.name)
    assert write_cells(book, [CellWrite("Products", "D5", 1)], problems, now=NOW) is None
    monkeypatch.undo()
    assert codes(problems.errors) == [expected]
    assert word in problems.errors[0].message
    assert [entry.name for entry in book.parent.iterdir()] == ["book.xlsx"]
    assert book.read_bytes() == old


LIMITED = """
import resource, sys
from pathlib import Path
from pricing.xlsx.editing.write_cells import CellWrite, write_cells
from pricing.problems import Problems
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), int(sys.argv[2])))
problems = Problems()
done = write_cells(Path(sys.argv[1]), [CellWrite("Products", "D5", 1)], problems)
print(done is not None, *(problem.code for problem in problems))
"""


def test_a_disk_that_takes_no_more_leaves_the_old_file(book: Path) -> None:
    """Where the system itself stops the file from growing, at several sizes, the write is refused as on a full disk."""
    old = book.read_bytes()
    assert resource.RLIMIT_FSIZE is not None
    for size in (0, 1, len(old) // 2, len(old) - 200):
        done = subprocess.run(
            [sys.executable, "-c", LIMITED, str(book), str(size)],
            env=os.environ | {"PYTHONPATH": str(PROJECT)}, capture_output=True, text=True, check=True,
        )
        assert done.stdout.split() == ["False", "disk-full"]
        assert [entry.name for entry in book.parent.iterdir()] == ["book.xlsx"]
        assert book.read_bytes() == old


WITHOUT_RIGHTS = """
import encodings.cp437, openpyxl.formula, os, sys
from pathlib import Path
from pricing.xlsx.editing.write_cells import CellWrite, write_cells
from pricing.problems import Problems
if os.geteuid() == 0:  # the rights of folders do not hold for the superuser
    os.setegid(65534)
    os.seteuid(65534)
    os.access = lambda path, mode, access=os.access: access(path, mode, effective_ids=True)
problems = Problems()
done = write_cells(Path(sys.argv[1]), [CellWrite("Products", "D5", 1)], problems)
print(done is not None, *(problem.code for problem in problems))
"""


@pytest.mark.parametrize(
    ("folder_mode", "file_mode", "expected"),
    [(0o777, 0o666, "True"), (0o555, 0o666, "False not-allowed"), (0o777, 0o444, "False read-only"),
     (0o777, 0o000, "False read-only"), (0o000, 0o666, "False not-allowed")],
)
def test_a_folder_or_file_without_the_right_to_write(
    folder_mode: int, file_mode: int, expected: str, book: Path
) -> None:
    """In a read-only folder, or on a file marked read-only, the write is refused and nothing changes."""
    with tempfile.TemporaryDirectory() as name:
        outer, folder = Path(name), Path(name, "folder")
        outer.chmod(0o755)
        folder.mkdir()
        target = folder / "book.xlsx"
        target.write_bytes(book.read_bytes())
        target.chmod(file_mode)
        folder.chmod(folder_mode)
        done = subprocess.run(
            [sys.executable, "-c", WITHOUT_RIGHTS, str(target)],
            env=os.environ | {"PYTHONPATH": str(PROJECT)}, capture_output=True, text=True, check=False,
        )
        folder.chmod(0o777)
        target.chmod(0o666)
        assert done.stdout.strip() == expected, done.stderr
        if expected != "True":
            assert target.read_bytes() == book.read_bytes()
            assert [entry.name for entry in folder.iterdir()] == ["book.xlsx"]


@pytest.mark.parametrize("name", ["~$book.xlsx", ".~lock.book.xlsx#"])
def test_a_workbook_open_elsewhere_is_not_written(name: str, book: Path) -> None:
    """The lock files of both kinds of spreadsheet program stop the write, and the sentence names them."""
    lock = book.with_name(name)
    lock.write_text("the maker")
    old, problems = book.read_bytes(), Problems(book.name)
    assert write_cells(book, [CellWrite("Products", "D5", 1)], problems) is None
    assert codes(problems.errors) == ["open-elsewhere"]
    assert name in problems.errors[0].message
    assert book.read_bytes() == old
    lock.unlink()
    assert write_cells(book, [CellWrite("Products", "D5", 1)], problems)


def test_a_lock_on_a_linked_workbook_counts_on_both_sides(book: Path, tmp_path: Path) -> None:
    """Opened by the program beside the file or beside the link, the workbook is not written through the link."""
    folder = tmp_path / "links"
    folder.mkdir()
    link = folder / "shortcut.xlsx"
    link.symlink_to(book)
    for lock in (book.with_name("~$book.xlsx"), folder / ".~lock.shortcut.xlsx#"):
        lock.touch()
        problems = Problems()
        assert write_cells(link, [CellWrite("Products", "D5", 1)], problems) is None
        assert codes(problems.errors) == ["open-elsewhere"]
        lock.unlink()


@pytest.mark.parametrize("what", ["saved again", "opened"])
def test_a_workbook_that_is_saved_or_opened_meanwhile_is_left_alone(
    what: str, book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If the file changes or is opened while the new one is prepared, the maker's own version stays."""
    meant = rich_workbook(book.with_name("other.xlsx")).read_bytes() + b""
    mine = contents(book, 42.0) if what == "saved again" else meant
    keep = replace_file._kept_as_backup

    def meanwhile(spare: Path, path: Path, now: datetime) -> Path:
        if what == "saved again":
            book.write_bytes(mine)
        else:
            book.with_name("~$book.xlsx").touch()
        return keep(spare, path, now)

    monkeypatch.setattr(replace_file, "_kept_as_backup", meanwhile)
    before, problems = book.read_bytes(), Problems()
    assert write_cells(book, [CellWrite("Products", "D5", 1)], problems) is None
    assert codes(problems.errors) == ["changed" if what == "saved again" else "open-elsewhere"]
    assert book.read_bytes() == (mine if what == "saved again" else before)
    assert not list(book.parent.glob("*backup*")) + list(book.parent.glob(".*"))


def test_the_backup_of_another_run_stays(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where another run takes the name of the backup in the same moment and the book is changed, its backup stays, only its own goes."""
    now, move = datetime(2031, 5, 4, 9, 30), replace_file.move_into_empty_place
    theirs = book.with_name("book backup 2031-05-04 093000.xlsx")

    def meanwhile(spare: Path, backup: Path) -> None:
        if not theirs.exists():
            theirs.write_bytes(b"what the other run keeps")
            book.write_bytes(contents(book, 42.0))
        move(spare, backup)

    monkeypatch.setattr(replace_file, "move_into_empty_place", meanwhile)
    problems = Problems()
    assert write_cells(book, [CellWrite("Products", "D5", 1)], problems, now=now) is None
    assert codes(problems.errors) == ["changed"]
    assert theirs.read_bytes() == b"what the other run keeps"
    assert [*book.parent.glob("*backup*"), *book.parent.glob(".*")] == [theirs]


@pytest.mark.parametrize(
    "harm", ["a bit of the copy", "another cell", "another member", "the formula", "the value", "the list of sheets"]
)
def test_a_new_file_that_is_not_what_was_meant_never_takes_the_old_ones_place(
    harm: str, book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each mistake that is planted in the new file is found when it is compared with the old one."""
    if harm == "a bit of the copy":
        write = replace_file._write

        def wrong(handle: int, data: bytes) -> None:
            write(handle, data[:-40] + b"?" + data[-39:])

        monkeypatch.setattr(replace_file, "_write", wrong)
    elif harm == "another member":
        rebuilt = writeback.rebuilt
        monkeypatch.setattr(
            writeback, "rebuilt", lambda package, changed: rebuilt(package, {**changed, "xl/styles.xml": b"<styleSheet/>"})
        )
    elif harm == "the list of sheets":
        monkeypatch.setattr(
            writeback, "with_recalculation", lambda data, part: data.replace(b'name="Apart"', b'name="Parts"')
        )
    else:
        find, put = {
            "another cell": (b'<c r="B5"><v>40</v>', b'<c r="B5"><v>41</v>'),
            "the formula": (b"<f>D5-C5</f>", b"<f>D5+C5</f>"),
            "the value": (b"<v>31.25</v>", b"<v>31.26</v>"),
        }[harm]
        rewrite = writeback.rewrite_sheet

        def spoiled(*arguments: object) -> bytes:
            made = rewrite(*arguments)  # type: ignore[arg-type]
            assert made.count(find) == (arguments[2] == "Products")
            return made.replace(find, put)

        monkeypatch.setattr(writeback, "rewrite_sheet", spoiled)
    old, problems = book.read_bytes(), Problems()
    assert write_cells(book, [CellWrite("Products", "D5", 31.25)], problems) is None
    assert codes(problems.errors) == ["comparison-failed"]
    assert book.read_bytes() == old
    assert [entry.name for entry in book.parent.iterdir()] == ["book.xlsx"]


def test_what_a_stopped_run_left_behind_goes(book: Path) -> None:
    """Copies that no living process holds are removed by a later write; of another machine's, those that are a day old."""
    with subprocess.Popen([sys.executable, "-c", ""]) as ended:
        pass
    mine = unfinished_name("book.xlsx", ".xlsx")
    names = {mine: True, mine.replace(f"-{os.getpid()}-", f"-{ended.pid}-"): False, ".other.xlsx.unfinished-1.tmp": False,
             ".book.xlsx.unfinished-0a0a0a0a-1-2.xlsx": True}
    for name in names:
        book.with_name(name).write_bytes(b"half")
    os.utime(book.with_name(".other.xlsx.unfinished-1.tmp"), (time.time() - 90_000,) * 2)
    assert write_cells(book, [CellWrite("Products", "D5", 1)], Problems())
    assert {name: book.with_name(name).exists() for name in names} == names


@pytest.mark.parametrize(
    ("make", "expected"),
    [
        (lambda path: None, "file-missing"),
        (lambda path: path.mkdir(), "not-a-file"),
        (lambda path: os.mkfifo(path), "not-a-file"),
        (lambda path: path.symlink_to(path.with_name("nowhere")), "file-missing"),
        (lambda path: path.symlink_to(path), "not-written"),
    ],
)
def test_what_is_not_there_or_no_file(make: Callable[[Path], object], expected: str, tmp_path: Path) -> None:
    """A missing file, a folder, a pipe and dead links are refused at once."""
    path, problems = tmp_path / "book.xlsx", Problems()
    make(path)
    assert write_cells(path, [CellWrite("Prices", "A1", 1)], problems) is None
    assert codes(problems.errors) == [expected]


def test_a_file_beyond_the_size_that_is_read_is_refused(tmp_path: Path) -> None:
    """A file of more than half a gigabyte is not read at all."""
    path, problems = tmp_path / "book.xlsx", Problems()
    with path.open("wb") as file:
        file.truncate(LARGEST_FILE + 1)
    assert write_cells(path, [CellWrite("Prices", "A1", 1)], problems) is None
    assert codes(problems.errors) == ["file-too-large"]


def test_writers_at_once_lose_no_value(book: Path) -> None:
    """Of several processes that write different cells, each repeats when the file changed, and all values arrive."""
    script = textwrap.dedent("""
        import sys
        from pathlib import Path
        from pricing.xlsx.editing.write_cells import CellWrite, write_cells
        from pricing.problems import Problems
        for column in "KLMNO":
            codes = ["changed"]
            while codes == ["changed"]:
                problems = Problems()
                write_cells(Path(sys.argv[1]), [CellWrite("Products", column + sys.argv[2], 1)], problems, backup=False)
                codes = [problem.code for problem in problems]
            assert not codes, codes
    """)
    environment = os.environ | {"PYTHONPATH": str(PROJECT)}
    command = [sys.executable, "-c", script, str(book)]
    running = [subprocess.Popen([*command, str(row)], env=environment) for row in range(1, 5)]
    assert [process.wait(60) for process in running] == [0, 0, 0, 0]
    stored = values(book)
    assert [stored.get(f"Products!{column}{row}") for row in range(1, 5) for column in "KLMNO"] == [1] * 20
