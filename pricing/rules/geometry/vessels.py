"""Rules that trough and planters share.

Seen: the outer faces, the rim, and the whole inside, walls and floor (how deep it is filled is the customer's matter).
Not seen: the foot and the faces of drain holes. Mould (common practice, no source): upside down, the rim on the base
board, around a core that stands on it; the foot is the open side, ground flat.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from pricing.algebra.expressions import Value, choose, positive_part
from pricing.rules.geometry.drawing import Area, Drawing, Line, Part, Point, View, hole, level, rectangle, upright
from pricing.rules.geometry.shape import Limit


def floor_thickness(base_thickness: Value, wall: Value) -> Value:
    """Thickness of the floor: that of the walls where none is given [m]."""
    return choose(base_thickness > 0, base_thickness, wall)


def inner_height(height: Value, floor_thickness: Value) -> Value:
    """Depth inside [m]."""
    return height - floor_thickness


def inner_width(width: Value, wall: Value) -> Value:
    """Inner width at the rim [m]."""
    return width - 2 * wall


def core_end_length(inner_width: Value, board: Value) -> Value:
    """Wall across the core, between those along it [m]."""
    return positive_part(inner_width - 2 * board)


def vessel_section(
    foot: Point, floor: Point, mouth: Point, rim: Point, holes: list[tuple[float, float]]
) -> tuple[Part, ...]:
    """A cut through a vessel: the right half of its outline, mirrored, with the holes in its floor.

    Parameters
    ----------
    foot, floor, mouth, rim : outer and inner corner below, inner and outer corner above, right of the middle [m]
    holes : west and east edge of each hole that is cut [m]
    """
    (out, _), (inside, bottom), (inner, top), (outer, _) = foot, floor, mouth, rim
    parts: list[Part] = [Line(((-inner, top), (inner, top)))]
    starts, ends = [-out, *(east for _, east in holes)], [*(west for west, _ in holes), out]
    for start, end in zip(starts, ends, strict=True):
        left = ((-outer, top), (-inner, top), (-inside, bottom)) if start == -out else ((start, bottom),)
        right = ((inside, bottom), (inner, top), (outer, top)) if end == out else ((end, bottom),)
        parts.append(Area((*left, *right, (end, 0.0), (start, 0.0))))
    for west, east in holes:
        middle = (west + east) / 2
        parts.append(rectangle(west, 0.0, east, bottom))
        parts.append(Line(((middle, -0.3 * bottom), (middle, 1.6 * bottom)), "centre"))
    return tuple(parts)


def planter_drawing(
    sizes: Mapping[str, float], plan: list[Part], halves: tuple[float, float, float, float], is_round: bool
) -> Drawing:
    """A planter's drain holes and section, added to what its plan shows.

    Parameters
    ----------
    sizes : dimensions and results of the shape [m]
    plan : parts of the plan, about a middle at 0, 0
    halves : half the width across foot, floor, mouth and rim [m]
    is_round : True where widths are diameters
    """
    foot, floor, mouth, rim = halves
    count, diameter, bottom = int(sizes["holes"]), sizes["hole_diameter"], sizes["floor_thickness"]
    radius = 0.0 if count == 1 else min(floor, foot) / 2
    turns = [math.tau * each / count for each in range(count)]
    centres = [(radius * math.cos(turn), radius * math.sin(turn)) for turn in turns]
    for centre in centres:
        plan += hole(centre, diameter)
    cut = sorted((x - diameter / 2, x + diameter / 2) for x, y in centres if abs(y) < 1e-9)
    height = sizes["height"]
    parts = list(vessel_section((foot, 0.0), (floor, bottom), (mouth, height), (rim, height), cut))
    parts += [upright(0, height, -rim), level(mouth, rim, height, "above"), upright(0, bottom, foot, "right")]
    parts += [level(*cut[-1], 0.0, diameter=True)] if cut else []
    parts += [level(-foot, foot, 0.0, row=min(count, 1), diameter=is_round)] if foot < rim else []
    return Drawing((View(tuple(plan)), View(tuple(parts), "A")))


#: Limits on walls and floor that hold in every vessel.
FLOOR_LIMIT = Limit(
    inner_height, "the floor is as thick as the vessel is high; make Base thickness less than Height", "base_thickness"
)
#: What is said where the walls leave no inside.
WALLS = "the walls fill the inside; make Wall less"
