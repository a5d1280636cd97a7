"""Better standards: the published examples of the method, its laws, and how often its range is right.

The worked examples are those of the open textbook "Loss Data Analytics" (Actuarial Community), chapter "Experience
rating using credibility theory", github.com/OpenActTexts/Loss-Data-Analytics, commit a6be3d6a,
Chapters/Credibility.Rmd: figures only.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.costing.jobs.credibility import (
    CONFIDENCE,
    PRIOR_SPREAD,
    PRIOR_SPREAD_STRENGTH,
    PRIOR_STRENGTH,
    student_quantile,
    updated_standard,
)

figures = st.floats(0.1, 1000.0)
several = st.lists(figures, min_size=1, max_size=12)


def test_published_years_of_equal_weight() -> None:
    """Example 3.5: 1,500 expected, five years at 1,000 on average, K 5,050,000 / 1,750,000: Z .63, so 1,185."""
    moved = updated_standard(1_500, [1_000] * 5, prior_strength=5_050_000 / 1_750_000)
    assert moved.credibility == pytest.approx(0.63, abs=0.005)
    assert moved.value == pytest.approx(1_185, abs=0.005 * 500)


def test_published_years_of_unlike_weight() -> None:
    """Example 4.2: 5, 4 and 4 among 9, 12 and 15, 1/2 expected, K 10: Z 18/23, 9/23 each, 7.04 among 18."""
    moved = updated_standard(1 / 2, [5 / 9, 4 / 12, 4 / 15], [9, 12, 15], prior_strength=10)
    assert moved.credibility == pytest.approx(18 / 23, rel=1e-12)
    assert moved.value == pytest.approx(9 / 23, rel=1e-12)
    assert 18 * moved.value == pytest.approx(7.04, abs=0.005)
    assert moved.count == 3


def test_published_prior_of_little_strength() -> None:
    """Example 6.1: 0, 1, 0 and 2, 1, 2, K 3/7: Z 7/8, and from the mean of 1 they move to 5/12 and 19/12."""
    assert updated_standard(1, [0, 1, 0], prior_strength=3 / 7).credibility == pytest.approx(7 / 8, rel=1e-12)
    assert updated_standard(1, [0, 1, 0], prior_strength=3 / 7).value == pytest.approx(5 / 12, rel=1e-12)
    assert updated_standard(1, [2, 1, 2], prior_strength=3 / 7).value == pytest.approx(19 / 12, rel=1e-12)


def test_published_case_without_a_difference() -> None:
    """Example 6.2: 3, 0, 0 and 3, 0, 3 scatter so much that no difference between them shows, K is endless: nothing moves."""
    assert updated_standard(1.5, [3, 0, 3], prior_strength=math.inf).value == 1.5


def test_published_prior_with_weights() -> None:
    """Example 6.3: K 2.0871, Z .7703 and .8118, and from 5/8 they move to .9139 and .3882."""
    first, second = ([0, 1, 1, 3 / 2], [1, 2, 2, 2]), ([0, 0, 1 / 3, 1 / 2], [0, 2, 3, 4])
    one, other = (updated_standard(5 / 8, *each, prior_strength=2.0871) for each in (first, second))
    assert (one.credibility, other.credibility) == (pytest.approx(0.7703, abs=5e-5), pytest.approx(0.8118, abs=5e-5))
    assert (one.value, other.value) == (pytest.approx(0.9139, abs=5e-5), pytest.approx(0.3882, abs=5e-5))
    assert (one.count, other.count) == (4, 3)


#: By hand, prior 100, strength 5: (observations, value).
BY_HAND = [([], 100.0), ([130], 105.0), ([130] * 5, 115.0), ([130] * 45, 127.0), ([70], 95.0), ([90, 110], 100.0)]


@pytest.mark.parametrize(("observations", "value"), BY_HAND)
def test_by_hand(observations: list[float], value: float) -> None:
    """One job of 130 moves a standard of 100 by 5, five move it half way, many nearly all of it."""
    moved = updated_standard(100.0, observations)
    assert moved.value == pytest.approx(value, rel=1e-12)
    assert moved.count == len(observations)


@given(figures, several)
def test_between_today_and_the_observed_mean(prior: float, observations: list[float]) -> None:
    """The proposed figure lies between today's and the mean of the observations, within its range."""
    moved = updated_standard(prior, observations)
    low, high = sorted((prior, float(np.mean(observations))))
    assert low * (1 - 1e-12) <= moved.value <= high * (1 + 1e-12)
    assert moved.low <= moved.value <= moved.high


@given(figures, figures, st.integers(1, 30))
def test_few_observations_move_it_little(prior: float, seen: float, count: int) -> None:
    """The share of the way that it moves is n / (n + 5): a sixth for one, and more with each one more."""
    moved = updated_standard(prior, [seen] * count)
    assert moved.credibility == pytest.approx(count / (count + PRIOR_STRENGTH), rel=1e-12)
    assert moved.value - prior == pytest.approx(moved.credibility * (seen - prior), rel=1e-9, abs=1e-9)
    assert updated_standard(prior, [seen] * (count + 1)).credibility > moved.credibility


@given(figures, several, st.randoms())
def test_order_does_not_matter(prior: float, observations: list[float], shuffler: object) -> None:
    """Jobs may be typed in any order."""
    mixed = list(observations)
    shuffler.shuffle(mixed)  # type: ignore[attr-defined]
    one, other = updated_standard(prior, observations), updated_standard(prior, mixed)
    for name in ("value", "low", "high"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-9, abs=1e-9)


@given(figures, several, st.floats(0.001, 1000.0))
def test_units_do_not_matter(prior: float, observations: list[float], factor: float) -> None:
    """In other units the same standard comes out, range and all."""
    one = updated_standard(prior, observations)
    other = updated_standard(prior * factor, [figure * factor for figure in observations])
    for name in ("value", "low", "high"):
        assert getattr(other, name) == pytest.approx(factor * getattr(one, name), rel=1e-9, abs=1e-9 * factor)


@given(figures, several, st.floats(0.01, 100.0))
def test_unit_of_the_weights_does_not_matter(prior: float, observations: list[float], weight: float) -> None:
    """Observations that all weigh the same weigh one each, whatever the figure typed."""
    one = updated_standard(prior, observations)
    other = updated_standard(prior, observations, [weight] * len(observations))
    for name in ("value", "low", "high", "credibility"):
        assert getattr(other, name) == pytest.approx(getattr(one, name), rel=1e-9, abs=1e-9)


@given(figures, st.lists(st.tuples(figures, st.floats(0.5, 50.0)), min_size=1, max_size=8), st.floats(1.0, 50.0))
def test_a_split_job_weighs_the_same(prior: float, jobs: list[tuple[float, float]], strength: float) -> None:
    """A job entered in two halves moves the figure as the whole one does; a job of no weight moves nothing."""
    seen, weights = [figure for figure, _ in jobs], [weight for _, weight in jobs]
    whole = updated_standard(prior, seen, weights, strength)
    halves = updated_standard(prior, [*seen, seen[0]], [weights[0] / 2, *weights[1:], weights[0] / 2], strength)
    idle = updated_standard(prior, [*seen, 999.0], [*weights, 0.0], strength)
    assert halves.value == pytest.approx(whole.value, rel=1e-12)
    assert idle == whole


@given(figures, several)
def test_strength_from_nothing_to_everything(prior: float, observations: list[float]) -> None:
    """A prior of hardly any strength gives way to the mean; one of endless strength stays."""
    mean = np.mean(observations)
    assert updated_standard(prior, observations, prior_strength=1e-15).value == pytest.approx(mean, rel=1e-9)
    assert updated_standard(prior, observations, prior_strength=math.inf).value == prior


@given(figures, st.integers(2, 40))
def test_agreement_narrows_the_range(prior: float, count: int) -> None:
    """Observations that confirm today's figure narrow its range; scattered ones narrow it less."""
    widths = [
        (lambda moved: moved.high - moved.low)(updated_standard(prior, observations, bounds=(-math.inf, math.inf)))
        for observations in ([], [prior] * count, [0.5 * prior, 1.5 * prior] * count)
    ]
    assert widths[1] < widths[0]
    assert widths[1] < widths[2]


@given(st.floats(0.0, 1.0), st.lists(st.floats(0.0, 1.0), max_size=12))
def test_the_range_keeps_to_its_bounds(prior: float, observations: list[float]) -> None:
    """A range never leaves what is possible: a share of rejects stays from 0 to 1."""
    moved = updated_standard(prior, observations, bounds=(0.0, 1.0))
    assert 0.0 <= moved.low <= moved.value <= moved.high <= 1.0


def test_the_range_is_right_as_often_as_it_says() -> None:
    """Of 4,000 standards drawn from the model, 80 % lie in their range, within four standard errors."""
    random, count, prior, hits = np.random.default_rng(11), 4000, 100.0, 0
    for _ in range(count):
        chi = random.chisquare(PRIOR_SPREAD_STRENGTH)
        variance = PRIOR_SPREAD_STRENGTH * (PRIOR_SPREAD * prior) ** 2 / chi
        true = random.normal(prior, math.sqrt(variance / PRIOR_STRENGTH))
        seen = random.normal(true, math.sqrt(variance), random.integers(0, 8))
        moved = updated_standard(prior, seen.tolist(), bounds=(-math.inf, math.inf))
        hits += moved.low <= true <= moved.high
    assert abs(hits / count - CONFIDENCE) <= 4 * math.sqrt(CONFIDENCE * (1 - CONFIDENCE) / count)


#: Table of Student's t as printed in textbooks (from memory): (probability, degrees of freedom, quantile).
STUDENT = [(0.9, 4, 1.533), (0.9, 5, 1.476), (0.9, 10, 1.372), (0.95, 5, 2.015), (0.95, 10, 1.812), (0.9, 30, 1.310)]


@pytest.mark.parametrize(("probability", "freedom", "printed"), STUDENT)
def test_student_table(probability: float, freedom: float, printed: float) -> None:
    """Printed quantiles of Student's t come out to their third decimal."""
    assert student_quantile(probability, freedom) == pytest.approx(printed, abs=6e-4)


@pytest.mark.parametrize(
    ("arguments", "options", "sentence"),
    [
        ((math.nan, [1.0]), {}, "finite number"),
        ((1.0, [math.inf]), {}, "finite number"),
        ((1.0, [1.0, 2.0], [1.0]), {}, "as many weights"),
        ((1.0, [1.0], [-1.0]), {}, "weights must be zero or more"),
        ((1.0, [1.0], [0.0]), {}, "not all zero"),
        ((1.0, [1.0], None, 0.0), {}, "prior strength"),
        ((1.0, [1.0], None, math.nan), {}, "prior strength"),
        ((1.0, [1.0]), {"confidence": 1.0}, "confidence"),
    ],
)
def test_bad_figures_are_refused(arguments: tuple[object, ...], options: dict[str, float], sentence: str) -> None:
    """Figures that cannot be are refused with a sentence."""
    with pytest.raises(ValueError, match=sentence):
        updated_standard(*arguments, **options)  # type: ignore[arg-type]
