"""A cut-out as a value: its sizes and its place, its boards, and whether it can be where it is.

A cut-out with rounded corners is a smaller rectangle with a margin of its radius all round. So how far it is from an edge or from
another cut-out is how far that smaller rectangle is, less the radius, exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from pricing.algebra.expressions import evaluate
from pricing.dataclass import dataclass
from pricing.rules import cut_outs
from pricing.rules.geometry.drawing import Circle, Dimension, Line, Part, axes, level, upright
from pricing.rules.geometry.plan import Polygon, crossing, distance, inside, rectangle, rounded
from pricing.rules.geometry.shape import Cut

#: From a length [m] to its text in a sentence.
Figure = Callable[[float], str]

#: Concrete that stays beside a cut-out at least, where sizes are in millimetres and in inches (common practice, no source) [m].
LEAST_RIM, LEAST_RIM_IN_INCHES = 0.04, 0.0381

#: Sizes nearer than this are equal [m].
HAIR = 1e-6


@dataclass(frozen=True)
class CutOut:
    """A cut-out, or several alike.

    Parameters
    ----------
    length, width : over all; of a round one both are its diameter [m]
    radius : of its corners; of a round one half its diameter [m]
    left, front : from the left and the front edge of the piece to the cut-out [m]; nan where no place is given
    count : how many of it a piece has
    """

    length: float
    width: float
    radius: float = 0.0
    left: float = math.nan
    front: float = math.nan
    count: int = 1

    @property
    def is_placed(self) -> bool:
        """Whether its place is given."""
        return not (math.isnan(self.left) or math.isnan(self.front))

    @property
    def is_round(self) -> bool:
        """Whether it is a circle."""
        return self.radius > 0 and abs(self.length - self.width) < HAIR and abs(2 * self.radius - self.length) < HAIR

    @property
    def inner(self) -> Polygon:
        """The rectangle around whose corners its own are rounded; a point for a round one [m]."""
        west, south = self.left + self.radius, self.front + self.radius
        return rectangle(west, south, self.left + self.length - self.radius, self.front + self.width - self.radius)

    @property
    def area(self) -> float:
        """Of one, seen from above [m²].

        >>> round(CutOut(0.5, 0.4).area, 9)
        0.2
        """
        sizes = {"cut_length": self.length, "cut_width": self.width, "cut_radius": self.radius}
        return float(evaluate(cut_outs.cut_plan_area, sizes))

    def said(self, figure: Figure) -> str:
        """Its sizes in words, for a sentence.

        >>> CutOut(0.5, 0.4, 0.02).said(millimetres), CutOut(0.3, 0.3, 0.15).said(millimetres)
        ('500 mm x 400 mm', '300 mm round')
        """
        return f"{figure(self.length)} round" if self.is_round else f"{figure(self.length)} x {figure(self.width)}"

    def moved(self, left: float, front: float) -> CutOut:
        """The same with another place."""
        return CutOut(self.length, self.width, self.radius, left, front, self.count)


def millimetres(length: float) -> str:
    """A length in whole millimetres.

    >>> millimetres(0.5)
    '500 mm'
    """
    return f"{length * 1000:.0f} mm"


def in_sixteenths(length: float) -> str:
    """A length [m] as a tape in inches has it, to a sixteenth.

    >>> in_sixteenths(0.6), in_sixteenths(0.0508), in_sixteenths(0.009525)
    ('23 5/8', '2', '3/8')
    """
    whole, sixteenths = divmod(round(length / 0.0254 * 16), 16)
    if not sixteenths:
        return str(whole)
    shared = math.gcd(sixteenths, 16)
    fraction = f"{sixteenths // shared}/{16 // shared}"
    return f"{whole} {fraction}" if whole else fraction


def inches(length: float) -> str:
    """A length in inches, to a sixteenth.

    >>> inches(0.0381), inches(0.0508), inches(0.009525)
    ('1 1/2 in', '2 in', '3/8 in')
    """
    return f"{in_sixteenths(length)} in"


def size_fault(cut: CutOut, figure: Figure = millimetres) -> str:
    """What is wrong with the sizes of a cut-out by themselves; empty where nothing is.

    >>> size_fault(CutOut(0.5, 0.4, 0.3))
    'corners of 300 mm do not fit a cut-out of 500 mm x 400 mm; make Corner radius 200 mm at most'
    """
    least = min(cut.length, cut.width)
    if 2 * cut.radius > least + HAIR:
        said = cut.said(figure)
        return f"corners of {figure(cut.radius)} do not fit a cut-out of {said}; make Corner radius {figure(least / 2)} at most"
    return ""


def place_faults(outline: Polygon, cuts: Sequence[CutOut], rim: float = LEAST_RIM, figure: Figure = millimetres) -> list[tuple[int, str]]:
    """Which cut-outs cannot be where they are, each with a sentence and its remedy.

    Parameters
    ----------
    outline : within which they have to be; its left and its front at 0 [m]
    cuts : whose sizes are sound by themselves
    rim : concrete that has to stay between a cut-out and the edge, and between two of them [m]
    figure : from a length [m] to its text in a sentence

    >>> place_faults(rectangle(0, 0, 2, 0.6), [CutOut(0.5, 0.4, left=0.1, front=0.18)])
    [(0, 'the cut-out of 500 mm x 400 mm leaves a rim of 20 mm; 40 mm is the least, so move it or make it smaller')]
    """
    found = []
    clear, near = _far_from_edge(outline, cuts, rim), _near_each_other(cuts, rim)
    for number, cut in enumerate(cuts):
        sentence = "" if clear[number] else (_against_edge if cut.is_placed else _does_not_fit)(outline, cut, rim, figure)
        for before in near.get(number, ()):
            sentence = sentence or _against_other(cuts[before], cut, rim, figure)
        if sentence:
            found.append((number, sentence))
    return found or _nothing_left(outline, cuts)


def _boxes(cuts: Sequence[CutOut]) -> tuple[Polygon, Polygon]:
    """The lowest and the highest x and y of each; no number where one has no place [m]."""
    low = np.array([(cut.left, cut.front) for cut in cuts], dtype=np.float64).reshape(-1, 2)
    return low, low + np.array([(cut.length, cut.width) for cut in cuts], dtype=np.float64).reshape(-1, 2)


def _far_from_edge(outline: Polygon, cuts: Sequence[CutOut], rim: float) -> list[bool]:
    """Of which cut-outs it is plain, in a piece with four straight sides, that they leave its rim."""
    low, high = _boxes(cuts)
    south_west, north_east = outline.min(axis=0), outline.max(axis=0)
    if not np.array_equal(outline, rectangle(*south_west.tolist(), *north_east.tolist())):
        return [False] * len(cuts)
    clear = ((low - south_west >= rim) & (north_east - high >= rim)).all(axis=1)
    return [each and cut.count == 1 for each, cut in zip(clear.tolist(), cuts, strict=True)]


def _near_each_other(cuts: Sequence[CutOut], rim: float) -> dict[int, list[int]]:
    """By cut-out those before it that a box around each does not keep apart."""
    if len(cuts) < 2:
        return {}
    low, high = _boxes(cuts)
    apart = np.maximum(low[:, None] - high[None], low[None] - high[:, None]).max(axis=2)
    found: dict[int, list[int]] = {}
    for number, before in np.argwhere(np.tril(apart < rim, -1)).tolist():
        found.setdefault(number, []).append(before)
    return found


def _against_edge(outline: Polygon, cut: CutOut, rim: float, figure: Figure) -> str:
    what = f"the cut-out of {cut.said(figure)}"
    outside = f"{what} reaches out of the piece; look at its size and at From left and From front, which end at its near edge, not at its middle"
    if cut.count > 1:
        return f"{cut.count} cut-outs cannot be in one place; give each a row of its own, or leave From left and From front blank"
    if crossing(outline, cut.inner) is not None or not inside(outline, (float(cut.inner[:, 0].mean()), float(cut.inner[:, 1].mean()))):
        return outside
    left = distance(outline, cut.inner, rim + cut.radius) - cut.radius
    if left < -HAIR:
        return outside
    if left < rim - HAIR:
        return f"{what} leaves a rim of {figure(max(left, 0.0))}; {figure(rim)} is the least, so move it or make it smaller"
    return ""


def _against_other(one: CutOut, other: CutOut, rim: float, figure: Figure) -> str:
    if not (one.is_placed and other.is_placed):
        return ""
    inner = inside(one.inner, tuple(other.inner[0])) or inside(other.inner, tuple(one.inner[0]))
    apart = -1.0 if inner else distance(one.inner, other.inner) - one.radius - other.radius
    what = f"the cut-outs of {one.said(figure)} and {other.said(figure)}"
    if apart <= HAIR:
        return f"{what} overlap; look at From left and From front"
    if apart < rim - HAIR:
        return f"{what} are {figure(apart)} apart; {figure(rim)} is the least that may stay between them, so move one of them"
    return ""


def _does_not_fit(outline: Polygon, cut: CutOut, rim: float, figure: Figure) -> str:
    length, width = np.ptp(outline, axis=0).tolist()
    over = [
        f"{name} {figure(size)} at most" for name, size, room in (("Length", cut.length, length), ("Width", cut.width, width))
        if size > room - 2 * rim + HAIR for size in (max(room - 2 * rim, 0.0),)
    ]
    if not over:
        return ""
    if cut.is_round:
        over = [f"Diameter {figure(max(min(length, width) - 2 * rim, 0.0))} at most"]
    what = f"the cut-out of {cut.said(figure)} is too large for a piece of {figure(length)} x {figure(width)}"
    return f"{what} with a rim of {figure(rim)}; make {' and '.join(over)}"


def _nothing_left(outline: Polygon, cuts: Sequence[CutOut]) -> list[tuple[int, str]]:
    x, y = outline[:, 0], outline[:, 1]
    whole = abs(float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())) / 2
    taken = sum(cut.area * cut.count for cut in cuts)
    if cuts and taken >= whole - HAIR:
        return [(len(cuts) - 1, "the cut-outs leave nothing of the piece; make them fewer or smaller")]
    return []


def core_cuts(cut: CutOut, slab_depth: float, board: float, figure: Figure = millimetres) -> list[Cut]:
    """The boards of the cores of a cut-out, for the cut list of one mould.

    Parameters
    ----------
    slab_depth, board : thickness of the slab at most, and of the mould's board [m]
    figure : from a length [m] to its text in a note

    >>> [(each.name, round(each.length, 3), each.count) for each in core_cuts(CutOut(0.5, 0.4), 0.04, 0.018)]
    [('cut-out side', 0.5, 2), ('cut-out end', 0.364, 2)]
    """
    if cut.radius > 0:
        sizes = {"cut_length": cut.length, "cut_width": cut.width, "cut_radius": cut.radius}
        girth = float(evaluate(cut_outs.cut_girth, sizes))
        note = f"thin board bent round for {cut.said(figure)}"
        note = note if cut.is_round else f"{note}, corners of {figure(cut.radius)}"
        return [Cut("cut-out former", girth, slab_depth, cut.count, note)]
    sides = Cut("cut-out side", cut.length, slab_depth, 2 * cut.count, f"of the cut-out of {cut.said(figure)}")
    between = cut.width - 2 * board
    return [sides, Cut("cut-out end", between, slab_depth, 2 * cut.count)] if between > 1e-4 else [sides]


def plan_of(cuts: Sequence[CutOut]) -> list[Part]:
    """The cut-outs that have a place, drawn where they are with their sizes and where they start [m]."""
    parts: list[Part] = []
    for cut in cuts:
        if not cut.is_placed:
            continue
        west, south, east, north = cut.left, cut.front, cut.left + cut.length, cut.front + cut.width
        if cut.is_round:
            centre = (west + cut.radius, south + cut.radius)
            parts += [Circle(centre, cut.radius), *axes(centre, cut.radius)]
        else:
            path = rounded(rectangle(west, south, east, north), (cut.radius,) * 4)
            points = tuple((float(x), float(y)) for x, y in path)
            parts.append(Line((*points, points[0])))
        parts += _sizes_of(cut, west, south, east, north)
    return parts


def _sizes_of(cut: CutOut, west: float, south: float, east: float, north: float) -> list[Dimension]:
    return [
        level(0.0, west, south, "below"), level(west, east, south, "below", diameter=cut.is_round),
        upright(0.0, south, east, "right"), *([] if cut.is_round else [upright(south, north, east, "right")]),
    ]
