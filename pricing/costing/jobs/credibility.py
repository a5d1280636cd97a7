"""Better standards from few observations: Bühlmann-Straub credibility.

What a finished job took is an observation of a standard: minutes of a step, what a litre covers, the share rejected,
the casts that a mould survived. A handful of them must not throw over a standard that was typed with thought. So the
new figure is a weighted average of today's (the *prior*) and of the observations,

    value = Z × mean of observations + (1 - Z) × prior,   Z = m / (m + K),

where m is the weight of the observations together and K, the *prior strength*, how much weight the prior has. Without
weights an observation weighs one, and a K of 5 says that today's figure is worth as much as five jobs.

The range about it comes from the normal model with unknown variance, in which this average is the exact posterior mean:
the scatter expected beforehand, the scatter of the observations and their distance from the prior together set its
width, by Student's t.

Sources: H. Bühlmann (1967) and H. Bühlmann and E. Straub (1970) as set out, with worked examples that the tests
reproduce, in the open textbook "Loss Data Analytics" (Actuarial Community, chapter on experience rating using
credibility theory); the range: A. Gelman et al., "Bayesian Data Analysis", normal data with a conjugate prior (from
memory), whose coverage is tested by simulation.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from pricing.dataclass import dataclass

#: How many ordinary observations today's standard is worth, where nothing better is known (judgement, no source).
PRIOR_STRENGTH = 5.0
#: Standard deviation expected of one ordinary observation, as a share of the standard (judgement, no source).
PRIOR_SPREAD = 0.25
#: How many observations that expectation is worth (judgement, no source).
PRIOR_SPREAD_STRENGTH = 4.0
#: Chance that the true figure lies in the range.
CONFIDENCE = 0.8


@dataclass(frozen=True, slots=True)
class Standard:
    """A proposed standard and what it rests on.

    Parameters
    ----------
    value : the proposed figure [unit of the prior]
    count : how many observations it rests on
    low, high : range in which the true figure lies with the stated confidence [unit of the prior]
    credibility : weight that the observations have in it, from 0 to 1 [dimensionless]
    """

    value: float
    count: int
    low: float
    high: float
    credibility: float


def updated_standard(
    prior: float,
    observations: Sequence[float],
    weights: Sequence[float] | None = None,
    prior_strength: float | None = None,
    *,
    prior_spread: float = PRIOR_SPREAD,
    confidence: float = CONFIDENCE,
    bounds: tuple[float, float] = (0.0, math.inf),
) -> Standard:
    """A standard moved towards what finished jobs really took, by Bühlmann-Straub credibility.

    Parameters
    ----------
    prior : today's standard [any unit]
    observations : what finished jobs took, each per one of what the standard counts [the same unit]
    weights : how much each observation weighs, such as the pieces of its job; one each where none are given
    prior_strength : weight of the prior, in the unit of the weights; five average observations where not given
    prior_spread : standard deviation of an observation of average weight expected beforehand, as a share of the prior
    confidence : chance that the true figure lies in the range [dimensionless]
    bounds : what the figure cannot go beyond, which the range is cut to [the same unit]

    Returns
    -------
    Standard

    Problems raised: ValueError where a figure is not finite, a weight is below zero, the weights are not as many as
    the observations or all zero, the prior strength is not above zero, or the confidence is not between 0 and 1.

    Source: see the module.

    >>> moved = updated_standard(100.0, [120.0], prior_strength=4.0)
    >>> round(moved.value, 9), moved.count, moved.credibility
    (104.0, 1, 0.2)
    """
    seen = np.asarray(observations, dtype=np.float64)
    weight = np.ones_like(seen) if weights is None else np.asarray(weights, dtype=np.float64)
    _check(prior, seen, weight, confidence)
    seen, weight = seen[weight > 0], weight[weight > 0]
    ordinary = float(weight.mean()) if len(weight) else 1.0
    strength = PRIOR_STRENGTH * ordinary if prior_strength is None else prior_strength
    if not strength > 0:
        raise ValueError(f"the prior strength must be above zero, not {strength:g}")
    total = float(weight.sum())
    mean = float(weight @ seen) / total if total else prior
    credibility = total / (total + strength) if math.isfinite(strength) else 0.0
    value = prior + credibility * (mean - prior)
    scatter = PRIOR_SPREAD_STRENGTH * ordinary * (prior_spread * prior) ** 2
    scatter += float(weight @ (seen - mean) ** 2) + total * (1.0 - credibility) * (mean - prior) ** 2
    freedom = PRIOR_SPREAD_STRENGTH + len(seen)
    reach = student_quantile(0.5 + confidence / 2, freedom) * math.sqrt(scatter / freedom / (total + strength))
    low, high = (min(max(end, bounds[0]), bounds[1]) for end in (value - reach, value + reach))
    return Standard(value, len(seen), low, high, credibility)


def student_quantile(probability: float, freedom: float) -> float:
    """Quantile of Student's t, by its series in powers of one over the degrees of freedom.

    Parameters
    ----------
    probability : between 0 and 1 [dimensionless]
    freedom : degrees of freedom, four or more for three right digits at 0.9 [dimensionless]

    Returns
    -------
    float

    Source: M. Abramowitz and I. A. Stegun, "Handbook of Mathematical Functions", 26.7.5 (from memory); table values
    are checked in the tests.

    >>> round(student_quantile(0.9, 10), 3)
    1.372
    """
    z = NormalDist().inv_cdf(probability)
    terms = (
        (z**3 + z) / 4,
        (5 * z**5 + 16 * z**3 + 3 * z) / 96,
        (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384,
        (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92160,
    )
    return z + sum(term / freedom**power for power, term in enumerate(terms, start=1))


def _check(prior: float, seen: NDArray[np.float64], weight: NDArray[np.float64], confidence: float) -> None:
    if seen.shape != weight.shape or seen.ndim != 1:
        raise ValueError(f"{seen.size} observations need as many weights, not {weight.size}")
    if not math.isfinite(prior) or not np.all(np.isfinite(seen)):
        raise ValueError("the standard and every observation must be a finite number")
    if not np.all((weight >= 0) & np.isfinite(weight)) or (len(weight) and not np.any(weight > 0)):
        raise ValueError("weights must be zero or more, and not all zero")
    if not 0 < confidence < 1:
        raise ValueError(f"the confidence must lie between 0 and 1, not at {confidence:g}")
