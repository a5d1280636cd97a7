"""Bench: a top and two legs in one piece, the legs as wide as the top.

Height is over all; the legs stand in from the ends by the leg inset, or flush with them where it is blank. Seen: the
top, the edges, and all four upright faces of each leg. Not seen: the underside of the top and the feet.

Mould: that of a slab, upside down; each leg is a chimney of four boards that stands over it, open at its foot.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, choose
from pricing.rules.geometry.boards import perimeter, side_height, side_length
from pricing.rules.geometry.drawing import Area, Drawing, Line, View, cut_along, level, rectangle, upright
from pricing.rules.geometry.shape import Limit, Panel, Shape, more_than_zero


def leg(leg_thickness: Value, thickness: Value) -> Value:
    """Thickness of the legs: that of the top where none is given [m]."""
    return choose(leg_thickness > 0, leg_thickness, thickness)


def leg_height(height: Value, thickness: Value) -> Value:
    """Height of the legs below the top [m]."""
    return height - thickness


def leg_gap(length: Value, leg: Value, leg_inset: Value) -> Value:
    """Clear space between the legs [m]."""
    return length - 2 * (leg + leg_inset)


def leg_side_length(leg: Value, board: Value) -> Value:
    """Board beside a leg: it covers the ends of both shutters [m]."""
    return leg + 2 * board


def volume(length: Value, width: Value, thickness: Value, leg: Value, leg_height: Value) -> Value:
    """Concrete of top and legs [m³]."""
    return length * width * thickness + 2 * leg * width * leg_height


def face_area(
    length: Value, width: Value, perimeter: Value, thickness: Value, leg: Value, leg_height: Value
) -> Value:
    """Top, edges and the upright faces of the legs [m²]."""
    return length * width + perimeter * thickness + 4 * (width + leg) * leg_height


def underside_area(length: Value, width: Value) -> Value:
    """Underside of the top and the feet, together as large as the top [m²]."""
    return length * width


def arris_length(perimeter: Value, thickness: Value, leg_height: Value) -> Value:
    """Edges around the top, its four corners, and the eight of the legs [m]."""
    return perimeter + 4 * thickness + 8 * leg_height


def open_side_area(length: Value, width: Value) -> Value:
    """Underside of the top and the feet, which lie open in the mould [m²]."""
    return length * width


def joint_length(perimeter: Value, thickness: Value, leg_height: Value, width: Value, leg_inset: Value) -> Value:
    """Joints around the base, up its four corners and the eight of the legs, and along the feet of their shutters; those of legs
    at the very ends stand on no concrete [m]."""
    return perimeter + 4 * thickness + 8 * leg_height + choose(leg_inset > 0, 4, 2) * width


def release_area(
    length: Value, width: Value, perimeter: Value, thickness: Value, leg: Value, leg_height: Value
) -> Value:
    """Base, inner faces of sides and ends, and the boards around the legs [m²]."""
    return length * width + perimeter * thickness + 4 * (width + leg) * leg_height


def _not_outside(leg_inset: Value) -> Value:
    return leg_inset


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan with the legs hidden below the top, and a section along the bench."""
    length, width, height, under = (sizes[each] for each in ("length", "width", "height", "leg_height"))
    west, inner = sizes["leg_inset"], sizes["leg_inset"] + sizes["leg"]
    hidden = [
        Line(((x, 0.0), (x, width)), "hidden") for x in (west, inner, length - inner, length - west) if 0 < x < length
    ]
    plan = View((
        rectangle(0, 0, length, width), *hidden, level(0, length, 0), upright(0, width, 0),
        cut_along(width / 4, length),
    ))
    left = ((0.0, under), (west, under), (west, 0.0), (inner, 0.0), (inner, under))
    right = tuple((length - x, y) for x, y in reversed(left))
    sides = [upright(0, height, 0), upright(under, height, length, "right"), level(west, inner, 0)]
    sides += [level(0, west, under)] if west > 0 else []
    return Drawing((plan, View((Area((*left, *right, (length, height), (0.0, height))), *sides), "A")))


BENCH = Shape(
    name="bench",
    meaning="A top and two legs in one piece.",
    dimensions=("length", "width", "height", "thickness", "leg_thickness", "leg_inset"),
    defaults={"leg_thickness": 0.0, "leg_inset": 0.0},
    rules=(
        perimeter, side_length, side_height, leg, leg_height, leg_gap, leg_side_length, volume, face_area,
        underside_area, arris_length, open_side_area, joint_length, release_area,
    ),
    panels=(
        Panel("base", "length", "width"),
        Panel("side", "side_length", "side_height", 2),
        Panel("end", "width", "side_height", 2),
        Panel("leg shutter", "width", "leg_height", 4),
        Panel("leg side", "leg_side_length", "leg_height", 4),
    ),
    limits=(
        *more_than_zero("length", "width", "height", "thickness"),
        Limit(leg_height, "the top is as thick as the bench is high; make Thickness less than Height", "thickness"),
        Limit(leg_gap, "the legs meet; make Leg thickness or Leg inset less", "leg_thickness"),
        Limit(_not_outside, "the legs stand outside the top; type a Leg inset of zero or more", "leg_inset", False),
    ),
    drawing=drawing,
)
