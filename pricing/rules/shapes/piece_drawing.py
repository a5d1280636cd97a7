"""The drawing of a piece as it is made: that of its shape, with cut-outs where they are, edges at a wall, and layers.

What has no place is not drawn: the drawing says so instead. Edges at a wall are hatched; the back and the right one first, because
lips are drawn at the front and at the left.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from pricing.dataclass import dataclass
from pricing.rules.geometry.cut_out import CutOut, plan_of
from pricing.rules.geometry.drawing import (
    AS_AGREED,
    Area,
    Dimension,
    Drawing,
    Line,
    Mark,
    Note,
    Part,
    Point,
    View,
    block,
    level,
    rectangle,
    upright,
)
from pricing.rules.geometry.outline import Outline
from pricing.rules.geometry.shape import Shape
from pricing.rules.shapes.layer_lines import layer_lines
from pricing.rules.shapes.slab_by_outline import outline_drawing

#: So many cut-outs have their sizes written beside the plan, the largest; more would leave no room for it.
MOST_SIZED = 3

#: Hatching of an edge at a wall: strokes along the longer side of the piece, and how far they reach as a share of it.
_STROKES, _REACH = 28, 0.022

#: Shapes whose section is the same wherever along the piece it is cut.
_CUT_ANYWHERE = ("slab", "slab with a lip", "slab with openings", "sill", "coping")


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
    shape: Shape, dimensions: Mapping[str, float], details: PieceDetails = PLAIN, most_sized: int = MOST_SIZED
) -> Drawing | None:
    """Plan and section of a piece; None where there is nothing to draw.

    Parameters
    ----------
    dimensions : by name [SI]
    most_sized : so many cut-outs have their sizes beside the plan, the largest

    >>> from pricing.rules.shapes import SHAPES
    >>> slab = {"length": 2.0, "width": 0.6, "thickness": 0.04}
    >>> drawn_piece(SHAPES["slab"], slab, PieceDetails((CutOut(0.5, 0.4),))).notes
    (Note(word='as agreed', size=0.0),)
    """
    whole = _whole(shape, dimensions, details)
    if whole is None:
        return None
    plan, *others = whole.views
    placed = [cut for cut in details.cut_outs if cut.is_placed]
    marks = [part for part in plan.parts if isinstance(part, Mark)]
    cut_at = _clear_of(marks[0], placed, dimensions) if marks and shape.name in _CUT_ANYWHERE else marks[0] if marks else None
    parts = [cut_at if isinstance(part, Mark) and cut_at is not None else part for part in plan.parts]
    parts += _at_walls(dimensions, details)
    for row, part in _cut_outs(placed, most_sized):
        parts.append(replace(part, row=row) if isinstance(part, Dimension) else part)
    notes = list(whole.notes)
    if len(placed) < len(details.cut_outs) and AS_AGREED not in notes:
        notes.append(AS_AGREED)
    notes += [Note(f"layer on {on}", thickness) for on, thickness in details.layers]
    sections = [_layered(shape, _cut_through(view, cut_at, placed), cut_at, details) for view in others]
    return Drawing((View(tuple(parts), plan.letter), *sections), tuple(notes))


def _whole(shape: Shape, dimensions: Mapping[str, float], details: PieceDetails) -> Drawing | None:
    if details.outline is not None:
        return outline_drawing(details.outline, dimensions)
    if details.extent is not None:
        length, width, height = details.extent
        plan = View((rectangle(0, 0, length, width), level(0, length, 0), upright(0, width, 0)))
        return Drawing((plan, View((rectangle(0, 0, length, height), upright(0, height, length, "right")))))
    return shape.drawn(dimensions)


def _cut_outs(placed: list[CutOut], most_sized: int) -> list[tuple[int, Part]]:
    """The cut-outs, and the sizes of the largest, those of each in a row of its own."""
    sized = sorted(sorted(range(len(placed)), key=lambda number: -placed[number].area)[:most_sized])
    found: list[tuple[int, Part]] = []
    for number, cut in enumerate(placed):
        for part in plan_of([cut]):
            if not isinstance(part, Dimension):
                found.append((0, part))
            elif number in sized:
                found.append((sized.index(number), replace(part, side="above" if part.side == "below" else part.side)))
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


def _clear_of(mark: Mark, placed: Sequence[CutOut], dimensions: Mapping[str, float]) -> Mark:
    """The mark of a section where it meets no cut-out, as near as may be; as it is where there is no such place."""
    along = 0 if mark.start[0] == mark.end[0] else 1
    whole = dimensions["length" if along == 0 else "width"]
    tried = sorted((whole * share / 20 for share in range(1, 20)), key=lambda place: abs(place - mark.start[along]))
    for place in (mark.start[along], *tried):
        if not any(_met(cut, along, place) for cut in placed):
            start, end = ((place, mark.start[1]), (place, mark.end[1])) if along == 0 else ((mark.start[0], place), (mark.end[0], place))
            return replace(mark, start=start, end=end)
    return mark


def _met(cut: CutOut, along: int, place: float) -> tuple[float, float] | None:
    """Where a section at a place meets a cut-out, from and to; None where it does not."""
    low, across = (cut.left, cut.front) if along == 0 else (cut.front, cut.left)
    size, other = (cut.length, cut.width) if along == 0 else (cut.width, cut.length)
    if not low < place < low + size:
        return None
    if not cut.is_round:
        return across, across + other
    half = math.sqrt(cut.radius**2 - (place - low - cut.radius) ** 2)
    return across + cut.radius - half, across + cut.radius + half


def _cut_through(view: View, mark: Mark | None, placed: Sequence[CutOut]) -> View:
    """A section with what it meets of cut-outs left open, where the cut is a row of rectangles."""
    if mark is None:
        return view
    along = 0 if mark.start[0] == mark.end[0] else 1
    gaps = sorted(gap for cut in placed if (gap := _met(cut, along, mark.start[along])) is not None)
    areas = [part for part in view.parts if isinstance(part, Area)]
    if not gaps or not all(_is_rectangle(area) for area in areas):
        return view
    opened: list[Part] = []
    for area in areas:
        (west, south), _, (east, north), _ = area.points
        edges = [west, *(min(max(edge, west), east) for gap in gaps for edge in gap), east]
        opened.append(rectangle(west, south, east, north))
        opened += [block(left, south, right, north) for left, right in zip(edges[::2], edges[1::2], strict=True) if right > left]
    return View((*opened, *(part for part in view.parts if not isinstance(part, Area))), view.letter)


def _is_rectangle(area: Area) -> bool:
    return len(area.points) == 4 and len({x for x, _ in area.points}) == len({y for _, y in area.points}) == 2


def _layered(shape: Shape, view: View, mark: Mark | None, details: PieceDetails) -> View:
    """A section with the line between each layer and what is behind it."""
    areas = [part for part in view.parts if isinstance(part, Area)]
    seen = details.seen_long_edges if mark is not None and mark.start[0] == mark.end[0] else details.seen_short_edges
    at_wall = ("right", "left")[: 2 - seen]
    lines = [line for on, thickness in details.layers for line in layer_lines(shape.name, areas, on, thickness, at_wall)]
    return View((*view.parts, *lines), view.letter)
