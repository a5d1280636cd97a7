"""Three-point estimates: random figures from a lowest, a likeliest and a highest one.

The beta-PERT distribution has the mean of the classic PERT estimate, in which the likeliest counts four times; the
triangular distribution weighs the extremes more.

Sources: D. G. Malcolm et al. (1959), "Application of a technique for research and development program evaluation"
(PERT), and D. Vose, "Risk Analysis" (beta-PERT): both from memory; published cases are checked in the tests.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray


def draw_triangular(low: float, mode: float, high: float, draws: int, seed: int) -> NDArray[np.float64]:
    """Random figures from the triangular distribution, the same for the same seed.

    Parameters
    ----------
    low, mode, high : in this order [any unit]
    draws : how many
    seed : of the random numbers

    Returns
    -------
    array of *draws* figures [unit of the three]

    Problems raised: ValueError where the three are out of order or not finite, or *draws* is below zero.

    >>> draw_triangular(2, 4, 9, 3, seed=1).shape
    (3,)
    """
    _check(low, mode, high, draws)
    if low == high:
        return np.full(draws, float(low))
    return np.random.default_rng(seed).triangular(low, mode, high, draws)


def draw_pert(low: float, mode: float, high: float, draws: int, seed: int) -> NDArray[np.float64]:
    """Random figures from the beta-PERT distribution, the same for the same seed.

    Parameters
    ----------
    low, mode, high : in this order [any unit]
    draws : how many
    seed : of the random numbers

    Returns
    -------
    array of *draws* figures [unit of the three]

    Problems raised: ValueError where the three are out of order or not finite, or *draws* is below zero.

    >>> draw_pert(2, 4, 9, 3, seed=1).shape
    (3,)
    """
    _check(low, mode, high, draws)
    if low == high:
        return np.full(draws, float(low))
    alpha = 1 + 4 * (mode - low) / (high - low)
    beta = 1 + 4 * (high - mode) / (high - low)
    return low + (high - low) * np.random.default_rng(seed).beta(alpha, beta, draws)


def _check(low: float, mode: float, high: float, draws: int) -> None:
    if not (math.isfinite(low) and math.isfinite(high) and low <= mode <= high):
        raise ValueError(f"a three-point estimate runs from lowest to highest; {low:g}, {mode:g}, {high:g} does not")
    if draws < 0:
        raise ValueError(f"{draws} draws cannot be made; ask for zero or more")
