"""The bottleneck: when hours, or days in the mould, are scarce, which piece earns the most with each of them.

Source: any text on cost-volume-profit analysis (constrained resources); the figures of an open textbook (Saylor Academy
2012, Managerial Accounting, chapters 6 and 7) are checked in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pricing.algebra.expressions import Value
from pricing.glossary import Quantity, define

_ANY = float("-inf")

define([
    Quantity("bottleneck_hours_per_piece", "Bottleneck hours of one", "hour/piece", "h", 4,
             "Hours that a piece takes of what is scarce."),
    Quantity("contribution_per_bottleneck_hour", "Contribution of a bottleneck hour", "currency/hour", "money per h", 2,
             "What an hour of what is scarce earns with this piece.", _ANY),
])


def contribution_per_bottleneck_hour(contribution_per_piece: Value, bottleneck_hours_per_piece: Value) -> Value:
    """What an hour of what is scarce earns with this piece: the figure to rank by, not the contribution of a piece.

    Parameters
    ----------
    contribution_per_piece : [currency/piece]
    bottleneck_hours_per_piece : above zero [hour/piece]

    Returns
    -------
    contribution_per_bottleneck_hour [currency/hour]

    >>> contribution_per_bottleneck_hour(400, 4)
    100.0
    """
    return contribution_per_piece / bottleneck_hours_per_piece


def best_use_of_bottleneck(
    contributions: Sequence[float], hours_per_piece: Sequence[float], demand: Sequence[float], hours: float
) -> NDArray[np.float64]:
    """How many of each product to make so that scarce hours earn the most, parts of a piece allowed.

    The products are made in the order of their contribution per bottleneck hour until the hours or the demand run out;
    those that lose money are not made. For divisible quantities no other choice earns more (G. B. Dantzig 1957,
    "Discrete-variable extremum problems", from memory).

    Parameters
    ----------
    contributions : of one piece of each product [currency/piece]
    hours_per_piece : bottleneck hours of one piece of each product, above zero [hour/piece]
    demand : the most that can be sold of each product; infinity where there is no limit [piece]
    hours : that the bottleneck has [hour]

    Returns
    -------
    array of quantities, in the order of the products [piece]

    Problems raised: ValueError where the products are not equally many, take no hours, or hours are below zero.

    >>> best_use_of_bottleneck([400, 150], [4, 1], [50, 200], 320).tolist()
    [30.0, 200.0]
    """
    given = (contributions, hours_per_piece, demand)
    earned, taken, wanted = (np.asarray(values, dtype=np.float64) for values in given)
    if not earned.shape == taken.shape == wanted.shape or earned.ndim != 1:
        raise ValueError("contributions, hours and demand must be given for the same products")
    if not (np.all(taken > 0) and 0 <= hours < float("inf") and np.all(wanted >= 0)):
        raise ValueError("every product must take more than no time, and neither hours nor demand may be below zero")
    order = np.argsort(-earned / taken, kind="stable")
    order = order[earned[order] > 0]
    used_before = np.concatenate(([0.0], np.cumsum(wanted[order] * taken[order])))[:-1]
    made = np.zeros_like(earned)
    made[order] = np.minimum(wanted[order], np.maximum(hours - used_before, 0.0) / taken[order])
    return made
