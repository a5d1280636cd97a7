"""Better standards: what finished jobs propose, and how chosen ones get into the price book."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import small_book, write_book

from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.model import Model
from pricing.costing.jobs.accept import accept_standards, chosen_proposals
from pricing.costing.jobs.credibility import updated_standard
from pricing.costing.jobs.declared import STANDARD_KINDS
from pricing.costing.jobs.proposals import Proposal, propose_standards, standards_tables
from pricing.costing.jobs.review import review_jobs
from pricing.problems import Problems
from pricing.xlsx.editing.write_cells import file_fingerprint

ACTUALS: list[list[Any]] = [
    ["Quote", "Product", "Item", "Kind", "Quantity", "Cost"],
    ["Q-1", "Slab 1000", "Cast", "step", "72 min", None],
    ["Q-2", "Block", "Cast", "step", 2.4, None],
    ["Q-1", "Slab 1000", "holes", "rejected", 1, None],
    ["Q-2", "Block", None, "rejected", 0, None],
    ["Q-1", "", "Melamine", "mould casts", 6, None],
    ["Q-1", "", "Melamine", "mould casts", 8, None],
    ["Q-1", "", "Sealer", "material", 1.2, 25],
]


def written(folder: Path, **sheets: list[list[Any]]) -> Path:
    return write_book(folder / "small.xlsx", {**small_book(), "Actuals": ACTUALS, **sheets})


def proposals_of(path: Path) -> dict[str, Proposal]:
    book = load_price_book(path)
    return {each.place: each for each in propose_standards(book, review_jobs(book, Problems()))}


def test_minutes_by_hand(tmp_path: Path) -> None:
    """72 minutes for four slabs at 5 % rejects where 12 a cast are allowed, and 144 for twelve blocks: two jobs, weighed by hours."""
    found = proposals_of(written(tmp_path))["Labour!D6"]
    first, second = 72 / (4 / 0.95), 12.0
    hours = (4 / 0.95 * 12 / 60, 12 * 12 / 60)
    mean = (first * hours[0] + second * hours[1]) / sum(hours)
    assert (found.today, found.count) == (12.0, 2)
    assert found.seen == pytest.approx(mean)
    assert found.credibility == pytest.approx(2 / 7)
    assert found.value == pytest.approx(12 + 2 / 7 * (mean - 12))
    expected = updated_standard(12.0, [first, second], hours)
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high))


def test_coverage_by_hand(tmp_path: Path) -> None:
    """Two coats at 8 m2 a litre and 10 % wasted: what covers less was used more, by the same ratio."""
    found = proposals_of(written(tmp_path))["Finishes!C2"]
    slab, shelf = 0.5 + 3.0 * 0.04, 0.8 * 0.25
    assert found.seen < 8
    allowed = found.seen / 8 * 1.2
    assert allowed > (4 * slab + 3 * shelf) * 2 / 8 * 1.1


def test_rejects_and_mould_lives(tmp_path: Path) -> None:
    """One of five slabs, none of twelve blocks; moulds that gave 6 and 8 casts instead of 10."""
    found = proposals_of(written(tmp_path))
    slab, block, life = found["Products!N2"], found["Products!N4"], found["Moulds!C2"]
    assert (slab.seen, slab.value) == pytest.approx((0.2, 0.05 + 1 / 6 * 0.15))
    assert (block.seen, block.value, block.low) == (0, 0, 0)
    assert block.high > 0, "none of twelve does not prove that none will ever be rejected"
    assert (life.seen, life.value, life.written) == pytest.approx((7.0, 10 - 2 / 7 * 3, 9))


def test_the_written_table_says_the_same(tmp_path: Path) -> None:
    """The live formula of the proposal is the shrinkage's figure, and its moves add up."""
    every = list(proposals_of(written(tmp_path)).values())
    values = evaluate(Model(standards_tables(every)))
    for kind in STANDARD_KINDS:
        wanted = [each.value for each in every if each.kind == kind]
        assert values.value(f"standards: {kind}", "proposed_standard").tolist() == pytest.approx(wanted, rel=1e-12)


def test_nothing_changes_by_itself(tmp_path: Path) -> None:
    """Looking at finished jobs leaves the file as it is."""
    path = written(tmp_path)
    before = path.read_bytes()
    proposals_of(path)
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["small.xlsx"]


def test_chosen_ones_are_written_and_read_again(tmp_path: Path) -> None:
    """By cell or by name, in any letter case; other cells stay, and the old file is kept beside."""
    path = written(tmp_path)
    before = path.read_bytes()
    book, problems = load_price_book(path), Problems()
    every = list(proposals_of(path).values())
    chosen = chosen_proposals(every, ["labour!$d$6", "MELAMINE, casts", "Slab 1000, rejects", "Sealed, Sealer"], problems)
    accepted = accept_standards(book, chosen, problems, fingerprint=file_fingerprint(path))
    assert not problems.errors
    assert accepted is not None
    assert accepted.backup is not None
    assert accepted.backup.read_bytes() == before
    after = load_price_book(path)
    assert after.tables["Labour"]["minutes"][4] == next(each.written for each in chosen if each.kind == "minutes")
    assert after.tables["Moulds"]["lasts"][0] == 9
    assert after.tables["Products"]["rejects"][0] == pytest.approx(0.075)
    assert after.tables["Finishes"]["covers"][0] == next(each.written for each in chosen if each.kind == "coverage")
    assert after.tables["Labour"]["minutes"][:4].tolist() == book.tables["Labour"]["minutes"][:4].tolist()


#: How a figure stands in the cell, under which heading, and what is written for 12.6 minutes instead of 12.
TYPED: list[tuple[str, Any, Any]] = [
    ("Minutes", 12, 12.6), ("Minutes (h)", 0.2, 0.21), ("Minutes (min)", "12 min", "12.6 min"), ("Minutes", "0.2 h", "12.6 min"),
    ("Minutes (s)", 720, 756),
]


@pytest.mark.parametrize(("heading", "typed", "new"), TYPED)
def test_a_figure_is_written_the_way_it_was_typed(tmp_path: Path, heading: str, typed: Any, new: Any) -> None:
    """A number under its heading's unit stays one; a text gets its unit; either is read as 12.6 minutes."""
    labour = small_book()["Labour"]
    labour[0][3] = heading
    if heading in ("Minutes (h)", "Minutes (s)"):
        for row in labour[1:]:
            row[3] = row[3] / 60 if heading == "Minutes (h)" else row[3] * 60
    labour[5][3] = typed
    path = written(tmp_path, Labour=labour)
    book, problems = load_price_book(path), Problems()
    found = proposals_of(path)["Labour!D6"]
    wanted = Proposal("minutes", found.name, found.measure, found.unit, found.sheet, found.cell, 12.0, 15.0, 12.6, 1, 11.0, 14.0, 0.2)
    assert accept_standards(book, [wanted], problems) is not None, [str(problem) for problem in problems]
    assert openpyxl.load_workbook(path)["Labour"]["D6"].value == new
    assert math.isclose(load_price_book(path).tables["Labour"]["minutes"][4], 12.6, rel_tol=1e-9)


@pytest.mark.parametrize(("typed", "new"), [("5 %", "7.5 %"), (0.05, 0.075), (None, "7.5 %")])
def test_a_share_is_written_so_that_it_is_read_as_one(tmp_path: Path, typed: Any, new: Any) -> None:
    """Neither 7.5 nor 0.075 % comes of it, whatever stood there."""
    products = small_book()["Products"]
    products[1][13] = typed
    path = written(tmp_path, Products=products)
    book, problems = load_price_book(path), Problems()
    proposal = Proposal("rejects", "x", "", "%", "Products", "N2", 0.05 if typed else 0.0, 0.2, 0.075, 1, 0.0, 0.2, 0.2)
    assert accept_standards(book, [proposal], problems) is not None, [str(problem) for problem in problems]
    assert openpyxl.load_workbook(path)["Products"]["N2"].value == new
    assert load_price_book(path).tables["Products"]["rejects"][0] == pytest.approx(0.075)


def test_a_formula_is_not_overwritten(tmp_path: Path) -> None:
    """A standard that is worked out is refused with its cell, and nothing is written."""
    path = written(tmp_path)
    workbook = openpyxl.load_workbook(path)
    workbook["Labour"]["D6"].value = "=6*2"
    workbook.save(path)
    book = load_price_book(write_book(tmp_path / "plain.xlsx", {**small_book(), "Actuals": ACTUALS}))
    found = propose_standards(book, review_jobs(book, Problems()))
    book.path = path
    before = path.read_bytes()
    assert accept_standards(book, [each for each in found if each.place == "Labour!D6"], problems := Problems()) is None
    assert [(problem.code, problem.cell) for problem in problems.errors] == [("formula", "D6")]
    assert path.read_bytes() == before


def test_a_file_that_changed_meanwhile_is_left(tmp_path: Path) -> None:
    """What was read is not what is there: nothing is written."""
    path = written(tmp_path)
    book, mark = load_price_book(path), file_fingerprint(path)
    every = list(proposals_of(path).values())
    path.write_bytes(path.read_bytes() + b"\0")
    changed = path.read_bytes()
    assert accept_standards(book, every[:1], problems := Problems(), fingerprint=mark) is None
    assert problems.errors
    assert path.read_bytes() == changed


def test_an_unknown_name_is_told_with_the_nearest(tmp_path: Path) -> None:
    """One sentence for each that is not proposed."""
    every = list(proposals_of(written(tmp_path)).values())
    assert chosen_proposals(every, ["Plain, Cst", "Labour!D99"], problems := Problems()) == []
    assert len(problems.errors) == 2
    assert 'is "Plain, Cast" meant?' in problems.errors[0].message


def test_the_book_is_read_without_a_problem_after_all_are_accepted(tmp_path: Path) -> None:
    """Every proposal at once."""
    path = written(tmp_path)
    every = list(proposals_of(path).values())
    assert accept_standards(load_price_book(path), every, problems := Problems()) is not None, [str(problem) for problem in problems]
    book, found = read_price_book(path)
    assert book is not None
    assert not found.errors
