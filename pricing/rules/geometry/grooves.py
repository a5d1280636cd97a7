"""Rules that coping and sill share: the edge that a falling top leaves, and the drip grooves along the underside.

A drip groove runs the whole length. It is formed by a strip held in the open side of the mould (common practice, no
source).
"""

from __future__ import annotations

from collections.abc import Mapping

from pricing.algebra.expressions import Value, choose
from pricing.rules.geometry.drawing import Area, Part, Point, level, upright
from pricing.rules.geometry.shape import Limit, whole_number


def edge_thickness(thickness: Value, fall: Value) -> Value:
    """Thickness at the low edge [m]."""
    return thickness - fall


def section_area(
    width: Value, thickness: Value, fall: Value, grooves: Value, groove_width: Value, groove_depth: Value
) -> Value:
    """Area of a cut across the piece, its grooves taken out [m²]."""
    return width * (thickness - fall / 2) - grooves * groove_width * groove_depth


def groove_girth(grooves: Value, groove_width: Value, groove_depth: Value) -> Value:
    """Across the bottom and both sides of all grooves [m]."""
    return grooves * (groove_width + 2 * groove_depth)


def underside_area(length: Value, width: Value, grooves: Value, groove_depth: Value) -> Value:
    """Underside, with the sides of the grooves [m²]."""
    return length * (width + 2 * grooves * groove_depth)


def open_side_area(length: Value, width: Value, grooves: Value, groove_width: Value) -> Value:
    """Underside beside the grooves, which lies open in the mould [m²]."""
    return length * (width - grooves * groove_width)


def _width_beside(width: Value, grooves: Value, groove_width: Value) -> Value:
    return width - grooves * groove_width


def _depth_above(edge_thickness: Value, groove_depth: Value) -> Value:
    return edge_thickness - groove_depth


def _groove_has_width(groove_depth: Value, groove_width: Value, width: Value) -> Value:
    return choose(groove_depth > 0, groove_width, width)


def _groove_has_depth(groove_width: Value, groove_depth: Value, thickness: Value) -> Value:
    return choose(groove_width > 0, groove_depth, thickness)


def grooved_section(sizes: Mapping[str, float], top: tuple[Point, ...]) -> tuple[Part, ...]:
    """A cut across the piece with its drip grooves and their sizes, from the outline of its top, back to front."""
    width, across, depth = sizes["width"], sizes["groove_width"], sizes["groove_depth"]
    count = int(sizes["grooves"]) if across * depth > 0 else 0
    inset = max(width / 8, across)
    if count == 1:
        starts = [inset]
    else:
        starts = [inset + (width - 2 * inset - across) * each / max(count - 1, 1) for each in range(count)]
    foot = [(x, y) for start in starts for x, y in _notch(start, across, depth)]
    cut = Area(((0.0, 0.0), *foot, (width, 0.0), *top))
    if not starts:
        return (cut,)
    return (cut, level(starts[-1], starts[-1] + across, 0.0), upright(0.0, depth, starts[0], "left"))


def _notch(start: float, across: float, depth: float) -> tuple[Point, ...]:
    return (start, 0.0), (start, depth), (start + across, depth), (start + across, 0.0)


#: Limits of a falling top with grooves below.
GROOVE_LIMITS: tuple[Limit, ...] = (
    *whole_number("grooves"),
    Limit(edge_thickness, "the top falls by its whole thickness; make Fall less than Thickness", "fall"),
    Limit(_width_beside, "the grooves take up the whole width; make Groove width less", "groove_width"),
    Limit(_depth_above, "a groove is as deep as the low edge is thick; make Groove depth less", "groove_depth"),
    Limit(_groove_has_width, "a groove has a depth but no width; type Groove width", "groove_width"),
    Limit(_groove_has_depth, "a groove has a width but no depth; type Groove depth", "groove_depth"),
)
