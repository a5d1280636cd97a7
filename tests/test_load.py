"""Heavy loads: nothing is lost, nothing is doubled, and memory stays bounded.

The ordinary run takes small loads; the large ones are run with ``pytest -m slow tests/test_load.py`` and take up to an hour.
"""

from __future__ import annotations

import contextlib
import math
import os
import random
import signal
import string
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import DAY, small_book, write_book
from hostile_texts import write_workshop
from load_runs import Found, command, environment, load_book, measured
from written_parts import Package, faults_of

from pricing.api.quoting import MARGIN_FILE
from pricing.book.reading.cells import LONGEST_NAME
from pricing.register.issue_files import fingerprint_of
from pricing.register.register import Register
from pricing.reports.margin.parts import MOST_LINES, part_file_name

if sys.platform == "win32":
    pytest.skip("the memory of a process is not told on this system", allow_module_level=True)

#: Memory that a run may hold [MiB]: what the program takes by itself, and for each quote or product.
PROGRAM, PER_QUOTE, PER_PRODUCT = 400, 0.25, 0.004


def workbooks(out: Path) -> list[str]:
    """The names of all files in a folder; whatever was left behind is among them."""
    return sorted(path.name for path in out.iterdir())


def margins_of(count: int) -> list[str]:
    """The margin workbooks of so many quotes of two lines."""
    return [part_file_name(MARGIN_FILE, number) for number in range(1, math.ceil(count * 2 / MOST_LINES) + 1)]


def check_quotes(book: Path, out: Path, count: int) -> None:
    """Each quote is there once, whole, its own, and on record as what stands in the folder."""
    names = [f"Q-{number:05}" for number in range(count)]
    assert workbooks(out) == sorted([*(f"{name} quote.xlsx" for name in names), *margins_of(count)])
    with Register.open(book, to_read=True) as register:
        entries = register.quotes(day=DAY, every_revision=True)
    assert sorted(entry.number for entry in entries) == names
    assert {(entry.revision, entry.state) for entry in entries} == {(1, "issued")}
    for number, entry in enumerate(sorted(entries, key=lambda entry: entry.number)):
        assert entry.customer == f"Customer {number // 5}"
        assert entry.fingerprint == fingerprint_of(out / f"{entry.number} quote.xlsx")
    for number in {0, count // 3, count // 2, count - 1}:
        path = out / f"Q-{number:05} quote.xlsx"
        texts = set(Package(path).strings)
        assert not faults_of(path)
        assert {f"Q-{number:05}", f"Customer {number // 5}"} <= texts
        others = {text for text in texts if text.startswith(("Q-0", "Customer "))}
        assert others == {f"Q-{number:05}", f"Customer {number // 5}"}


def quotes_in_one_run(folder: Path, count: int, timeout: float) -> Found:
    """Price, write and record so many quotes, and look at what is there."""
    book = load_book(folder / "book.xlsx", products=400, quotes=count)
    found = measured("quotes", book, folder / "out", timeout=timeout)
    assert found["quotes"] == count
    assert found["written"] == count + len(margins_of(count))
    assert found["megabytes"] < PROGRAM + PER_QUOTE * count
    check_quotes(book, folder / "out", count)
    with Register.open(book, to_read=True) as register:
        recorded = sum(entry.totals["payable"] for entry in register.quotes(day=DAY))
    assert recorded == pytest.approx(found["payable"], rel=1e-12)
    return found


def products_in_one_book(folder: Path, count: int, timeout: float) -> Found:
    """Read and cost a catalogue, and hold its first pieces against the same pieces in a small book."""
    few = load_book(folder / "few.xlsx", products=50, quotes=1)
    many = load_book(folder / "many.xlsx", products=count, quotes=1)
    found = measured("products", many, folder, timeout=timeout)
    alone = measured("products", few, folder, timeout=timeout)
    assert found["products"] == count
    assert found["first"] == alone["first"]
    assert len(set(found["first"])) == 50
    assert found["least"] > 0
    assert found["megabytes"] < PROGRAM + PER_PRODUCT * count
    return found


def runs_at_once(folder: Path, runs: int, count: int, timeout: float) -> None:
    """So many runs over one book and one folder at the same time: as if there had been one."""
    book = load_book(folder / "book.xlsx", products=40, quotes=count)
    out = folder / "out"
    started = [
        subprocess.Popen(command("quotes", book, out), env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for _ in range(runs)
    ]
    told = [process.communicate(timeout=timeout)[1][-2000:] for process in started]
    assert [process.returncode for process in started] == [0] * runs, told
    check_quotes(book, out, count)
    assert not faults_of(out / MARGIN_FILE)
    alone = load_book(folder / "alone" / "book.xlsx", products=40, quotes=count)
    measured("quotes", alone, folder / "alone" / "out", timeout=timeout)
    for name in workbooks(folder / "alone" / "out"):
        assert fingerprint_of(out / name) == fingerprint_of(folder / "alone" / "out" / name), name


def long_names(folder: Path, count: int, timeout: float) -> Found:
    """Names as long as a name may be, all different, in every place that has a name, and notes that nearly fill their cells."""
    letters = LONGEST_NAME - len("0000 ")
    names = [f"{number:04} " + "".join(random.Random(number).choices(string.ascii_letters, k=letters)) for number in range(count)]
    book = write_workshop(folder / "book.xlsx", names)
    found = measured("quotes", book, folder / "out", timeout=timeout)
    assert found["quotes"] == count + 2
    paths = list((folder / "out").glob("*quote.xlsx"))
    assert len(paths) == count + 2
    for path in paths[:6]:
        assert not faults_of(path)
    with contextlib.closing(openpyxl.load_workbook(folder / "out" / MARGIN_FILE, read_only=True)) as margin:
        for sheet in margin.worksheets:
            for row in sheet.iter_rows(values_only=True):
                assert all(len(value) <= 32_767 for value in row if isinstance(value, str))
    with Register.open(book, to_read=True) as register:
        assert {entry.customer for entry in register.quotes(day=DAY)} >= set(names)
    return found


def test_sixty_quotes_in_one_run(tmp_path: Path) -> None:
    """Sixty quotes are sixty workbooks and sixty records."""
    quotes_in_one_run(tmp_path, 60, 120)


def test_two_thousand_products_in_one_book(tmp_path: Path) -> None:
    """A piece costs the same in a catalogue of two thousand as in one of fifty."""
    products_in_one_book(tmp_path, 2_000, 120)


def test_eight_runs_at_once_in_one_folder(tmp_path: Path) -> None:
    """Eight runs at once leave what one run leaves, byte for byte, and record each quote once."""
    runs_at_once(tmp_path, 8, 6, 300)


def test_a_run_that_is_stopped_leaves_nothing_behind(tmp_path: Path) -> None:
    """After a run was stopped anywhere, the next one leaves what it would have left alone, and no hidden folder."""
    book = load_book(tmp_path / "book.xlsx", products=40, quotes=40)
    out = tmp_path / "out"
    for least in (1, 20):
        process = subprocess.Popen(command("quotes", book, out), env=environment(), stdout=subprocess.DEVNULL, start_new_session=True)
        while process.poll() is None and len(list(out.glob("*quote.xlsx"))) < least:
            time.sleep(0.02)
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
    measured("quotes", book, out, timeout=120)
    check_quotes(book, out, 40)


def test_names_as_long_as_they_may_be(tmp_path: Path) -> None:
    """Three of everything, each called by 1,000 letters and noted in 32,000, are read, priced, written and recorded."""
    found = long_names(tmp_path, 3, 120)
    assert found["megabytes"] < PROGRAM


@pytest.mark.slow
def test_ten_thousand_quotes_in_one_run(tmp_path: Path) -> None:
    """Ten thousand quotes are ten thousand workbooks and ten thousand records."""
    quotes_in_one_run(tmp_path, 10_000, 7_200)


@pytest.mark.slow
def test_two_hundred_thousand_products_in_one_book(tmp_path: Path) -> None:
    """A piece costs the same in a catalogue of two hundred thousand as in one of fifty."""
    products_in_one_book(tmp_path, 200_000, 1_200)


@pytest.mark.slow
def test_eight_runs_at_once_with_many_quotes(tmp_path: Path) -> None:
    """The same with two hundred quotes each."""
    runs_at_once(tmp_path, 8, 200, 3_600)


@pytest.mark.slow
def test_many_names_as_long_as_they_may_be(tmp_path: Path) -> None:
    """Sixty of everything, each called by 1,000 letters and noted in 32,000."""
    found = long_names(tmp_path, 60, 1_800)
    assert found["megabytes"] < 2 * PROGRAM


def sheets_of(count: int) -> dict[str, list[list[Any]]]:
    """The small workshop with a quote to which a line is added again and again."""
    sheets = small_book()
    lines = [["Q-1", DAY, "Ada Field", "Slab 1000", 1, 600 + line, None, None, None] for line in range(count)]
    sheets["Enquiries"] = [sheets["Enquiries"][0], *lines]
    sheets["Delivery"].append(["Near", 100_000, 900])
    return sheets


def test_a_quote_of_many_lines(tmp_path: Path) -> None:
    """A quote may have as many lines as it likes: each stands on its page, numbered, and they add up."""
    book = write_book(tmp_path / "book.xlsx", sheets_of(150))
    measured("quotes", book, tmp_path / "out", timeout=120)
    path = tmp_path / "out" / "Q-1 quote.xlsx"
    assert not faults_of(path)
    sheet = openpyxl.load_workbook(path, data_only=True).worksheets[0]
    numbered = [row for row in sheet.iter_rows(values_only=True) if isinstance(row[0], int) and isinstance(row[7], int | float)]
    assert [row[0] for row in numbered] == list(range(1, 151))
    with Register.open(book, to_read=True) as register:
        assert register.quotes(day=DAY)[0].totals["lines_net"] == pytest.approx(sum(row[7] for row in numbered), rel=1e-12)
