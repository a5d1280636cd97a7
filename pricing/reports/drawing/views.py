"""One view of a drawing, set at a scale: its outline, and around it the sizes, marks and letters.

Practice of technical drawing (ISO 128, ISO 129-1, from memory): extension lines start clear of the outline, oblique
ticks end a dimension line, figures stand above it and read from below or from the right, hidden edges are dashed, axes
are chain lines. Sizes keep their distance from the view and their height of figure at any scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from pricing.dataclass import dataclass
from pricing.reports.drawing.strokes import INK, THIN, TINT, Box, LengthUnit, Lettering, Stroke, box_of, box_of_all, figure, text_width
from pricing.rules.geometry.drawing import Area, Circle, Dimension, Line, Mark, Part, Point, View

#: How far extension lines begin from the edge, and run past the dimension line; half of a tick's width: in heights of a figure.
_GAP, _PAST, _TICK = 0.3, 0.3, 0.22

_CIRCLE = tuple((math.cos(math.tau * each / 96), math.sin(math.tau * each / 96)) for each in range(97))


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a view stands: its extent [m], its scale [px/m], its top left corner on the sheet [px]."""

    west: float
    south: float
    east: float
    north: float
    scale: float
    left: float
    top: float

    def at(self, point: Point) -> Point:
        """A point of the piece [m] on the sheet [px]."""
        return self.left + (point[0] - self.west) * self.scale, self.top + (self.north - point[1]) * self.scale

    def through(self, points: Iterable[Point]) -> tuple[Point, ...]:
        """Points of the piece [m] on the sheet [px]."""
        left, top, west, north, scale = self.left, self.top, self.west, self.north, self.scale
        return tuple([(left + (x - west) * scale, top + (north - y) * scale) for x, y in points])

    @property
    def right(self) -> float:
        """Right edge of the view on the sheet [px]."""
        return self.left + (self.east - self.west) * self.scale

    @property
    def bottom(self) -> float:
        """Lower edge of the view on the sheet [px]."""
        return self.top + (self.north - self.south) * self.scale


def extent_of(view: View) -> Box:
    """West, south, east and north of what is drawn of the piece itself [m]."""
    points = [point for part in view.parts if isinstance(part, Line | Area) for point in part.points]
    for part in view.parts:
        if isinstance(part, Circle):
            (x, y), r = part.centre, part.radius
            points += [(x - r, y - r), (x + r, y + r)]
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


class Size(NamedTuple):
    """A size in its place beside a view.

    Parameters
    ----------
    part : what is measured
    ends : the points that it is taken between, the left or the upper one first [px]
    line : its dimension line: left, top, right and bottom [px]
    written, width : its figure, and how wide that is with what stands before it [px]
    middle, turned : where the figure stands [px], and whether it reads from the right
    """

    part: Dimension
    ends: tuple[Point, Point]
    line: Box
    written: str
    width: float
    middle: Point
    turned: bool

    def reach(self, size: float) -> Box:
        """How far its strokes reach: left, top, right and bottom [px]."""
        out, tick, ((x1, y1), (x2, y2)), (left, top, right, bottom) = _outwards(self.part), size * _TICK, self.ends, self.line
        gap, past = out * size * _GAP, out * size * _PAST
        if self.part.side in ("above", "below"):
            half = self.width / 2
            near = min(y1, y2) if out > 0 else max(y1, y2)
            edge, other = near + gap, top + past
            west, east = min(left - tick, self.middle[0] - half), max(right + tick, self.middle[0] + half)
            return west, min(edge, other, top - tick), east, max(edge, other, top + tick)
        near = min(x1, x2) if out > 0 else max(x1, x2)
        edge, other = near + gap, left + past
        return min(edge, other, left - tick), top - tick, max(edge, other, left + tick), bottom + tick


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What stands around a view, in its place; strokes are made of it where it is drawn (:func:`strokes_of`).

    Parameters
    ----------
    view, frame : the view, and where it stands
    size : height of figures [px]
    sizes : in the order in which the view has them
    letters : figures of the sizes, and letters
    covered : what each of them covers [px]
    reach : how far strokes reach, those of the view itself among them: left, top, right and bottom [px]
    """

    view: View
    frame: Frame
    size: float
    sizes: tuple[Size, ...]
    letters: tuple[Lettering, ...]
    covered: tuple[Box, ...]
    reach: Box


def surroundings(view: View, frame: Frame, size: float, figures: LengthUnit) -> Surroundings:
    """Place what stands around one view: its sizes, marks and letters."""
    marked = {side for part in view.parts if isinstance(part, Mark) for side in _sides_of(part)}
    lines = {id(part): _line(part, frame, size, part.side in marked) for part in view.parts if isinstance(part, Dimension)}
    sizes: list[Size] = []
    letters: list[Lettering] = []
    reaches: list[Box] = [(frame.left, frame.top, frame.right, frame.bottom)]
    covered: list[Box] = []
    for part in view.parts:
        if isinstance(part, Dimension):
            line = lines[id(part)]
            taken = [*covered, *[other for other in lines.values() if other != line]]
            sizes.append(placed := _placed(part, frame, size, figure(part.size, figures), line, taken))
            reaches.append(placed.reach(size))
            if part.diameter:
                reaches.append(box_of([point for points in _sign(placed, size) for point in points]))
            letters.append(_lettering(placed, size))
            covered.append(letters[-1].box)
        elif isinstance(part, Mark):
            for arrow in _arrows(part, frame, size):
                reaches.append(box_of([*arrow.line, *arrow.barb]))
                letters.append(Lettering(part.letter, arrow.letter, size))
                covered.append(letters[-1].box)
    if view.letter:
        top = min([each[1] for each in (*reaches, *covered)])
        middle = ((frame.left + frame.right) / 2, top - size * 1.1)
        letters.append(Lettering(f"{view.letter}-{view.letter}", middle, size))
        covered.append(letters[-1].box)
    return Surroundings(view, frame, size, tuple(sizes), tuple(letters), tuple(covered), box_of_all(reaches))


def _stroke(part: Part, frame: Frame, size: float) -> Stroke:
    heavy, plain, light = size * 0.14, size * 0.11, size * 0.07
    if isinstance(part, Area):
        points = frame.through((*part.points, part.points[0]))
        return Stroke(points, heavy, INK, fill=TINT)
    if isinstance(part, Circle):
        (x, y), r = part.centre, part.radius
        points = frame.through([(x + r * cosine, y + r * sine) for cosine, sine in _CIRCLE])
    elif isinstance(part, Line):
        points = frame.through(part.points)
    else:
        raise TypeError(f"{type(part).__name__} is no line")
    if part.kind == "hidden":
        return Stroke(points, light, THIN, (size * 0.45, size * 0.25))
    if part.kind == "centre":
        return Stroke(points, light, THIN, (size * 0.9, size * 0.2, size * 0.15, size * 0.2))
    return Stroke(points, plain)


def _sides_of(mark: Mark) -> tuple[str, str]:
    return ("above", "below") if mark.start[0] == mark.end[0] else ("left", "right")


def _outwards(part: Dimension) -> float:
    """Where a size stands from its view: 1 to the right or below, -1 to the left or above."""
    return -1.0 if part.side in ("above", "left") else 1.0


def strokes_of(around: Surroundings) -> Iterator[Stroke]:
    """The strokes of a view and of what stands around it, in the order of its parts."""
    frame, size, sizes = around.frame, around.size, iter(around.sizes)
    for part in around.view.parts:
        if isinstance(part, Dimension):
            yield from _strokes_of_size(next(sizes), size)
        elif isinstance(part, Mark):
            for arrow in _arrows(part, frame, size):
                yield Stroke(arrow.line[:2], size * 0.16)
                yield Stroke(arrow.line[1:], size * 0.07)
                yield Stroke((arrow.line[2], *arrow.barb, arrow.line[2]), size * 0.04, INK, fill=INK)
        else:
            yield _stroke(part, frame, size)


class _Arrow(NamedTuple):
    """A heavy stroke, an arrow and a letter beyond an end of the line of a cut: the ends of both lines, the barb and the letter's place."""

    line: tuple[Point, Point, Point]
    barb: tuple[Point, Point]
    letter: Point


def _arrows(mark: Mark, frame: Frame, size: float) -> Iterator[_Arrow]:
    """Those of both ends of a cut."""
    start, end = frame.at(mark.start), frame.at(mark.end)
    length = math.dist(start, end)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    look = (-1.0, 0.0) if along[0] == 0 else (0.0, -1.0)  # towards the left end, or to the back
    for (x, y), out in ((start, -1), (end, 1)):
        near, far = size * 0.35 * out, size * 1.15 * out
        tip = (x + along[0] * far, y + along[1] * far)
        point = (tip[0] + look[0] * size * 0.9, tip[1] + look[1] * size * 0.9)
        back, half = (point[0] - look[0] * size * 0.42, point[1] - look[1] * size * 0.42), size * 0.13
        yield _Arrow(
            ((x + along[0] * near, y + along[1] * near), tip, point),
            ((back[0] + look[1] * half, back[1] + look[0] * half), (back[0] - look[1] * half, back[1] - look[0] * half)),
            (tip[0] - look[0] * size * 0.6, tip[1] - look[1] * size * 0.6),
        )


def _line(part: Dimension, frame: Frame, size: float, beyond_mark: bool) -> Box:
    """Where the dimension line runs: left, top, right and bottom [px]."""
    distance = size * (1.9 + 1.75 * part.row + (1.0 if beyond_mark else 0.0))
    (x1, y1), (x2, y2) = frame.at(part.start), frame.at(part.end)
    if part.side in ("above", "below"):
        line = frame.top - distance if part.side == "above" else frame.bottom + distance
        return min(x1, x2), line, max(x1, x2), line
    line = frame.left - distance if part.side == "left" else frame.right + distance
    return line, min(y1, y2), line, max(y1, y2)


def _placed(part: Dimension, frame: Frame, size: float, written: str, line: Box, taken: Sequence[Box]) -> Size:
    """A size whose dimension line runs so, with its figure beside what is taken by others."""
    first, second = frame.at(part.start), frame.at(part.end)
    left, top, right, bottom = line
    width = text_width(written, size) + (size * 0.95 if part.diameter else 0.0)
    if turned := part.side in ("left", "right"):
        turned = bottom - top > width + size * 0.5
        aside = left + _outwards(part) * (size * 0.5 + width / 2)
        beside = [(aside, (top + bottom) / 2), (aside, top - size * 0.9), (aside, bottom + size * 0.9)]
        room = (bottom - top - width) / 2
        along = [(left - size * 0.62, (top + bottom) / 2 + share * room) for share in (0.0, 0.5, -0.5, 0.9, -0.9)]
        middle = _free(along, size * 0.38, width / 2, taken) if turned else _free(beside, width / 2, size * 0.38, taken)
    else:
        places = [((left + right) / 2, top - size * 0.62)] if right - left > width + size * 0.5 else []
        aside = size * 0.45 + width / 2
        sides = [(left - aside, top - size * 0.62), (right + aside, top - size * 0.62)]
        places += sides if left + right < frame.left + frame.right else sides[::-1]
        middle = _free(places, width / 2, size * 0.38, taken)
    return Size(part, (first, second) if first <= second else (second, first), line, written, width, middle, turned)


def _free(places: Sequence[Point], across: float, up: float, taken: Sequence[Box]) -> Point:
    """The first of the places at which a figure covers nothing; the first of all where none is free."""
    for x, y in places:
        if all(
            x + across <= left or right <= x - across or y + up <= top - up or bottom + up <= y - up
            for left, top, right, bottom in taken
        ):
            return x, y
    return places[0]


def _strokes_of_size(placed: Size, size: float) -> Iterator[Stroke]:
    """Extension lines, dimension line, ticks, and the sign of a diameter."""
    out, light, (left, top, right, bottom) = _outwards(placed.part), size * 0.07, placed.line
    gap, past, tick = out * size * _GAP, out * size * _PAST, size * _TICK
    if placed.part.side in ("above", "below"):
        for x, y in placed.ends:
            yield Stroke(((x, y + gap), (x, top + past)), light, THIN)
        x, half = placed.middle[0], placed.width / 2
        yield Stroke(((min(left, x - half), top), (max(right, x + half), top)), light, THIN)
    else:
        for x, y in placed.ends:
            yield Stroke(((x + gap, y), (left + past, y)), light, THIN)
        yield Stroke(((left, top), (left, bottom)), light, THIN)
    for x, y in ((left, top), (right, bottom)):
        yield Stroke(((x - tick, y + tick), (x + tick, y - tick)), size * 0.12)
    if placed.part.diameter:
        for points in _sign(placed, size):
            yield Stroke(points, size * 0.08)


def _lettering(placed: Size, size: float) -> Lettering:
    """The figure of a size, behind the sign of a diameter where it is one."""
    x, y = placed.middle
    if placed.part.diameter:
        x, y = (x, y - size * 0.5) if placed.turned else (x + size * 0.5, y)
    return Lettering(placed.written, (x, y), size, placed.turned)


def _sign(placed: Size, size: float) -> tuple[tuple[Point, ...], tuple[Point, Point]]:
    """The ring and the slash of the sign that stands before a diameter."""
    back = text_width(placed.written, size) / 2
    x, y = placed.middle
    x, y = (x, y + back) if placed.turned else (x - back, y)
    radius, slash = size * 0.3, size * 0.4
    ring = tuple((x + radius * cosine, y + radius * sine) for cosine, sine in _CIRCLE[::4])
    return ring, ((x - slash * 0.7, y + slash), (x + slash * 0.7, y - slash))
