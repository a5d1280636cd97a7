"""Where a layer ends in a section: a line inside the cut, parallel to each side that the layer covers.

Which sides those are follows from what the rules of the shapes count as face, inside and underside.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from itertools import pairwise

from pricing.rules.geometry import measures
from pricing.rules.geometry.drawing import Area, Line, Point

#: A side that leans out by more than this looks down [share]; points nearer than this are one [m].
_DOWN, _HAIR = -0.5, 1e-9

Side = tuple[Point, Point]


def layer_lines(shape: str, areas: Sequence[Area], on: str, thickness: float, at_wall: Collection[str] = ()) -> list[Line]:
    """The lines of a layer in a section.

    Parameters
    ----------
    shape : of the piece
    areas : that are cut [m]
    on : ``face``, ``underside`` or ``face and inside``
    thickness : of the layer [m]
    at_wall : ``left`` and ``right``, where that end of the section stands at a wall and is no face

    >>> from pricing.rules.geometry.drawing import block
    >>> layer_lines("slab", [block(0, 0, 3, 2)], "underside", 0.5)[0].points
    ((0.0, 0.5), (3.0, 0.5))
    """
    everything = [point for area in areas for point in area.points]
    covered = ("face", "inside") if on == "face and inside" else (on,)
    lines: list[Line] = []
    for area in areas:
        points = _without_repeats(area.points)
        around = everything if _is_vessel(shape) else points
        sides = list(pairwise([*points, points[0]]))
        layered = [_side(shape, side, around, at_wall) in covered for side in sides]
        lines += _runs(sides, layered, thickness)
    return lines


def _is_vessel(shape: str) -> bool:
    return any(rule.__name__ == "inside_area" for rule in measures.RULES.get(shape, ()))


def _without_repeats(points: Sequence[Point]) -> list[Point]:
    """The corners of a cut, each once, counter-clockwise."""
    kept = [point for point, after in pairwise([*points, points[0]]) if math.dist(point, after) > _HAIR]
    area = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairwise([*kept, kept[0]]))
    return kept if area > 0 else kept[::-1]


def _outward(side: Side) -> Point:
    (x1, y1), (x2, y2) = side
    length = math.dist(*side)
    return (y2 - y1) / length, (x1 - x2) / length


def _side(shape: str, side: Side, around: Sequence[Point], at_wall: Collection[str]) -> str:
    """What a side of a cut is counted as by the rules of its shape."""
    x, y = _outward(side)
    outermost = all((px - side[0][0]) * x + (py - side[0][1]) * y < _HAIR for px, py in around)
    low, west = min(py for _, py in around), min(px for px, _ in around)
    is_low, down = min(side[0][1], side[1][1]) < low + _HAIR, y < _DOWN
    if _is_vessel(shape):
        return "underside" if down or (is_low and not outermost) else "face" if outermost else "inside"
    if outermost and ((x < _DOWN and "left" in at_wall) or (x > -_DOWN and "right" in at_wall)):
        return "at a wall"
    face = outermost and not down
    if shape == "bench":  # the upright faces of its legs are seen
        face = not down
    elif shape == "step":  # below the nosing, and the front of the riser
        face |= x < _DOWN or (down and not is_low and min(side[0][0], side[1][0]) < west + _HAIR)
    elif shape == "slab with a lip":  # the lower edge of a lip
        face |= down and is_low
    return "face" if face else "underside"


def _runs(sides: Sequence[Side], layered: Sequence[bool], thickness: float) -> list[Line]:
    """The sides that are covered, moved inwards, those that follow one another as one line."""
    moved = [_moved(side, thickness) if covered else side for side, covered in zip(sides, layered, strict=True)]
    starts = [_meeting(moved[number - 1], moved[number]) for number in range(len(sides))]
    lines: list[Line] = []
    run: list[Point] = []
    first = layered.index(False) if False in layered else 0
    for step in range(len(sides)):
        number = (first + step) % len(sides)
        if not layered[number]:
            run = []
            continue
        if not run:
            run = [starts[number]]
        run.append(starts[(number + 1) % len(sides)])
        if step == len(sides) - 1 or not layered[(number + 1) % len(sides)]:
            lines.append(Line(tuple(run)))
    return lines


def _moved(side: Side, thickness: float) -> Side:
    x, y = _outward(side)
    (x1, y1), (x2, y2) = side
    return (x1 - x * thickness, y1 - y * thickness), (x2 - x * thickness, y2 - y * thickness)


def _meeting(one: Side, other: Side) -> Point:
    """Where two sides meet when they are made longer; the start of the other where they run the same way."""
    (x1, y1), (x2, y2) = one
    (x3, y3), (x4, y4) = other
    across = (x2 - x1) * (y4 - y3) - (y2 - y1) * (x4 - x3)
    if abs(across) < _HAIR * math.dist(*one) * math.dist(*other):
        return x3, y3
    share = ((x3 - x1) * (y4 - y3) - (y3 - y1) * (x4 - x3)) / across
    return x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
