"""Slab by outline: a slab of any outline, such as an island with a curved end.

Seen: the top and the edge all round. Mould: a base cut from the rectangle around the outline, and a side for every edge, thin
board bent round for a rounded corner (common practice, no source). As at any mould, one of two boards runs past the other by a
board's thickness at an outward corner, and stops short by as much at an inward one, where no sealant goes. A rounded corner has no
upright arris and no upright joint.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pricing.algebra.expressions import Value
from pricing.rules.geometry.boards import side_height
from pricing.rules.geometry.drawing import Drawing, Line, View, block, cut_across, level, rectangle, upright
from pricing.rules.geometry.outline import Outline
from pricing.rules.geometry.shape import Cut, Limit, Shape, more_than_zero

#: What the shape takes from its outline.
OF_THE_OUTLINE = ("outline_area", "outline_girth", "outline_length", "outline_width", "outward_corners", "inward_corners")


def side_run(outline_girth: Value, outward_corners: Value, inward_corners: Value, board: Value) -> Value:
    """All side boards one after another [m]."""
    return outline_girth + (outward_corners - inward_corners) * board


def volume(outline_area: Value, thickness: Value) -> Value:
    """Concrete of the slab [m³]."""
    return outline_area * thickness


def face_area(outline_area: Value, outline_girth: Value, thickness: Value) -> Value:
    """Top and edges [m²]."""
    return outline_area + outline_girth * thickness


def underside_area(outline_area: Value) -> Value:
    """Underside [m²]."""
    return +outline_area


def arris_length(outline_girth: Value, outward_corners: Value, thickness: Value) -> Value:
    """Edges around the top, and the outward corners that are sharp [m]."""
    return outline_girth + outward_corners * thickness


def open_side_area(outline_area: Value) -> Value:
    """Underside, which lies open in the mould [m²]."""
    return +outline_area


def joint_length(outline_girth: Value, outward_corners: Value, thickness: Value) -> Value:
    """Joints around the base and up the outward corners that are sharp [m]."""
    return outline_girth + outward_corners * thickness


def release_area(outline_area: Value, outline_girth: Value, thickness: Value) -> Value:
    """Base and the inner faces of the sides [m²]."""
    return outline_area + outline_girth * thickness


def mould_area(outline_length: Value, outline_width: Value, side_run: Value, side_height: Value) -> Value:
    """The rectangle that the base is cut from, and the sides [m²]."""
    return outline_length * outline_width + side_run * side_height


def outline_cuts(outline: Outline, values: Mapping[str, float], figure: Callable[[float], str]) -> list[Cut]:
    """The cut list of one mould: the base, a side for every edge with a straight part, thin board for every rounded corner.

    Parameters
    ----------
    outline : of the slab
    values : take-off of the slab, the mould's board among it [SI]
    figure : from a length [m] to its text in a note

    >>> from pricing.rules.geometry.outline import outline_of
    >>> square = outline_of([(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0)])
    >>> made = outline_cuts(square, {**square.figures, "side_height": 0.058, "board": 0.018}, str)
    >>> [cut.name for cut in made][:2], round(made[1].length, 3)
    (['base', 'side 1 to 2'], 1.018)
    """
    found = [Cut("base", values["outline_length"], values["outline_width"], 1, "cut to the outline")]
    points, height = outline.of_points, values["side_height"]
    left = 1.0 if outline.figures["crosses"] > 0 else -1.0
    for point in range(len(outline.x)):
        after = (point + 1) % len(outline.x)
        outward = left * float(points["turns_left"][after] - points["turns_right"][after])
        length = float(points["straight"][point]) + outward * values["board"]
        if length > 1e-4:
            found.append(Cut(f"side {outline.name(point)} to {outline.name(after)}", length, height, 1))
        if points["arc"][after] > 1e-4:
            note = f"thin board bent to a radius of {figure(outline.radius[after])}"
            found.append(Cut(f"corner {outline.name(after)}", float(points["arc"][after]), height, 1, note))
    return found


def outline_drawing(outline: Outline, sizes: Mapping[str, float]) -> Drawing:
    """Plan to scale, and a section across it."""
    path = [(float(x), float(y)) for x, y in outline.path()]
    length, width, thickness = sizes["outline_length"], sizes["outline_width"], sizes["thickness"]
    plan = View((Line((*path, path[0])), level(0, length, 0), upright(0, width, 0), cut_across(length / 2, width)))
    met = _across(path, length / 2)
    blocks = [block(south, 0, north, thickness) for south, north in zip(met[::2], met[1::2], strict=True)]
    behind = [rectangle(met[0], 0, met[-1], thickness)] if len(blocks) > 1 else []
    return Drawing((plan, View((*behind, *blocks, upright(0, thickness, met[-1], "right")), "A")))


def _across(path: list[tuple[float, float]], at: float) -> list[float]:
    """Where a line across the plan meets the outline, from front to back: into the piece, out of it, and so on."""
    return sorted(
        y + (at - x) / (far - x) * (high - y)
        for (x, y), (far, high) in zip(path, path[1:] + path[:1], strict=True)
        if min(x, far) <= at < max(x, far)
    )


def _surrounds_something(outline_area: Value) -> Value:
    return +outline_area


SLAB_BY_OUTLINE = Shape(
    name="slab by outline",
    meaning="A slab of any outline, by the points of the Outlines sheet.",
    dimensions=("thickness",),
    measured=OF_THE_OUTLINE,
    rules=(
        side_height, side_run, volume, face_area, underside_area, arris_length, open_side_area, joint_length, release_area, mould_area,
    ),
    limits=(
        *more_than_zero("thickness"),
        Limit(_surrounds_something, "the outline surrounds nothing; look at its points", "thickness"),
    ),
)
