"""The lead time of a quote against a calendar followed by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from books import DAY, set_cell, small_book, write_book

from pricing.book.reading.read import load_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.costing.time.lead_time import lead_time_days


def costed(folder: Path, sheets: dict[str, list[list[Any]]]) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


def one_line(quantity: int, **steps: tuple[float, str, float]) -> dict[str, list[list[Any]]]:
    """The small workshop with one quote for blocks, cast in one mould by a plan of these steps: minutes, what they are per, wait."""
    sheets = small_book()
    rows = [["Plan", name.replace("_", " "), "Maker", minutes, per, None, wait, "no"] for name, (minutes, per, wait) in steps.items()]
    sheets["Labour"] = [sheets["Labour"][0], *rows]
    sheets["Products"] = [row for row in sheets["Products"] if row[0] in ("Product", "Block")]
    sheets["Extras"] = sheets["Extras"][:1]
    for heading, value in (("Labour plan", "Plan"), ("Mould plan", "Melamine"), ("Made for", "order")):
        set_cell(sheets, "Products", "Block", heading, value)
    sheets["Enquiries"] = [sheets["Enquiries"][0], ["Q-1", DAY, "Ada Field", "Block", quantity, None, None, None, None]]
    sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] != "Start within"] + [["Start within", 3, None]]
    return sheets


def days(folder: Path, sheets: dict[str, list[list[Any]]]) -> int:
    return lead_time_days(costed(folder, sheets), "Q-1")


@pytest.mark.parametrize(
    ("quantity", "steps", "expected"),
    [
        # A day of eight hours, work alone, no casting: the calendar still knows one round of at least a day.
        (1, {"Work": (480.0, "piece", 0.0)}, 3 + 1 + 1),
        # Cast, two days in the mould, an hour's work after: leaves the mould on a Monday at the latest, two working days on.
        (1, {"Cast": (10.0, "cast", 48.0), "Pack": (60.0, "piece", 0.0)}, 3 + 2),
        # The same with three days of drying before the hour's work: counted as working days.
        (1, {"Cast": (10.0, "cast", 48.0), "Dry": (0.0, "piece", 72.0), "Pack": (60.0, "piece", 0.0)}, 3 + 2 + 3),
        # Sealant that cures for a day before casting comes once, however many are cast.
        (3, {"Seal": (10.0, "order", 24.0), "Cast": (10.0, "cast", 24.0)}, 3 + 1 + 3),
        # Five casts in one mould, a day each.
        (5, {"Cast": (10.0, "cast", 24.0)}, 3 + 5),
    ],
)
def test_a_calendar_followed_by_hand(
    tmp_path: Path, quantity: int, steps: dict[str, tuple[float, str, float]], expected: int
) -> None:
    """Start, work, waits and casting rounds add up to the days that a person counts."""
    assert days(tmp_path, one_line(quantity, **steps)) == expected


def test_without_a_mould_plan_all_are_cast_on_one_day(tmp_path: Path) -> None:
    """Five pieces that need no mould, each a day until it can be moved: one day of casting."""
    sheets = one_line(5, Cast=(10.0, "cast", 24.0))
    set_cell(sheets, "Products", "Block", "Mould plan", None)
    assert days(tmp_path, sheets) == 3 + 1


def test_a_wait_in_the_mould_repeats_and_any_other_does_not(tmp_path: Path) -> None:
    """Ten casts in one mould wait ten times in it; their drying comes once.

    Two days in the mould give three casts in a week of five working days (Monday, Wednesday, Friday, and again on Monday).
    Begun on a Tuesday, the least convenient day, the second cast leaves its mould on the Monday after, four working days
    on, and the other eight take 14 more. A day in the mould takes a working day. Drying, which nothing follows, is over
    as many days later.
    """
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    in_mould = days(tmp_path / "a", one_line(10, Cast=(1.0, "cast", 48.0), Dry=(0.0, "piece", 24.0)))
    drying = days(tmp_path / "b", one_line(10, Cast=(1.0, "cast", 24.0), Dry=(0.0, "piece", 48.0)))
    assert in_mould == 3 + 18 + 1
    assert drying == 3 + 10 + 2


def test_more_moulds_shorten_it(tmp_path: Path) -> None:
    """A mould that survives fewer casts means more moulds at once, and fewer rounds."""
    found = []
    for casts in (20, 5, 1):
        sheets = one_line(20, Cast=(1.0, "cast", 24.0))
        set_cell(sheets, "Moulds", "Melamine", "Lasts", casts)
        folder = tmp_path / str(casts)
        folder.mkdir()
        found.append(days(folder, sheets))
    assert found[0] > found[1] > found[2]


def test_work_that_does_not_fit_into_casting_days_is_counted(tmp_path: Path) -> None:
    """Eighty hours of filling take ten days also where the moulds would stand ready in one round."""
    sheets = one_line(20, Cast=(240.0, "cast", 24.0))
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 1)
    assert 3 + 10 <= days(tmp_path, sheets) <= 3 + 11


def test_an_unknown_quote_is_refused(tmp_path: Path) -> None:
    """Asking for a quote that is not there is no lead time of nothing."""
    with pytest.raises(KeyError):
        lead_time_days(costed(tmp_path, small_book()), "Q-9")
