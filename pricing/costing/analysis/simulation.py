"""How sure a costing is: every uncertain figure drawn many times, and what cost and margin come to.

Prices are held as they stand: the question is what the work will earn at the price that was quoted. The draws are
seeded, so that the same book gives the same answer; results do not depend on how many draws are worked out at once.

Source: Monte Carlo method, as in JCGM 101:2008 (from memory); the forms of the draws are those of `analysis.estimates`.
"""

from __future__ import annotations

from dataclasses import field

import numpy as np
from numpy.typing import NDArray

from pricing.algebra import expressions
from pricing.costing.analysis.movable_inputs import Changes, chunks, untouched
from pricing.costing.analysis.uncertain_inputs import FORMS, Uncertain, uncertain_figures
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.method.costing import Costing
from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.rules import prices

#: One time in ten it is less than the first, half the time less than the second, nine times in ten less than the third.
SHARES = (0.1, 0.5, 0.9)

DRAWS = 10_000
SEED = 1

#: One block of this many numbers is asked for and freed before the work. The common memory manager of Linux then keeps
#: freed blocks up to its size at hand, instead of giving them back after every step (measured: a third of the time).
_FREED_ONCE = 3_000_000

#: Lines whose draws are put in order at once.
_LINES_AT_ONCE = 64


@dataclass(frozen=True, eq=False)
class Simulation:
    """What a costing may come to; the axis of three is P10, P50, P90.

    Parameters
    ----------
    draws, seed, form : how it was made; *form* is ``pert`` or ``triangular``
    uncertain : the figures that were drawn; where there are none, nothing is uncertain and every figure is as costed
    unit_cost : of each line, shape (lines, 3) [currency/piece]
    margin : of each line after discount, its price held, shape (lines, 3) [dimensionless]
    chance_below : chance that a line misses the lowest margin, shape (lines,) [dimensionless]
    whole_cost, whole_margin : of all quotes, carriage included, shape (3,) [currency], [dimensionless]
    whole_chance_below : chance that all quotes together miss the lowest margin [dimensionless]
    problems : bounds in the price book that do not hold together, as warnings
    """

    draws: int
    seed: int
    form: str
    uncertain: tuple[Uncertain, ...]
    unit_cost: Floats
    margin: Floats
    chance_below: Floats
    whole_cost: Floats
    whole_margin: Floats
    whole_chance_below: float
    problems: Problems = field(default_factory=Problems)

    @property
    def sentence(self) -> str:
        """What was drawn, in words."""
        if not self.uncertain:
            return "Nothing uncertain is given: the price book has no Low and High for any figure that these lines hang on."
        form = {"pert": "PERT", "triangular": "triangular"}[self.form]
        return f"{self.draws:,} draws of {len(self.uncertain)} uncertain figures, {form} form, seed {self.seed}."


def simulate(
    costing: Costing, draws: int = DRAWS, seed: int = SEED, form: str = "pert", at_once: int | None = None
) -> Simulation:
    """Draw every uncertain figure of a costing many times.

    Parameters
    ----------
    draws : how many; 8 bytes of memory are used for each draw of each line
    seed : of the random numbers, zero or more
    form : ``pert`` or ``triangular``
    at_once : draws worked out together; as many as memory allows where None; it does not change the result

    Problems raised: ValueError where there are no draws, or the form or the seed is not one of these.
    """
    if draws < 1:
        raise ValueError(f"{draws} draws tell nothing; ask for 1 or more")
    if form not in FORMS:
        raise ValueError(f'"{form}" is no form of draws; use {" or ".join(FORMS)}')
    if seed < 0:
        raise ValueError(f"{seed} is no seed; use zero or more")
    problems = Problems(costing.book.file)
    uncertain = uncertain_figures(costing.book, costing.lines, costing.model, problems)
    if uncertain:
        cost = _costs(costing, uncertain, draws, seed, form, at_once)
    else:
        cost = costing.line("unit_cost")[:, None]
    unit_cost, margin, chance = _of_lines(costing, cost)
    whole_cost, whole_margin, whole_chance = _of_all(costing, cost)
    return Simulation(
        draws, seed, form, uncertain, unit_cost, margin, chance, whole_cost, whole_margin, whole_chance, problems
    )


def _costs(
    costing: Costing, uncertain: tuple[Uncertain, ...], draws: int, seed: int, form: str, at_once: int | None
) -> Floats:
    """Unit cost of every line in every draw, shape (lines, draws)."""
    model, base = costing.model, costing.values
    drawn = np.stack([each.draws(draws, seed, form) for each in uncertain])
    stands: dict[tuple[str, str], list[tuple[int, NDArray[np.intp]]]] = {}
    for number, each in enumerate(uncertain):
        for table, column, rows in each.cells:
            stands.setdefault((table, column), []).append((number, rows))
    cost = np.empty((len(costing.lines), draws))

    def changes(chunk: slice) -> Changes:
        made: Changes = {}
        for (table, column), places in stands.items():
            made[table, column] = np.tile(base.value(table, column), (chunk.stop - chunk.start, 1))
            for number, rows in places:
                made[table, column][:, rows] = drawn[number, chunk, None]
        return made

    still = untouched(model, changes(slice(0, 1)))
    np.empty(_FREED_ONCE)
    for chunk in chunks(model, draws, at_once):
        cost[:, chunk] = evaluate(model, still | changes(chunk)).value("lines", "unit_cost").T
    return cost


def _of_lines(costing: Costing, cost: Floats) -> tuple[Floats, Floats, Floats]:
    """Percentiles of cost and margin of each line at the price that stands, and its chance of missing the lowest margin."""
    quantity, net, taken = (costing.line(name) for name in ("quantity", "discounted_net", "taken"))
    count = len(cost)
    unit_cost, margin, chance = np.zeros((count, 3)), np.zeros((count, 3)), np.zeros(count)
    for start in range(0, count, _LINES_AT_ONCE):
        part = slice(start, start + _LINES_AT_ONCE)
        earned = _margin(net[part, None], taken[part, None], cost[part] * quantity[part, None])
        unit_cost[part], margin[part] = _three(cost[part]), _three(earned)
        chance[part] = _missed(costing, earned).mean(axis=-1)
    return unit_cost, margin, chance


def _of_all(costing: Costing, cost: Floats) -> tuple[Floats, Floats, float]:
    """The same for all quotes together, carriage included on both sides."""
    whole = costing.line("quantity") @ cost + float(costing.quote("carriage").sum() + costing.quote("taken_sum").sum())
    earned = _margin(np.array(costing.quote("net").sum()), np.zeros(()), whole)
    return np.quantile(whole, SHARES), np.quantile(earned, SHARES), float(_missed(costing, earned).mean())


def _margin(net: Floats, taken: Floats, cost: Floats) -> Floats:
    return np.asarray(expressions.evaluate(prices.discounted_margin, {"discounted_net": net, "taken": taken, "line_cost": cost}))


def _missed(costing: Costing, margin: Floats) -> Floats:
    lowest = costing.setting("lowest_margin")
    return np.asarray(expressions.evaluate(prices.below_lowest, {"discounted_margin": margin, "lowest_margin": lowest}))


def _three(figures: Floats) -> Floats:
    """P10, P50 and P90 along the last axis, shape (rows, 3)."""
    return np.quantile(figures, SHARES, axis=-1).T
