"""Slab with a lip: the edge of a shelf or worktop turned down along one to four of its edges.

Seen: the top, the edges, the ends of the lips and their lower edge. Not seen: the underside between the lips and the
backs of the lips. Corners where two lips meet are counted once, because the lips are what is left of the whole outline
when the space between them is taken away.

Mould (common practice, no source): upside down on a base board. A side at a lip stands board + thickness + drop high,
one without stands board + thickness; a board that passes the end of a lip is stepped between the two heights, at
board + lip from the outer face of the lip's board. A shutter as high as the drop stands behind each lip. The same
boards serve when the piece is cast the other way up.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, choose, positive_part
from pricing.rules.geometry.boards import perimeter, side_height, side_length
from pricing.rules.geometry.drawing import Area, Drawing, Line, View, cut_across, cut_along, level, rectangle, upright
from pricing.rules.geometry.shape import Limit, Panel, Shape, more_than_zero, whole_number


def lip(lip_thickness: Value, thickness: Value) -> Value:
    """Thickness of the lips: that of the slab where none is given [m]."""
    return choose(lip_thickness > 0, lip_thickness, thickness)


def inner_length(length: Value, short_lips: Value, lip: Value) -> Value:
    """Length between the lips at the ends [m]."""
    return length - short_lips * lip


def inner_width(width: Value, long_lips: Value, lip: Value) -> Value:
    """Width between the lips along the length [m]."""
    return width - long_lips * lip


def lip_area(length: Value, width: Value, inner_length: Value, inner_width: Value) -> Value:
    """Lower edge of the lips: the outline less the space between them [m²]."""
    return length * width - inner_length * inner_width


def plain_sides(long_lips: Value) -> Value:
    """Edges along the length without a lip [number]."""
    return 2 - long_lips


def plain_ends(short_lips: Value) -> Value:
    """Edges along the width without a lip [number]."""
    return 2 - short_lips


def lip_ends(long_lips: Value, plain_ends: Value, short_lips: Value, plain_sides: Value) -> Value:
    """Ends of lips that show in an edge without a lip [number]."""
    return long_lips * plain_ends + short_lips * plain_sides


def lip_corners(plain_sides: Value, plain_ends: Value) -> Value:
    """Corners of the piece at which a lip stands [number]."""
    return 4 - plain_sides * plain_ends


def lip_run(long_lips: Value, length: Value, short_lips: Value, width: Value, lip_ends: Value, lip: Value) -> Value:
    """Outline of the lips along the edges of the piece, their ends included [m]."""
    return long_lips * length + short_lips * width + lip_ends * lip


def lip_back(long_lips: Value, inner_length: Value, short_lips: Value, inner_width: Value) -> Value:
    """Length of the inner faces of the lips [m]."""
    return long_lips * inner_length + short_lips * inner_width


def lip_side_height(side_height: Value, drop: Value) -> Value:
    """Height of a board at a lip [m]."""
    return side_height + drop


def plain_side_height(short_lips: Value, lip_side_height: Value, side_height: Value) -> Value:
    """Cut height of a side without a lip: full where the end of a lip passes it and it is stepped [m]."""
    return choose(short_lips > 0, lip_side_height, side_height)


def plain_end_height(long_lips: Value, lip_side_height: Value, side_height: Value) -> Value:
    """Cut height of an end without a lip: full where the end of a lip passes it and it is stepped [m]."""
    return choose(long_lips > 0, lip_side_height, side_height)


def step_distance(board: Value, lip: Value) -> Value:
    """From the outer face of the lip's board to the step of a stepped board [m]."""
    return board + lip


def end_shutter_length(inner_width: Value, long_lips: Value, board: Value) -> Value:
    """Shutter behind a lip along the width: it stands between the shutters along the length [m]."""
    return positive_part(inner_width - long_lips * board)


def volume(length: Value, width: Value, thickness: Value, lip_area: Value, drop: Value) -> Value:
    """Concrete of slab and lips [m³]."""
    return length * width * thickness + lip_area * drop


def face_area(
    length: Value, width: Value, perimeter: Value, thickness: Value, lip_run: Value, drop: Value, lip_area: Value
) -> Value:
    """Top, edges, outside and ends of the lips, and their lower edge [m²]."""
    return length * width + perimeter * thickness + lip_run * drop + lip_area


def underside_area(inner_length: Value, inner_width: Value, lip_back: Value, drop: Value) -> Value:
    """Underside between the lips, and their backs [m²]."""
    return inner_length * inner_width + lip_back * drop


def arris_length(perimeter: Value, thickness: Value, lip_corners: Value, drop: Value, lip_run: Value) -> Value:
    """Edges around the top, upright corners, and the lips' outer lower edge with their ends [m]."""
    return perimeter + 4 * thickness + lip_corners * drop + lip_run


def open_side_area(length: Value, width: Value) -> Value:
    """Underside and lower edge of the lips, which lie open in the mould [m²]."""
    return length * width


def joint_length(perimeter: Value, thickness: Value, lip_corners: Value, lip_ends: Value, drop: Value, lip_back: Value) -> Value:
    """Joints around the base, up the corners, where shutters meet a side or an end, and along the feet of the shutters [m]."""
    return perimeter + 4 * thickness + (lip_corners + lip_ends) * drop + lip_back


def release_area(
    length: Value, width: Value, perimeter: Value, thickness: Value, lip_run: Value, lip_back: Value, drop: Value
) -> Value:
    """Base, inner faces of sides and ends, and the shutters [m²]."""
    return length * width + perimeter * thickness + (lip_run + lip_back) * drop


def _some_lip(long_lips: Value, short_lips: Value) -> Value:
    return long_lips + short_lips


def drawing(sizes: Mapping[str, float]) -> Drawing:
    """Plan with the backs of the lips hidden, and a section across a lip."""
    length, width, lip = sizes["length"], sizes["width"], sizes["lip"]
    south, north = lip * (sizes["long_lips"] > 0), width - lip * (sizes["long_lips"] > 1)
    west, east = lip * (sizes["short_lips"] > 0), length - lip * (sizes["short_lips"] > 1)
    across = sizes["long_lips"] > 0
    hidden = [
        *(Line(((west, y), (east, y)), "hidden") for y in (south, north) if 0 < y < width),
        *(Line(((x, south), (x, north)), "hidden") for x in (west, east) if 0 < x < length),
    ]
    mark = cut_across(0.75 * length, width) if across else cut_along(0.25 * width, length)
    plan = View((
        rectangle(0, 0, length, width), *hidden, level(0, length, 0), upright(0, width, 0), mark,
    ))
    section = _section(sizes, (width, south, north) if across else (length, west, east))
    return Drawing((plan, section))


def _section(sizes: Mapping[str, float], outline: tuple[float, float, float]) -> View:
    """A cut with a lip on its left, on its right where there is one, and what is seen of a lip behind it."""
    end, inner, outer = outline
    drop, top = sizes["drop"], sizes["drop"] + sizes["thickness"]
    right_foot = ((outer, drop), (outer, 0.0), (end, 0.0)) if outer < end else ((end, drop),)
    cut = Area(((0.0, 0.0), (inner, 0.0), (inner, drop), *right_foot, (end, top), (0.0, top)))
    seen = ((inner, 0.0), (outer, 0.0)) if outer < end else ((inner, 0.0), (outer, 0.0), (outer, drop))
    behind = (Line(seen),) if sizes["long_lips"] > 0 and sizes["short_lips"] > 0 else ()
    return View((cut, *behind, upright(0, drop, 0), upright(drop, top, 0), level(0, inner, 0)), "A")


_STEPPED = "stepped from {lip_side_height} to {side_height} at {step_distance} from the outer face of the lip's board"

LIPPED_SLAB = Shape(
    name="slab with a lip",
    meaning="A slab with one to four of its edges turned down.",
    dimensions=("length", "width", "thickness", "drop", "lip_thickness", "long_lips", "short_lips"),
    defaults={"lip_thickness": 0.0, "long_lips": 1.0, "short_lips": 0.0},
    together=("long_lips", "short_lips"),
    rules=(
        perimeter, side_length, side_height, lip, inner_length, inner_width, lip_area, plain_sides, plain_ends,
        lip_ends, lip_corners, lip_run, lip_back, lip_side_height, plain_side_height, plain_end_height, step_distance,
        end_shutter_length, volume, face_area, underside_area, arris_length, open_side_area, joint_length, release_area,
    ),
    panels=(
        Panel("base", "length", "width"),
        Panel("lip side", "side_length", "lip_side_height", "long_lips"),
        Panel("plain side", "side_length", "plain_side_height", "plain_sides", _STEPPED, noted_where="short_lips"),
        Panel("lip end", "width", "lip_side_height", "short_lips"),
        Panel("plain end", "width", "plain_end_height", "plain_ends", _STEPPED, noted_where="long_lips"),
        Panel("shutter", "inner_length", "drop", "long_lips"),
        Panel("end shutter", "end_shutter_length", "drop", "short_lips"),
    ),
    limits=(
        *more_than_zero("length", "width", "thickness", "drop"),
        *whole_number("long_lips", "short_lips"),
        Limit(plain_sides, "a slab has two edges along its length; type 0, 1 or 2", "long_lips", strict=False),
        Limit(plain_ends, "a slab has two edges along its width; type 0, 1 or 2", "short_lips", strict=False),
        Limit(_some_lip, "there is no lip; type 1 or 2 under Long lips or Short lips, or use slab", "long_lips"),
        Limit(inner_width, "the lips take up the width; make Lip thickness less or Width more", "lip_thickness"),
        Limit(inner_length, "the lips take up the length; make Lip thickness less or Length more", "lip_thickness"),
    ),
    drawing=drawing,
)
