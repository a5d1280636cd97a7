"""The numbers of moulds chosen anew where an input moves: what a maker would do who knew of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.cheapest import REASONS, cheapest_numbers, with_cheapest_moulds
from pricing.dataclass import dataclass

#: Of the lines whose number changes, so many are named.
_MOST_NAMED = 2


@dataclass(frozen=True, eq=False)
class MouldsAnew:
    """Numbers of moulds that are no longer what they were.

    Parameters
    ----------
    moulds_at_once : of every line [moulds]
    sheet_board : what each of a line's moulds pays of whole sheets, with so many of them [m²/mould]
    words : which lines change, from how many to how many
    short : from how many to how many where one line changes, otherwise how many lines do
    """

    moulds_at_once: Floats
    sheet_board: Floats
    words: str
    short: str


def moulds_anew(costing: Costing, changes: Mapping[tuple[str, str], Floats]) -> MouldsAnew | None:
    """The numbers of moulds with some inputs changed; None where every line keeps its own.

    Parameters
    ----------
    changes : by table and column, arrays of shape (rows,)

    A number that a wanted date asks for stands.
    """
    chosen = with_cheapest_moulds(replace(costing, values=evaluate(costing.model, changes, costing.values)))
    now, reasons = costing.line("moulds_at_once"), costing.model.tables["lines"].text["moulds_because"]
    own = np.array([reason in REASONS for reason in reasons.tolist()], dtype=np.bool_)
    at_once = np.where(own, chosen.line("moulds_at_once"), now)
    lines = np.flatnonzero(at_once != now)
    if not len(lines):
        return None
    board = np.where(own, chosen.line("sheet_board"), costing.line("sheet_board"))
    products = costing.products()
    told = [
        f"{costing.lines.quote[line]} {products[line]} {now[line]:,.0f} → {at_once[line]:,.0f} moulds"
        for line in lines[:_MOST_NAMED].tolist()
    ]
    more = f" and {len(lines) - _MOST_NAMED} more" if len(lines) > _MOST_NAMED else ""
    first = f"{now[lines[0]]:,.0f} → {at_once[lines[0]]:,.0f} moulds"
    return MouldsAnew(at_once, board, ", ".join(told) + more, first if len(lines) == 1 else f"{len(lines)} lines")


def prices_may_choose(costing: Costing, share: float) -> bool:
    """Whether a price or a wage moved by a share, alone, may lead to another number of moulds.

    What a further mould costs and what a day of casting saves are sums of prices, so that neither moves by more than the share: where
    the choice stands at both ends of that, no single price changes it.
    """
    now, dearer, cheaper = cheapest_numbers(costing, (1.0, (1 + share) / (1 - share), (1 - share) / (1 + share)))
    return bool((now != dearer).any() or (now != cheaper).any())
