"""Step: a tread and its riser in one, the tread standing out before the riser by its nosing.

Width is that of the tread over all, from its back to the front of the nosing; drop is the height of the riser below the
tread. A riser as thick as the tread behind the nosing makes a block step. Seen: the top, the edges, the underside of
the nosing, the front of the riser and both ends. Not seen: the underside behind the riser, its back and its foot.

Mould: that of a slab, upside down; two shutters as high as the drop form the riser, and two short boards close its
ends.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value
from pricing.rules.geometry.boards import perimeter, side_height, side_length
from pricing.rules.geometry.drawing import Area, Drawing, Line, View, cut_across, level, rectangle, upright
from pricing.rules.geometry.shape import Limit, Panel, Shape, more_than_zero
from pricing.rules.shapes.lipped_slab import lip


def section_area(width: Value, thickness: Value, lip: Value, drop: Value) -> Value:
    """Tread and riser in a cut across them [m²]."""
    return width * thickness + lip * drop


def underside_width(width: Value, nosing: Value, lip: Value) -> Value:
    """Width of the underside behind the riser [m]."""
    return width - nosing - lip


def riser_end_length(lip: Value, board: Value) -> Value:
    """Board at the end of the riser: it covers the ends of both shutters [m]."""
    return lip + 2 * board


def volume(length: Value, section_area: Value) -> Value:
    """Concrete of the step [m³]."""
    return length * section_area


def face_area(
    length: Value, width: Value, thickness: Value, nosing: Value, drop: Value, section_area: Value
) -> Value:
    """Top, front, back, underside of the nosing, front of the riser and both ends [m²]."""
    return length * (width + 2 * thickness + nosing + drop) + 2 * section_area


def underside_area(length: Value, underside_width: Value, lip: Value, drop: Value) -> Value:
    """Underside behind the riser, its back and its foot [m²]."""
    return length * (underside_width + lip + drop)


def arris_length(perimeter: Value, length: Value, thickness: Value, nosing: Value, drop: Value) -> Value:
    """Edges around the top, corners of the tread, and around nosing and riser in front [m]."""
    return perimeter + length + 4 * thickness + 2 * nosing + 2 * drop


def open_side_area(length: Value, width: Value) -> Value:
    """Underside of nosing and tread and the riser's foot, which lie open in the mould [m²]."""
    return length * width


def joint_length(perimeter: Value, thickness: Value, drop: Value, length: Value) -> Value:
    """Joints around the base, up the corners of the tread and of the riser, and along the feet of its two shutters [m]."""
    return perimeter + 4 * thickness + 4 * drop + 2 * length


def release_area(
    length: Value, width: Value, perimeter: Value, thickness: Value, lip: Value, drop: Value
) -> Value:
    """Base, inner faces of sides and ends, shutters and boards of the riser [m²]."""
    return length * width + perimeter * thickness + 2 * (length + lip) * drop


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan with the riser hidden below the tread, and a section across both."""
    length, width, front = sizes["length"], sizes["width"], sizes["nosing"]
    drop, top, back = sizes["drop"], sizes["drop"] + sizes["thickness"], sizes["nosing"] + sizes["lip"]
    hidden = [Line(((0.0, y), (length, y)), "hidden") for y in (front, back) if y < width]
    plan = View((
        rectangle(0, 0, length, width), *hidden, level(0, length, 0), upright(0, width, 0),
        cut_across(0.75 * length, width),
    ))
    corners = ((0, drop), (front, drop), (front, 0), (back, 0), (back, drop), (width, drop), (width, top), (0, top))
    section = View(
        (Area(corners), upright(0, drop, front), upright(drop, top, 0), level(0, front, drop), level(front, back, 0)),
        "A",
    )
    return Drawing((plan, section))


STEP = Shape(
    name="step",
    meaning="A tread with a nosing and its riser, in one piece.",
    dimensions=("length", "width", "thickness", "drop", "lip_thickness", "nosing"),
    defaults={"lip_thickness": 0.0},
    rules=(
        perimeter, side_length, side_height, lip, section_area, underside_width, riser_end_length, volume, face_area,
        underside_area, arris_length, open_side_area, joint_length, release_area,
    ),
    panels=(
        Panel("base", "length", "width"),
        Panel("side", "side_length", "side_height", 2),
        Panel("end", "width", "side_height", 2),
        Panel("riser shutter", "length", "drop", 2),
        Panel("riser end", "riser_end_length", "drop", 2),
    ),
    limits=(
        *more_than_zero("length", "width", "thickness", "drop", "nosing"),
        Limit(
            underside_width, "nosing and riser are together wider than the tread; make Nosing or Lip thickness less",
            "nosing", strict=False,
        ),
    ),
    drawing=drawing,
)
