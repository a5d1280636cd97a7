"""Three-point estimates: a lowest, a likeliest and a highest figure, and what follows from them.

Two readings are in use. The classic PERT figures take a sixth of the range as standard deviation whatever the shape;
the beta-PERT distribution has the same mean and a standard deviation that follows from it, so the two differ a little.
The triangular distribution weighs the extremes more. Means of independent estimates add, and so do their variances.

Sources: D. G. Malcolm et al. (1959), "Application of a technique for research and development program evaluation"
(PERT), and D. Vose, "Risk Analysis" (beta-PERT): both from memory; published cases are checked in the tests.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pricing.algebra.expressions import Value
from pricing.glossary import Quantity, define

define([
    Quantity("lowest_minutes", "Lowest", "minute", "min", 2, "The least time it could take."),
    Quantity("likeliest_minutes", "Likeliest", "minute", "min", 2, "The time it takes most often."),
    Quantity("highest_minutes", "Highest", "minute", "min", 2, "The most time it could take."),
    Quantity("pert_mean", "Expected time", "minute", "min", 2,
             "Expected time by PERT: the likeliest counts four times."),
    Quantity("pert_deviation", "Standard deviation", "minute", "min", 2,
             "Standard deviation by classic PERT: a sixth of the range."),
    Quantity("beta_pert_variance", "Variance, beta-PERT", "minute**2", "min²", 4,
             "Variance of the beta-PERT distribution."),
    Quantity("triangular_mean", "Expected time, triangle", "minute", "min", 2, "Mean of the triangular distribution."),
    Quantity("triangular_variance", "Variance, triangle", "minute**2", "min²", 4,
             "Variance of the triangular distribution."),
])


def pert_mean(lowest_minutes: Value, likeliest_minutes: Value, highest_minutes: Value) -> Value:
    """Expected value of a three-point estimate by PERT, classic and beta-PERT alike.

    Parameters
    ----------
    lowest_minutes, likeliest_minutes, highest_minutes : in this order [minute]

    Returns
    -------
    pert_mean [minute]

    >>> pert_mean(2, 5, 8)
    5.0
    """
    return (lowest_minutes + 4 * likeliest_minutes + highest_minutes) / 6


def pert_deviation(lowest_minutes: Value, highest_minutes: Value) -> Value:
    """Standard deviation of a three-point estimate by classic PERT.

    Parameters
    ----------
    lowest_minutes, highest_minutes : [minute]

    Returns
    -------
    pert_deviation [minute]

    >>> pert_deviation(2, 8)
    1.0
    """
    return (highest_minutes - lowest_minutes) / 6


def beta_pert_variance(lowest_minutes: Value, likeliest_minutes: Value, highest_minutes: Value) -> Value:
    """Variance of the beta-PERT distribution.

    Parameters
    ----------
    lowest_minutes, likeliest_minutes, highest_minutes : in this order [minute]

    Returns
    -------
    beta_pert_variance [minute**2]

    >>> round(beta_pert_variance(0, 7, 14), 12)
    7.0
    """
    mean = pert_mean(lowest_minutes, likeliest_minutes, highest_minutes)
    return (mean - lowest_minutes) * (highest_minutes - mean) / 7


def triangular_mean(lowest_minutes: Value, likeliest_minutes: Value, highest_minutes: Value) -> Value:
    """Mean of the triangular distribution.

    Parameters
    ----------
    lowest_minutes, likeliest_minutes, highest_minutes : in this order [minute]

    Returns
    -------
    triangular_mean [minute]

    >>> triangular_mean(2, 4, 9)
    5.0
    """
    return (lowest_minutes + likeliest_minutes + highest_minutes) / 3


def triangular_variance(lowest_minutes: Value, likeliest_minutes: Value, highest_minutes: Value) -> Value:
    """Variance of the triangular distribution, written so that large figures close together lose no digits.

    Parameters
    ----------
    lowest_minutes, likeliest_minutes, highest_minutes : in this order [minute]

    Returns
    -------
    triangular_variance [minute**2]

    >>> triangular_variance(0, 6, 6)
    2.0
    """
    return (
        (highest_minutes - lowest_minutes) ** 2
        - (likeliest_minutes - lowest_minutes) * (highest_minutes - likeliest_minutes)
    ) / 18


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


def percentiles(figures: ArrayLike, shares: Sequence[float] = (0.1, 0.5, 0.9)) -> NDArray[np.float64]:
    """The figures below which the given shares of all figures lie.

    Parameters
    ----------
    figures : drawn or observed [any unit]
    shares : between 0 and 1 [dimensionless]

    Returns
    -------
    array, one for each share [unit of the figures]

    >>> percentiles([1.0, 2.0, 3.0, 4.0, 5.0], (0.5,)).tolist()
    [3.0]
    """
    return np.quantile(np.asarray(figures, dtype=np.float64), shares)


def chance_within(limit: float, mean: float, deviation: float) -> float:
    """Chance that a sum of many independent estimates stays within a limit, taken as normally distributed.

    Parameters
    ----------
    limit, mean : [any unit]
    deviation : standard deviation, zero or more [the same unit]

    Returns
    -------
    float between 0 and 1 [dimensionless]

    Source: central limit theorem, as PERT uses it.

    >>> chance_within(24, 24, 2)
    0.5
    """
    if deviation == 0:
        return 1.0 if limit >= mean else 0.0
    return 0.5 * (1.0 + math.erf((limit - mean) / deviation / math.sqrt(2.0)))


def _check(low: float, mode: float, high: float, draws: int) -> None:
    if not (math.isfinite(low) and math.isfinite(high) and low <= mode <= high):
        raise ValueError(f"a three-point estimate runs from lowest to highest; {low:g}, {mode:g}, {high:g} does not")
    if draws < 0:
        raise ValueError(f"{draws} draws cannot be made; ask for zero or more")
