"""Sill: the foot of a window or door opening, or a coping, falling one way from its back to its front.

Thickness is measured at the back; the front is lower by the fall. Seen: the falling top, front, back and ends. Mould:
upside down; the base board is packed up at the front, so that every side stands board + thickness high.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, square_root
from pricing.rules.geometry.boards import side_height, side_length
from pricing.rules.geometry.drawing import Dimension, Drawing, Part, View, cut_across, level, rectangle, upright
from pricing.rules.geometry.grooves import (
    GROOVE_LIMITS,
    edge_thickness,
    groove_girth,
    grooved_section,
    open_side_area,
    section_area,
    underside_area,
)
from pricing.rules.geometry.shape import Limit, Panel, Shape, more_than_zero
from pricing.rules.shapes.coping import release_area, volume


def slope(width: Value, fall: Value) -> Value:
    """Across the falling top, from back to front [m]."""
    return square_root(width**2 + fall**2)


def face_area(length: Value, slope: Value, thickness: Value, edge_thickness: Value, section_area: Value) -> Value:
    """Falling top, back, front and ends [m²]."""
    return length * (slope + thickness + edge_thickness) + 2 * section_area


def arris_length(length: Value, slope: Value, thickness: Value, edge_thickness: Value) -> Value:
    """Edges around the top and the four corners [m]."""
    return 2 * (length + slope + thickness + edge_thickness)


def joint_length(length: Value, slope: Value, thickness: Value, edge_thickness: Value) -> Value:
    """Joints around the base and up the four corners [m]."""
    return 2 * (length + slope + thickness + edge_thickness)


def _not_rising(fall: Value) -> Value:
    return fall


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan, and a section across, its front on the left."""
    length, width, thickness, edge = (sizes[each] for each in ("length", "width", "thickness", "edge_thickness"))
    plan = View((
        rectangle(0, 0, length, width), level(0, length, 0), upright(0, width, 0), cut_across(0.75 * length, width),
    ))
    top = ((width, thickness), (0.0, edge))
    sides: list[Part] = [upright(0, thickness, width, "right")]
    sides += [Dimension((0.0, edge), (width, thickness), "left")] if sizes["fall"] > 0 else []
    return Drawing((plan, View((*grooved_section(sizes, top), *sides), "A")))


SILL = Shape(
    name="sill",
    meaning="A window sill or coping falling one way, with a drip groove.",
    dimensions=("length", "width", "thickness", "fall", "grooves", "groove_width", "groove_depth"),
    defaults={"fall": 0.0, "grooves": 1.0, "groove_width": 0.0, "groove_depth": 0.0},
    rules=(
        side_length, side_height, slope, edge_thickness, section_area, groove_girth, volume, face_area, underside_area,
        arris_length, open_side_area, joint_length, release_area,
    ),
    panels=(
        Panel("falling base", "length", "slope"),
        Panel("side", "side_length", "side_height", 2),
        Panel("end", "width", "side_height", 2),
        Panel("groove strip", "length", "groove_width", "grooves", "{groove_depth} thick"),
    ),
    limits=(
        *more_than_zero("length", "width", "thickness"),
        Limit(_not_rising, "the fall is negative; type how much lower the front is than the back", "fall", False),
        *GROOVE_LIMITS,
    ),
    drawing=drawing,
)
