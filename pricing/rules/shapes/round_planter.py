"""Round planter: a cylinder, or a cone narrower at its foot than at its rim, with drain holes.

The wall is equally thick, measured level, from rim to floor. See :mod:`pricing.rules.geometry.vessels` for what is seen
and how it is cast. Mould (common practice, no source): thin board bent around a round base, and another around the
core, or staves on ribs; both are taken as rectangles as long as the rim's girth and as high as the slant.
Volumes are those of a frustum of a cone, π height / 12 × (D² + D d + d²): elementary geometry.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, choose, smaller
from pricing.rules.geometry.drawing import Circle, Drawing, Mark, Part, axes, level
from pricing.rules.geometry.holes import HOLE_LIMITS, hole_area, hole_girth, hole_run
from pricing.rules.geometry.shape import Limit, Panel, Shape, more_than_zero
from pricing.rules.geometry.vessels import FLOOR_LIMIT, WALLS, floor_thickness, inner_height, planter_drawing
from pricing.rules.shapes.disc import girth
from pricing.rules.shapes.square_planter import face_area, inner_slant, release_area, side_height, slant, volume


def foot_diameter(base_diameter: Value, diameter: Value) -> Value:
    """Diameter across the foot: that of the rim where none is given [m]."""
    return choose(base_diameter > 0, base_diameter, diameter)


def taper(diameter: Value, foot_diameter: Value) -> Value:
    """How much wider the rim is than the foot [m]."""
    return diameter - foot_diameter


def mouth_diameter(diameter: Value, wall: Value) -> Value:
    """Inner diameter at the rim [m]."""
    return diameter - 2 * wall


def floor_diameter(foot_diameter: Value, taper: Value, floor_thickness: Value, height: Value, wall: Value) -> Value:
    """Inner diameter at the floor [m]."""
    return foot_diameter + taper * floor_thickness / height - 2 * wall


def inner_girth(pi: Value, mouth_diameter: Value) -> Value:
    """Length around the inner edge of the rim [m]."""
    return pi * mouth_diameter


def outer_volume(pi: Value, height: Value, diameter: Value, foot_diameter: Value) -> Value:
    """Volume within the outer face [m³]."""
    return pi * height / 12 * (diameter**2 + diameter * foot_diameter + foot_diameter**2)


def inner_volume(pi: Value, inner_height: Value, mouth_diameter: Value, floor_diameter: Value) -> Value:
    """What the planter holds to its rim [m³]."""
    return pi * inner_height / 12 * (mouth_diameter**2 + mouth_diameter * floor_diameter + floor_diameter**2)


def outer_area(pi: Value, diameter: Value, foot_diameter: Value, slant: Value) -> Value:
    """Outer face [m²]."""
    return pi * (diameter + foot_diameter) / 2 * slant


def inner_area(
    pi: Value, mouth_diameter: Value, floor_diameter: Value, inner_slant: Value, hole_area: Value
) -> Value:
    """Inner face and the floor, the drain holes taken out [m²]."""
    return pi * (mouth_diameter + floor_diameter) / 2 * inner_slant + pi * floor_diameter**2 / 4 - hole_area


def rim_area(pi: Value, diameter: Value, mouth_diameter: Value) -> Value:
    """Rim [m²]."""
    return pi * (diameter**2 - mouth_diameter**2) / 4


def open_side_area(pi: Value, foot_diameter: Value, hole_area: Value) -> Value:
    """Foot, which lies open in the mould [m²]."""
    return pi * foot_diameter**2 / 4 - hole_area


def underside_area(open_side_area: Value, hole_run: Value, floor_thickness: Value) -> Value:
    """Foot and the faces of the drain holes [m²]."""
    return open_side_area + hole_run * floor_thickness


def arris_length(girth: Value, inner_girth: Value) -> Value:
    """Outer and inner edge of the rim [m]."""
    return girth + inner_girth


def joint_length(girth: Value, inner_girth: Value, hole_run: Value) -> Value:
    """Joints around base and core, and around the plugs of the holes [m]."""
    return girth + inner_girth + hole_run


def _floor_left(pi: Value, floor_diameter: Value, foot_diameter: Value, hole_area: Value) -> Value:
    return pi * smaller(floor_diameter, foot_diameter) ** 2 / 4 - hole_area


def _room_for_a_hole(floor_diameter: Value, foot_diameter: Value, hole_diameter: Value) -> Value:
    return smaller(floor_diameter, foot_diameter) - hole_diameter


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan, and a section through the middle."""
    halves = (sizes[each] / 2 for each in ("diameter", "foot_diameter", "mouth_diameter", "floor_diameter"))
    rim, foot, mouth, floor = halves
    parts: list[Part] = [Circle((0.0, 0.0), radius) for radius in dict.fromkeys((rim, mouth, floor))]
    parts += [*axes((0.0, 0.0), rim), level(-rim, rim, 0.0, diameter=True), Mark((-rim, 0.0), (rim, 0.0))]
    return planter_drawing(sizes, parts, (foot, floor, mouth, rim), is_round=True)


ROUND_PLANTER = Shape(
    name="round planter",
    meaning="An open round vessel, straight or tapered, with drain holes.",
    dimensions=("diameter", "base_diameter", "height", "wall", "base_thickness", "holes", "hole_diameter"),
    defaults={"base_diameter": 0.0, "base_thickness": 0.0, "holes": 0.0, "hole_diameter": 0.0},
    rules=(
        foot_diameter, taper, floor_thickness, inner_height, mouth_diameter, floor_diameter, slant, inner_slant, girth,
        inner_girth, side_height, hole_girth, hole_run, hole_area, outer_volume, inner_volume, outer_area, inner_area,
        rim_area, volume, face_area, open_side_area, underside_area, arris_length, joint_length, release_area,
    ),
    panels=(
        Panel("base", "diameter", "diameter", 1, "cut round"),
        Panel("bent side", "girth", "side_height", 1, "thin board bent around the base"),
        Panel("core side", "inner_girth", "inner_slant", 1, "thin board bent to the core"),
        Panel("core lid", "floor_diameter", "floor_diameter", 1, "cut round"),
    ),
    limits=(
        *more_than_zero("diameter", "height", "wall"),
        *HOLE_LIMITS,
        Limit(
            taper, "the foot is wider than the rim, so the core cannot leave; make Base diameter less", "base_diameter",
            strict=False,
        ),
        Limit(mouth_diameter, WALLS, "wall"),
        Limit(floor_diameter, WALLS, "wall"),
        FLOOR_LIMIT,
        Limit(_room_for_a_hole, "a hole is as wide as the floor; make Hole diameter less", "hole_diameter"),
        Limit(_floor_left, "the holes leave nothing of the floor; make them fewer or smaller", "holes"),
    ),
    drawing=drawing,
)
