"""The prices of a line at other quantities, as they are shown beside its own."""

from __future__ import annotations

from pricing.costing.method.costing import Costing
from pricing.costing.method.measures import measure_prices


def prices_by_quantity(costing: Costing, line: int, breaks: Costing) -> tuple[float, ...]:
    """The prices of one of what a line is priced by, at other quantities; none contradicts the price that the quote itself says: fewer
    pieces do not cost less each than those that are asked for, more do not cost more.

    Parameters
    ----------
    line : counted from 0
    breaks : the same lines at other quantities, as ``at_quantities(costing, quantities)`` gives them
    """
    per_line = len(breaks.lines) // max(len(costing.lines), 1)
    at = slice(line * per_line, (line + 1) * per_line)
    own, asked = float(measure_prices(costing.values)[line]), float(costing.lines.quantity[line])
    return tuple(
        own if quantity == asked else max(price, own) if quantity < asked else min(price, own)
        for quantity, price in zip(breaks.lines.quantity[at].tolist(), measure_prices(breaks.values)[at].tolist(), strict=True)
    )
