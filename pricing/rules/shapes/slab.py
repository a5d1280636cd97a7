"""Slab: a flat rectangle, such as a worktop, a hearth or a shelf.

Seen: the top and the four edges. Mould: base, two sides along the length, two ends between them.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value
from pricing.rules.geometry.boards import perimeter, side_height, side_length
from pricing.rules.geometry.drawing import Drawing, View, block, cut_across, level, rectangle, upright
from pricing.rules.geometry.shape import Panel, Shape, more_than_zero


def volume(length: Value, width: Value, thickness: Value) -> Value:
    """Concrete of the slab [m³]."""
    return length * width * thickness


def face_area(length: Value, width: Value, perimeter: Value, thickness: Value) -> Value:
    """Top and edges [m²]."""
    return length * width + perimeter * thickness


def underside_area(length: Value, width: Value) -> Value:
    """Underside [m²]."""
    return length * width


def arris_length(perimeter: Value, thickness: Value) -> Value:
    """Edges around the top and the four upright corners [m]."""
    return perimeter + 4 * thickness


def open_side_area(length: Value, width: Value) -> Value:
    """Underside, which lies open in the mould [m²]."""
    return length * width


def joint_length(perimeter: Value, thickness: Value) -> Value:
    """Joints around the base and up the four corners [m]."""
    return perimeter + 4 * thickness


def release_area(length: Value, width: Value, perimeter: Value, thickness: Value) -> Value:
    """Base and the inner faces of sides and ends [m²]."""
    return length * width + perimeter * thickness


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan, and a section across the slab."""
    length, width, thickness = sizes["length"], sizes["width"], sizes["thickness"]
    plan = View((
        rectangle(0, 0, length, width), level(0, length, 0), upright(0, width, 0), cut_across(0.75 * length, width),
    ))
    section = View((block(0, 0, width, thickness), upright(0, thickness, width, "right")), "A")
    return Drawing((plan, section))


SLAB = Shape(
    name="slab",
    meaning="A flat rectangle: worktop, hearth, shelf.",
    dimensions=("length", "width", "thickness"),
    rules=(
        perimeter, side_length, side_height, volume, face_area, underside_area, arris_length, open_side_area, joint_length,
        release_area,
    ),
    panels=(
        Panel("base", "length", "width"),
        Panel("side", "side_length", "side_height", 2),
        Panel("end", "width", "side_height", 2),
    ),
    limits=more_than_zero("length", "width", "thickness"),
    drawing=drawing,
)
