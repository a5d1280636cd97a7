"""Square planter: straight, or narrower at its foot than at its rim, with drain holes.

The walls are equally thick, measured level, from rim to floor. See :mod:`pricing.rules.geometry.vessels` for what is seen
and how it is cast. The tapered sides of mould and core are taken as the rectangles that they are cut from.
Volumes are those of a frustum, height / 3 × (a² + a b + b²): elementary geometry.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, choose, smaller, square_root
from pricing.rules.geometry.drawing import Drawing, Line, Mark, Part, level, rectangle
from pricing.rules.geometry.holes import HOLE_LIMITS, hole_area, hole_girth, hole_run
from pricing.rules.geometry.shape import Limit, Panel, Shape, more_than_zero
from pricing.rules.geometry.vessels import (
    FLOOR_LIMIT,
    WALLS,
    core_end_length,
    floor_thickness,
    inner_height,
    inner_width,
    planter_drawing,
)


def side_length(width: Value, board: Value) -> Value:
    """Length of the two sides that cover the ends of the others [m]."""
    return width + 2 * board


def side_height(board: Value, slant: Value) -> Value:
    """Height of a side, measured along it: the piece and the base beside which it stands [m]."""
    return board + slant


def foot_width(base_width: Value, width: Value) -> Value:
    """Width across the foot: that of the rim where none is given [m]."""
    return choose(base_width > 0, base_width, width)


def taper(width: Value, foot_width: Value) -> Value:
    """How much wider the rim is than the foot [m]."""
    return width - foot_width


def floor_width(foot_width: Value, taper: Value, floor_thickness: Value, height: Value, wall: Value) -> Value:
    """Inner width at the floor [m]."""
    return foot_width + taper * floor_thickness / height - 2 * wall


def slant(height: Value, taper: Value) -> Value:
    """Height of an outer face, measured along it [m]."""
    return square_root(height**2 + (taper / 2) ** 2)


def inner_slant(slant: Value, inner_height: Value, height: Value) -> Value:
    """Height of an inner face, measured along it: it leans as the outer one does [m]."""
    return slant * inner_height / height


def corner_slant(height: Value, taper: Value) -> Value:
    """Length of an outer corner, measured along it [m]."""
    return square_root(height**2 + taper**2 / 2)


def outer_volume(height: Value, width: Value, foot_width: Value) -> Value:
    """Volume within the outer faces [m³]."""
    return height / 3 * (width**2 + width * foot_width + foot_width**2)


def inner_volume(inner_height: Value, inner_width: Value, floor_width: Value) -> Value:
    """What the planter holds to its rim [m³]."""
    return inner_height / 3 * (inner_width**2 + inner_width * floor_width + floor_width**2)


def outer_area(width: Value, foot_width: Value, slant: Value) -> Value:
    """Four outer faces [m²]."""
    return 2 * (width + foot_width) * slant


def inner_area(inner_width: Value, floor_width: Value, inner_slant: Value, hole_area: Value) -> Value:
    """Four inner faces and the floor, the drain holes taken out [m²]."""
    return 2 * (inner_width + floor_width) * inner_slant + floor_width**2 - hole_area


def rim_area(width: Value, inner_width: Value) -> Value:
    """Rim [m²]."""
    return width**2 - inner_width**2


def volume(outer_volume: Value, inner_volume: Value, hole_area: Value, floor_thickness: Value) -> Value:
    """Concrete of walls and floor, the drain holes taken out [m³]."""
    return outer_volume - inner_volume - hole_area * floor_thickness


def face_area(outer_area: Value, rim_area: Value, inner_area: Value) -> Value:
    """Outer faces, rim and inside [m²]."""
    return outer_area + rim_area + inner_area


def underside_area(foot_width: Value, hole_area: Value, hole_run: Value, floor_thickness: Value) -> Value:
    """Foot and the faces of the drain holes [m²]."""
    return foot_width**2 - hole_area + hole_run * floor_thickness


def arris_length(width: Value, inner_width: Value, corner_slant: Value) -> Value:
    """Outer and inner edge of the rim, and the four outer corners [m]."""
    return 4 * (width + inner_width + corner_slant)


def open_side_area(foot_width: Value, hole_area: Value) -> Value:
    """Foot, which lies open in the mould [m²]."""
    return foot_width**2 - hole_area


def joint_length(width: Value, inner_width: Value, corner_slant: Value, hole_run: Value) -> Value:
    """Joints around base and core, up the four corners and around the plugs of the holes [m]."""
    return 4 * (width + inner_width + corner_slant) + hole_run


def release_area(face_area: Value, hole_run: Value, floor_thickness: Value) -> Value:
    """Base, inner faces of the sides, core and plugs [m²]."""
    return face_area + hole_run * floor_thickness


def _floor_left(floor_width: Value, foot_width: Value, hole_area: Value) -> Value:
    return smaller(floor_width, foot_width) ** 2 - hole_area


def _room_for_a_hole(floor_width: Value, foot_width: Value, hole_diameter: Value) -> Value:
    return smaller(floor_width, foot_width) - hole_diameter


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan, and a section through the middle."""
    rim, foot, mouth, floor = (sizes[each] / 2 for each in ("width", "foot_width", "inner_width", "floor_width"))
    rings = dict.fromkeys((rim, mouth, floor))
    parts: list[Part] = [rectangle(-half, -half, half, half) for half in rings]
    if floor < mouth:
        parts += [Line(((x * mouth, y * mouth), (x * floor, y * floor))) for x in (-1, 1) for y in (-1, 1)]
    parts += [level(-rim, rim, -rim), Mark((-rim, 0.0), (rim, 0.0))]
    return planter_drawing(sizes, parts, (foot, floor, mouth, rim), is_round=False)


SQUARE_PLANTER = Shape(
    name="square planter",
    meaning="An open square vessel, straight or tapered, with drain holes.",
    dimensions=("width", "base_width", "height", "wall", "base_thickness", "holes", "hole_diameter"),
    defaults={"base_width": 0.0, "base_thickness": 0.0, "holes": 0.0, "hole_diameter": 0.0},
    rules=(
        foot_width, taper, floor_thickness, inner_width, inner_height, floor_width, slant, inner_slant, corner_slant,
        side_length, side_height, core_end_length, hole_girth, hole_run, hole_area, outer_volume, inner_volume,
        outer_area, inner_area, rim_area, volume, face_area, underside_area, arris_length, open_side_area, joint_length,
        release_area,
    ),
    panels=(
        Panel("base", "width", "width"),
        Panel("side", "side_length", "side_height", 2, "narrowed by {taper} towards the foot", "taper"),
        Panel("end", "width", "side_height", 2, "narrowed by {taper} towards the foot", "taper"),
        Panel("core side", "inner_width", "inner_slant", 2, "narrowed to {floor_width} at the floor", "taper"),
        Panel("core end", "core_end_length", "inner_slant", 2, "narrowed to fit between the core's sides", "taper"),
        Panel("core lid", "floor_width", "floor_width"),
    ),
    limits=(
        *more_than_zero("width", "height", "wall"),
        *HOLE_LIMITS,
        Limit(
            taper, "the foot is wider than the rim, so the core cannot leave; make Base width less", "base_width",
            strict=False,
        ),
        Limit(inner_width, WALLS, "wall"),
        Limit(floor_width, WALLS, "wall"),
        FLOOR_LIMIT,
        Limit(_room_for_a_hole, "a hole is as wide as the floor; make Hole diameter less", "hole_diameter"),
        Limit(_floor_left, "the holes leave nothing of the floor; make them fewer or smaller", "holes"),
    ),
    drawing=drawing,
)
