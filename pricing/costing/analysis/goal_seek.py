"""What would have to change, alone, to bring a line to the lowest margin.

For a line below the lowest margin: how far one input would have to move before the line reaches it. For a line above:
how far one input may move before the line falls to it. The price of the line is held, except where the price itself is
what changes. Of the smallest changes, the number of moulds is chosen anew where the change leads to another, and is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pricing.costing.analysis.movable_inputs import MovableInput, at_prices, chunks, inputs_of_line, movable_inputs, moved
from pricing.costing.engine.evaluation import Evaluation, evaluate
from pricing.costing.engine.model import Model
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.method.build import model_of
from pricing.costing.method.costing import Costing
from pricing.costing.method.measures import measure_prices
from pricing.costing.moulds.anew import moulds_anew
from pricing.dataclass import dataclass
from pricing.problems import Problems

#: An input is looked at from nothing up to this many times itself.
MOST_TIMES = 10.0

#: Whole numbers are looked at up to this one [pieces, casts].
MOST_WHOLE = 300

#: A margin within this of the lowest has reached it, as the report of thin margins has it.
_HAIR = 1e-9

#: Places between the ends of a stretch that are looked at together, and how often: 16 to the power of 15 parts in all.
_BETWEEN = np.arange(1, 16) / 16
_ROUNDS = 15

#: Of so many of the smallest changes the moulds are chosen anew, in no more than so many turns until number and change agree.
CHOSEN_ANEW, _TURNS = 4, 4


@dataclass(frozen=True, eq=False)
class Goal:
    """What one input would have to be for a line to earn exactly the lowest margin, or just not miss it.

    Parameters
    ----------
    line : counted from 0
    input : what changes
    factor : by which it changes; nan where no change of it alone does it
    margin : the line's margin after discount with that change [dimensionless]; nan where there is none
    moulds : from how many moulds at once to how many the change leads, or how many lines have others; empty where none has
    """

    line: int
    input: MovableInput
    factor: float
    margin: float
    moulds: str = ""

    @property
    def needed(self) -> float:
        """What the input would have to be, in the unit of the glossary; nan where its rows differ or nothing does it."""
        return self.input.now * self.factor


def lines_to_seek(costing: Costing, most: int = 20) -> list[int]:
    """The lines below the lowest margin, thinnest first; where there is none, the line nearest above it.

    Parameters
    ----------
    most : no more lines than this
    """
    margin = costing.line("discounted_margin")
    charged = costing.line("discounted_net") > 0
    order = [row for row in np.argsort(margin, kind="stable").tolist() if charged[row]]
    below = [row for row in order if costing.line("below_lowest")[row]]
    return (below or order[:1])[:most]


def lowest_price(costing: Costing) -> Floats:
    """Unit price at which each line just earns the lowest margin after discount, not rounded [currency/piece]."""
    kept = (1 - costing.line("discount_rate")) * (1 - costing.setting("lowest_margin") - costing.setting("taken_share"))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(kept > 0, costing.line("unit_cost") / np.where(kept > 0, kept, 1.0), np.nan)


def goal_seek(costing: Costing, lines: Sequence[int] | None = None) -> dict[int, list[Goal]]:
    """For each line, every input and what it alone would have to change by, the smallest change first.

    Parameters
    ----------
    lines : counted from 0; those of ``lines_to_seek`` where None

    Returns
    -------
    by line; the inputs that cannot do it alone stand last
    """
    return {line: _Seek(costing, line).goals() for line in (lines_to_seek(costing) if lines is None else lines)}


class _Seek:
    """The search for one line, in a model of the quote that it belongs to."""

    def __init__(self, costing: Costing, line: int) -> None:
        rows = costing.lines_of(costing.lines.quote[line])
        self.line = line
        self.row = rows.index(line)
        self.costing = _alone(costing, rows)
        self.model: Model = self.costing.model
        self.base: Evaluation = self.costing.values
        self.numbers: dict[tuple[str, str], Floats] = {}
        self.prices = measure_prices(self.base)
        self.lowest = costing.setting("lowest_margin")
        self.inputs = inputs_of_line(movable_inputs(costing.book, self.model), self.model, self.row)
        self.below = float(self.base.value("lines", "discounted_margin")[self.row]) < self.lowest - _HAIR

    def goals(self) -> list[Goal]:
        """Every input with the factor that does it."""
        factors = self._factors(self.inputs)
        found = {each: factor for each, factor in factors.items() if np.isfinite(factor)}
        margins = dict(zip(found, self.margins(list(found.items())).tolist(), strict=True))
        goals = [Goal(self.line, each, factor, margins.get(each, float("nan"))) for each, factor in factors.items()]
        goals.sort(key=_smallest)
        return sorted([*map(self._with_moulds_anew, goals[:CHOSEN_ANEW]), *goals[CHOSEN_ANEW:]], key=_smallest)

    def _factors(self, inputs: Sequence[MovableInput]) -> dict[MovableInput, float]:
        smooth = [each for each in inputs if not each.whole]
        return dict(zip(smooth, self._smooth(smooth), strict=True)) | {each: self._whole(each) for each in inputs if each.whole}

    def _with_moulds_anew(self, goal: Goal) -> Goal:
        """The goal with the numbers of moulds that its change leads to; as it is where it leads to no other."""
        factor, held = goal.factor, self.costing.line("moulds_at_once")
        for _ in range(_TURNS if np.isfinite(goal.factor) else 0):
            changes = {name: figures[0] for name, figures in moved(self.base, [(goal.input, factor)]).items()}
            anew = moulds_anew(self.costing, changes)
            if np.array_equal(held, self.costing.line("moulds_at_once") if anew is None else anew.moulds_at_once):
                margin = goal.margin if anew is None else float(self.margins([(goal.input, factor)])[0])
                self.numbers = {}
                return goal if anew is None else Goal(goal.line, goal.input, factor, margin, anew.short)
            if anew is None:
                break
            held = anew.moulds_at_once
            self.numbers = {("lines", "moulds_at_once"): held, ("lines", "sheet_board"): anew.sheet_board}
            factor = self._factors([goal.input])[goal.input]
            if not np.isfinite(factor):
                break
        self.numbers = {}  # no number and change that agree: the moulds are held
        return goal

    def margins(self, moves: Sequence[tuple[MovableInput, float]]) -> Floats:
        """The line's margin after discount under each move, its price held."""
        parts = [np.zeros(0)]
        for chunk in chunks(self.model, len(moves)):
            held = at_prices(evaluate(self.model, {**self.numbers, **moved(self.base, moves[chunk])}, self.base), self.prices)
            found = held.value("lines", "discounted_margin")[..., self.row]
            parts.append(np.broadcast_to(found, (chunk.stop - chunk.start,)))
        return np.concatenate(parts)

    def reached(self, margins: Floats) -> NDArray[np.bool_]:
        """Which margins are on the side that is sought."""
        return margins >= self.lowest - _HAIR if self.below else margins <= self.lowest + _HAIR

    def _smooth(self, inputs: list[MovableInput]) -> list[float]:
        """The factor of each input that is not counted in whole numbers: all of them cost more when there is more of them.

        Margins are straight lines where an input acts in proportion, and are found at once; for the others the stretch
        between the factor now and the farthest is parted, again and again, where the margin is first reached.
        """
        count = len(inputs)
        near = np.ones(count)
        most = [min(MOST_TIMES, each.upper / each.now) if np.isfinite(each.now) else MOST_TIMES for each in inputs]
        far = np.zeros(count) if self.below else np.array(most)
        ends = self.margins(_pairs(inputs, far))
        known = self.reached(ends)
        margin = float(self.margins(_pairs(inputs[:1], near[:1]))[0]) if inputs else 0.0
        with np.errstate(divide="ignore", invalid="ignore"):
            straight = 1 + (far - 1) * (self.lowest - margin) / (ends - margin)
        open_ones = np.flatnonzero(known & np.array([not each.linear for each in inputs], dtype=np.bool_))
        repeated = [inputs[place] for place in open_ones for _ in _BETWEEN]
        for _ in range(_ROUNDS if repeated else 0):
            start, end = near[open_ones, None], far[open_ones, None]
            parts = np.hstack([start, start + (end - start) * _BETWEEN, end])
            there = self.reached(self.margins(_pairs(repeated, parts[:, 1:-1].ravel()))).reshape(len(open_ones), -1)
            first = np.where(there.any(axis=1), there.argmax(axis=1), len(_BETWEEN))[:, None]
            near[open_ones], far[open_ones] = np.take_along_axis(parts, np.hstack([first, first + 1]), axis=1).T
        factors = np.where([each.linear for each in inputs], straight, far)
        return [float(factor) if fits else float("nan") for factor, fits in zip(factors, known, strict=True)]

    def _whole(self, each: MovableInput) -> float:
        """The nearest whole number that does it, larger or smaller."""
        first = max(round(each.now) - MOST_WHOLE, max(round(each.lower), 1))
        numbers = np.arange(first, round(each.now) + MOST_WHOLE + 1.0)
        numbers = numbers[numbers != each.now]
        fitting = numbers[self.reached(self.margins(_pairs([each] * len(numbers), numbers / each.now)))]
        if not len(fitting):
            return float("nan")
        return float(fitting[np.argmin(np.abs(fitting - each.now))] / each.now)


def _alone(costing: Costing, rows: list[int]) -> Costing:
    """The costing of one quote; as it is where there is no other."""
    if len(rows) == len(costing.lines):
        return replace(costing, problems=Problems(costing.book.file))
    model, lines = model_of(costing, rows), costing.lines.taken(np.array(rows, dtype=np.intp))
    return Costing(costing.book, lines, Problems(costing.book.file), model, evaluate(model))


def _smallest(goal: Goal) -> float:
    return abs(goal.factor - 1) if np.isfinite(goal.factor) else float("inf")


def _pairs(inputs: Sequence[MovableInput], factors: Floats) -> list[tuple[MovableInput, float]]:
    return list(zip(inputs, factors.tolist(), strict=True))
