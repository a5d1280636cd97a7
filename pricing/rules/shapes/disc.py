"""Disc: a round slab, such as a table top.

Seen: the top and the edge. Mould (common practice, no source): a base cut round from a square of board, and thin board
bent around it, a base board's thickness higher than the piece; both are taken as the rectangles that they are cut from.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value
from pricing.rules.geometry.boards import side_height
from pricing.rules.geometry.drawing import Circle, Drawing, View, axes, block, cut_along, level, upright
from pricing.rules.geometry.shape import Panel, Shape, more_than_zero


def girth(pi: Value, diameter: Value) -> Value:
    """Length around the disc [m]."""
    return pi * diameter


def plan_area(pi: Value, diameter: Value) -> Value:
    """Disc seen from above [m²]."""
    return pi * diameter**2 / 4


def volume(plan_area: Value, thickness: Value) -> Value:
    """Concrete of the disc [m³]."""
    return plan_area * thickness


def face_area(plan_area: Value, girth: Value, thickness: Value) -> Value:
    """Top and edge [m²]."""
    return plan_area + girth * thickness


def underside_area(plan_area: Value) -> Value:
    """Underside [m²]."""
    return plan_area


def arris_length(girth: Value) -> Value:
    """Edge around the top [m]."""
    return girth


def open_side_area(plan_area: Value) -> Value:
    """Underside, which lies open in the mould [m²]."""
    return plan_area


def joint_length(girth: Value) -> Value:
    """Joint around the base [m]."""
    return girth


def release_area(plan_area: Value, girth: Value, thickness: Value) -> Value:
    """Base and the inner face of the bent side [m²]."""
    return plan_area + girth * thickness


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan, and a section through the middle."""
    diameter, thickness = sizes["diameter"], sizes["thickness"]
    radius = diameter / 2
    plan = View((
        Circle((radius, radius), radius), *axes((radius, radius), radius), level(0, diameter, radius, diameter=True),
        cut_along(radius, diameter),
    ))
    section = View((block(0, 0, diameter, thickness), upright(0, thickness, diameter, "right")), "A")
    return Drawing((plan, section))


DISC = Shape(
    name="disc",
    meaning="A round slab.",
    dimensions=("diameter", "thickness"),
    rules=(
        girth, side_height, plan_area, volume, face_area, underside_area, arris_length, open_side_area, joint_length,
        release_area,
    ),
    panels=(
        Panel("base", "diameter", "diameter", 1, "cut round"),
        Panel("bent side", "girth", "side_height", 1, "thin board bent around the base"),
    ),
    limits=more_than_zero("diameter", "thickness"),
    drawing=drawing,
)
