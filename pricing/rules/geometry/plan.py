"""Plane geometry of plans: whether outlines cross, whether a point lies inside, how far two outlines are apart.

Outlines are closed polygons: arrays of shape (points, 2), the last point not repeated [m].
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

Polygon = NDArray[np.float64]

#: Chords in a quarter of a circle, where an arc is drawn or looked at for crossings.
CHORDS = 16

#: So near, points are one [m]; as many pairs of sides are held against each other at once; and of so few, none is left out before.
_HAIR, _AT_ONCE, _FEW = 1e-12, 500_000, 1024


def rectangle(west: float, south: float, east: float, north: float) -> Polygon:
    """The corners of a rectangle.

    >>> len(rectangle(0, 0, 2, 1))
    4
    """
    return np.array([(west, south), (east, south), (east, north), (west, north)], dtype=np.float64)


def circle(diameter: float) -> Polygon:
    """Points on a circle within the square from 0 to its diameter.

    >>> float(circle(2.0).max())
    2.0
    """
    angle = np.arange(4 * CHORDS) * (np.pi / 2 / CHORDS)
    return diameter / 2 * (1 + np.stack((np.cos(angle), np.sin(angle)), axis=1))


def rounded(points: Polygon, radii: Sequence[float]) -> Polygon:
    """A polygon whose corners are rounded, each arc as a run of chords.

    Parameters
    ----------
    points : corners [m]
    radii : of each corner; 0 where it is sharp [m]

    >>> len(rounded(rectangle(0, 0, 2, 1), (0.1, 0, 0, 0)))
    20
    """
    radius = np.asarray(radii, dtype=np.float64)
    back, on = _directed(np.roll(points, 1, axis=0) - points), _directed(np.roll(points, -1, axis=0) - points)
    turn = np.arctan2(back[:, 1] * on[:, 0] - back[:, 0] * on[:, 1], -(back * on).sum(axis=1))
    is_round = (radius > 0) & (np.abs(turn) >= 1e-12)
    start = points + back * np.where(is_round, radius * np.tan(np.abs(turn) / 2), 0.0)[:, None]
    centre = start + (np.where(is_round, radius, 0.0) * np.sign(turn))[:, None] * np.stack((back[:, 1], -back[:, 0]), axis=1)
    steps = np.where(is_round, np.maximum(np.ceil(np.abs(turn) / (np.pi / 2 / CHORDS)), 1), 0).astype(np.intp)
    of, first = np.repeat(np.arange(len(points)), steps + 1), np.cumsum(steps + 1) - (steps + 1)
    step = np.arange(len(of)) - first[of]
    angle = np.where(step == steps[of], turn[of], step * (turn / np.maximum(steps, 1))[of])
    x, y = (start - centre)[of].T
    arcs = centre[of] + np.stack((x * np.cos(angle) - y * np.sin(angle), x * np.sin(angle) + y * np.cos(angle)), axis=1)
    path: Polygon = np.where(is_round[of, None], arcs, points[of])
    return path


def _directed(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    """Vectors of the length 1."""
    directed: NDArray[np.float64] = vectors / np.sqrt((vectors**2).sum(axis=1))[:, None]
    return directed


def distance(one: Polygon, other: Polygon, reach: float = np.inf) -> float:
    """How far two outlines are apart; 0 where their sides touch or cross [m].

    Parameters
    ----------
    reach : what lies further away than this need not be told exactly; infinite where all does [m]

    >>> distance(rectangle(0, 0, 1, 1), rectangle(3, 0, 4, 1)), distance(rectangle(0, 0, 1, 1), rectangle(3, 0, 4, 1), 1.0)
    (2.0, inf)
    """
    near = _near(one, other, reach)
    if not len(near):
        return float(np.inf)
    if crossing(one, other) is not None:
        return 0.0
    start, end = (ends[near] for ends in _sides(one))
    corners = one if len(near) == len(one) else np.concatenate((start, end))
    return min(_from_corners(corners, *_sides(other)), _from_corners(other, start, end))


def _from_corners(corners: Polygon, start: Polygon, end: Polygon) -> float:
    """Smallest distance from some corners to some sides."""
    along = end - start
    length = np.maximum((along**2).sum(axis=1), 1e-30)
    to = corners[:, None, :] - start[None, :, :]
    share = np.clip((to * along).sum(axis=2) / length, 0.0, 1.0)
    return float(np.sqrt(((to - share[..., None] * along) ** 2).sum(axis=2).min()))


def crossing(one: Polygon, other: Polygon) -> tuple[int, int] | None:
    """The first side of each outline that touches or crosses a side of the other; None where none do.

    >>> crossing(rectangle(0, 0, 2, 2), rectangle(1, 1, 3, 3))
    (1, 0)
    """
    if len(one) * len(other) <= _FEW:
        first, second = np.arange(len(one)), np.arange(len(other))
    else:
        first, second = _near(one, other), _near(other, one)
    met = _meeting(*(ends[first][:, None] for ends in _sides(one)), *(ends[second][None] for ends in _sides(other)))
    found = np.argwhere(met)
    return (int(first[found[0][0]]), int(second[found[0][1]])) if len(found) else None


def crossing_itself(outline: Polygon) -> tuple[int, int] | None:
    """Two sides of an outline that touch or cross although they are no neighbours; None where there are none.

    >>> crossing_itself(np.array([(0, 0), (1, 1), (1, 0), (0, 1)], dtype=float))
    (0, 2)
    """
    found: list[tuple[int, int]] = []
    for one, other in _pairs_that_may_meet(outline):
        met = np.flatnonzero(_meeting(*(ends[one] for ends in _sides(outline)), *(ends[other] for ends in _sides(outline))))
        found += zip(one[met].tolist(), other[met].tolist(), strict=True)
    return min(found, default=None)


def _sides(outline: Polygon) -> tuple[Polygon, Polygon]:
    """Where each side begins, and where it ends."""
    return outline, np.roll(outline, -1, axis=0)


def _boxes(outline: Polygon) -> tuple[Polygon, Polygon]:
    """The lowest and the highest x and y of each side, with a hair around it."""
    start, end = _sides(outline)
    return np.minimum(start, end) - _HAIR, np.maximum(start, end) + _HAIR


def _near(one: Polygon, other: Polygon, reach: float = 0.0) -> NDArray[np.intp]:
    """The sides of one outline that come within reach of the box around another."""
    low, high = _boxes(one)
    return np.flatnonzero(((low <= other.max(axis=0) + reach + _HAIR) & (high >= other.min(axis=0) - reach - _HAIR)).all(axis=1))


def _pairs_that_may_meet(outline: Polygon) -> Iterator[tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """Sides that are no neighbours and whose boxes reach into each other, the lower number first, some pairs at a time."""
    (low, high), count = _boxes(outline), len(outline)
    along = int(np.argmax(np.ptp(outline, axis=0)))
    order = np.argsort(low[:, along], kind="stable")
    reach = np.searchsorted(low[order, along], high[order, along], "right")
    many = reach - np.arange(count) - 1
    block = np.cumsum(many) // _AT_ONCE
    for places in np.split(np.arange(count), np.flatnonzero(np.diff(block)) + 1):
        one = np.repeat(places, many[places])
        other = one + 1 + np.arange(len(one)) - np.repeat(np.cumsum(many[places]) - many[places], many[places])
        one, other = np.sort(np.stack((order[one], order[other])), axis=0)
        near = (other - one > 1) & (other - one < count - 1) & ((low[one] <= high[other]) & (low[other] <= high[one])).all(axis=1)
        yield one[near], other[near]


def _meeting(a: Polygon, b: Polygon, c: Polygon, d: Polygon) -> NDArray[np.bool_]:
    """Whether the side from a to b and the one from c to d have a point in common; the last axis holds x and y."""
    first, second = _side_of(a, b, c), _side_of(a, b, d)
    third, fourth = _side_of(c, d, a), _side_of(c, d, b)
    across: NDArray[np.bool_] = (first * second < 0) & (third * fourth < 0)
    for turn, start, end, point in ((first, a, b, c), (second, a, b, d), (third, c, d, a), (fourth, c, d, b)):
        low, high = np.minimum(start, end) - _HAIR, np.maximum(start, end) + _HAIR
        across |= (turn == 0) & ((point >= low) & (point <= high)).all(axis=-1)
    return across


def _side_of(start: NDArray[np.float64], end: NDArray[np.float64], point: NDArray[np.float64]) -> NDArray[np.float64]:
    """1 where the point is left of the line from start to end, -1 where right of it, 0 where on it."""
    along, to = end - start, point - start
    turn = along[..., 0] * to[..., 1] - along[..., 1] * to[..., 0]
    hair = _HAIR * (np.abs(along).sum(axis=-1) + np.abs(to).sum(axis=-1))
    return np.where(np.abs(turn) <= hair, 0.0, np.sign(turn))


def inside(outline: Polygon, point: tuple[float, float]) -> bool:
    """Whether a point lies inside an outline; its sides are not asked about.

    >>> inside(rectangle(0, 0, 2, 1), (1, 0.5)), inside(rectangle(0, 0, 2, 1), (3, 0.5))
    (True, False)
    """
    x, y = point
    start, end = outline, np.roll(outline, -1, axis=0)
    spans = (start[:, 1] > y) != (end[:, 1] > y)
    rise = np.where(spans, end[:, 1] - start[:, 1], 1.0)
    at = start[:, 0] + (y - start[:, 1]) / rise * (end[:, 0] - start[:, 0])
    return bool(np.count_nonzero(spans & (at > x)) % 2)
