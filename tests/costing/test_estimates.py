"""Seeded draws of three-point estimates against worked examples and their moments."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.costing.analysis.estimates import draw_pert, draw_triangular

#: Three figures in order, the lowest and the highest well apart.
threes = st.tuples(st.floats(0, 1000), st.floats(0, 1), st.floats(1, 1000)).map(
    lambda given: (given[0], given[0] + given[1] * given[2], given[0] + given[2])
)


def pert_moments(low: float, mode: float, high: float) -> tuple[float, float]:
    """Mean and variance of the beta-PERT distribution (D. Vose, "Risk Analysis", from memory)."""
    mean = (low + 4 * mode + high) / 6
    return mean, (mean - low) * (high - mean) / 7


def triangular_moments(low: float, mode: float, high: float) -> tuple[float, float]:
    """Mean and variance of the triangular distribution, as textbooks print them; no digits are lost at small figures."""
    return (low + mode + high) / 3, ((high - low) ** 2 - (mode - low) * (high - mode)) / 18


#: wizedu.com/questions/717873 (a weak host; the moments below are the support): (lowest, likeliest, highest, mean), to two
#: decimals.
WORKED = [
    (5, 5, 7, 5.33), (1, 2, 5, 2.33), (5, 5, 5, 5), (4, 8, 13, 8.17), (1, 10, 17, 9.67), (1, 5, 7, 4.67), (2, 6, 9, 5.83), (4, 4, 6, 4.33),
    (2, 7, 10, 6.67), (2, 4, 7, 4.17), (6, 10, 13, 9.83), (2, 6, 6, 5.33), (2, 2, 3, 2.17), (7, 7, 12, 7.83),
]


@pytest.mark.parametrize(("low", "mode", "high", "mean"), WORKED)
def test_worked_estimates(low: float, mode: float, high: float, mean: float) -> None:
    """Draws average to the worked mean, within its second decimal and four standard errors."""
    count = 100_000
    _, variance = pert_moments(low, mode, high)
    assert draw_pert(low, mode, high, count, seed=11).mean() == pytest.approx(mean, abs=0.005 + 4 * math.sqrt(variance / count))


def test_a_critical_path() -> None:
    """Four activities, one after another, take 24 together (flylib.com/books/en/3.287.1.117: 1-3-5-7)."""
    path = [(5, 8, 17), (3, 5, 7), (4, 6, 8), (3, 4, 5)]
    together = sum(draw_pert(*three, 100_000, seed) for seed, three in enumerate(path))
    assert np.mean(together) == pytest.approx(24, abs=0.03)


@given(threes, st.integers(0, 2**32))
def test_draws_have_the_moments(three: tuple[float, float, float], seed: int) -> None:
    """Draws stay within the range, their mean and variance within six standard errors of the formulas.

    Four would fail once in 16,000 cases, and this claim is tried on hundreds; one fixed case below is held to four.
    """
    count = 4000
    for draws, (mean, variance) in (
        (draw_triangular(*three, count, seed), triangular_moments(*three)), (draw_pert(*three, count, seed), pert_moments(*three)),
    ):
        assert three[0] <= draws.min() <= draws.max() <= three[2]
        assert abs(draws.mean() - mean) <= 6 * math.sqrt(variance / count) + 1e-9
        # the kurtosis of both distributions is at most 3, so the variance of a sample variance is below 2 v² / n
        assert abs(draws.var() - variance) <= 6 * variance * math.sqrt(2 / count) + 1e-9


@pytest.mark.parametrize("three", [(2, 4, 9), (10, 10, 40), (10, 40, 40), (0, 5, 10)])
def test_many_draws_have_the_mean(three: tuple[float, float, float]) -> None:
    """Over 200,000 draws the mean is within four standard errors of the formula, for one fixed seed."""
    count = 200_000
    for draw, moments in ((draw_triangular, triangular_moments), (draw_pert, pert_moments)):
        mean, variance = moments(*three)
        assert abs(draw(*three, count, seed=20).mean() - mean) <= 4 * math.sqrt(variance / count)


#: Quantiles of the beta distribution (2.142857, 3.857143) between 2 and 9, computed apart: (share, figure).
BETA_PERT_QUANTILES = [(0.1, 2.90435), (0.5, 4.38259), (0.9, 6.27270)]


@pytest.mark.parametrize(("share", "figure"), BETA_PERT_QUANTILES)
def test_shares_below_the_quantiles(share: float, figure: float) -> None:
    """The share of draws below a quantile of the distribution is that share, within four standard errors."""
    count = 200_000
    below = float((draw_pert(2, 4, 9, count, seed=7) < figure).mean())
    assert abs(below - share) <= 4 * math.sqrt(share * (1 - share) / count)


@given(threes, st.integers(0, 2**32))
def test_same_seed_same_draws(three: tuple[float, float, float], seed: int) -> None:
    """A seed gives the same draws again, and another seed others."""
    for draw in (draw_triangular, draw_pert):
        assert np.array_equal(draw(*three, 20, seed), draw(*three, 20, seed))
        assert not np.array_equal(draw(*three, 20, seed), draw(*three, 20, seed + 1))


def test_three_alike_are_certain() -> None:
    """Three equal figures are no estimate but a figure."""
    for draw in (draw_triangular, draw_pert):
        assert draw(5, 5, 5, 3, seed=1).tolist() == [5.0, 5.0, 5.0]


@pytest.mark.parametrize("three", [(5, 4, 9), (2, 10, 9), (math.nan, 4, 9), (2, 4, math.inf)])
def test_figures_out_of_order_are_refused(three: tuple[float, float, float]) -> None:
    """Figures that do not run from lowest to highest are refused with a sentence."""
    for draw in (draw_triangular, draw_pert):
        with pytest.raises(ValueError, match="from lowest to highest"):
            draw(*three, 10, seed=1)
        with pytest.raises(ValueError, match="ask for zero or more"):
            draw(2, 4, 9, -1, seed=1)
