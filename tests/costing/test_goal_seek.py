"""What would bring a line to the lowest margin: each answer is put into the price book, and the book is costed again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import small_book, write_book
from test_sensitivity import CASES, base_book, held
from test_sensitivity import cost as cost_base

from pricing.book.reading.read import load_price_book
from pricing.costing.analysis.goal_seek import Goal, goal_seek, lines_to_seek, lowest_price
from pricing.costing.engine.packed_columns import DictionaryColumn
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.cheapest import with_moulds
from pricing.costing.run import cost_quotes

Sheets = dict[str, list[list[Any]]]


def cost(path: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(path, sheets)))


def thin() -> Sheets:
    """The small workshop with many rejects and four lines at thin prices, in two quotes."""
    sheets = small_book()
    for row in sheets["Products"][1:]:
        row[13] = "30 %"
    for row, quantity, price in zip(sheets["Enquiries"][1:], (8, 3, 12, 1), (101, 60, 26, 180), strict=True):
        row[4], row[7] = quantity, price
    return sheets


@pytest.fixture(scope="module")
def sought(tmp_path_factory: pytest.TempPathFactory) -> tuple[Costing, dict[int, list[Goal]]]:
    costing = cost(tmp_path_factory.mktemp("thin") / "book.xlsx", thin())
    return costing, goal_seek(costing)


def put_in(costing: Costing, line: int, goal: Goal, factor: float) -> Sheets:
    """The thin book with one input changed, for this line where it belongs to a line."""
    sheets = thin()
    if goal.input.name == "Run length":
        sheets["Enquiries"][line + 1][4] = round(sheets["Enquiries"][line + 1][4] * factor)
    elif goal.input.name == "Rejects":
        product = costing.products()[line]
        row = next(row for row in sheets["Products"] if row[0] == product)
        row[13] = f"{30 * factor:.15g} %"
    elif goal.input.name == "Casts of a mould":
        sheets["Moulds"][1][2] = round(sheets["Moulds"][1][2] * factor)
    elif goal.input.name in CASES:
        CASES[goal.input.name](sheets, factor)
    else:
        row = next(row for row in sheets["Materials"] if row[0] == goal.input.name)
        row[4] *= factor
    return sheets


def as_they_stand(costing: Costing, there: Costing) -> Costing:
    """The other costing with as many moulds at once as stand in the first: all but the one input is left as it is."""
    return with_moulds(there, costing.line("moulds_at_once"), DictionaryColumn.of(there.model.tables["lines"].text["moulds_because"]))


def test_there_is_something_to_seek(sought: tuple[Costing, dict[int, list[Goal]]]) -> None:
    """The cases below have answers of every kind: in proportion, in steps, in whole numbers, and none."""
    found = [goal for goals in sought[1].values() for goal in goals]
    reached = {goal.input.name for goal in found if np.isfinite(goal.factor)}
    assert {"Maker", "Overhead rate", "Rejects", "Run length"} <= reached
    assert any(np.isnan(goal.factor) for goal in found)


def test_each_change_reaches_the_lowest_margin(sought: tuple[Costing, dict[int, list[Goal]]], tmp_path: Path) -> None:
    """Put into the price book, each answer brings its line to the lowest margin: exactly, or just past a step."""
    costing, found = sought
    lowest = costing.setting("lowest_margin")
    for line, goals in found.items():
        for goal in goals:
            if np.isnan(goal.factor):
                continue
            there = as_they_stand(costing, cost(tmp_path / "there.xlsx", put_in(costing, line, goal, goal.factor)))
            margin = there.line("discounted_margin")[line]
            assert margin == pytest.approx(goal.margin, abs=1e-9), goal.input.name
            assert margin >= lowest - 2e-9, goal.input.name
            if goal.input.linear:
                assert margin == pytest.approx(lowest, abs=1e-9)


def test_no_smaller_change_does(sought: tuple[Costing, dict[int, list[Goal]]], tmp_path: Path) -> None:
    """A hair less of a smooth change, or one less of a whole number, leaves the line below."""
    costing, found = sought
    lowest = costing.setting("lowest_margin")
    for line, goals in found.items():
        for goal in goals:
            if np.isnan(goal.factor):
                continue
            step = 1 / goal.input.now if goal.input.whole else 1e-6
            less = goal.factor - step if goal.factor > 1 else goal.factor + step
            if less == pytest.approx(1):
                continue
            there = as_they_stand(costing, cost(tmp_path / "there.xlsx", put_in(costing, line, goal, less)))
            assert there.line("discounted_margin")[line] < lowest, goal.input.name


def test_where_none_is_found_none_does(sought: tuple[Costing, dict[int, list[Goal]]], tmp_path: Path) -> None:
    """An input of which no change is said to do it leaves the line below even where it costs nothing at all."""
    costing, found = sought
    lowest = costing.setting("lowest_margin")
    for line, goals in found.items():
        for goal in goals:
            if np.isfinite(goal.factor) or goal.input.whole:
                continue
            there = cost(tmp_path / "there.xlsx", put_in(costing, line, goal, 0.0))
            assert there.line("discounted_margin")[line] < lowest, goal.input.name


def test_the_price_it_takes(sought: tuple[Costing, dict[int, list[Goal]]], tmp_path: Path) -> None:
    """At the price it takes, a line earns the lowest margin, but for the rounding of its net."""
    costing, found = sought
    sheets = thin()
    for line in found:
        sheets["Enquiries"][line + 1][7] = float(lowest_price(costing)[line])
    there = cost(tmp_path / "there.xlsx", sheets)
    for line in found:
        slack = 0.006 / there.line("discounted_net")[line]
        assert there.line("discounted_margin")[line] == pytest.approx(costing.setting("lowest_margin"), abs=slack)


def test_smallest_changes_stand_first(sought: tuple[Costing, dict[int, list[Goal]]]) -> None:
    """For each line the inputs are in the order of how little of them it takes; those that cannot do it stand last."""
    for goals in sought[1].values():
        sizes = [abs(goal.factor - 1) for goal in goals]
        known = [size for size in sizes if np.isfinite(size)]
        assert sizes[: len(known)] == sorted(known)


def test_only_thin_lines_are_sought(sought: tuple[Costing, dict[int, list[Goal]]]) -> None:
    """The lines below the lowest margin, thinnest first."""
    costing, found = sought
    below = np.flatnonzero(costing.line("below_lowest")).tolist()
    assert len(below) > 1
    assert sorted(found) == below
    margins = costing.line("discounted_margin")[list(found)]
    assert (np.diff(margins) >= 0).all()


def test_where_no_line_is_thin_the_nearest_is_sought(tmp_path: Path) -> None:
    """With every line above, the nearest one is shown with what would bring it down to the lowest margin."""
    sheets = small_book()
    sheets["Enquiries"] = sheets["Enquiries"][:4]
    costing = cost(tmp_path / "base.xlsx", sheets)
    (line,) = lines_to_seek(costing)
    assert costing.line("discounted_margin")[line] == costing.line("discounted_margin").min()
    wage = next(goal for goal in goal_seek(costing)[line] if goal.input.name == "Maker")
    assert wage.factor > 1
    CASES["Maker"](sheets, wage.factor)
    for row, price in zip(sheets["Enquiries"][1:], costing.line("unit_price").tolist(), strict=True):
        row[7] = price
    there = cost(tmp_path / "there.xlsx", sheets)
    assert there.line("discounted_margin")[line] == pytest.approx(costing.setting("lowest_margin"), abs=1e-9)


def test_a_goal_that_leads_to_another_number_of_moulds_is_that_of_the_changed_book(tmp_path: Path) -> None:
    """Moulds that last a fifth as long: the margin is that of a book with such moulds, and the number that is chosen there is named."""
    base = cost_base(tmp_path, base_book())
    (goal,) = (each for each in goal_seek(base, [1])[1] if each.input.name == "Casts of a mould")
    sheets = base_book()
    CASES["Casts of a mould"](sheets, goal.factor)
    changed = cost_base(tmp_path, held(base, sheets))
    before, after = base.line("moulds_at_once"), changed.line("moulds_at_once")
    changes = [line for line in base.lines_of(base.lines.quote[1]) if before[line] != after[line]]
    named = [f"{before[line]:.0f} → {after[line]:.0f} moulds" for line in changes]
    assert len(named) == 1
    assert goal.moulds == named[0]
    assert goal.margin == pytest.approx(changed.line("discounted_margin")[1], abs=1e-12)
