"""The lead time of a quote: working days from the order to the last day of work.

One pair of hands makes everything: the work of all lines before and after casting is done one line after another; waits
and casting rounds of the lines run side by side. A wait after a step that is counted by casts comes once in every round
of casting, any other wait once for its line, both on the clock. A promise is made on the safe side: waits outside the
mould are counted as working days, and the week begins on its least convenient day.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pricing.costing import calendar
from pricing.money import whole_up

if TYPE_CHECKING:
    from pricing.costing.costing import Costing
    from pricing.costing.tables import Floats

#: The word of the Per column by which a step belongs to each cast.
CAST = "cast"

HOURS_ON_THE_CLOCK = 24.0


def lead_time_days(costing: Costing, quote: str) -> int:
    """Working days from the order to the day on which the whole quote is ready.

    Parameters
    ----------
    costing : a costing that holds the quote
    quote : its number

    Returns
    -------
    whole number [working days]; at least 1

    Problems raised: KeyError where the costing has no such quote.
    """
    lines = costing.lines_of(quote)
    if not lines:
        raise KeyError(quote)
    hours, waits = _hours(costing, lines), _waits(costing, lines)
    before, casting, after = (hours[:, part] for part in range(3))
    wait_before, wait_in_mould, wait_after = (waits[:, part] / HOURS_ON_THE_CLOCK for part in range(3))
    casts, moulds = costing.line("casts")[lines], np.maximum(costing.line("moulds_made")[lines], 1.0)
    hours_per_day = _number(costing, "hours_per_day", 8.0)
    # Casting fills its own days; what does not fit into them is work like any other.
    rounds = whole_up(whole_up(casts) / np.floor(moulds))
    overflow = max(float(casting.sum()) - float(rounds.max()) * hours_per_day, 0.0)
    days = calendar.lead_time_days(
        casts, np.floor(moulds), wait_in_mould,
        (before.sum() + overflow) / hours_per_day + wait_before, after.sum() / hours_per_day + wait_after,
    )  # fmt: skip
    return max(int(_number(costing, "start_within", 0.0)) + int(days.max()), 1)


def _number(costing: Costing, setting: str, otherwise: float) -> float:
    value = costing.book.settings.get(setting, otherwise)
    return float(value) if isinstance(value, float | int) and not np.isnan(value) else otherwise


def _parts(pers: list[str]) -> list[int]:
    """For each step of a plan: 0 where it comes before the casting, 1 where it belongs to it, 2 where it comes after.

    >>> _parts(["order", "mould", "batch", "cast", "cast", "m2 face", ""])
    [0, 0, 0, 1, 1, 2, 2]
    """
    casting = [number for number, per in enumerate(pers) if per == CAST]
    if not casting:
        return [0] * len(pers)
    return [0 if number < casting[0] else 1 if number <= casting[-1] else 2 for number in range(len(pers))]


def _plan(costing: Costing, line: int) -> list[int]:
    """The rows of the Labour sheet that a line's plan has, in order."""
    table = costing.book.tables["Labour"]
    rows: list[int] = np.flatnonzero(table.columns["labour_plan"] == costing.lines.plans["labour_plan"][line]).tolist()
    return rows


def _hours(costing: Costing, lines: list[int]) -> Floats:
    """Hours of work of all pieces of each line, before casting, at casting and after it; shape (lines, 3).

    The model's steps stand in the order of its lines.
    """
    steps = costing.model.tables["steps"]
    per_piece, of_line = costing.values.value("steps", "step_hours"), steps.given["line"].astype(int) - 1
    columns = costing.book.tables["Labour"].columns
    quantity, refits = costing.line("quantity"), costing.line("refit_hours")
    hours = np.zeros((len(lines), 3))
    for number, line in enumerate(lines):
        rows = _plan(costing, line)
        part_of = dict(zip(columns["step"][rows].tolist(), _parts(columns["per"][rows].tolist()), strict=True))
        for step in range(*np.searchsorted(of_line, (line, line + 1)).tolist()):
            hours[number, part_of[steps.text["step"][step]]] += per_piece[step] * quantity[line]
        hours[number, 1] += refits[line] * quantity[line]
    return hours


def _waits(costing: Costing, lines: list[int]) -> Floats:
    """Hours of waiting of each line before casting, in each round of casting and after it; shape (lines, 3)."""
    columns = costing.book.tables["Labour"].columns
    waits = np.zeros((len(lines), 3))
    for number, line in enumerate(lines):
        rows = _plan(costing, line)
        pers = columns["per"][rows].tolist()
        for row, per, part in zip(rows, pers, _parts(pers), strict=True):
            wait = float(np.nan_to_num(columns["wait"][row]))
            if part == 1 and per != CAST:  # a wait between casting steps that is not repeated
                part = 2
            waits[number, part] += wait
    return waits
