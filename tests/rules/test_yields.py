"""Yields and rejects against published cases, and the traps of binary arithmetic."""

from __future__ import annotations

import math
from fractions import Fraction
from functools import reduce
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.money import round_half_away
from pricing.rules.yields import (
    abnormal_loss,
    cost_after_normal_loss,
    cost_per_good_piece,
    cost_with_normal_rejects,
    rolled_good_share,
    starts,
)

#: Quotients that binary arithmetic puts a hair above a whole number: (good, share, starts). Computed with fractions.
TRAPS = [
    (57, 0.57, 100),
    (114, 0.57, 200),
    (145, 0.58, 250),
    (29, 0.29, 100),
    (9, 0.9, 10),
    (95, 0.95, 100),
    (10, 1.0, 10),
]


@pytest.mark.parametrize(("good", "share", "expected"), TRAPS)
def test_whole_starts_are_not_exceeded(good: int, share: float, expected: int) -> None:
    """Where the quotient is whole on paper, no start is added to it."""
    assert Fraction(good) / Fraction(str(share)) == expected
    assert float(starts(good, share)) == expected


def test_a_plain_ceiling_falls_into_the_trap() -> None:
    """The trap is real: a plain ceiling asks for 101 starts where 100 are right."""
    assert math.ceil(57 / 0.57) == 101


@given(st.integers(1, 2000), st.integers(1, 100))
def test_starts_are_the_exact_ceiling(good: int, percent: int) -> None:
    """For whole pieces and whole percentages the starts are those of exact fractions."""
    assert float(starts(good, percent / 100)) == math.ceil(Fraction(good * 100, percent))


def test_rolled_yield_as_published() -> None:
    """1000, 950, 800, 700 left: steps 0.95, 0.84, 0.88, together 0.70 (support.minitab.com, throughput yield)."""
    left = (1000, 950, 800, 700)
    steps = [after / before for before, after in pairwise(left)]
    assert [float(round_half_away(step, 2)) for step in steps] == [0.95, 0.84, 0.88]
    assert reduce(rolled_good_share, steps, 1.0) == pytest.approx(0.70, rel=1e-12)


def test_normal_and_abnormal_rejects() -> None:
    """550 made for 2,200, 500 good, 30 normal, 20 abnormal rejects: 2,120 carried forward (gaodun.com/q/306i75).

    A page of exam items; 4.24 a good piece and an abnormal loss of 80 are computed from it.
    """
    each = 2_200 / 550
    assert each == 4.00
    good = cost_with_normal_rejects(each, 500, 30)
    assert good == pytest.approx(4.24, rel=1e-12)
    assert 500 * good == pytest.approx(2_120, rel=1e-12)
    assert abnormal_loss(20, each) == 80
    assert 500 * good + abnormal_loss(20, each) == pytest.approx(2_200, rel=1e-12)


#: (cost put in, scrap value, expected output, cost of one, tolerance), each a text on process costing:
#: online.flipbuilder.com/bmcx/nlve, page 146: 1,000 kg at 18, labour 1,800, overhead 900, normal loss 10 %;
#: studmed.ru, text for F2, page 206: 100 in, 10 % lost, 4,500, so 50 and not 45;
#: studmed.ru, text for C01, page 249: 500 kg, 10 % lost, 10,000 (the quotient computed).
NORMAL_LOSS = [(18_000 + 1_800 + 900, 0, 900, 23.00, 0), (4_500, 0, 90, 50, 0), (10_000, 0, 450, 22.22, 0.005)]


@pytest.mark.parametrize(("cost", "scrap", "output", "expected", "tolerance"), NORMAL_LOSS)
def test_normal_loss(cost: float, scrap: float, output: float, expected: float, tolerance: float) -> None:
    """Good output carries the loss that must be expected, and only that."""
    assert cost_after_normal_loss(cost, scrap, output) == pytest.approx(expected, rel=1e-12, abs=tolerance)


@given(st.floats(1.0, 1e4), st.floats(0.05, 1.0), st.floats(0.0, 1.0))
def test_cost_of_a_good_piece_pays_for_all(cost: float, share: float, recovered: float) -> None:
    """Of 1,000 started, the good ones and what the rejects fetch together pay for every start."""
    each = cost_per_good_piece(cost, share, recovered * cost)
    assert 1000 * share * each + 1000 * (1 - share) * recovered * cost == pytest.approx(1000 * cost, rel=1e-12)
    assert each >= cost * (1 - 1e-12)
    assert cost_per_good_piece(cost, 1.0, recovered * cost) == cost


@given(st.floats(1.0, 1e4), st.floats(0.05, 1.0), st.floats(0.0, 1.0))
def test_two_ways_to_the_same_cost(cost: float, share: float, recovered: float) -> None:
    """When just the expected loss happens, cost by share and cost after normal loss are one figure."""
    by_share = cost_per_good_piece(cost, share, recovered * cost)
    by_loss = cost_after_normal_loss(1000 * cost, 1000 * (1 - share) * recovered * cost, 1000 * share)
    assert by_share == pytest.approx(by_loss, rel=1e-12)


@given(st.lists(st.floats(0.1, 1.0), max_size=8))
def test_rolled_yield_is_the_product(steps: list[float]) -> None:
    """Chained from step to step, the rolled yield is the product of the steps."""
    assert reduce(rolled_good_share, steps, 1.0) == pytest.approx(math.prod(steps), rel=1e-12)
