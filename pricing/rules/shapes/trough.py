"""Trough: an open box with upright walls, such as a rectangular planter, a basin or a sink.

See :mod:`pricing.rules.geometry.vessels` for what is seen and how it is cast. The core is a box of boards: two walls
along it, two between them, and a lid over all four.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, positive_part
from pricing.rules.geometry.boards import perimeter, side_length
from pricing.rules.geometry.drawing import Drawing, Part, View, cut_across, hole, level, rectangle, upright
from pricing.rules.geometry.holes import HOLE_LIMITS, hole_area, hole_girth, hole_run
from pricing.rules.geometry.shape import Limit, Panel, Shape, more_than_zero
from pricing.rules.geometry.vessels import (
    FLOOR_LIMIT,
    WALLS,
    core_end_length,
    floor_thickness,
    inner_height,
    inner_width,
    vessel_section,
)


def side_height(board: Value, height: Value) -> Value:
    """Height of a side board: the piece and the base beside which it stands [m]."""
    return board + height


def inner_length(length: Value, wall: Value) -> Value:
    """Inner length [m]."""
    return length - 2 * wall


def inner_perimeter(inner_length: Value, inner_width: Value) -> Value:
    """Outline of the inside, seen from above [m]."""
    return 2 * (inner_length + inner_width)


def inner_volume(inner_length: Value, inner_width: Value, inner_height: Value) -> Value:
    """What the trough holds to its rim [m³]."""
    return inner_length * inner_width * inner_height


def core_height(inner_height: Value, board: Value) -> Value:
    """Height of the core's walls, below its lid [m]."""
    return positive_part(inner_height - board)


def volume(
    length: Value, width: Value, height: Value, inner_volume: Value, hole_area: Value, floor_thickness: Value
) -> Value:
    """Concrete of walls and floor, the drain holes taken out [m³]."""
    return length * width * height - inner_volume - hole_area * floor_thickness


def face_area(
    perimeter: Value, height: Value, inner_perimeter: Value, inner_height: Value, length: Value, width: Value,
    hole_area: Value,
) -> Value:
    """Outer faces, inner faces, and rim and floor, which together are as large as the outline [m²]."""
    return perimeter * height + inner_perimeter * inner_height + length * width - hole_area


def underside_area(length: Value, width: Value, hole_area: Value, hole_run: Value, floor_thickness: Value) -> Value:
    """Foot and the faces of the drain holes [m²]."""
    return length * width - hole_area + hole_run * floor_thickness


def arris_length(perimeter: Value, inner_perimeter: Value, height: Value) -> Value:
    """Outer and inner edge of the rim, and the four outer corners [m]."""
    return perimeter + inner_perimeter + 4 * height


def open_side_area(length: Value, width: Value, hole_area: Value) -> Value:
    """Foot, which lies open in the mould [m²]."""
    return length * width - hole_area


def joint_length(perimeter: Value, inner_perimeter: Value, height: Value, hole_run: Value) -> Value:
    """Joints around base and core, up the four corners and around the plugs of the holes [m]."""
    return perimeter + inner_perimeter + 4 * height + hole_run


def release_area(face_area: Value, hole_run: Value, floor_thickness: Value) -> Value:
    """Base, inner faces of sides and ends, core and plugs [m²]."""
    return face_area + hole_run * floor_thickness


def _floor_left(inner_length: Value, inner_width: Value, hole_area: Value) -> Value:
    return inner_length * inner_width - hole_area


def _room_for_a_hole(inner_width: Value, hole_diameter: Value) -> Value:
    return inner_width - hole_diameter


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan with the drain holes set out evenly, and a section across, through one of them."""
    length, width, height, wall = (sizes[each] for each in ("length", "width", "height", "wall"))
    count, diameter, floor = int(sizes["holes"]), sizes["hole_diameter"], sizes["floor_thickness"]
    middles = [length * (each + 0.5) / count for each in range(count)]
    parts: list[Part] = [rectangle(0, 0, length, width), rectangle(wall, wall, length - wall, width - wall)]
    for middle in middles:
        parts += hole((middle, width / 2), diameter)
    parts += [level(0, length, 0), upright(0, width, 0), cut_across(middles[-1] if middles else 0.75 * length, width)]
    half, inner = width / 2, width / 2 - wall
    cut = vessel_section(
        (half, 0.0), (inner, floor), (inner, height), (half, height),
        [(-diameter / 2, diameter / 2)] if count else [],
    )
    sides = [upright(0, height, -half), level(inner, half, height, "above"), upright(0, floor, half, "right")]
    sides += [level(-diameter / 2, diameter / 2, 0.0, diameter=True)] if count else []
    return Drawing((View(tuple(parts)), View((*cut, *sides), "A")))


TROUGH = Shape(
    name="trough",
    meaning="An open box: planter, basin, sink.",
    dimensions=("length", "width", "height", "wall", "base_thickness", "holes", "hole_diameter"),
    defaults={"base_thickness": 0.0, "holes": 0.0, "hole_diameter": 0.0},
    rules=(
        perimeter, side_length, side_height, floor_thickness, inner_length, inner_width, inner_height, inner_perimeter,
        inner_volume, core_height, core_end_length, hole_girth, hole_run, hole_area, volume, face_area, underside_area,
        arris_length, open_side_area, joint_length, release_area,
    ),
    panels=(
        Panel("base", "length", "width"),
        Panel("side", "side_length", "side_height", 2),
        Panel("end", "width", "side_height", 2),
        Panel("core side", "inner_length", "core_height", 2),
        Panel("core end", "core_end_length", "core_height", 2),
        Panel("core lid", "inner_length", "inner_width"),
    ),
    limits=(
        *more_than_zero("length", "width", "height", "wall"),
        *HOLE_LIMITS,
        Limit(inner_length, WALLS, "wall"),
        Limit(inner_width, WALLS, "wall"),
        FLOOR_LIMIT,
        Limit(_room_for_a_hole, "a hole is as wide as the floor; make Hole diameter less", "hole_diameter"),
        Limit(_floor_left, "the holes leave nothing of the floor; make them fewer or smaller", "holes"),
    ),
    drawing=drawing,
)
