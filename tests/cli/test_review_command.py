"""``pricing review``: what it prints and writes, what it accepts, and what it says of bad input."""

from __future__ import annotations

import datetime
import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from books import DAY, set_cell, small_book, write_book
from click.testing import CliRunner, Result

import pricing
from pricing.api import price_quotes
from pricing.book.reading.read import load_price_book
from pricing.cli import main
from pricing.files.left_behind import unfinished_name
from pricing.register.register import Register

ACTUALS: list[list[Any]] = [
    ["Quote", "Product", "Item", "Kind", "Quantity", "Cost"],
    ["Q-2", "Block", "Set out", "step", 0.75, None], ["Q-2", "", "Cement", "material", 80, 35],
]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write_book(tmp_path / "small.xlsx", {**small_book(), "Actuals": ACTUALS})


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["review", *map(str, arguments)])


def test_it_prints_jobs_and_standards_and_writes_the_workbook(book: Path, tmp_path: Path) -> None:
    """A row for the job, a row for each better standard, and the file."""
    result = run(book, "--out", tmp_path / "out")
    assert result.exit_code == 0
    assert "Q-2  Brook House" in result.stdout
    assert "Labour!D2" in result.stdout
    assert f"written: {tmp_path / 'out' / 'review.xlsx'}" in result.stdout
    assert (tmp_path / "out" / "review.xlsx").exists()


def test_json_holds_the_same_as_python(book: Path, tmp_path: Path) -> None:
    """One object of numbers: jobs with their parts and items, standards, capacity, problems."""
    shown = json.loads(run(book, "--out", tmp_path / "out", "--json", "--quote", "q-2", "--quote", "Q-1").stdout)
    found = pricing.review(book, quotes=["Q-2", "Q-1"])
    assert found.review is not None
    job = shown["jobs"][0]
    assert sum(job["variances"].values()) == pytest.approx(job["variance"])
    assert job["cost"] - job["cost_allowed"] == pytest.approx(job["variance"])
    assert job["variance"] == found.review.job("job_variance")[0]
    assert sum(item["variance"] for item in job["items"]) + job["variances"]["overhead_time"] == pytest.approx(job["variance"])
    assert shown["standards"][0]["place"] == "Labour!D2"
    assert shown["standards"][0]["observations"] == 1
    assert shown["capacity"]["quotes"] == ["Q-1"]
    assert shown["capacity"]["bottleneck"] == "Hands"
    assert shown["sign"].endswith("above zero is adverse")


def test_accept_writes_into_the_book_and_keeps_the_old_one(book: Path, tmp_path: Path) -> None:
    """The cell changes, its neighbours stay, a backup stands beside, and the workbook shows what it was proposed from."""
    before = book.read_bytes()
    result = run(book, "--out", tmp_path / "out", "--accept", "labour!d2")
    assert result.exit_code == 0
    assert "accepted: Labour!D2 Plain, Set out is now 32.5" in result.stdout
    assert load_price_book(book).tables["Labour"]["minutes"][0] == 32.5
    backup = next(path for path in tmp_path.iterdir() if "backup" in path.name)
    assert backup.read_bytes() == before


def test_what_a_stopped_run_left_goes_though_it_had_accepted_already(book: Path, tmp_path: Path) -> None:
    """Accepted, and killed before the review was written: the same again says that nothing new is known, and leaves nothing hidden."""
    assert run(book, "--out", tmp_path / "out", "--accept", "Labour!D2").exit_code == 0
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    machine = unfinished_name("review.xlsx").rpartition("unfinished-")[2].partition("-")[0]
    left = tmp_path / "out" / f".review.xlsx.unfinished-{machine}-{ended.pid}-0123abcd.xlsx"
    left.write_bytes(b"half a workbook")
    again = run(book, "--out", tmp_path / "out", "--accept", "Labour!D2")
    assert (again.exit_code, "nothing new is known" in again.stderr, left.exists()) == (1, True, False)


@pytest.mark.parametrize(("arguments", "words"), [
    (["--accept", "Labour!D3"], 'there is no proposal for "Labour!D3"'), (["--quote", "Q-77"], 'there is no quote "Q-77"'),
])
def test_what_is_not_there_is_a_sentence(book: Path, tmp_path: Path, arguments: list[str], words: str) -> None:
    """Exit code 1, nothing changed, no traceback."""
    before = book.read_bytes()
    result = run(book, "--out", tmp_path / "out", *arguments)
    assert result.exit_code == 1
    assert words in result.stderr
    assert "Traceback" not in result.output
    assert book.read_bytes() == before


def test_a_workshop_without_machines_looks_back_too(tmp_path: Path) -> None:
    """Where no step has a machine the review is written, and nothing of the variance is the machines'."""
    sheets = small_book()
    del sheets["Machines"]
    for row in sheets["Labour"][1:]:
        row[5] = None
    book = write_book(tmp_path / "by hand.xlsx", {**sheets, "Actuals": ACTUALS})
    result = run(book, "--out", tmp_path / "out", "--json")
    assert result.exit_code == 0, result.output
    assert (tmp_path / "out" / "review.xlsx").exists()
    variances = json.loads(result.stdout)["jobs"][0]["variances"]
    assert {name: variances[name] for name in ("machine_spending", "machine_time")} == {"machine_spending": 0.0, "machine_time": 0.0}


def test_hours_that_nothing_gives_a_rate_for_are_a_sentence(tmp_path: Path) -> None:
    """Hours of a step that only a machine takes have no wage: without their cost they are told at their cell, with it they are taken."""
    sheets = small_book()
    next(row for row in sheets["Labour"] if row[1] == "Mix")[2] = None
    for cost, code in ((None, 1), (20, 0)):
        actuals = [ACTUALS[0], ["Q-2", "", "Mix", "step", 2, cost]]
        result = run(write_book(tmp_path / "small.xlsx", {**sheets, "Actuals": actuals}), "--out", tmp_path / "out")
        assert result.exit_code == code, result.output
        assert ('Actuals!E2  quote Q-2 has no standard rate of "Mix", and its cost is blank' in result.stderr) == (cost is None)


def test_nothing_to_look_at_is_a_sentence(tmp_path: Path) -> None:
    """Without Actuals and without an ordered quote there is nothing to write."""
    result = run(write_book(tmp_path / "small.xlsx", small_book()), "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert "nothing to look back or ahead at" in result.stderr
    assert not (tmp_path / "out").exists()
    assert run(tmp_path / "none.xlsx").exit_code == 1


def test_ordered_quotes_are_taken_from_the_register(tmp_path: Path) -> None:
    """What is ordered there is ahead, with what was promised and from the day of the order; what is finished is not."""
    path = write_book(tmp_path / "small.xlsx", {**small_book(), "Actuals": ACTUALS})
    price_quotes(path, out=tmp_path / "out", record="issued")
    ordered = DAY + datetime.timedelta(days=9)
    with Register.open(path) as register:
        for quote in ("Q-1", "Q-2"):
            register.mark(quote, "ordered", ordered)
        payable = register.quotes(number="Q-1")[0].totals["payable"]
    found = pricing.review(path)
    assert found.capacity is not None
    assert [order.quote for order in found.capacity.orders] == ["Q-1"]
    assert found.capacity.payments[0].day == ordered
    assert sum(payment.amount for payment in found.capacity.payments if payment.quote == "Q-1") == pytest.approx(payable)


def test_an_ordered_job_is_held_against_its_promise(tmp_path: Path) -> None:
    """Minutes that were changed after the quote was ordered do not excuse what the job took."""
    path = write_book(tmp_path / "small.xlsx", {**small_book(), "Actuals": ACTUALS})
    price_quotes(path, quotes=["Q-2"], out=tmp_path / "out", record="issued")
    with Register.open(path) as register:
        register.mark("Q-2", "ordered", DAY)
    sheets = {**small_book(), "Actuals": ACTUALS}
    sheets["Labour"][1][3] = 45
    write_book(path, sheets)
    promised = pricing.review(path)
    shutil.move(tmp_path / "small.register.sqlite", tmp_path / "away.sqlite")
    today = pricing.review(path)
    assert promised.review is not None
    assert today.review is not None
    assert promised.review.job("labour_time_sum")[0] == pytest.approx(6.0)
    assert today.review.job("labour_time_sum")[0] == pytest.approx(0.0, abs=1e-9)


def test_a_job_whose_order_was_not_noted_is_held_against_what_was_sent(tmp_path: Path) -> None:
    """The net and the margin quoted are those of the quote that was sent, not of list prices published since; and it is said."""
    path = write_book(tmp_path / "small.xlsx", {**small_book(), "Actuals": ACTUALS})
    price_quotes(path, quotes=["Q-2"], out=tmp_path / "out", record="issued")
    with Register.open(path) as register:
        sent = register.quotes(number="Q-2")[0].totals["net"]
    sheets = {**small_book(), "Actuals": ACTUALS}
    set_cell(sheets, "Products", "Block", "List price", 120)
    write_book(path, sheets)
    told = run(path, "--out", tmp_path / "out")
    assert told.exit_code == 0
    assert f"{sent:,.2f}" in told.stdout
    assert "quote Q-2 is finished, and the register has it as" in told.stderr
    assert "--mark Q-2=ordered" in told.stderr
    with Register.open(path) as register:
        register.mark("Q-2", "ordered", DAY)
    again = run(path, "--out", tmp_path / "out")
    assert again.stdout == told.stdout
    assert "is finished, and" not in again.stderr


def test_a_folder_that_cannot_be_written_is_a_sentence(book: Path, tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "taken").write_text("a file")
    result = run(book, "--out", tmp_path / "taken" / "inner")
    assert result.exit_code == 1
    assert "choose another folder" in result.stderr
