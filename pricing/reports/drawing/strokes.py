"""A sheet of strokes and figures in pixels: what either kind of picture is inked from."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Literal, TypeAlias

from pricing.dataclass import dataclass
from pricing.rules.geometry.cut_out import in_sixteenths
from pricing.rules.geometry.drawing import Point

LengthUnit: TypeAlias = Literal["mm", "in"]
Box: TypeAlias = tuple[float, float, float, float]

#: Greys: ink of outlines and figures, of thin lines, and the tint of a cut.
INK, THIN, TINT = 0x33, 0x66, 0xE4

_ADVANCE = {" ": 0.28, "/": 0.3, '"': 0.36, ".": 0.28, "-": 0.36, "m": 0.85, "A": 0.67}


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points on the sheet [px, y downwards], filled where it has a fill."""

    points: tuple[Point, ...]
    weight: float
    shade: int = INK
    dashes: tuple[float, ...] = ()
    fill: int | None = None


@dataclass(frozen=True, slots=True)
class Lettering:
    """A figure or letter on the sheet, by its middle [px]; turned ones read from the right."""

    text: str
    middle: Point
    size: float
    turned: bool = False

    @property
    def box(self) -> Box:
        """Left, top, right and bottom of what it covers [px]."""
        across, up = text_width(self.text, self.size) / 2, self.size * 0.38
        half = (up, across) if self.turned else (across, up)
        x, y = self.middle
        return x - half[0], y - half[1], x + half[0], y + half[1]


def box_of(points: Iterable[Point]) -> Box:
    """Left, top, right and bottom of some points.

    >>> box_of([(1.0, 5.0), (3.0, 2.0)])
    (1.0, 2.0, 3.0, 5.0)
    """
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def box_of_all(boxes: Iterable[Box]) -> Box:
    """What holds some boxes.

    >>> box_of_all([(1.0, 5.0, 2.0, 6.0), (3.0, 2.0, 4.0, 3.0)])
    (1.0, 2.0, 4.0, 6.0)
    """
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


@functools.lru_cache(maxsize=4096)
def figure(length: float, figures: LengthUnit) -> str:
    """A length [m] as it is written: millimetres, to a tenth where it is not whole, or inches to a sixteenth.

    >>> figure(0.6, "mm"), figure(0.0125, "mm"), figure(0.6, "in"), figure(0.0508, "in")
    ('600', '12.5', '23 5/8"', '2"')
    """
    if figures == "mm":
        return f"{round(length * 1000, 1):g}" if length < 100 else f"{length * 1000:.0f}"
    return f'{in_sixteenths(length)}"'


def text_width(text: str, size: float) -> float:
    """Width of figures and letters [px], near enough for any plain typeface."""
    return size * _advance(text)


@functools.lru_cache(maxsize=4096)
def _advance(text: str) -> float:
    """Width of figures and letters, as a multiple of their size."""
    return sum(_ADVANCE.get(letter, 0.57) for letter in text)


def dashed(points: tuple[Point, ...], dashes: tuple[float, ...]) -> Iterator[tuple[Point, Point]]:
    """The pieces of a dashed line: the pattern's first length is drawn, its second is not, and so on.

    >>> [round(end[0]) for _, end in dashed(((0.0, 0.0), (10.0, 0.0)), (3.0, 1.0))]
    [3, 7, 10]
    """
    index, left = 0, dashes[0]
    for (x1, y1), (x2, y2) in pairwise(points):
        length, done = math.dist((x1, y1), (x2, y2)), 0.0
        while length - done > 1e-9:
            step = min(left, length - done)
            if index % 2 == 0:
                a, b = done / length, (done + step) / length
                yield (x1 + (x2 - x1) * a, y1 + (y2 - y1) * a), (x1 + (x2 - x1) * b, y1 + (y2 - y1) * b)
            done, left = done + step, left - step
            if left <= 1e-9:
                index = (index + 1) % len(dashes)
                left = dashes[index]
