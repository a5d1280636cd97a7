"""Plane geometry of plans: whether outlines cross, whether a point lies inside, how far two outlines are apart.

Outlines are closed polygons: arrays of shape (points, 2), the last point not repeated [m].
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Polygon = NDArray[np.float64]

#: Chords in a quarter of a circle, where an arc is drawn or looked at for crossings.
CHORDS = 16


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
    path: list[NDArray[np.float64]] = []
    for corner, before, after, radius in zip(points, np.roll(points, 1, axis=0), np.roll(points, -1, axis=0), radii, strict=True):
        back, on = (before - corner) / np.linalg.norm(before - corner), (after - corner) / np.linalg.norm(after - corner)
        turn = np.arctan2(-_cross(back, on), -float(back @ on))
        if radius <= 0 or abs(turn) < 1e-12:
            path.append(corner)
            continue
        start = corner + back * radius * np.tan(abs(turn) / 2)
        across = np.sign(turn) * np.array([back[1], -back[0]])
        centre = start + radius * across
        steps = max(int(np.ceil(abs(turn) / (np.pi / 2 / CHORDS))), 1)
        for angle in np.linspace(0.0, turn, steps + 1):
            path.append(centre + _turned(start - centre, angle))
    return np.array(path)


def _turned(vector: NDArray[np.float64], angle: float) -> NDArray[np.float64]:
    x, y = vector
    return np.array([x * np.cos(angle) - y * np.sin(angle), x * np.sin(angle) + y * np.cos(angle)])


def _cross(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    return float(one[0] * other[1] - one[1] * other[0])


def distance(one: Polygon, other: Polygon) -> float:
    """How far two outlines are apart; 0 where their sides touch or cross [m].

    >>> distance(rectangle(0, 0, 1, 1), rectangle(3, 0, 4, 1))
    2.0
    """
    if crossing(one, other) is not None:
        return 0.0
    return min(_from_corners(one, other), _from_corners(other, one))


def _from_corners(corners: Polygon, outline: Polygon) -> float:
    """Smallest distance from the corners of one outline to the sides of another."""
    start, along = outline, np.roll(outline, -1, axis=0) - outline
    length = np.maximum((along**2).sum(axis=1), 1e-30)
    to = corners[:, None, :] - start[None, :, :]
    share = np.clip((to * along).sum(axis=2) / length, 0.0, 1.0)
    return float(np.sqrt(((to - share[..., None] * along) ** 2).sum(axis=2).min()))


def crossing(one: Polygon, other: Polygon) -> tuple[int, int] | None:
    """The first side of each outline that touches or crosses a side of the other; None where none do.

    >>> crossing(rectangle(0, 0, 2, 2), rectangle(1, 1, 3, 3))
    (1, 0)
    """
    met = _meeting(one, other)
    found = np.argwhere(met)
    return (int(found[0][0]), int(found[0][1])) if len(found) else None


def crossing_itself(outline: Polygon) -> tuple[int, int] | None:
    """Two sides of an outline that touch or cross although they are no neighbours; None where there are none.

    >>> crossing_itself(np.array([(0, 0), (1, 1), (1, 0), (0, 1)], dtype=float))
    (0, 2)
    """
    count = len(outline)
    apart = (np.arange(count)[None, :] - np.arange(count)[:, None]) % count
    met = _meeting(outline, outline) & (apart > 1) & (apart < count - 1)
    found = np.argwhere(np.triu(met))
    return (int(found[0][0]), int(found[0][1])) if len(found) else None


def _meeting(one: Polygon, other: Polygon) -> NDArray[np.bool_]:
    """For each side of one outline and each of another whether they have a point in common, shape (sides, sides)."""
    a, b = one[:, None, :], np.roll(one, -1, axis=0)[:, None, :]
    c, d = other[None, :, :], np.roll(other, -1, axis=0)[None, :, :]
    first, second = _side_of(a, b, c), _side_of(a, b, d)
    third, fourth = _side_of(c, d, a), _side_of(c, d, b)
    across: NDArray[np.bool_] = (first * second < 0) & (third * fourth < 0)
    for turn, start, end, point in ((first, a, b, c), (second, a, b, d), (third, c, d, a), (fourth, c, d, b)):
        low, high = np.minimum(start, end) - 1e-12, np.maximum(start, end) + 1e-12
        across |= (turn == 0) & ((point >= low) & (point <= high)).all(axis=-1)
    return across


def _side_of(start: NDArray[np.float64], end: NDArray[np.float64], point: NDArray[np.float64]) -> NDArray[np.float64]:
    """1 where the point is left of the line from start to end, -1 where right of it, 0 where on it."""
    along, to = end - start, point - start
    turn = along[..., 0] * to[..., 1] - along[..., 1] * to[..., 0]
    hair = 1e-12 * (np.abs(along).sum(axis=-1) + np.abs(to).sum(axis=-1))
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
