"""Moulds for a wanted date: calendars and costs followed by hand, and the price of being earlier."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import Any

import pytest
from books import DAY, set_cell, small_book, write_book
from day_by_day import counted

from pricing.book.reading.read import load_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.numbers import price_against_lead_time, useful_moulds
from pricing.costing.run import cost_quotes
from pricing.costing.time.lead_time import lead_time_days
from pricing.costing.time.working_days import WEEK

Sheets = dict[str, list[list[Any]]]


def march(day: int) -> datetime.date:
    return datetime.date(2026, 3, day)


def order(*lines: tuple[str, int, datetime.date | None], **steps: tuple[float, str, float]) -> Sheets:
    """The small workshop with one quote of these lines, made by a plan of these steps: minutes, what they are per, wait.

    Monday 2 March 2026 is the day of the quote; work starts three working days later, on Thursday the 5th.
    """
    sheets = small_book()
    rows = [["Plan", name.replace("_", " "), "Maker", minutes, per, None, wait, "no"] for name, (minutes, per, wait) in steps.items()]
    sheets["Labour"] = [sheets["Labour"][0], *rows]
    for product in ("Slab 1000", "Shelf 800", "Block"):
        set_cell(sheets, "Products", product, "Labour plan", "Plan")
        set_cell(sheets, "Products", product, "Rejects", "0 %")
        set_cell(sheets, "Products", product, "Made for", "order")
    headings = ["Quote", "Date", "Customer", "Product", "Quantity", "Wanted by"]
    sheets["Enquiries"] = [headings, *(["Q-1", DAY, "Ada Field", product, quantity, day] for product, quantity, day in lines)]
    sheets["Workshop"].append(["Start within", 3, None])
    sheets["Delivery"].append(["Near", 5000, 90])
    return sheets


def costed(folder: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


@pytest.mark.parametrize(
    ("wanted", "moulds"),
    [
        (march(13), 1),  # six casts a day apart, from Thursday the 5th: the last leaves its mould on Friday the 13th
        (march(12), 2),  # three rounds: Tuesday the 10th
        (march(10), 2),
        (march(9), 3),  # two rounds: Monday the 9th
        (march(8), 6),  # a Sunday: it has to be ready on the Friday before
        (march(6), 6),  # one round: Friday the 6th
    ],
)
def test_the_fewest_moulds_that_make_the_date(tmp_path: Path, wanted: datetime.date, moulds: int) -> None:
    """Six casts of a day in the mould take as many moulds as the wanted day asks for, and no more."""
    costing = costed(tmp_path, order(("Slab 1000", 6, wanted), Cast=(10.0, "cast", 24.0)))
    assert costing.line("moulds_at_once").tolist() == [moulds]
    assert "wanted-too-soon" not in [problem.code for problem in costing.problems]


def test_a_date_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    """The maker is told the earliest day, in the cell of the wanted one, and the line gets as many moulds as help."""
    costing = costed(tmp_path, order(("Slab 1000", 6, march(5)), Cast=(10.0, "cast", 24.0)))
    assert costing.line("moulds_at_once").tolist() == [6]
    told = [problem for problem in costing.problems.warnings if problem.code == "wanted-too-soon"]
    assert [problem.place for problem in told] == ["Enquiries!F2"]
    for word in ("Q-1", "Slab 1000", "2026-03-05", "6 moulds", "2026-03-06", "later day"):
        assert word in told[0].message


def test_moulds_that_wear_out_come_first(tmp_path: Path) -> None:
    """Where the casts wear out more moulds than the date needs, those are made."""
    sheets = order(("Slab 1000", 6, march(31)), Cast=(10.0, "cast", 24.0))
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 2)
    assert costed(tmp_path, sheets).line("moulds_at_once").tolist() == [3]


def test_building_more_moulds_takes_days(tmp_path: Path) -> None:
    """A day's work for each mould and four casts of three days in it: more moulds than two only delay the order.

    From Thursday the 5th: one mould is cast on the 6th and, one after another, on the 9th, 12th and 16th, ready on the
    19th. Two are cast on Monday the 9th and Thursday the 12th, ready on the 16th. Four are cast on Wednesday the 11th,
    ready on the 16th as well (the 14th is a Saturday).
    """
    for day, moulds, late in ((19, 1, False), (18, 2, False), (16, 2, False), (13, 2, True)):
        folder = tmp_path / str(day)
        folder.mkdir()
        costing = costed(folder, order(("Slab 1000", 4, march(day)), Build=(480.0, "mould", 0.0), Cast=(10.0, "cast", 72.0)))
        assert costing.line("moulds_at_once").tolist() == [moulds], day
        assert ("wanted-too-soon" in [problem.code for problem in costing.problems]) == late
    rows = price_against_lead_time(costing, 0)
    assert [(row.moulds, row.ready, row.working_days) for row in rows] == [(1, march(19), 3 + 10), (2, march(16), 3 + 7)]


def test_the_price_and_the_lead_time_follow(tmp_path: Path) -> None:
    """Three moulds instead of one: two more are paid by the order, by hand, and the quote is ready sooner."""
    steps = {"Build": (60.0, "mould", 0.0), "Cast": (10.0, "cast", 24.0)}
    found = []
    for name, wanted in (("early", march(9)), ("whenever", None)):
        (tmp_path / name).mkdir()
        found.append(costed(tmp_path / name, order(("Slab 1000", 6, wanted), **steps)))
    early, whenever = found
    assert early.line("moulds_at_once").tolist() == [3]
    assert whenever.line("moulds_at_once").tolist() == [1]
    board = 0.5 + 2 * (1.036 * 0.058) + 2 * (0.5 * 0.058)
    joint = 3.0 + 4 * 0.04
    materials = board * 50 / 5 * 1.2 + joint * ((1 - math.pi / 4) * 0.005**2 * 1000 * 20 + 0.04 / 0.15 + 0.1)
    more = 2 * (materials + 24.0 + 10.0) / 6  # an hour of the maker at 24 and overhead of 10 for each mould
    more -= 2 * 6 / 60 * (24.0 + 10.0) / 6  # six casts in three moulds are made ready three times, in one mould five times
    assert early.line("unit_cost")[0] - whenever.line("unit_cost")[0] == pytest.approx(more, rel=1e-12)
    assert early.line("unit_price")[0] == math.ceil(early.line("unit_cost")[0] / 0.6)
    assert lead_time_days(early, "Q-1") < lead_time_days(whenever, "Q-1")


def test_price_against_lead_time(tmp_path: Path) -> None:
    """Every row of the table is what the costing says where that row's day is wanted; earlier days cost more."""
    steps = {"Build": (60.0, "mould", 0.0), "Cast": (10.0, "cast", 24.0), "Pack": (240.0, "piece", 0.0)}
    (tmp_path / "table").mkdir()
    rows = price_against_lead_time(costed(tmp_path / "table", order(("Slab 1000", 6, None), **steps)), 0)
    assert [row.moulds for row in rows] == [1, 2, 3, 6]
    assert [row.ready for row in rows] == sorted({row.ready for row in rows}, reverse=True)
    assert [row.unit_cost for row in rows] == sorted({row.unit_cost for row in rows})
    for row in rows:
        folder = tmp_path / str(row.moulds)
        folder.mkdir()
        costing = costed(folder, order(("Slab 1000", 6, row.ready), **steps))
        assert costing.line("moulds_at_once").tolist() == [row.moulds]
        assert costing.line("unit_cost")[0] == pytest.approx(row.unit_cost, rel=1e-12)
        assert costing.line("unit_price")[0] == row.unit_price
        assert not costing.problems.warnings or costing.problems.warnings[0].code != "wanted-too-soon"
    assert len(price_against_lead_time(costing, 0, most_rows=2)) == 2


def test_what_is_wanted_first_is_made_first(tmp_path: Path) -> None:
    """Work of a line that is wanted later, or whenever, does not delay the one that is wanted soon.

    Each line is two days of setting out and one cast of a day. From Thursday the 5th the first is cast on Monday the 9th
    and ready on the 10th; the second, behind it, on the 12th.
    """
    steps = {"Set_out": (960.0, "order", 0.0), "Cast": (10.0, "cast", 24.0)}
    for name, lines, late in (
        ("first", (("Slab 1000", 1, march(10)), ("Shelf 800", 1, march(12))), []),
        ("same", (("Slab 1000", 1, march(10)), ("Shelf 800", 1, march(10))), ["Enquiries!F2", "Enquiries!F3"]),
        ("behind", (("Slab 1000", 1, None), ("Shelf 800", 1, march(10))), []),
        ("too soon", (("Slab 1000", 1, march(9)), ("Shelf 800", 1, march(11))), ["Enquiries!F2", "Enquiries!F3"]),
    ):
        (tmp_path / name).mkdir()
        problems = costed(tmp_path / name, order(*lines, **steps)).problems
        assert [problem.place for problem in problems if problem.code == "wanted-too-soon"] == late, name


def test_moulds_of_one_line_delay_the_other(tmp_path: Path) -> None:
    """A second mould of one line is a day's work before the other line's casting too.

    Two casts of three days each, wanted on Friday the 13th; a mould is a day's work. With one mould each, two days of
    building, cast on the 9th and 12th, out on the 16th. A second mould for the first line: cast on the 10th, out on the
    13th. The other line then has its two casts on the 10th and 13th, out on the 16th; a second mould for it as well
    would be a fourth day of building, cast on the 11th and out on the 16th (the 14th is a Saturday) for both.
    """
    steps = {"Build": (480.0, "mould", 0.0), "Cast": (10.0, "cast", 72.0)}
    costing = costed(tmp_path, order(("Slab 1000", 2, march(13)), ("Shelf 800", 2, march(13)), **steps))
    assert costing.line("moulds_at_once").tolist() == [2, 1]
    told = [problem for problem in costing.problems if problem.code == "wanted-too-soon"]
    assert [problem.place for problem in told] == ["Enquiries!F3"]
    assert "1 mould, as many as help" in told[0].message
    assert "2026-03-16" in told[0].message


def test_places_for_moulds_are_kept(tmp_path: Path) -> None:
    """Where moulds have few places, no more are made than can stand."""
    book = load_price_book(write_book(tmp_path / "book.xlsx", order(("Slab 1000", 6, march(6)), Cast=(10.0, "cast", 24.0))))
    book.settings["mould_places"] = 2.0
    costing = cost_quotes(book)
    assert costing.line("moulds_at_once").tolist() == [2]
    assert "wanted-too-soon" in [problem.code for problem in costing.problems]


def test_a_six_day_week_is_earlier(tmp_path: Path) -> None:
    """With Saturdays worked, six casts in one mould are out on Thursday the 12th."""
    six, five = "Monday to Saturday", "Monday to Friday"
    for wanted, week, moulds in ((march(12), six, 1), (march(12), five, 2), (march(11), six, 2)):
        folder = tmp_path / f"{wanted} {week}"
        folder.mkdir()
        sheets = order(("Slab 1000", 6, wanted), Cast=(10.0, "cast", 24.0))
        sheets["Workshop"].append(["Working week", week, None])
        assert costed(folder, sheets).line("moulds_at_once").tolist() == [moulds]


def test_a_line_without_a_mould_plan_is_told_when_it_is_late(tmp_path: Path) -> None:
    """No mould plan, no moulds to add: all are cast on one day, Thursday the 5th, and out on the 6th; wanted before, a warning."""
    costing = costed(tmp_path, order(("Block", 6, march(5)), Cast=(10.0, "cast", 24.0)))
    assert costing.line("moulds_at_once").tolist() == [0]
    assert [problem.place for problem in costing.problems if problem.code == "wanted-too-soon"] == ["Enquiries!F2"]


def test_board_by_sheets_is_shared_by_the_moulds_that_are_made(tmp_path: Path) -> None:
    """Six moulds cut together share whole sheets: each pays for its part of the sheets that all six need.

    A mould's panels are a base of 1000 x 500, two sides of 1036 x 58 and two ends of 500 x 58. A sheet of 2500 x 2000
    holds six such moulds (5 square metres against 3.96), so that each pays a sixth of a sheet.
    """
    sheets = order(("Slab 1000", 6, march(6)), Cast=(10.0, "cast", 24.0))
    sheets["Workshop"].append(["Board bought by", "sheets", None])
    costing = costed(tmp_path, sheets)
    assert costing.line("moulds_at_once").tolist() == [6]
    assert costing.line("board_charged")[0] == pytest.approx(5.0 / 6, rel=1e-12)
    shares = {row.moulds: row.unit_cost for row in price_against_lead_time(costing, 0)}
    assert shares[6] == pytest.approx(costing.line("unit_cost")[0], rel=1e-12)


@pytest.mark.parametrize("casts", [1, 2, 7, 24])
@pytest.mark.parametrize("hours_in_mould", [20.0, 48.0, 100.0])
def test_it_agrees_with_the_calendar_of_a_single_order(tmp_path: Path, casts: int, hours_in_mould: float) -> None:
    """The table is the one that the calendar gives for an order by itself, day by day."""
    sheets = order(("Slab 1000", casts, None), Build=(120.0, "mould", 0.0), Cast=(10.0, "cast", hours_in_mould), Pack=(30.0, "piece", 0.0))
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 100)
    set_cell(sheets, "Moulds", "Melamine", "Refit every", None)
    set_cell(sheets, "Moulds", "Melamine", "Refit minutes", None)
    rows = price_against_lead_time(costed(tmp_path, sheets), 0, most_rows=100)
    expected: list[tuple[int, datetime.date]] = []
    for moulds in useful_moulds(casts):
        ready = counted(march(5), casts, moulds, hours_in_mould / 24, 0.25 * moulds, casts * 30 / 480, WEEK)
        if not expected or ready < expected[-1][1]:
            expected.append((moulds, ready))
    assert [(row.moulds, row.ready) for row in rows] == expected


def test_a_book_without_wanted_days_is_not_searched(tmp_path: Path) -> None:
    """No column, no search: one mould as before."""
    sheets = order(("Slab 1000", 6, None), Cast=(10.0, "cast", 24.0))
    sheets["Enquiries"] = [row[:5] for row in sheets["Enquiries"]]
    assert costed(tmp_path, sheets).line("moulds_at_once").tolist() == [1]
