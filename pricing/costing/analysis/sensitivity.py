"""What the margin hangs on: each input moved by the same share, one at a time, and what that does to cost and margin.

The price is held, as it is once a quote is out, and so is carriage; a second view lets the price follow the cost. Where the move leads
to another number of moulds, that number is taken, and named.
Materials, wages, the overhead rate and electricity act in proportion, so that half the move has half the effect. Whole
moulds and whole mixer loads make the others act in steps; casts of a mould and pieces of a run move to the nearest whole
number, so that short runs stay as they are.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from pricing.costing.analysis.movable_inputs import MovableInput, at_prices, chunks, movable_inputs, moved
from pricing.costing.engine.evaluation import Evaluation, evaluate
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.method.costing import Costing
from pricing.costing.method.measures import measure_prices
from pricing.costing.moulds.anew import MouldsAnew, moulds_anew, prices_may_choose
from pricing.dataclass import dataclass

#: How far each input is moved, down and up.
SHARE = 0.10


@dataclass(frozen=True, eq=False)
class Sensitivity:
    """The effect of each input, the most telling first; the axis of two is the move down and the move up.

    Parameters
    ----------
    inputs : ranked by what they do to the margin of the whole
    share : how far each was moved [dimensionless]
    unit_cost : change of each line's unit cost, shape (inputs, 2, lines) [currency/piece]
    margin : change of each line's margin after discount, prices held, shape (inputs, 2, lines) [dimensionless]
    whole_cost : change of the cost of all quotes, shape (inputs, 2) [currency]
    whole_margin : change of the margin of all quotes, prices held, shape (inputs, 2) [dimensionless]
    moulds : for each input the numbers of moulds that its moves change, ``10 % less: Q-1 Trough 3 → 2 moulds``; empty where none does
    moulds_in_short : the same without the names of lines, ``10 % less: 3 → 2 moulds``
    """

    inputs: tuple[MovableInput, ...]
    share: float
    unit_cost: Floats
    margin: Floats
    whole_cost: Floats
    whole_margin: Floats
    moulds: tuple[str, ...] = ()
    moulds_in_short: tuple[str, ...] = ()

    def of(self, name: str, kind: str = "") -> int:
        """The place of an input in the ranking, counted from 0.

        Problems raised: KeyError where there is none of that name (and kind).
        """
        for place, each in enumerate(self.inputs):
            if each.name == name and kind in ("", each.kind):
                return place
        raise KeyError(name)


def sensitivity(costing: Costing, share: float = SHARE) -> Sensitivity:
    """Move every input of a costing down and up by a share, one at a time.

    Parameters
    ----------
    share : above 0 and below 1 [dimensionless]

    Problems raised: ValueError where the share is not between 0 and 1.
    """
    if not 0 < share < 1:
        raise ValueError(f"a share of {share:g} cannot be moved both down and up; it lies between 0 and 1")
    base, model = costing.values, costing.model
    inputs = movable_inputs(costing.book, model)
    moves = [(each, factor) for each in inputs for factor in (1 - share, 1 + share)]
    prices = measure_prices(base)
    anew = _anew(costing, moves, share)
    parts: list[tuple[Floats, ...]] = []
    for chunk in chunks(model, len(moves)):
        # Carriage is passed on, not earned: a heavier delivery must not leave the bands of its zone.
        changes = {**moved(base, moves[chunk]), **_numbers(base, anew, chunk), ("quotes", "carriage"): base.value("quotes", "carriage")}
        held = at_prices(evaluate(model, changes, base), prices)
        parts.append(tuple(np.broadcast_to(found, (chunk.stop - chunk.start, *np.shape(found)[1:])) for found in (
            _lead(held.value("lines", "unit_cost")), _lead(held.value("lines", "discounted_margin")), *_whole(held),
        )))
    now = (base.value("lines", "unit_cost"), base.value("lines", "discounted_margin"), *_whole(base))
    differences = [
        np.concatenate([part[number] for part in parts]) - each if parts else np.zeros((0, *np.shape(each)))
        for number, each in enumerate(now)
    ]
    shaped = [figures.reshape(len(inputs), 2, *figures.shape[1:]) for figures in differences]
    order = np.argsort(-np.abs(shaped[3]).max(axis=1, initial=0.0), kind="stable")
    ranked = [figures[order] for figures in shaped]
    told, short = (
        [_told(share, form, anew.get(2 * place), anew.get(2 * place + 1)) for place in order] for form in ("words", "short"))
    # what moves a number of moulds acts in a step, and not in proportion
    named = tuple(replace(inputs[place], linear=inputs[place].linear and not words) for place, words in zip(order, told, strict=True))
    return Sensitivity(named, share, ranked[0], ranked[1], ranked[2], ranked[3], tuple(told), tuple(short))


def _anew(costing: Costing, moves: Sequence[tuple[MovableInput, float]], share: float) -> dict[int, MouldsAnew]:
    """The numbers of moulds of each move that changes them, by its number."""
    by_price = prices_may_choose(costing, share)
    looked_at = [number for number, (each, _) in enumerate(moves) if by_price or not each.linear]
    found = {number: moulds_anew(costing, {name: figures[0] for name, figures in moved(costing.values, [moves[number]]).items()})
             for number in looked_at}
    return {number: each for number, each in found.items() if each is not None}


def _numbers(base: Evaluation, anew: Mapping[int, MouldsAnew], chunk: slice) -> dict[tuple[str, str], Floats]:
    """The numbers of moulds of the moves of a chunk, and the board of each; nothing where none changes."""
    numbers = [number for number in anew if chunk.start <= number < chunk.stop]
    changed: dict[tuple[str, str], Floats] = {}
    for name in ("moulds_at_once", "sheet_board") if numbers else ():
        changed["lines", name] = np.tile(base.value("lines", name), (chunk.stop - chunk.start, 1))
        for number in numbers:
            changed["lines", name][number - chunk.start] = getattr(anew[number], name)
    return changed


def _told(share: float, form: str, less: MouldsAnew | None, more: MouldsAnew | None) -> str:
    moves = (("less", less), ("more", more))
    return "; ".join(f"{share * 100:g} % {word}: {getattr(each, form)}" for word, each in moves if each is not None)


def _lead(figures: Floats) -> Floats:
    """Figures with a leading axis of scenarios."""
    return figures if figures.ndim > 1 else figures[None]


def _whole(evaluation: Evaluation) -> tuple[Floats, Floats]:
    """Cost of all quotes [currency], and their margin [1]; 0 where nothing is charged."""
    cost = np.asarray(evaluation.value("quotes", "quote_cost").sum(axis=-1))
    net = np.asarray(evaluation.value("quotes", "net").sum(axis=-1))
    return cost, np.where(net > 0, (net - cost) / np.where(net > 0, net, 1.0), 0.0)
