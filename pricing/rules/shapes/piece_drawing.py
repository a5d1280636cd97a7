"""The drawing of a piece as it is made: that of its shape, with cut-outs where they are, edges at a wall, and layers.

What has no place is not drawn: the drawing says so instead. Edges at a wall are hatched; the back and the right one first, because
lips are drawn at the front and at the left.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from pricing.rules.geometry.cut_out import CutOut, millimetres, plan_of
from pricing.rules.geometry.drawing import AS_AGREED, Area, Dimension, Drawing, Line, Part, Point, View, level, rectangle, upright
from pricing.rules.geometry.outline import Outline
from pricing.rules.geometry.shape import Shape
from pricing.rules.shapes.slab_by_outline import outline_drawing

#: So many cut-outs have their sizes written beside the plan; more would leave no room for it.
MOST_SIZED = 3

#: Hatching of an edge at a wall: strokes along the longer side of the piece, and how far they reach as a share of it.
_STROKES, _REACH = 28, 0.022


@dataclass(frozen=True)
class PieceDetails:
    """What a piece has besides its dimensions, as far as it is drawn.

    Parameters
    ----------
    cut_outs : of it, with or without a place
    outline : of a slab by outline
    seen_long_edges, seen_short_edges : how many of either are seen
    layers : what each lies on, and its thickness [m]
    extent : length, width and height of a solid [m]
    """

    cut_outs: tuple[CutOut, ...] = ()
    outline: Outline | None = None
    seen_long_edges: int = 2
    seen_short_edges: int = 2
    layers: tuple[tuple[str, float], ...] = ()
    extent: tuple[float, float, float] | None = None


#: A piece that is its shape and no more.
PLAIN = PieceDetails()


def drawn_piece(
    shape: Shape, dimensions: Mapping[str, float], details: PieceDetails = PLAIN, figure: Callable[[float], str] = millimetres
) -> Drawing | None:
    """Plan and section of a piece; None where there is nothing to draw.

    Parameters
    ----------
    dimensions : by name [SI]
    figure : from a length [m] to its text in a note

    >>> from pricing.rules.shapes import SHAPES
    >>> slab = {"length": 2.0, "width": 0.6, "thickness": 0.04}
    >>> drawn_piece(SHAPES["slab"], slab, PieceDetails((CutOut(0.5, 0.4),))).notes
    ('position as agreed',)
    """
    whole = _whole(shape, dimensions, details)
    if whole is None:
        return None
    plan, *others = whole.views
    parts = [*plan.parts, *_at_walls(dimensions, details)]
    placed = [cut for cut in details.cut_outs if cut.is_placed]
    for row, part in _cut_outs(placed):
        parts.append(replace(part, row=row) if isinstance(part, Dimension) else part)
    notes = list(whole.notes)
    if len(placed) < len(details.cut_outs) and AS_AGREED not in notes:
        notes.append(AS_AGREED)
    notes += [f"{on}: {figure(thickness)}" for on, thickness in details.layers]
    views = (View(tuple(parts), plan.letter), *(_layered(view, details) for view in others))
    return Drawing(views, tuple(notes))


def _whole(shape: Shape, dimensions: Mapping[str, float], details: PieceDetails) -> Drawing | None:
    if details.outline is not None:
        return outline_drawing(details.outline, dimensions)
    if details.extent is not None:
        length, width, height = details.extent
        plan = View((rectangle(0, 0, length, width), level(0, length, 0), upright(0, width, 0)))
        return Drawing((plan, View((rectangle(0, 0, length, height), upright(0, height, length, "right")))))
    return shape.drawn(dimensions)


def _cut_outs(placed: list[CutOut]) -> list[tuple[int, Part]]:
    """The cut-outs with their sizes, those of each in a row of its own; without where there are too many of them."""
    found: list[tuple[int, Part]] = []
    for row, cut in enumerate(placed):
        for part in plan_of([cut]):
            if not isinstance(part, Dimension):
                found.append((0, part))
            elif len(placed) <= MOST_SIZED:
                found.append((row, replace(part, side="above" if part.side == "below" else part.side)))
    return found


def _at_walls(dimensions: Mapping[str, float], details: PieceDetails) -> list[Line]:
    """Short strokes across each edge that touches a wall."""
    if "length" not in dimensions or "width" not in dimensions:
        return []
    length, width = dimensions["length"], dimensions["width"]
    edges: list[tuple[Point, Point, Point]] = [
        *([((0.0, width), (length, width), (0.0, 1.0))] if details.seen_long_edges < 2 else []),
        *([((0.0, 0.0), (length, 0.0), (0.0, -1.0))] if details.seen_long_edges < 1 else []),
        *([((length, 0.0), (length, width), (1.0, 0.0))] if details.seen_short_edges < 2 else []),
        *([((0.0, 0.0), (0.0, width), (-1.0, 0.0))] if details.seen_short_edges < 1 else []),
    ]
    longer, strokes = max(length, width), []
    for (x1, y1), (x2, y2), (out_x, out_y) in edges:
        count = max(round(_STROKES * (abs(x2 - x1) + abs(y2 - y1)) / longer), 3)
        reach = _REACH * longer
        for each in range(count):
            share = (each + 0.5) / count
            x, y = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
            along = (abs(out_y) * reach * 0.7, abs(out_x) * reach * 0.7)
            strokes.append(Line(((x, y), (x + out_x * reach + along[0], y + out_y * reach + along[1]))))
    return strokes


def _layered(view: View, details: PieceDetails) -> View:
    """A section with the line between each layer and what is behind it, where the cut is one rectangle."""
    areas = [part for part in view.parts if isinstance(part, Area)]
    if len(areas) != 1 or len(areas[0].points) != 4:
        return view
    (west, south), (_, _), (east, north), _ = areas[0].points
    lines = []
    for on, thickness in details.layers:
        if on == "underside":
            lines.append(Line(((west, south + thickness), (east, south + thickness))))
        else:
            inner = ((west + thickness, south), (west + thickness, north - thickness))
            lines.append(Line((*inner, (east - thickness, north - thickness), (east - thickness, south))))
    return View((*view.parts, *lines), view.letter)
