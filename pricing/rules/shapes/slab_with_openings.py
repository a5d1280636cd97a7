"""Slab with openings: a flat rectangle with rectangular openings and round holes, such as a worktop with a sink.

Seen: the top, the edges and the faces inside the openings. Mould: that of a slab, with a box of boards for each opening
and a plug for each hole, as high as the piece is thick. Where the openings lie does not change the take-off; that they
do not overlap is the maker's to see to.
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, choose, positive_part, smaller
from pricing.rules.geometry.boards import perimeter, side_height, side_length
from pricing.rules.geometry.drawing import Drawing, Part, Point, View, block, cut_across, hole, level, rectangle, upright
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


def open_area(plan_area: Value) -> Value:
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
    """Plan with the openings set out evenly, and a section through one of them; where they lie is not to scale."""
    length, width, thickness = sizes["length"], sizes["width"], sizes["thickness"]
    middles, holes = _set_out(sizes)
    along, across, diameter = sizes["opening_length"], sizes["opening_width"], sizes["hole_diameter"]
    south, north = (width - across) / 2, (width + across) / 2
    parts: list[Part] = [rectangle(0, 0, length, width), upright(0, width, 0)]
    parts.append(level(0, length, 0, row=1 if middles else 0))
    parts += [rectangle(middle - along / 2, south, middle + along / 2, north) for middle in middles]
    for centre in holes:
        parts += hole(centre, diameter)
    if middles:
        parts += [level(middles[0] - along / 2, middles[0] + along / 2, south)]
        parts += [upright(south, north, middles[-1] + along / 2, "right"), cut_across(middles[0] - along / 3, width)]
        parts += [level(x - diameter / 2, x + diameter / 2, y, "above", 0, True) for x, y in holes[-1:]]
        return Drawing((View(tuple(parts)), _through(south, north, width, thickness)))
    x, y = holes[0] if holes else (0.75 * length, width / 2)
    parts.append(cut_across(x, width))
    if holes:
        edges = (y - diameter / 2, y + diameter / 2)
        section = _through(*edges, width, thickness)
        return Drawing((View(tuple(parts)), View((*section.parts, level(*edges, 0, diameter=True)), "A")))
    whole = block(0, 0, width, thickness), upright(0, thickness, width, "right")
    return Drawing((View(tuple(parts)), View(whole, "A")))


def _set_out(sizes: Mapping[str, float]) -> tuple[list[float], list[Point]]:
    """Middles of the openings along the slab, and centres of the holes: behind the openings where there is room."""
    openings, holes, diameter = int(sizes["openings"]), int(sizes["holes"]), sizes["hole_diameter"]
    strip = (sizes["width"] - sizes["opening_width"]) / 2
    behind = openings > 0 and 0 < diameter < 0.8 * strip
    spans = [sizes["opening_length"]] * openings + ([] if behind else [diameter] * holes)
    gap = (sizes["length"] - sum(spans)) / (len(spans) + 1)
    middles = [gap * (each + 1) + sum(spans[:each]) + span / 2 for each, span in enumerate(spans)]
    if not behind:
        return middles[:openings], [(x, sizes["width"] / 2) for x in middles[openings:]]
    spread = min(2.5 * diameter, sizes["length"] / (holes + 1))
    first = middles[0] - spread * (holes - 1) / 2 if spread * holes < sizes["opening_length"] else spread
    return middles, [(first + spread * each, sizes["width"] - strip / 2) for each in range(holes)]


def _through(south: float, north: float, width: float, thickness: float) -> View:
    """A section through an opening, its far edges seen beyond."""
    cut = block(0, 0, south, thickness), block(north, 0, width, thickness)
    return View((rectangle(south, 0, north, thickness), *cut, upright(0, thickness, width, "right")), "A")


SLAB_WITH_OPENINGS = Shape(
    name="slab with openings",
    meaning="A slab with rectangular openings, round holes or both.",
    dimensions=(
        "length", "width", "thickness", "openings", "opening_length", "opening_width", "holes", "hole_diameter",
    ),
    defaults=dict.fromkeys(("openings", "opening_length", "opening_width", "holes", "hole_diameter"), 0.0),
    rules=(
        perimeter, side_length, side_height, hole_girth, hole_run, hole_area, opening_area, opening_run, opening_boards,
        opening_end_length, plan_area, volume, face_area, underside_area, arris_length, open_area, joint_length,
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
