"""L-shaped slab: two arms of one thickness that share a corner, such as a corner worktop.

Length and width are those of one arm; return length (measured outside, corner included) and return width those of the
other. Seen: the top and the six edges. Mould: a base for each arm; the boards along the length run past those across at
every outward corner; at the inner corner the board along the length starts beside the other. No sealant goes there,
because the concrete turns inward.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, positive_part
from pricing.rules.geometry.boards import side_height, side_length
from pricing.rules.geometry.drawing import Drawing, Line, View, block, cut_across, level, upright
from pricing.rules.geometry.shape import Limit, Panel, Shape, more_than_zero


def inner_side(length: Value, return_width: Value) -> Value:
    """Side along the length from the inner corner [m]."""
    return length - return_width


def inner_return(return_length: Value, width: Value) -> Value:
    """Side along the return from the inner corner [m]."""
    return return_length - width


def perimeter(length: Value, return_length: Value) -> Value:
    """Outline: that of the rectangle around it [m]."""
    return 2 * (length + return_length)


def plan_area(length: Value, width: Value, inner_return: Value, return_width: Value) -> Value:
    """One arm, and what the other adds to it [m²]."""
    return length * width + inner_return * return_width


def inner_side_length(inner_side: Value, board: Value) -> Value:
    """Board along the inner side: past the end, up to the inner corner [m]."""
    return inner_side + board


def inner_return_length(inner_return: Value, board: Value) -> Value:
    """Board along the inner side of the return: it starts at the other's face [m]."""
    return positive_part(inner_return - board)


def return_end_length(return_width: Value, board: Value) -> Value:
    """Board at the end of the return: it covers the ends of both boards along it [m]."""
    return return_width + 2 * board


def volume(plan_area: Value, thickness: Value) -> Value:
    """Concrete of the slab [m³]."""
    return plan_area * thickness


def face_area(plan_area: Value, perimeter: Value, thickness: Value) -> Value:
    """Top and edges [m²]."""
    return plan_area + perimeter * thickness


def underside_area(plan_area: Value) -> Value:
    """Underside [m²]."""
    return plan_area


def arris_length(perimeter: Value, thickness: Value) -> Value:
    """Edges around the top and the five outward corners [m]."""
    return perimeter + 5 * thickness


def open_side_area(plan_area: Value) -> Value:
    """Underside, which lies open in the mould [m²]."""
    return plan_area


def joint_length(perimeter: Value, thickness: Value) -> Value:
    """Joints around the base and up the five outward corners [m]."""
    return perimeter + 5 * thickness


def release_area(plan_area: Value, perimeter: Value, thickness: Value) -> Value:
    """Bases and the inner faces of the six sides [m²]."""
    return plan_area + perimeter * thickness


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan, and a section across the first arm."""
    length, width, thickness = sizes["length"], sizes["width"], sizes["thickness"]
    far, arm = sizes["return_length"], sizes["return_width"]
    corners = ((0.0, 0.0), (length, 0.0), (length, width), (arm, width), (arm, far), (0.0, far), (0.0, 0.0))
    plan = View((
        Line(corners), level(0, length, 0), upright(0, far, 0), upright(0, width, length, "right"),
        level(0, arm, far, "above"), cut_across((arm + 3 * length) / 4, width),
    ))
    section = View((block(0, 0, width, thickness), upright(0, thickness, width, "right")), "A")
    return Drawing((plan, section))


L_SLAB = Shape(
    name="L-shaped slab",
    meaning="A slab of two arms that share a corner.",
    dimensions=("length", "width", "thickness", "return_length", "return_width"),
    rules=(
        side_length, side_height, inner_side, inner_return, perimeter, plan_area, inner_side_length,
        inner_return_length, return_end_length, volume, face_area, underside_area, arris_length, open_side_area,
        joint_length, release_area,
    ),
    panels=(
        Panel("base", "length", "width"),
        Panel("return base", "inner_return", "return_width"),
        Panel("outer side", "side_length", "side_height"),
        Panel("inner side", "inner_side_length", "side_height"),
        Panel("end", "width", "side_height"),
        Panel("return side", "return_length", "side_height"),
        Panel("return inner side", "inner_return_length", "side_height"),
        Panel("return end", "return_end_length", "side_height"),
    ),
    limits=(
        *more_than_zero("length", "width", "thickness", "return_length", "return_width"),
        Limit(inner_side, "the return takes up the length; make Return width less than Length", "return_width"),
        Limit(inner_return, "the return ends within the width; make Return length more than Width", "return_length"),
    ),
    drawing=drawing,
)
