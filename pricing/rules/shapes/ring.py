"""Ring: a round slab with a round opening, such as the surround of a fire bowl or of a tree.

Seen: the top, the outer and the inner edge. Mould (common practice, no source): a base cut round from a square of
board, thin board bent around it, and a second bend of the piece's own height around the opening.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value
from pricing.rules.geometry.boards import side_height
from pricing.rules.geometry.drawing import Circle, Drawing, View, axes, block, cut_along, level, rectangle, upright
from pricing.rules.geometry.shape import Limit, Panel, Shape, more_than_zero
from pricing.rules.shapes.disc import girth


def inner_girth(pi: Value, inner_diameter: Value) -> Value:
    """Length around the opening [m]."""
    return pi * inner_diameter


def plan_area(pi: Value, diameter: Value, inner_diameter: Value) -> Value:
    """Ring seen from above [m²]."""
    return pi * (diameter**2 - inner_diameter**2) / 4


def volume(plan_area: Value, thickness: Value) -> Value:
    """Concrete of the ring [m³]."""
    return plan_area * thickness


def face_area(plan_area: Value, girth: Value, inner_girth: Value, thickness: Value) -> Value:
    """Top, outer and inner edge [m²]."""
    return plan_area + (girth + inner_girth) * thickness


def underside_area(plan_area: Value) -> Value:
    """Underside [m²]."""
    return plan_area


def arris_length(girth: Value, inner_girth: Value) -> Value:
    """Outer and inner edge of the top [m]."""
    return girth + inner_girth


def open_side_area(plan_area: Value) -> Value:
    """Underside, which lies open in the mould [m²]."""
    return plan_area


def joint_length(girth: Value, inner_girth: Value) -> Value:
    """Joints of both bends with the base [m]."""
    return girth + inner_girth


def release_area(plan_area: Value, girth: Value, inner_girth: Value, thickness: Value) -> Value:
    """Base and the faces of both bends [m²]."""
    return plan_area + (girth + inner_girth) * thickness


def _breadth(diameter: Value, inner_diameter: Value) -> Value:
    return diameter - inner_diameter


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan, and a section through the middle."""
    diameter, inner, thickness = sizes["diameter"], sizes["inner_diameter"], sizes["thickness"]
    radius, west, east = diameter / 2, (diameter - inner) / 2, (diameter + inner) / 2
    centre = (radius, radius)
    plan = View((
        Circle(centre, radius), Circle(centre, inner / 2), *axes(centre, radius), cut_along(radius, diameter),
        level(0, diameter, radius, diameter=True), level(west, east, radius, "above", diameter=True),
    ))
    section = View(
        (
            rectangle(west, 0, east, thickness), block(0, 0, west, thickness), block(east, 0, diameter, thickness),
            upright(0, thickness, diameter, "right"),
        ),
        "A",
    )
    return Drawing((plan, section))


RING = Shape(
    name="ring",
    meaning="A round slab with a round opening.",
    dimensions=("diameter", "inner_diameter", "thickness"),
    rules=(
        girth, inner_girth, side_height, plan_area, volume, face_area, underside_area, arris_length, open_side_area,
        joint_length, release_area,
    ),
    panels=(
        Panel("base", "diameter", "diameter", 1, "cut round"),
        Panel("bent side", "girth", "side_height", 1, "thin board bent around the base"),
        Panel("inner bend", "inner_girth", "thickness", 1, "thin board bent to the opening"),
    ),
    limits=(
        *more_than_zero("diameter", "inner_diameter", "thickness"),
        Limit(_breadth, "the opening is as wide as the ring; make Inner diameter less than Diameter", "inner_diameter"),
    ),
    drawing=drawing,
)
