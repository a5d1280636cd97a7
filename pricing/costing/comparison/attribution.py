"""A change split between its causes, so that the parts add up to the whole and no order of the causes is preferred.

Each cause gets its Shapley value: what it adds when it joins the others, averaged over every order in which they can
join. A cause that changes nothing gets zero, two causes that act alike get the same, and the parts add up exactly.
Source: L. S. Shapley, "A value for n-person games", Contributions to the Theory of Games II, 1953 (from memory).

With up to ``MOST_FOR_SUBSETS`` causes every subset of them is evaluated. With more, a fixed family of orders is averaged
instead, each together with its reverse: the parts still add up exactly, an idle cause still gets exactly zero, and they are
the Shapley value wherever no more than two causes act on each other at once, because an order and its reverse give each of
two causes half of what they do together; beyond that they are near it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from pricing.costing.engine.packed_columns import Floats

#: Which causes are at work: one row per scenario, one column per cause.
Scenarios: TypeAlias = NDArray[np.bool_]

#: The figures of each scenario, shape (scenarios, figures).
Valued: TypeAlias = Callable[[Scenarios], Floats]

#: So many causes are split over all their subsets: 16,384 scenarios.
MOST_FOR_SUBSETS = 14

#: With more causes, in so many ways they are dealt out, each in every rotation and backwards.
_WAYS = 6

#: Scenarios that are evaluated in one go.
AT_ONCE = 1024


def split_change(value: Valued, causes: int, at_once: int = AT_ONCE) -> Floats:
    """What each cause contributes to the change of every figure.

    Parameters
    ----------
    value : the figures of scenarios; the first cause alone is ``[[True, False, …]]``
    causes : how many there are; their order has no influence on the parts up to ``MOST_FOR_SUBSETS``
    at_once : scenarios that *value* is asked for in one go

    Returns
    -------
    the parts, shape (causes, figures); their sum is the figures with all causes less those with none

    Example: a wall of 2 m x 3 m grows to 4 m x 5 m; of the 14 m2 the length brings 8 and the height 6.

    >>> sides = np.array([[2.0, 3.0], [4.0, 5.0]])
    >>> def area(scenarios: Scenarios) -> Floats:
    ...     return np.prod(np.where(scenarios, sides[1], sides[0]), axis=1, keepdims=True)
    >>> split_change(area, 2).tolist()
    [[8.0], [6.0]]
    """
    if causes == 0:
        return np.zeros((0, value(np.zeros((1, 0), dtype=np.bool_)).shape[-1]))
    by_subsets = causes <= MOST_FOR_SUBSETS
    return _over_subsets(value, causes, at_once) if by_subsets else _over_orders(value, causes, at_once)


def _evaluated(value: Valued, scenarios: Scenarios, at_once: int) -> Floats:
    parts = [value(scenarios[start : start + at_once]) for start in range(0, len(scenarios), at_once)]
    return np.concatenate(parts)


def _over_subsets(value: Valued, causes: int, at_once: int) -> Floats:
    """The Shapley value by its definition: each subset without a cause, weighted by the orders that lead through it."""
    numbers = np.arange(2**causes)
    scenarios = (numbers[:, None] >> np.arange(causes)) & 1 == 1
    figures = _evaluated(value, scenarios, at_once)
    sizes = scenarios.sum(axis=1)
    orders = math.factorial(causes)
    weights = np.array([math.factorial(size) * math.factorial(causes - size - 1) / orders for size in range(causes)])
    parts = np.empty((causes, figures.shape[-1]))
    for cause in range(causes):
        without = numbers[~scenarios[:, cause]]
        joined = figures[without + 2**cause] - figures[without]
        parts[cause] = weights[sizes[without]] @ joined
    return parts


def _orders(causes: int) -> Iterator[NDArray[np.intp]]:
    """Orders in which every cause stands in every place, and any two on either side of each other, about equally often.

    The causes sit in a ring of prime length and are called up in equal strides, from every place, forwards and backwards.
    """
    ring = causes
    while any(ring % divisor == 0 for divisor in range(2, math.isqrt(ring) + 1)):
        ring += 1
    seats = np.arange(ring, dtype=np.intp)
    for stride in np.unique(np.linspace(1, ring // 2, _WAYS).astype(int)).tolist():
        for start in range(ring):
            order = (seats * stride + start) % ring
            order = order[order < causes]
            yield order
            yield order[::-1]


def _over_orders(value: Valued, causes: int, at_once: int) -> Floats:
    """The average, over the orders, of what each cause adds when it joins those before it."""
    parts: Floats | None = None
    count = 0
    for order in _orders(causes):
        places = np.empty(causes, dtype=np.intp)
        places[order] = np.arange(causes)
        scenarios = places[None, :] < np.arange(causes + 1)[:, None]
        added = np.diff(_evaluated(value, scenarios, at_once), axis=0)[places]
        parts = added if parts is None else parts + added
        count += 1
    assert parts is not None
    return parts / count
