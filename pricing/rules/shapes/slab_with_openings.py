"""Slab with openings: a flat rectangle with rectangular openings and round holes, such as a worktop with a sink.

Seen: the top, the edges and the faces inside the openings. Mould: that of a slab, with a box of boards for each opening
and a plug for each hole, as high as the piece is thick. Where the openings lie does not change the take-off; cut-outs, which
may be of several sizes and have a place, stand on a sheet of their own.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, choose, positive_part, smaller
from pricing.rules.geometry.boards import perimeter, side_height, side_length
from pricing.rules.geometry.drawing import AS_AGREED, Drawing, View, block, cut_across, level, rectangle, upright
from pricing.rules.geometry.holes import HOLE_LIMITS, hole_area, hole_girth, hole_run
from pricing.rules.geometry.shape import Limit, Panel, Shape, more_than_zero, whole_number


def opening_area(openings: Value, opening_length: Value, opening_width: Value, hole_area: Value) -> Value:
    """Openings and holes together, seen from above [m²]."""
    return openings * opening_length * opening_width + hole_area


def opening_run(openings: Value, opening_length: Value, opening_width: Value, hole_run: Value) -> Value:
    """Length around all openings and holes [m]."""
    return 2 * openings * (opening_length + opening_width) + hole_run


def opening_boards(openings: Value) -> Value:
    """Boards along the openings, and as many across them [number]."""
    return 2 * openings


def opening_end_length(opening_width: Value, board: Value) -> Value:
    """Board across an opening, between the two along it [m]."""
    return positive_part(opening_width - 2 * board)


def plan_area(length: Value, width: Value, opening_area: Value) -> Value:
    """Slab without its openings, seen from above [m²]."""
    return length * width - opening_area


def volume(plan_area: Value, thickness: Value) -> Value:
    """Concrete of the slab [m³]."""
    return plan_area * thickness


def face_area(plan_area: Value, perimeter: Value, opening_run: Value, thickness: Value) -> Value:
    """Top, edges and the faces inside the openings [m²]."""
    return plan_area + (perimeter + opening_run) * thickness


def underside_area(plan_area: Value) -> Value:
    """Underside [m²]."""
    return plan_area


def arris_length(perimeter: Value, opening_run: Value, thickness: Value) -> Value:
    """Edges around the top and around the openings, and the four outer corners [m]."""
    return perimeter + opening_run + 4 * thickness


def open_side_area(plan_area: Value) -> Value:
    """Underside, which lies open in the mould [m²]."""
    return plan_area


def joint_length(perimeter: Value, opening_run: Value, thickness: Value) -> Value:
    """Joints around the base and the openings, and up the four corners [m]."""
    return perimeter + opening_run + 4 * thickness


def release_area(plan_area: Value, perimeter: Value, opening_run: Value, thickness: Value) -> Value:
    """Base, inner faces of sides and ends, and what forms the openings [m²]."""
    return plan_area + (perimeter + opening_run) * thickness


def _length_given(openings: Value, opening_length: Value, length: Value) -> Value:
    return choose(openings > 0, opening_length, length)


def _width_given(openings: Value, opening_width: Value, width: Value) -> Value:
    return choose(openings > 0, opening_width, width)


def _length_left(length: Value, openings: Value, opening_length: Value) -> Value:
    return length - smaller(openings, 1) * opening_length


def _width_left(width: Value, openings: Value, opening_width: Value) -> Value:
    return width - smaller(openings, 1) * opening_width


def _room_for_a_hole(length: Value, width: Value, holes: Value, hole_diameter: Value) -> Value:
    return smaller(length, width) - smaller(holes, 1) * hole_diameter


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan and section of the slab. Where its openings lie is not known here, so none is drawn, and the drawing says so."""
    length, width, thickness = sizes["length"], sizes["width"], sizes["thickness"]
    plan = View((
        rectangle(0, 0, length, width), level(0, length, 0), upright(0, width, 0), cut_across(0.75 * length, width),
    ))
    section = View((block(0, 0, width, thickness), upright(0, thickness, width, "right")), "A")
    return Drawing((plan, section), (AS_AGREED,) if sizes["openings"] + sizes["holes"] > 0 else ())


SLAB_WITH_OPENINGS = Shape(
    name="slab with openings",
    meaning="A slab with rectangular openings, round holes or both.",
    dimensions=(
        "length", "width", "thickness", "openings", "opening_length", "opening_width", "holes", "hole_diameter",
    ),
    defaults=dict.fromkeys(("openings", "opening_length", "opening_width", "holes", "hole_diameter"), 0.0),
    rules=(
        perimeter, side_length, side_height, hole_girth, hole_run, hole_area, opening_area, opening_run, opening_boards,
        opening_end_length, plan_area, volume, face_area, underside_area, arris_length, open_side_area, joint_length,
        release_area,
    ),
    panels=(
        Panel("base", "length", "width"),
        Panel("side", "side_length", "side_height", 2),
        Panel("end", "width", "side_height", 2),
        Panel("opening side", "opening_length", "thickness", "opening_boards"),
        Panel("opening end", "opening_end_length", "thickness", "opening_boards"),
        Panel("hole former", "hole_girth", "thickness", "holes", "thin board bent round, or a plug of the same size"),
    ),
    limits=(
        *more_than_zero("length", "width", "thickness"),
        *whole_number("openings"),
        *HOLE_LIMITS,
        Limit(_length_given, "there are openings without a length; type Opening length", "opening_length"),
        Limit(_width_given, "there are openings without a width; type Opening width", "opening_width"),
        Limit(_length_left, "an opening is as long as the slab; make Opening length less", "opening_length"),
        Limit(_width_left, "an opening is as wide as the slab; make Opening width less than Width", "opening_width"),
        Limit(_room_for_a_hole, "a hole is as wide as the slab; make Hole diameter less", "hole_diameter"),
        Limit(plan_area, "the openings leave nothing of the slab; make them fewer or smaller", "openings"),
    ),
    drawing=drawing,
)
