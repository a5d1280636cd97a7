"""Coping: the capping of a wall, falling both ways from a ridge along its middle.

Thickness is measured at the ridge; each edge is lower by the fall. A coping that falls one way has the shape of a sill.
Seen: both falling faces, the edges and the ends. Mould: upside down; two falling base boards meet under the ridge and
are packed up at the sides, so that every side stands board + thickness high.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, square_root
from pricing.rules.geometry.boards import side_height, side_length
from pricing.rules.geometry.drawing import Dimension, Drawing, Line, View, cut_across, level, rectangle, upright
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


def slope(width: Value, fall: Value) -> Value:
    """Across one falling face, from ridge to edge [m]."""
    return square_root((width / 2) ** 2 + fall**2)


def volume(length: Value, section_area: Value) -> Value:
    """Concrete of the coping [m³]."""
    return length * section_area


def face_area(length: Value, slope: Value, edge_thickness: Value, section_area: Value) -> Value:
    """Falling faces, edges and ends [m²]."""
    return 2 * length * (slope + edge_thickness) + 2 * section_area


def arris_length(length: Value, slope: Value, edge_thickness: Value) -> Value:
    """Ridge, edges around the top and the four corners [m]."""
    return 3 * length + 4 * slope + 4 * edge_thickness


def joint_length(length: Value, slope: Value, edge_thickness: Value) -> Value:
    """Joint under the ridge, joints around the base and up the four corners [m]."""
    return 3 * length + 4 * slope + 4 * edge_thickness


def release_area(face_area: Value, length: Value, groove_girth: Value) -> Value:
    """Base, inner faces of sides and ends, and the groove strips [m²]."""
    return face_area + length * groove_girth


def _falls(fall: Value) -> Value:
    return fall


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan with the ridge, and a section across it."""
    length, width, thickness, edge = (sizes[each] for each in ("length", "width", "thickness", "edge_thickness"))
    ridge = Line(((0.0, width / 2), (length, width / 2)))
    plan = View((
        rectangle(0, 0, length, width), ridge, level(0, length, 0), upright(0, width, 0),
        cut_across(0.75 * length, width),
    ))
    top = ((width, edge), (width / 2, thickness), (0.0, edge))
    fall = Dimension((0.0, edge), (width / 2, thickness), "left")
    whole = Dimension((width, 0.0), (width / 2, thickness), "right")
    return Drawing((plan, View((*grooved_section(sizes, top), fall, whole), "A")))


COPING = Shape(
    name="coping",
    meaning="The capping of a wall, falling both ways, with drip grooves.",
    dimensions=("length", "width", "thickness", "fall", "grooves", "groove_width", "groove_depth"),
    defaults={"grooves": 2.0, "groove_width": 0.0, "groove_depth": 0.0},
    rules=(
        side_length, side_height, slope, edge_thickness, section_area, groove_girth, volume, face_area, underside_area,
        arris_length, open_side_area, joint_length, release_area,
    ),
    panels=(
        Panel("falling base", "length", "slope", 2),
        Panel("side", "side_length", "side_height", 2),
        Panel("end", "width", "side_height", 2),
        Panel("groove strip", "length", "groove_width", "grooves", "{groove_depth} thick"),
    ),
    limits=(
        *more_than_zero("length", "width", "thickness"),
        Limit(_falls, "a coping without a fall holds water; type Fall, or use slab", "fall"),
        *GROOVE_LIMITS,
    ),
    drawing=drawing,
)
