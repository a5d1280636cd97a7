"""A finished job moves a standard once: what was accepted from it is noted beside the price book."""

from __future__ import annotations

import copy
import itertools
import sqlite3
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import small_book, write_book
from hypothesis import given
from hypothesis import strategies as st

import pricing
from pricing.book.reading.read import load_price_book
from pricing.costing.jobs.accept import accept_standards
from pricing.costing.jobs.accepted_jobs import Acceptance, CountedJob, in_force
from pricing.costing.jobs.credibility import updated_standard
from pricing.costing.jobs.proposals import Proposal
from pricing.problems import Problems
from pricing.register.accepted_standards import acceptances
from pricing.register.database import register_path
from pricing.register.register import Register
from pricing.register.review_jobs import Reviewed
from pricing.xlsx.editing.write_cells import CellWrite, write_cells

CAST = "Labour!D6"
HEADINGS = ["Quote", "Product", "Item", "Kind", "Quantity", "Cost"]

#: Hours of casting of jobs of twelve blocks each: 12 minutes a cast are 2.4 hours.
HOURS = {"Q-2": 3.0, "Q-3": 3.6, "Q-4": 2.7}


def book_of(folder: Path, *quotes: str) -> Path:
    """A book with jobs of twelve blocks, those named finished."""
    sheets = copy.deepcopy(small_book())
    for quote in ("Q-3", "Q-4"):
        sheets["Enquiries"].append([quote, sheets["Enquiries"][1][1], "Brook House", "Block", 12, None, None, None, None])
    sheets["Actuals"] = [HEADINGS, *([quote, "Block", "Cast", "step", HOURS[quote], None] for quote in quotes)]
    return write_book(folder / "small.xlsx", sheets)


def finish(path: Path, *quotes: str) -> None:
    """More jobs are finished, in the book as it stands."""
    table = load_price_book(path).tables["Actuals"]
    writes = []
    for row, quote in enumerate(quotes, len(table) + 2):
        values: tuple[str | float, ...] = (quote, "Block", "Cast", "step", HOURS[quote])
        writes += [CellWrite("Actuals", f"{column}{row}", value) for column, value in zip("ABCDE", values, strict=True)]
    assert write_cells(path, writes, problems := Problems(), backup=False) is not None, list(map(str, problems))


def cast(found: Reviewed) -> Proposal:
    """What is proposed for the minutes of casting."""
    return next(each for each in found.proposals if each.place == CAST)


def minutes(path: Path) -> float:
    """What the book has for them."""
    return float(load_price_book(path).tables["Labour"]["minutes"][4])


def accept(path: Path, quotes: list[str] | None = None) -> None:
    found = pricing.review(path, quotes=quotes, accept=[CAST])
    assert not found.problems.errors, list(map(str, found.problems))


def seen(quote: str) -> float:
    """Minutes of a cast as a job took them."""
    return HOURS[quote] * 60 / 12


def test_accepted_twice_is_accepted_once(tmp_path: Path) -> None:
    """The second time nothing new is known: the standard stays, a sentence says so, and there is one note, in a register begun for it."""
    path = book_of(tmp_path, "Q-2")
    assert not register_path(path).exists()
    accept(path)
    after, content = minutes(path), path.read_bytes()
    assert after == float(f"{updated_standard(12, [seen('Q-2')]).value:.3g}")
    again = pricing.review(path, accept=[CAST])
    assert [problem.message for problem in again.problems.errors] == [
        "Labour!D6 Plain, Cast: nothing new is known; the finished job that speaks of it went into it when it was accepted"]
    assert again.accepted is None
    assert path.read_bytes() == content
    assert (cast(again).nothing_new, cast(again).value, cast(again).jobs_in_it, cast(again).jobs) == (True, after, 1, ())
    with Register.open(path) as register:
        assert [(each.before, each.after) for each in acceptances(register)] == [(12.0, after)]


def test_a_new_job_moves_it_by_itself_alone(tmp_path: Path) -> None:
    """Today's figure, worth five jobs and the one in it, against one new job: a seventh of the way."""
    path = book_of(tmp_path, "Q-2")
    accept(path)
    today = minutes(path)
    finish(path, "Q-3")
    found = cast(pricing.review(path))
    assert (found.jobs_in_it, [job.quote for job in found.jobs], found.count) == (1, ["Q-3"], 1)
    assert found.seen == pytest.approx(seen("Q-3"))
    assert found.value == pytest.approx(today + (seen("Q-3") - today) / 7)


@pytest.mark.parametrize("order", list(itertools.permutations(HOURS)), ids=" ".join)
def test_job_by_job_or_all_at_once(tmp_path: Path, order: tuple[str, ...]) -> None:
    """Accepting after each job, in any order, comes to what accepting once after all of them does.

    What is written has three digits, so that each of the three figures may be 0.05 off, and carries 6/7 and 7/8 of that on.
    """
    path = book_of(tmp_path, *HOURS)
    for quote in order:
        accept(path, [quote])
    together = updated_standard(12, [seen(quote) for quote in HOURS]).value
    assert minutes(path) == pytest.approx(together, abs=0.05 * (6 / 8 + 7 / 8 + 1))
    assert pricing.review(path, accept=[CAST]).problems.errors[0].code == "nothing-new"


def test_each_standard_has_jobs_of_its_own(tmp_path: Path) -> None:
    """A job that went into one standard is still new to another."""
    path = book_of(tmp_path, "Q-2")
    sheets: dict[str, list[list[Any]]] = small_book()
    sheets["Actuals"] = [HEADINGS, ["Q-2", "Block", "Cast", "step", 3.0, None], ["Q-2", "Block", "Pack", "step", 2.0, None]]
    write_book(path, sheets)
    accept(path)
    found = {each.place: each for each in pricing.review(path).proposals}
    assert found[CAST].nothing_new
    assert not found["Labour!D10"].nothing_new


def test_a_row_that_moved_is_the_same_standard(tmp_path: Path) -> None:
    """A step put in above moves the row; its jobs are known all the same."""
    path = book_of(tmp_path, "Q-2")
    accept(path)
    sheets = small_book()
    sheets["Labour"][5][3] = minutes(path)
    sheets["Labour"].insert(1, ["Other", "Sweep", "Maker", 5, "order", None, None, "no"])
    sheets["Actuals"] = [HEADINGS, ["Q-2", "Block", "Cast", "step", 3.0, None]]
    write_book(path, sheets)
    assert next(each for each in pricing.review(path).proposals if each.place == "Labour!D7").nothing_new


class Ended(BaseException):
    """The process ends here."""


@pytest.mark.parametrize("written", [False, True])
def test_a_process_that_ends_in_between_counts_nothing_twice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, written: bool) -> None:
    """Ended before the book is written, the job is still new and moves it once; ended after, it is in it and does not move it again."""
    path = book_of(tmp_path, "Q-2")
    once = float(f"{updated_standard(12, [seen('Q-2')]).value:.3g}")
    def ended(*arguments: Any, **more: Any) -> None:
        if written:
            accept_standards(*arguments, **more)
        raise Ended

    monkeypatch.setattr("pricing.register.review_jobs.accept_standards", ended)
    with pytest.raises(Ended):
        pricing.review(path, accept=[CAST])
    monkeypatch.undo()
    assert minutes(path) == (once if written else 12)
    found = pricing.review(path, accept=[CAST])
    assert [problem.code for problem in found.problems.errors] == (["nothing-new"] if written else [])
    assert minutes(path) == once
    assert cast(pricing.review(path)).nothing_new


def test_a_backup_that_is_put_back_makes_the_jobs_new_again(tmp_path: Path) -> None:
    """The old figure does not hold what was accepted since."""
    path = book_of(tmp_path, "Q-2")
    before = path.read_bytes()
    accept(path)
    path.write_bytes(before)
    assert (cast(pricing.review(path)).jobs_in_it, len(cast(pricing.review(path)).jobs)) == (0, 1)


def test_a_figure_typed_by_hand_since(tmp_path: Path) -> None:
    """Who types another figure knows the jobs that were accepted: they are not counted again, and the figure is worth five jobs."""
    path = book_of(tmp_path, "Q-2")
    accept(path)
    assert write_cells(path, [CellWrite("Labour", "D6", 20.0)], Problems(), backup=False) is not None
    finish(path, "Q-3")
    found = cast(pricing.review(path))
    assert [job.quote for job in found.jobs] == ["Q-3"]
    assert found.value == pytest.approx(20 + (seen("Q-3") - 20) / 6)


def test_a_refused_writing_leaves_no_note(tmp_path: Path) -> None:
    """The book is open elsewhere: nothing is written, and the job is still new."""
    path = book_of(tmp_path, "Q-2")
    path.with_name("~$small.xlsx").touch()
    found = pricing.review(path, accept=[CAST])
    assert found.problems.errors
    with Register.open(path) as register:
        assert acceptances(register) == []
    assert not cast(pricing.review(path)).nothing_new


def test_without_a_note_nothing_is_accepted(tmp_path: Path) -> None:
    """What lies in the place of the register is none: a sentence says so, and the book stays as it is."""
    path = book_of(tmp_path, "Q-2")
    register_path(path).write_bytes(b"no database at all, and long enough to be looked at" * 40)
    before = path.read_bytes()
    found = pricing.review(path, accept=[CAST])
    assert any("no standard is accepted" in problem.message for problem in found.problems.errors)
    assert path.read_bytes() == before


def test_a_register_of_before_is_carried_on(tmp_path: Path) -> None:
    """A register without the notes gets room for them, and keeps what it has."""
    path = book_of(tmp_path, "Q-2")
    pricing.price_quotes(path, out=tmp_path / "out", record="issued")
    with sqlite3.connect(register_path(path)) as connection:
        connection.executescript("DROP TABLE counted_jobs; DROP TABLE accepted_standards")
    connection.close()
    accept(path)
    with Register.open(path) as register:
        assert len(acceptances(register)) == 1
        assert len(register.quotes()) == 4


@given(st.lists(st.sampled_from(["accepted", "not written", "undone", "typed"]), max_size=10))
def test_no_job_counts_twice_and_none_is_lost_by_an_ending(steps: list[str]) -> None:
    """Through any run of acceptances, endings before the writing and returns to the figure before, as long as every figure is
    another: the jobs in force are those whose acceptance led to the figure that stands."""
    today, fresh = 12.0, itertools.count(100.0)
    history: list[Acceptance] = []
    standing: list[tuple[Acceptance, float]] = []
    for number, what in enumerate(steps):
        if what in ("accepted", "not written"):
            made = Acceptance("cast", today, next(fresh), (CountedJob(f"Q-{number}", 1.0, 1),))
            history.append(made)
            if what == "accepted":
                standing.append((made, today))
                today = made.after
        elif what == "undone" and standing and today == standing[-1][0].after:
            today = standing.pop()[1]
        elif what == "typed" and standing and history[-1] is standing[-1][0]:
            today = next(fresh)
    assert in_force(history, today) == [made for made, _ in standing]


def test_the_review_workbook_says_what_is_in_it_and_what_is_new(tmp_path: Path) -> None:
    """Of each standard the jobs in today's figure and the new ones; how to accept is told of one of which something new is known."""
    path = book_of(tmp_path, "Q-2")
    accept(path)
    pricing.review(path, out=tmp_path / "out")
    rows = list(openpyxl.load_workbook(tmp_path / "out" / "review.xlsx", data_only=True)["Standards"].iter_rows(values_only=True))
    headings = next(list(row) for row in rows if "Jobs in it" in row)
    values = next(row for row in rows if "Plain, Cast" in row)
    assert (values[headings.index("Jobs in it")], values[headings.index("New jobs")], values[headings.index("Moves by")]) == (1, 0, 0)
    assert any(row[0] == "Nothing new is known of any of them." for row in rows)
    finish(path, "Q-3")
    pricing.review(path, out=tmp_path / "out")
    rows = list(openpyxl.load_workbook(tmp_path / "out" / "review.xlsx")["Standards"].iter_rows(values_only=True))
    values = next(row for row in rows if "Plain, Cast" in row)
    assert (values[headings.index("Jobs in it")], values[headings.index("New jobs")]) == (1, 1)
    assert any('--accept "Labour!D6"' in str(row[0]) for row in rows)
