"""One view of a drawing, set at a scale: its outline, and around it the sizes, marks and letters.

Practice of technical drawing (ISO 128, ISO 129-1, from memory): extension lines start clear of the outline, oblique
ticks end a dimension line, figures stand above it and read from below or from the right, hidden edges are dashed, axes
are chain lines. Sizes keep their distance from the view and their height of figure at any scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from pricing.dataclass import dataclass
from pricing.reports.drawing.strokes import INK, THIN, TINT, Box, LaidOut, LengthUnit, Lettering, Stroke, figure, text_width
from pricing.rules.geometry.drawing import Area, Circle, Dimension, Line, Mark, Part, Point, View

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


def place(view: View, frame: Frame, size: float, figures: LengthUnit) -> LaidOut:
    """Strokes and figures of one view."""
    sheet = LaidOut()
    marked = {side for part in view.parts if isinstance(part, Mark) for side in _sides_of(part)}
    spans = {id(part): _span(part, frame, size, part.side in marked) for part in view.parts if isinstance(part, Dimension)}
    for part in view.parts:
        if isinstance(part, Dimension):
            _dimension(sheet, part, frame, size, figure(part.size, figures), spans[id(part)], spans.values())
        elif isinstance(part, Mark):
            _mark(sheet, part, frame, size)
        else:
            sheet.strokes.append(_stroke(part, frame, size))
    if view.letter:
        middle = (frame.left + frame.right) / 2
        title = Lettering(f"{view.letter}-{view.letter}", (middle, 0.0), size)
        top = min(sheet.extent()[1], frame.top)
        sheet.letters.append(Lettering(title.text, (middle, top - size * 1.1), size))
    return sheet


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


def _mark(sheet: LaidOut, mark: Mark, frame: Frame, size: float) -> None:
    """A heavy stroke, an arrow and a letter beyond each end of the line of a cut."""
    start, end = frame.at(mark.start), frame.at(mark.end)
    length = math.dist(start, end)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    look = (-1.0, 0.0) if along[0] == 0 else (0.0, -1.0)  # towards the left end, or to the back
    for (x, y), out in ((start, -1), (end, 1)):
        near, far = size * 0.35 * out, size * 1.15 * out
        tip = (x + along[0] * far, y + along[1] * far)
        sheet.strokes.append(Stroke(((x + along[0] * near, y + along[1] * near), tip), size * 0.16))
        point = (tip[0] + look[0] * size * 0.9, tip[1] + look[1] * size * 0.9)
        sheet.strokes.append(Stroke((tip, point), size * 0.07))
        barb = [
            (point[0] - look[0] * size * 0.42 + look[1] * half, point[1] - look[1] * size * 0.42 + look[0] * half)
            for half in (size * 0.13, -size * 0.13)
        ]
        sheet.strokes.append(Stroke((point, *barb, point), size * 0.04, INK, fill=INK))
        letter = (tip[0] - look[0] * size * 0.6, tip[1] - look[1] * size * 0.6)
        sheet.letters.append(Lettering(mark.letter, letter, size))


def _dimension(
    sheet: LaidOut, part: Dimension, frame: Frame, size: float, written: str, span: Box, spans: Iterable[Box]
) -> None:
    """Extension lines, dimension line, ticks and figure of one size, whose dimension line runs so, as those of the others do."""
    out = -1.0 if part.side in ("above", "left") else 1.0
    gap, past, light = size * 0.3, size * 0.3, size * 0.07
    (x1, y1), (x2, y2) = sorted((frame.at(part.start), frame.at(part.end)))
    left, top, right, bottom = span
    width = text_width(written, size) + (size * 0.95 if part.diameter else 0.0)
    taken = [letters.box for letters in sheet.letters] + [other for other in spans if other != span]
    if part.side in ("above", "below"):
        for x, y in ((x1, y1), (x2, y2)):
            sheet.strokes.append(Stroke(((x, y + out * gap), (x, top + out * past)), light, THIN))
        places = [((left + right) / 2, top - size * 0.62)] if right - left > width + size * 0.5 else []
        aside = size * 0.45 + width / 2
        sides = [(left - aside, top - size * 0.62), (right + aside, top - size * 0.62)]
        places += sides if left + right < frame.left + frame.right else sides[::-1]
        x, y = _free(places, width / 2, size * 0.38, taken)
        sheet.strokes.append(
            Stroke(((min(left, x - width / 2), top), (max(right, x + width / 2), top)), light, THIN)
        )
        turned = False
    else:
        for x, y in ((x1, y1), (x2, y2)):
            sheet.strokes.append(Stroke(((x + out * gap, y), (left + out * past, y)), light, THIN))
        sheet.strokes.append(Stroke(((left, top), (left, bottom)), light, THIN))
        turned = bottom - top > width + size * 0.5
        aside = left + out * (size * 0.5 + width / 2)
        beside = [(aside, (top + bottom) / 2), (aside, top - size * 0.9), (aside, bottom + size * 0.9)]
        room = (bottom - top - width) / 2
        along = [(left - size * 0.62, (top + bottom) / 2 + share * room) for share in (0.0, 0.5, -0.5, 0.9, -0.9)]
        x, y = _free(along, size * 0.38, width / 2, taken) if turned else _free(beside, width / 2, size * 0.38, taken)
    _ticks(sheet, ((left, top), (right, bottom)), size)
    _write(sheet, written, (x, y), size, turned, part.diameter)


def _span(part: Dimension, frame: Frame, size: float, beyond_mark: bool) -> Box:
    """Where the dimension line runs: left, top, right and bottom [px]."""
    distance = size * (1.9 + 1.75 * part.row + (1.0 if beyond_mark else 0.0))
    (x1, y1), (x2, y2) = frame.at(part.start), frame.at(part.end)
    if part.side in ("above", "below"):
        line = frame.top - distance if part.side == "above" else frame.bottom + distance
        return min(x1, x2), line, max(x1, x2), line
    line = frame.left - distance if part.side == "left" else frame.right + distance
    return line, min(y1, y2), line, max(y1, y2)


def _free(places: list[Point], across: float, up: float, taken: list[Box]) -> Point:
    """The first of the places at which a figure covers nothing; the first of all where none is free."""
    for x, y in places:
        if all(
            x + across <= left or right <= x - across or y + up <= top - up or bottom + up <= y - up
            for left, top, right, bottom in taken
        ):
            return x, y
    return places[0]


def _ticks(sheet: LaidOut, ends: tuple[Point, Point], size: float) -> None:
    reach = size * 0.22
    for x, y in ends:
        sheet.strokes.append(Stroke(((x - reach, y + reach), (x + reach, y - reach)), size * 0.12))


def _write(sheet: LaidOut, text: str, middle: Point, size: float, turned: bool, diameter: bool) -> None:
    """A figure, with the sign of a diameter drawn before it where it is one."""
    if not diameter:
        sheet.letters.append(Lettering(text, middle, size, turned))
        return
    along = (0.0, -1.0) if turned else (1.0, 0.0)
    shift, back = size * 0.5, text_width(text, size) / 2
    at = (middle[0] + along[0] * shift, middle[1] + along[1] * shift)
    x, y = middle[0] - along[0] * back, middle[1] - along[1] * back
    radius, slash = size * 0.3, size * 0.4
    ring = tuple((x + radius * cosine, y + radius * sine) for cosine, sine in _CIRCLE[::4])
    sheet.strokes.append(Stroke(ring, size * 0.08))
    sheet.strokes.append(Stroke(((x - slash * 0.7, y + slash), (x + slash * 0.7, y - slash)), size * 0.08))
    sheet.letters.append(Lettering(text, at, size, turned))
