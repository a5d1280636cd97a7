"""A change is split fairly between its causes: hand cases, and the four properties that single the method out."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.costing.comparison.attribution import MOST_FOR_SUBSETS, Scenarios, split_change
from pricing.costing.engine.packed_columns import Floats


def of_sets(value: Callable[[frozenset[int]], float]) -> Callable[[Scenarios], Floats]:
    """A value of sets of causes, as the split asks for it."""
    return lambda scenarios: np.array([[value(frozenset(np.flatnonzero(row).tolist()))] for row in scenarios])


def product_of(*steps: tuple[float, float]) -> Callable[[Scenarios], Floats]:
    """The product of figures that go from one to another."""
    old, new = np.array(steps).T
    return lambda scenarios: np.prod(np.where(scenarios, new, old), axis=1, keepdims=True)


def table_of(figures: list[float]) -> Callable[[Scenarios], Floats]:
    """A value for every subset, numbered by its members as binary digits."""
    given_figures = np.array(figures)
    return lambda scenarios: given_figures[scenarios @ (1 << np.arange(scenarios.shape[1]))][:, None]


HAND = [
    # Two sides of a rectangle, 2 x 3 to 4 x 5: 14 = 2 x (3 + 5)/2 + 2 x (2 + 4)/2.
    ("two factors", product_of((2, 4), (3, 5)), [8, 6]),
    # (1 + 1)(1 + 2)(1 + 3) - 1 = 23: each alone, half of each pair, a third of all three together.
    ("three factors", product_of((1, 2), (1, 3), (1, 4)), [1 + 5 / 2 + 2, 2 + 8 / 2 + 2, 3 + 9 / 2 + 2]),
    # A price that rises while less is used: 10 kg x 2.00 to 8 kg x 3.00 = +4: price +9, use -5.
    ("price and use", product_of((10, 8), (2, 3)), [-5, 9]),
    # Nothing happens unless both change: halves.
    ("only together", of_sets(lambda s: 6.0 * (len(s) == 2)), [3, 3]),
    # Two owners of a left glove and one of a right one; a pair is worth 1. Known values from memory, no copy at hand.
    ("gloves", of_sets(lambda s: float(2 in s and len(s) > 1)), [1 / 6, 1 / 6, 4 / 6]),
    # A runway as long as the largest needs: 8, 11, 13, 18. Littlechild and Owen 1973, figures from memory; by hand
    # 8/4, 8/4 + 3/3, 8/4 + 3/3 + 2/2, and the last 5 alone.
    ("runway", of_sets(lambda s: max(([8, 11, 13, 18][i] for i in s), default=0.0)), [2, 3, 4, 9]),
]


@pytest.mark.parametrize(("value", "parts"), [case[1:] for case in HAND], ids=[case[0] for case in HAND])
def test_parts_by_hand(value: Callable[[Scenarios], Floats], parts: list[float]) -> None:
    """Cases that can be followed on paper."""
    assert split_change(value, len(parts))[:, 0] == pytest.approx(parts, rel=1e-12)


figures = st.floats(-1e6, 1e6, allow_nan=False)
games = st.integers(1, 5).flatmap(lambda count: st.tuples(st.just(count), st.lists(figures, min_size=2**count, max_size=2**count)))


@given(games)
def test_parts_add_up_to_the_whole(game: tuple[int, list[float]]) -> None:
    """Whatever the figures, the parts add up to the change."""
    count, values = game
    parts = split_change(table_of(values), count)
    assert parts.sum() == pytest.approx(values[-1] - values[0], abs=1e-12 * max(1.0, *map(abs, values)) * 2**count)


@given(games, st.data())
def test_an_idle_cause_gets_exactly_zero(game: tuple[int, list[float]], data: st.DataObject) -> None:
    """A cause that changes nothing, whatever else changes, gets zero and not merely little."""
    count, values = game
    idle = data.draw(st.integers(0, count))

    def value(scenarios: Scenarios) -> Floats:
        return table_of(values)(np.delete(scenarios, idle, axis=1))

    assert split_change(value, count + 1)[idle, 0] == 0.0


@given(games, st.data())
def test_the_order_of_the_causes_has_no_influence(game: tuple[int, list[float]], data: st.DataObject) -> None:
    """Named in another order, each cause gets the same."""
    count, values = game
    order = data.draw(st.permutations(range(count)))

    def value(scenarios: Scenarios) -> Floats:
        back = np.empty_like(scenarios)
        back[:, order] = scenarios
        return table_of(values)(back)

    one, other = split_change(table_of(values), count)[:, 0], split_change(value, count)[:, 0]
    assert other == pytest.approx(one[order], abs=1e-9 * max(1.0, *map(abs, values)))


@given(games, games)
def test_parts_of_a_sum_are_the_sums_of_parts(one: tuple[int, list[float]], other: tuple[int, list[float]]) -> None:
    """What two figures share out together is what each shares out alone; several figures are split in one go."""
    count = min(one[0], other[0])
    first, second = np.array(one[1][: 2**count]), np.array(other[1][: 2**count])
    together = split_change(table_of((first + second).tolist()), count)[:, 0]

    def both(scenarios: Scenarios) -> Floats:
        return np.hstack([table_of(first.tolist())(scenarios), table_of(second.tolist())(scenarios)])

    parts = split_change(both, count)
    assert together == pytest.approx(parts.sum(axis=1), abs=1e-9 * max(1.0, float(np.abs(first).max()), float(np.abs(second).max())))


def test_the_definition_itself() -> None:
    """With four causes: the average over all 24 orders of what each adds when it joins."""
    values = np.random.default_rng(5).normal(size=16).tolist()
    expected = np.zeros(4)
    for order in itertools.permutations(range(4)):
        seen = 0
        for cause in order:
            expected[cause] += (values[seen | 1 << cause] - values[seen]) / 24
            seen |= 1 << cause
    assert split_change(table_of(values), 4)[:, 0] == pytest.approx(expected.tolist(), rel=1e-12)


@settings(deadline=None, max_examples=20)
@given(st.integers(MOST_FOR_SUBSETS + 1, 24), st.integers(0, 2**32 - 1))
def test_many_causes_that_act_on_each_other_in_pairs(count: int, seed: int) -> None:
    """With more causes than subsets allow, those that act alone or in pairs still get their exact Shapley value."""
    random = np.random.default_rng(seed)
    alone, pairs = random.normal(size=count), np.triu(random.normal(size=(count, count)), 1)

    def value(scenarios: Scenarios) -> Floats:
        at_work = scenarios.astype(float)
        return (at_work @ alone + np.einsum("si,ij,sj->s", at_work, pairs, at_work))[:, None]

    expected = alone + (pairs.sum(axis=0) + pairs.sum(axis=1)) / 2
    assert split_change(value, count)[:, 0] == pytest.approx(expected.tolist(), abs=1e-11)


def test_many_causes_add_up_whatever_they_do() -> None:
    """With sixteen factors of one product the parts add up, an idle one gets zero, and like ones get about the same."""
    steps = [(1.0, 1.1)] * 16 + [(2.0, 2.0)]
    parts = split_change(product_of(*steps), 17)[:, 0]
    assert parts.sum() == pytest.approx(2 * 1.1**16 - 2, rel=1e-12)
    assert parts[16] == 0.0
    assert parts[:16] == pytest.approx([parts[:16].mean()] * 16, rel=5e-3)


def test_nothing_changed_has_no_parts() -> None:
    """Without causes there is nothing to split."""
    assert split_change(lambda scenarios: np.full((len(scenarios), 3), 7.0), 0).shape == (0, 3)


@pytest.mark.parametrize("at_once", [1, 3, 1000])
def test_portions_do_not_matter(at_once: int) -> None:
    """The parts are the same however many scenarios are evaluated in one go."""
    value = product_of((1, 2), (3, 5), (2, 7))
    assert split_change(value, 3, at_once).tolist() == split_change(value, 3).tolist()
