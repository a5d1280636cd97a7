"""How few sheets can hold a set of panels: bounds that no cutting plan, through cuts or not, can beat.

Sizes are whole numbers here: the saw's kerf is already added to each panel and to the sheet, so that panels a kerf
apart are rectangles that merely touch.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import ceil
from typing import NamedTuple

import numpy as np

_MOST_THRESHOLDS = 40  # distinct sizes looked at along each side; enough for a workshop's cut list


class Size(NamedTuple):
    """A panel in whole units: along the sheet's length, along its width, and whether it may be turned."""

    length: int
    width: int
    turn: bool


class Spot(NamedTuple):
    """Where a panel lies: the sheet counted from 0, its nearest corner in whole units, and whether it is turned."""

    sheet: int
    x: int
    y: int
    turned: bool


class Measure(NamedTuple):
    """What each panel counts for, and what a sheet can hold of it, whatever the plan: a valid knapsack row."""

    values: tuple[int, ...]
    capacity: int


def ways(size: Size, length: int, width: int) -> list[tuple[int, int, bool]]:
    """The ways in which a panel fits the sheet: its extent along the length, along the width, and whether turned.

    >>> ways(Size(4, 2, True), 5, 3)
    [(4, 2, False)]
    """
    found = [(size.length, size.width, False)]
    if size.turn and size.length != size.width:
        found.append((size.width, size.length, True))
    return [way for way in found if way[0] <= length and way[1] <= width]


def dual_feasible(extents: Sequence[int], capacity: int) -> list[Measure]:
    """Ways of counting extents along one side so that no row of panels that fits can exceed the capacity.

    Parameters: the extents along that side and the sheet's own extent, in whole units. Each result maps an extent x
    to f(x) such that x1 + ... + xn <= capacity always gives f(x1) + ... + f(xn) <= f(capacity).

    Method: the dual feasible functions of S. P. Fekete and J. Schepers, "A general framework for bounds for
    higher-dimensional orthogonal packing problems", Mathematical Methods of Operations Research 60 (2004) 311-329, and
    of J. Carlier, F. Clautiaux and A. Moukrim, "New reduction procedures and lower bounds for the two-dimensional bin
    packing problem with fixed orientation", Computers & Operations Research 34 (2007) 2223-2250.

    >>> dual_feasible([6, 6, 4], 10)[1]  # anything over half a sheet counts as a whole one, less than 5 as nothing
    Measure(values=(10, 10, 0), capacity=10)
    """
    found: dict[Measure, None] = {Measure(tuple(extents), capacity): None}
    if 2 * max(extents, default=0) > capacity:
        halves = tuple(capacity if 2 * x > capacity else x if 2 * x == capacity else 0 for x in extents)
        found[Measure(halves, capacity)] = None
    thresholds = sorted({min(x, capacity - x) for x in extents} | {min(x, capacity - x) + 1 for x in extents})
    thresholds = [k for k in thresholds if 0 < 2 * k <= capacity]
    if len(thresholds) > _MOST_THRESHOLDS:
        picked = np.linspace(0, len(thresholds) - 1, _MOST_THRESHOLDS).round().astype(int)
        thresholds = [thresholds[index] for index in picked]
    for k in thresholds:
        raised = tuple(capacity if x > capacity - k else x if x >= k else 0 for x in extents)
        found[Measure(raised, capacity)] = None
        whole = capacity // k
        stepped = tuple(
            2 * (whole - (capacity - x) // k) if 2 * x > capacity else whole if 2 * x == capacity else 2 * (x // k) for x in extents
        )
        found[Measure(stepped, 2 * whole)] = None
    for k in range(1, 9):
        rounded = tuple(k * x if (k + 1) * x % capacity == 0 else (k + 1) * x // capacity * capacity for x in extents)
        found[Measure(rounded, k * capacity)] = None
    return list(found)


def measures(sizes: Sequence[Size], length: int, width: int, most: int = 12) -> list[Measure]:
    """The strongest valid counts of whole panels against whole sheets, strongest first, and plain area last.

    A count is the product of one function along the length and one along the width; a panel that may be turned counts
    for the lesser of its two ways. Parameters: panels and sheet in whole units; `most` counts wanted.

    >>> measures([Size(6, 6, False)] * 3, 10, 10, most=1)
    [Measure(values=(100, 100, 100), capacity=100), Measure(values=(36, 36, 36), capacity=100)]
    """
    kinds = Counter(sizes)
    names = list(kinds)
    if not names:
        return []
    placed = [ways(size, length, width) or [(size.length, size.width, False)] for size in names]
    first, second = [way[0] for way in placed], [way[-1] for way in placed]
    count = len(names)
    along = dual_feasible([way[0] for way in first] + [way[0] for way in second], length)
    across = dual_feasible([way[1] for way in first] + [way[1] for way in second], width)
    one = np.array([np.array(measure.values) / measure.capacity for measure in along])
    two = np.array([np.array(measure.values) / measure.capacity for measure in across])
    weight = np.array([kinds[name] for name in names], dtype=float)
    share = np.minimum(one[:, None, :count] * two[None, :, :count], one[:, None, count:] * two[None, :, count:])
    total = share @ weight
    chosen = np.argsort(-total, axis=None, kind="stable")
    found: dict[Measure, None] = {}
    for index in chosen[: 8 * most]:
        row, column = divmod(int(index), len(across))
        values = {
            name: min(
                along[row].values[place] * across[column].values[place],
                along[row].values[place + count] * across[column].values[place + count],
            )
            for place, name in enumerate(names)
        }
        found[Measure(tuple(values[size] for size in sizes), along[row].capacity * across[column].capacity)] = None
        if len(found) == most:
            break
    area = Measure(tuple(size.length * size.width for size in sizes), length * width)
    return list(found | {area: None})


def sheets_at_least(sizes: Sequence[Size], length: int, width: int) -> int:
    """The number of sheets below which no plan exists, by area and by dual feasible functions [sheets].

    >>> sheets_at_least([Size(6, 6, False)] * 3, 10, 10)  # by area 1.08 sheets, yet no two share a sheet
    3
    """
    return max((ceil(sum(m.values) / m.capacity - 1e-9) for m in measures(sizes, length, width, most=1)), default=0)
