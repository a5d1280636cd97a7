"""Break-even of each line, and what it earns at other quantities.

A line is taken as an order of its own, at the price in force. Three kinds of cost do not grow with each piece: work
counted per order, whole mixer loads, and whole moulds where the line is made for the order. The break-even quantity is
the smallest whole number of pieces whose price, after the customer's discount, pays for all of it, overhead included.
Because moulds and loads come whole, a line can fall short again a few pieces later; that quantity is given too.
Where board is charged by whole sheets, a mould's share of them stays as it is for the quantity ordered.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.model import Model
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.lines.order_lines import BREAKS, alone, with_quantities
from pricing.costing.method.costing import Costing
from pricing.costing.method.measures import measure_prices
from pricing.costing.moulds.costed import costed
from pricing.costing.moulds.price_rises import PriceRise, price_rises
from pricing.dataclass import dataclass
from pricing.problems import Problems

#: Quantities are looked through up to this one [pieces].
MOST_PIECES = 1000

#: A run so long that what is fixed for an order no longer shows [pieces].
ENDLESS = 1e7

#: So many lines, quantities counted apart, are costed at once.
AT_ONCE = 20_000

#: Rounding noise in a comparison of amounts, as a share of them.
_HAIR = 1e-9


@dataclass(frozen=True, eq=False)
class BreakEven:
    """Break-even of each line, arrays of shape (lines,).

    Parameters
    ----------
    quantity : smallest whole number of pieces that pays for everything [pieces]; nan where none up to 1,000 does
    short_again : the next quantity at which the line falls short again [pieces]; nan where none up to 100 does
    price : unit price at which the quantity ordered pays for everything [currency/piece]
    own_price : unit price at which it pays for all but the overhead [currency/piece]
    fixed_cost : what the order costs besides its pieces, as an order of its own: work per order, its whole mixer loads,
        its whole moulds where made for the order [currency]
    next_piece : what one piece more costs within those loads and moulds, at the run's average time [currency/piece]
    """

    quantity: Floats
    short_again: Floats
    price: Floats
    own_price: Floats
    fixed_cost: Floats
    next_piece: Floats


def break_even(costing: Costing) -> BreakEven:
    """Break-even quantity and price of every line of a costing."""
    line = costing.line
    kept = (1 - line("discount_rate")) * (1 - costing.setting("taken_share"))
    lines = with_quantities(costing.lines, (1.0,), calculated=True)
    lines.quantity = line("quantity").copy()
    fixed, next_piece = _fixed_and_next(costed(costing.book, lines, Problems(costing.book.file)).model, line("quantity"))
    quantity, again = _quantities(costing)
    with np.errstate(divide="ignore", invalid="ignore"):
        price = np.where(kept > 0, line("unit_cost") / kept, np.nan)
        own_price = np.where(kept > 0, (line("unit_cost") - line("overhead_cost")) / kept, np.nan)
    return BreakEven(quantity, again, price, own_price, fixed, next_piece)


def margins_at(costing: Costing, quantities: Sequence[float] = BREAKS) -> tuple[Floats, Floats, list[PriceRise]]:
    """Price and margin of every line at other quantities, each as an order of its own, and why one is dearer each than fewer.

    The price is the one in force for that quantity: a typed price stands, a list price where it holds for so many, others are
    calculated anew.

    Parameters
    ----------
    quantities : [pieces]

    Returns
    -------
    unit price [currency/piece] and margin after discount [dimensionless], each of shape (lines, quantities); the rises in price
    """
    lines = with_quantities(alone(costing.lines, costing.line("unit_price")), quantities)
    found = costed(costing.book, lines, Problems(costing.book.file))
    shape = (len(costing.lines), len(quantities))
    rises = price_rises(found, len(quantities))
    return found.line("unit_price").reshape(shape), found.line("discounted_margin").reshape(shape), rises


def _fixed_and_next(model: Model, quantity: Floats) -> tuple[Floats, Floats]:
    """Within the moulds and loads of a quantity, and at its average time, cost is a straight line: height at 0, slope."""
    twice = np.stack([quantity, 2 * quantity])
    now = evaluate(model, {("lines", "quantity"): quantity})
    moulds, stock = now.value("lines", "moulds_charged"), model.tables["lines"].given["made_for_stock"] > 0
    cost = evaluate(model, {
        ("lines", "quantity"): twice,
        ("lines", "loads_of_line"): now.value("lines", "loads_of_line"),
        ("steps", "average_minutes_factor"): now.value("steps", "average_minutes_factor"),
        ("lines", "moulds_charged"): np.where(stock, moulds * twice / quantity, moulds),
    }).value("lines", "line_cost")
    return 2 * cost[0] - cost[1], (cost[1] - cost[0]) / quantity


def _surplus(costing: Costing, quantities: Floats) -> Floats:
    """What is left of the net after all costs at other quantities, each as an order of its own with the moulds that make it cheapest,
    rounding noise aside, shape (quantities, lines) [currency]."""
    count = len(quantities)
    own = costed(costing.book, with_quantities(costing.lines, quantities.tolist(), calculated=True), Problems(costing.book.file))
    found = evaluate(own.model, {
        ("lines", "price_is_given"): np.ones(len(own.lines)),
        ("lines", "given_price"): np.repeat(measure_prices(costing.values), count),
    }, own.values)
    net = found.value("lines", "discounted_net") - found.value("lines", "taken")
    left = net - found.value("lines", "line_cost") + _HAIR * np.abs(net)
    return np.asarray(left.reshape(-1, count).T, dtype=np.float64)


def _first(reached: NDArray[np.bool_], known: Floats, quantities: Floats) -> Floats:
    """The first quantity at which something is so, where none is known yet."""
    first = quantities[reached.argmax(axis=0)]
    return np.where(np.isnan(known) & reached.any(axis=0), first, known)


def _blocks() -> Iterator[Floats]:
    """Whole numbers of pieces, block by block; the first block reaches to 100."""
    if MOST_PIECES <= 100:
        yield np.arange(1.0, MOST_PIECES + 1)
        return
    yield np.arange(1.0, 101.0)
    for start in range(100, MOST_PIECES, 100):
        yield np.arange(start + 1.0, min(start + 100, MOST_PIECES) + 1.0)


def _quantities(costing: Costing) -> tuple[Floats, Floats]:
    count = len(costing.lines)
    whole, again = np.full(count, np.nan), np.full(count, np.nan)
    endless = np.zeros(count)
    for number, quantities in enumerate(_blocks()):
        # A cost per piece is never below that of an endless run, so what does not pay there never pays.
        if number and not (np.isnan(whole) & (endless >= 0)).any():
            break
        looked_at = quantities if number else np.append(quantities, ENDLESS)
        parts = np.array_split(looked_at, max(1, len(looked_at) * count // AT_ONCE))
        surplus = np.concatenate([_surplus(costing, part) for part in parts])
        if not number:
            surplus, endless = surplus[:-1], surplus[-1]
        whole = _first(surplus >= 0, whole, quantities)
        if not number:
            again = _first((surplus < 0) & (quantities[:, None] > whole), again, quantities)
    return whole, again
