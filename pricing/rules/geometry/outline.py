"""A free outline as a value: its points, what its rules make of them, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.algebra.expressions import evaluate, inputs_of
from pricing.dataclass import dataclass
from pricing.rules import outlines
from pricing.rules.geometry.cut_out import Figure, millimetres
from pricing.rules.geometry.plan import Polygon, crossing_itself, rounded

#: More points than this are no outline that a mould is built to.
MOST_POINTS = 400

#: Points nearer to each other are one [m].
NEAREST = 1e-5


@dataclass(frozen=True)
class OutlineFault:
    """What is wrong with an outline: the place of the point counted from 0, and a sentence with the remedy."""

    point: int
    sentence: str


@dataclass(frozen=True)
class Outline:
    """Corners of a slab seen from above, in order, either way round.

    Parameters
    ----------
    x, y : of the corners [m]
    radius : by which each is rounded; 0 where it is sharp [m]
    names : what the maker calls the points; their numbers where none are given
    """

    x: tuple[float, ...]
    y: tuple[float, ...]
    radius: tuple[float, ...]
    names: tuple[str, ...] = ()

    def name(self, point: int) -> str:
        """What the maker calls a point, counted from 0 and round again."""
        place = point % len(self.x)
        return self.names[place] if self.names else str(place + 1)

    @property
    def corners(self) -> Polygon:
        """The points, shape (points, 2) [m]."""
        return np.stack((np.array(self.x, dtype=np.float64), np.array(self.y, dtype=np.float64)), axis=1)

    @cached_property
    def of_points(self) -> dict[str, NDArray[np.float64]]:
        """Every figure of the points, by the rules: ``side``, ``arc``, …, each of shape (points,)."""
        start = {"x": self.x, "y": self.y, "point_radius": self.radius}
        found: dict[str, Any] = {name: np.array(values, dtype=np.float64) for name, values in start.items()}
        others = {name: (column, key) for name, column, key in outlines.FROM_OTHERS}
        with np.errstate(divide="ignore", invalid="ignore"):
            for rule in outlines.OF_A_POINT:
                for name in inputs_of(rule):
                    if name not in found:
                        found[name] = _taken(found[others[name][0]], others[name][1])
                found[rule.__name__] = evaluate(rule, found)
        return found

    @cached_property
    def figures(self) -> dict[str, float]:
        """Every figure of the outline, by the rules: ``outline_area``, ``outline_girth``, …

        >>> square = Outline((0.0, 2.0, 2.0, 0.0), (0.0, 0.0, 2.0, 2.0), (0.0,) * 4)
        >>> square.figures["outline_area"], square.figures["outward_corners"]
        (4.0, 4.0)
        """
        found: dict[str, Any] = {name: self.of_points[column].sum() for name, column in outlines.ADDED_UP}
        found |= {name: self.of_points[column].max() for name, column in outlines.LARGEST_OF}
        for rule in outlines.OF_AN_OUTLINE:
            found[rule.__name__] = evaluate(rule, found)
        return {name: float(value) for name, value in found.items()}

    def path(self) -> Polygon:
        """The outline with its arcs as runs of chords, its left and its front at 0 [m]."""
        return self._path

    @cached_property
    def _path(self) -> Polygon:
        path: Polygon = rounded(self.corners, self.radius) - self.corners.min(axis=0)
        return path

    def faults(self, figure: Figure = millimetres) -> list[OutlineFault]:
        """What is wrong with it; empty where a slab can have this outline.

        >>> Outline((0.0, 1.0, 1.0, 0.0), (0.0, 1.0, 0.0, 1.0), (0.0,) * 4).faults()[0].sentence[:53]
        'the side from point 3 to point 4 crosses the side fro'
        """
        count = len(self.x)
        if count < 3:
            return [OutlineFault(0, f"an outline of {count} point{'s' * (count != 1)} surrounds nothing; give it three points or more")]
        if count > MOST_POINTS:
            return [OutlineFault(MOST_POINTS, f"an outline has {MOST_POINTS} points at most; leave out points, and round corners by Radius")]
        return self._between_neighbours() or self._radii_that_do_not_fit(figure) or self._crossings()

    def _between_neighbours(self) -> list[OutlineFault]:
        sides, folded = self.of_points["side"], self._folded()
        return [
            OutlineFault(point, f"point {self.name(point)} lies where the point after it lies; take one of them out")
            for point in np.flatnonzero(sides < NEAREST).tolist()
        ] or [
            OutlineFault(point, f"the outline turns back on itself at point {self.name(point)}; look at its X and Y")
            for point in np.flatnonzero(folded).tolist()
        ]

    def _folded(self) -> NDArray[np.bool_]:
        half = self.of_points["half_turn"]
        folded: NDArray[np.bool_] = ~np.isfinite(half) | (np.abs(half) > 1e5)
        return folded

    def _radii_that_do_not_fit(self, figure: Figure) -> list[OutlineFault]:
        found, straight, half = [], self.of_points["straight"], np.abs(self.of_points["half_turn"])
        for point in np.flatnonzero(straight < -NEAREST).tolist():
            after = (point + 1) % len(self.x)
            side = float(self.of_points["side"][point])
            both = self.radius[point] > 0 and self.radius[after] > 0
            wide = point if self.radius[point] * half[point] >= self.radius[after] * half[after] else after
            room = side - (float(self.of_points["cut_back"][after if wide == point else point]) if both else 0.0)
            most = f"; {figure(room / half[wide])} is the most" if room > 0 else ""
            what = "the radii at both its ends do not fit" if both else f"the radius at point {self.name(wide)} does not fit"
            found.append(OutlineFault(wide, (
                f"the side from point {self.name(point)} to point {self.name(after)} is {figure(side)} long and {what}; "
                f"make Radius at point {self.name(wide)} less{most}"
            )))
        return found

    def _crossings(self) -> list[OutlineFault]:
        met = crossing_itself(self.corners)
        if met is not None:
            one, other = sorted(met)
            return [OutlineFault(other, (
                f"the side from point {self.name(other)} to point {self.name(other + 1)} crosses the side from point "
                f"{self.name(one)} to point {self.name(one + 1)}; put the points in order around the outline"
            ))]
        if any(self.radius) and crossing_itself(_apart(self.path())) is not None:
            return [OutlineFault(0, "a rounded corner crosses another side of the outline; make its Radius less")]
        return []


def _apart(path: Polygon) -> Polygon:
    """A path without points that fall together, as where one arc ends and the next begins."""
    apart: Polygon = path[np.linalg.norm(path - np.roll(path, 1, axis=0), axis=1) > 1e-9]
    return apart


def _taken(values: NDArray[np.float64], key: str) -> NDArray[np.float64]:
    """A column as the points take it from the next point, from the one before, or from the first."""
    if key == "first_point":
        return np.broadcast_to(values[0], values.shape)
    return np.roll(values, -1 if key == "next_point" else 1)


def outline_of(points: Sequence[tuple[float, float, float]]) -> Outline:
    """An outline of points given as X, Y and radius [m].

    >>> outline_of([(0, 0, 0), (1, 0, 0), (0, 1, 0)]).figures["outline_area"]
    0.5
    """
    x, y, radius = zip(*points, strict=True)
    return Outline(tuple(map(float, x)), tuple(map(float, y)), tuple(map(float, radius)))
