"""From a drawing in metres to a sheet in pixels: where each view stands and how large it is.

Plan and section stand side by side or one below the other, whichever shows more, each at its own scale; a section along
the piece is a projection and shares the plan's.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence

import numpy as np

from pricing.dataclass import dataclass
from pricing.reports.drawing.strokes import Box, LengthUnit, Lettering, Stroke, box_of_all, text_width
from pricing.reports.drawing.views import Frame, Surroundings, extent_of, strokes_of, surroundings
from pricing.rules.geometry.drawing import Drawing, Mark, View

#: A view shows its form where it is so many times as long as its figures are high.
CLEAR = 2.6

#: So many times as long as its figures are high, the first view has much of the room.
ROOMY = 6.0

#: So often are views placed anew at most; and what stands around them may be so much wider than thought [px].
_MOST_TURNS, _SLACK = 6, 0.5

#: What of the room the first view may be given [hundredths].
_SHARES = np.arange(24, 89, 2)


@dataclass(frozen=True)
class LaidOut:
    """What is to be inked.

    Parameters
    ----------
    views : in their places
    letters : figures and letters
    clear : whether every view is large enough to show its form and every figure can be read
    roomy : whether the first view has much of the room
    """

    views: tuple[Surroundings, ...]
    letters: tuple[Lettering, ...]
    clear: bool
    roomy: bool

    def strokes(self) -> list[Stroke]:
        """Every line, in the order in which they are inked."""
        return [stroke for view in self.views for stroke in strokes_of(view)]

    def extent(self) -> Box:
        """Left, top, right and bottom of everything on it [px]."""
        return box_of_all([*(view.reach for view in self.views), *(letters.box for letters in self.letters)])


def lay_out(
    drawing: Drawing, width: float, height: float, figures: LengthUnit = "mm", notes: Sequence[str] = (), *, unit: bool = True
) -> LaidOut:
    """Set the views of a drawing on a sheet, side by side or one below the other, whichever shows more.

    Parameters
    ----------
    drawing : views [m]
    width, height : of the sheet [px]
    figures : ``mm`` for millimetres, named once in the corner; ``in`` for inches, marked at each figure
    notes : what stands below, in the words of the page
    unit : False where the page names the unit beside the drawing
    """
    size = max(10.0, min(width / 34, height / 20))
    extents, margins, projected = _around(drawing, size, figures)
    named = unit and figures == "mm"
    lines = _lines_of(notes, width - size * (5.0 if named else 2.0), size)
    below = size * 1.15 * max(len(lines), int(named))
    room = (width, height - below)
    for turn in range(_MOST_TURNS):  # what stands around a view is known once it is placed
        cells, caps = _divide(extents, margins, room, size, projected)
        frames = [_fit(*each) for each in zip(extents, margins, cells, caps, strict=True)]
        placed = [surroundings(view, frame, size, figures) for view, frame in zip(drawing.views, frames, strict=True)]
        edges = [_edges(around) for around in placed]
        if edges == margins or (turn and _all_within(edges, margins)):
            break
        margins = [_wider(*pair) for pair in zip(edges, margins, strict=True)] if turn else edges
    letters = [letters for around in placed for letters in around.letters]
    lengths = [max(frame.right - frame.left, frame.bottom - frame.top) for frame in frames]
    clear = min(lengths) >= size * CLEAR - _SLACK and not _meet([box for around in placed for box in around.covered])
    if named:
        letters.append(Lettering("mm", (width - size, height - size * 0.6), size * 0.85))
    for number, line in enumerate(reversed(lines)):
        middle = (size + text_width(line, size) / 2, height - size * (0.6 + 1.15 * number))
        letters.append(Lettering(line, middle, size))
    return LaidOut(tuple(placed), tuple(letters), clear, lengths[0] >= size * ROOMY)


def _meet(boxes: Sequence[Box]) -> bool:
    """Whether one of some boxes covers a part of another."""
    return any(
        one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
        for number, one in enumerate(boxes) for other in boxes[:number]
    )


@functools.lru_cache(maxsize=32)
def _around(drawing: Drawing, size: float, figures: LengthUnit) -> tuple[list[Box], list[Box], bool]:
    """The extent of each view [m], what stands around it at a guess of its scale [px], and whether the section is a projection: the same
    whatever room there is.
    """
    extents = [extent_of(view) for view in drawing.views]
    margins = [_margins(view, extent, size, figures) for view, extent in zip(drawing.views, extents, strict=True)]
    return extents, margins, any(isinstance(part, Mark) and part.start[1] == part.end[1] for part in drawing.views[0].parts)


def _lines_of(notes: Sequence[str], width: float, size: float) -> list[str]:
    """Notes below one another, broken at spaces so that they are no wider than the sheet."""
    lines: list[str] = []
    for note in notes:
        lines.append("")
        for word in note.split():
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and text_width(longer, size) > width:
                lines.append(word)
            else:
                lines[-1] = longer
    return lines


def _wider(one: Box, other: Box) -> Box:
    """The larger of each edge."""
    left, top, right, bottom = map(max, one, other)
    return left, top, right, bottom


def _all_within(edges: Sequence[Box], margins: Sequence[Box]) -> bool:
    """Whether what stands around each view takes no more than was thought."""
    return all(edge <= margin + _SLACK for pair in zip(edges, margins, strict=True) for edge, margin in zip(*pair, strict=True))


def _edges(around: Surroundings) -> Box:
    """How far what stands around a view reaches, left, top, right and bottom [px]."""
    frame = around.frame
    left, top, right, bottom = box_of_all([around.reach, *around.covered])
    return frame.left - left, frame.top - top, right - frame.right, bottom - frame.bottom


def _margins(view: View, extent: Box, size: float, figures: LengthUnit) -> Box:
    """What stands around a view at a guess of its scale [px]."""
    scale = size * 16 / max(extent[2] - extent[0], extent[3] - extent[1])
    frame = Frame(*extent, scale, 0.0, 0.0)
    return _edges(surroundings(view, frame, size, figures))


def _scale(extent: Box, edges: Box, width: float, height: float) -> float:
    """The largest scale at which a view and its edges fit [px/m]; little, but some, where nothing does."""
    across, up = max(width - edges[0] - edges[2], 1.0), max(height - edges[1] - edges[3], 1.0)
    return min(across / (extent[2] - extent[0]), up / (extent[3] - extent[1]))


def _along(extent: Box, edges: Box, across: float, upright: bool) -> tuple[float, float, float]:
    """What scales a view as it is given more room along one direction, where it has so much across: the largest scale that
    the room across allows [px/m], what its edges take along [px], and its length along [m].
    """
    lengths = extent[2] - extent[0], extent[3] - extent[1]
    taken = edges[0] + edges[2], edges[1] + edges[3]
    other = int(not upright)
    return max(across - taken[other], 1.0) / lengths[other], taken[1 - other], lengths[1 - other]


def _divide(
    extents: list[Box], margins: list[Box], room: tuple[float, float], size: float, projected: bool
) -> tuple[list[Box], list[float]]:
    """The place of each view, left, top, width and height [px], and its scale: the division that shows most of both, of the plan first."""
    pad = size * 0.5
    width, height = room[0] - 2 * pad, room[1] - 2 * pad
    if len(extents) == 1:
        return [(pad, pad, width, height)], [_scale(extents[0], margins[0], width, height)]
    largest = _largest_section(extents)
    lengths = [max(extent[2] - extent[0], extent[3] - extent[1]) for extent in extents]
    # One below the other in the first row of each array, side by side in the second.
    (most, taken, length), (most_too, taken_too, length_too) = (
        np.array([_along(*each, width, True), _along(*each, height, False)]).T[:, :, None] for each in zip(extents, margins, strict=True)
    )
    along = np.array([[height - size], [width - size]])
    firsts, seconds = along * _SHARES / 100, along * (100 - _SHARES) / 100
    plans = np.minimum(np.maximum(firsts - taken, 1.0) / length, most)
    sections = np.minimum(np.maximum(seconds - taken_too, 1.0) / length_too, most_too)
    if projected:
        plans = sections = np.minimum(plans, sections)
    sections = np.minimum(sections, plans * largest)
    clear = np.minimum(1.0, np.minimum(plans * lengths[0] / (size * CLEAR), sections * lengths[1] / (size * CLEAR)))
    shown = plans**2 * sections * clear**4
    at = divmod(int(shown.argmax()), len(_SHARES))
    first, second, *scales = (float(each[at]) for each in (firsts, seconds, plans, sections))
    if at[0] == 0:
        return [(pad, pad, width, first), (pad, pad + first + size, width, second)], scales
    return [(pad, pad, first, height), (pad + first + size, pad, second, height)], scales


def _largest_section(extents: list[Box]) -> float:
    """The scale above which a section would seem larger than the piece, as a multiple of the plan's."""
    (west, south, east, north), (left, low, right, high) = extents
    return max(1.0, min(6.0, 0.8 * max(east - west, north - south) / max(right - left, high - low)))


def _fit(extent: Box, edges: Box, cell: Box, scale: float) -> Frame:
    """A view in the middle of its place, its edges counted, at a scale."""
    left, top, width, height = cell
    across, up = (extent[2] - extent[0]) * scale, (extent[3] - extent[1]) * scale
    free = (width - edges[0] - edges[2] - across, height - edges[1] - edges[3] - up)
    return Frame(*extent, scale, left + edges[0] + free[0] / 2, top + edges[1] + free[1] / 2)
