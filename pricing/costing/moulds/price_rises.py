"""Why a piece costs a customer more where more of them are ordered.

Moulds, days of casting, mixer loads and sheets of board are counted whole: the piece for which one more of them is needed pays for
it, until others share it. What the price of a larger number owes to each is asked of the model: the larger number again, with so much
of it a piece as the smaller one has.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pricing.arrays import distinct
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.lines.order_lines import with_quantities
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.costed import costed
from pricing.dataclass import dataclass
from pricing.money import whole_down, whole_up
from pricing.problems import Problems

#: Rounding noise in a comparison of prices, as a share of them.
_HAIR = 1e-9

#: What does less than this share of what the strongest reason does is not named.
_WORTH_NAMING = 0.05

_NEXT = ("", "a first", "a second", "a third", "a fourth", "a fifth", "a sixth", "a seventh", "an eighth", "a ninth", "a tenth")

#: Smaller numbers of pieces that one is compared with.
_MOST_LOOKED_AT = 60

_DEARER = "dearer each "

_SHARE = "a share of {} for pieces that may fail"

LISTED, NOT_LISTED = "the list price holds for so many", "the list price does not hold for so many"


@dataclass(frozen=True, slots=True)
class PriceRise:
    """A quantity at which each piece costs more than at a smaller one.

    Parameters
    ----------
    line : counted from 0
    place : of the quantity among those of the line, counted from 0
    quantity, fewer : that quantity, and the smaller one at which a piece costs least [pieces]
    because : ``a second mould from 4 pieces``
    """

    line: int
    place: int
    quantity: float
    fewer: float
    because: str

    @property
    def sentence(self) -> str:
        """What is told of it.

        >>> PriceRise(0, 1, 5.0, 3.0, "a second mould from 4 pieces").sentence
        'dearer each at 5 than at 3: a second mould from 4 pieces'
        """
        because = f": {self.because}" if self.because else ""  # of what a set costs there may be none
        return f"{_DEARER}at {self.quantity:,.0f} than at {self.fewer:,.0f}{because}"


def _moulds(costing: Costing) -> Floats:
    return costing.line("moulds_built") + costing.line("moulds_kept")


def _loads(costing: Costing) -> Floats:
    return np.asarray(whole_down(costing.line("per_batch") * costing.line("quantity")))


def _board(costing: Costing) -> Floats:
    return np.round(costing.line("sheet_board") * costing.line("moulds_charged"), 9)


def _casts(costing: Costing) -> Floats:
    return costing.line("casts")


#: The columns of a line that move by whole things, and how many of these there are; how much of the column a piece has is the column
#: itself, but for the moulds.
_CAUSES: dict[str, Callable[[Costing], Floats]] = {
    "moulds_charged": _moulds, "per_batch": _loads, "sheet_board": _board, "refits": _casts,
}


def price_rises(at: Costing, per_line: int) -> list[PriceRise]:
    """Where lines at several quantities cost more each than at a smaller one, and why.

    Parameters
    ----------
    at : lines at so many quantities each, those of one line together, as ``with_quantities`` gives them
    per_line : quantities of each line
    """
    if per_line < 2 or not len(at.lines):
        return []
    price, quantity = (figures.reshape(-1, per_line) for figures in (at.line("unit_price"), at.lines.quantity))
    order = np.argsort(quantity, axis=1, kind="stable")
    sorted_price = np.take_along_axis(price, order, axis=1)
    least = np.minimum.accumulate(sorted_price, axis=1)
    rises = sorted_price[:, 1:] > least[:, :-1] * (1 + _HAIR) + _HAIR
    if at.lines.sets is not None:
        rises &= ~at.lines.sets.has_price[::per_line, None]  # a share of the price of a set, which stays
    lines, places = np.nonzero(rises)
    if not len(lines):
        return []
    cheapest = np.array([sorted_price[line, : place + 1].argmin() for line, place in zip(lines, places, strict=True)])
    dear, cheap = lines * per_line + order[lines, places + 1], lines * per_line + order[lines, cheapest]
    reasons = _reasons(at, dear, cheap)
    quantities = at.lines.quantity
    return [
        PriceRise(int(line), int(row % per_line), float(quantities[row]), float(quantities[fewer]), reason)
        for line, row, fewer, reason in zip(lines, dear, cheap, reasons, strict=True)
    ]


def dearer_than_fewer(costing: Costing, line: int) -> PriceRise | None:
    """Whether each piece of a line is dearer than if fewer were ordered, as an order of its own, and why; None where it is not.

    Parameters
    ----------
    line : counted from 0
    """
    quantity = float(costing.lines.quantity[line])
    away = np.arange(quantity) if quantity <= _MOST_LOOKED_AT else np.round(np.geomspace(1.0, quantity, _MOST_LOOKED_AT)) - 1
    numbers = distinct(np.concatenate([1.0 + away, quantity - away]))
    chosen = costing.lines.taken(np.array([line], dtype=np.intp))
    at = costed(costing.book, with_quantities(chosen, numbers.tolist()), Problems(costing.book.file))
    rises = [rise for rise in price_rises(at, len(numbers)) if rise.quantity == quantity]
    return replace(rises[0], line=line) if rises else None


def rises_in_words(rises: Sequence[PriceRise]) -> dict[int, str]:
    """What is told of the lines of some rises, by line.

    >>> rises_in_words([PriceRise(2, 1, 5.0, 3.0, "a second mould from 4 pieces"), PriceRise(2, 2, 9.0, 3.0, "a third mould from 7")])
    {2: 'dearer each at 5 than at 3: a second mould from 4 pieces; at 9 than at 3: a third mould from 7'}
    """
    told: dict[int, str] = {}
    for rise in rises:
        told[rise.line] = f"{told[rise.line]}; {rise.sentence.removeprefix(_DEARER)}" if rise.line in told else rise.sentence
    return told


def _reasons(at: Costing, dear: NDArray[np.intp], cheap: NDArray[np.intp]) -> list[str]:
    """Why the rows of some quantities cost more each than those of smaller ones."""
    rows, places = np.unique(np.concatenate([dear, cheap]), return_inverse=True)
    again, (more, fewer) = _costed(at, rows, at.lines.quantity[rows]), np.split(places, 2)
    effects = _effects(again, more, fewer)
    strongest = np.max(list(effects.values()), axis=0)
    named = {cause: effect > np.maximum(strongest * _WORTH_NAMING, _HAIR) for cause, effect in effects.items()}
    given = again.line("price_is_given")
    starts = {
        cause: _starts(again, more[chosen], fewer[chosen], count) for cause, count in _CAUSES.items() if (chosen := named[cause]).any()}
    moulds, reasons = _moulds(again), []
    for number, (row, smaller) in enumerate(zip(more, fewer, strict=True)):
        if given[row] != given[smaller]:
            reasons.append(LISTED if given[row] else NOT_LISTED)
            continue
        causes = sorted((cause for cause in _CAUSES if named[cause][number]), key=lambda cause: -effects[cause][number])
        reasons.append(" and ".join(
            _SHARE.format(_next(int(moulds[row]) + 1, "mould"))
            if cause == "moulds_charged" and moulds[row] == moulds[smaller]
            else _in_words(again, cause, row, starts[cause][int(named[cause][:number].sum())]) for cause in causes))
    return reasons


def _costed(at: Costing, rows: NDArray[np.intp], quantities: Floats) -> Costing:
    """Some rows at some quantities, each as an order of its own."""
    lines = replace(at.lines.taken(rows), quantity=quantities, order=np.arange(len(rows)), sets=None)
    return costed(at.book, lines, Problems(at.book.file))


def _effects(again: Costing, more: NDArray[np.intp], fewer: NDArray[np.intp]) -> dict[str, Floats]:
    """What a piece of the larger numbers costs for having more of each cause than a piece of the smaller ones [currency/piece]."""
    changed = {cause: np.tile(again.line(cause), (len(_CAUSES), 1)) for cause in _CAUSES}
    quantity = again.lines.quantity
    for scenario, cause in enumerate(_CAUSES):
        each = again.line(cause)[fewer]
        changed[cause][scenario, more] = each * quantity[more] / quantity[fewer] if cause == "moulds_charged" else each
    cost = evaluate(again.model, {("lines", cause): figures for cause, figures in changed.items()}).value("lines", "unit_cost")
    cost = np.broadcast_to(cost, (len(_CAUSES), len(quantity)))
    return {cause: again.line("unit_cost")[more] - cost[scenario, more] for scenario, cause in enumerate(_CAUSES)}


def _starts(again: Costing, more: NDArray[np.intp], fewer: NDArray[np.intp], count: Callable[[Costing], Floats]) -> Floats:
    """The number of pieces from which there are as many of something as at the larger quantities, by halving the stretch [pieces]."""
    reached, low, high = count(again)[more], again.lines.quantity[fewer].copy(), again.lines.quantity[more].copy()
    while (high - low > 1).any():
        middle = np.where(high - low > 1, np.floor((low + high) / 2), high)
        there = count(_costed(again, more, middle)) >= reached
        low, high = np.where(there | (middle == high), low, middle), np.where(there, middle, high)
    return high


def _in_words(again: Costing, cause: str, row: int, start: float) -> str:
    number = int(_CAUSES[cause](again)[row]) if cause != "refits" else 0
    if cause == "moulds_charged":
        what = _next(number, "mould")
    elif cause == "per_batch":
        days = whole_up(again.line("quantity")[row] / again.line("places")[row]) * again.setting("loads_by_day")
        what = _next(number, "day of casting" if days >= number else "mixer load")
    else:
        what = "another sheet of board" if cause == "sheet_board" else "moulds made ready again"
    return f"{what} from {start:,.0f} pieces"


def _next(number: int, what: str) -> str:
    """The last of so many.

    >>> _next(2, "mould"), _next(12, "mould"), _next(22, "mould")
    ('a second mould', 'the 12th mould', 'the 22nd mould')
    """
    if number < len(_NEXT):
        return f"{_NEXT[number]} {what}"
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"the {number:,}{ending} {what}"
