"""A dimensioned drawing as plain data: what is seen from above and in a cut, and which sizes are written on it.

Everything is in metres, y upwards; how large it is drawn, in which figures and how sizes are set beside a view is the
matter of whoever renders it. A size stands on a drawing once.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

from pricing.dataclass import dataclass

Point: TypeAlias = tuple[float, float]
Kind: TypeAlias = Literal["outline", "hidden", "centre"]
Side: TypeAlias = Literal["above", "below", "left", "right"]


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points [m]: an edge that is seen, one that is hidden, or an axis."""

    points: tuple[Point, ...]
    kind: Kind = "outline"


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle [m]."""

    centre: Point
    radius: float
    kind: Kind = "outline"


@dataclass(frozen=True, slots=True)
class Area:
    """A face that is cut through: a closed outline [m] around a tint."""

    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Dimension:
    """A size, written on a line beside the view.

    Parameters
    ----------
    start, end : the points that it is taken between [m]
    side : of the view on which it stands; above and below it is level, left and right it is upright
    row : 0 next to the view, 1 further out
    diameter : True where it is the diameter of a circle
    """

    start: Point
    end: Point
    side: Side
    row: int = 0
    diameter: bool = False

    @property
    def size(self) -> float:
        """What is written [m]."""
        axis = 0 if self.side in ("above", "below") else 1
        return abs(self.end[axis] - self.start[axis])


@dataclass(frozen=True, slots=True)
class Mark:
    """Where a section is cut: a letter and an arrow, the way of looking, at each end of a line [m]."""

    start: Point
    end: Point
    letter: str = "A"


Part: TypeAlias = Line | Circle | Area | Dimension | Mark


@dataclass(frozen=True, slots=True)
class View:
    """One view of the piece: a plan, or the section whose letter it bears."""

    parts: tuple[Part, ...]
    letter: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """What stands below a drawing.

    Parameters
    ----------
    word : the name of its text among the texts of the page on which the drawing stands
    size : that it tells [m]
    """

    word: str
    size: float = 0.0


#: Something is to be cut out of the piece and its place is not given.
AS_AGREED = Note("as agreed")


@dataclass(frozen=True, slots=True)
class Drawing:
    """Plan first, then the section; notes stand below them."""

    views: tuple[View, ...]
    notes: tuple[Note, ...] = ()


def rectangle(west: float, south: float, east: float, north: float, kind: Kind = "outline") -> Line:
    """The four edges of a rectangle.

    >>> len(rectangle(0, 0, 2, 1).points)
    5
    """
    return Line(((west, south), (east, south), (east, north), (west, north), (west, south)), kind)


def block(west: float, south: float, east: float, north: float) -> Area:
    """A rectangle that is cut through.

    >>> block(0, 0, 2, 1).points[2]
    (2, 1)
    """
    return Area(((west, south), (east, south), (east, north), (west, north)))


def level(west: float, east: float, at: float, side: Side = "below", row: int = 0, diameter: bool = False) -> Dimension:
    """A level size between two uprights, taken at a height.

    >>> level(0, 2, 0).size
    2
    """
    return Dimension((west, at), (east, at), side, row, diameter)


def upright(south: float, north: float, at: float, side: Side = "left", row: int = 0) -> Dimension:
    """An upright size between two levels, taken at a place along.

    >>> upright(1, 4, 0).size
    3
    """
    return Dimension((at, south), (at, north), side, row)


def axes(centre: Point, radius: float) -> tuple[Line, Line]:
    """The two axes of a circle, a little longer than its diameter.

    >>> axes((0, 0), 1)[0].kind
    'centre'
    """
    x, y = centre
    reach = radius * 1.12
    return Line(((x - reach, y), (x + reach, y)), "centre"), Line(((x, y - reach), (x, y + reach)), "centre")


def hole(centre: Point, diameter: float) -> tuple[Part, ...]:
    """A round hole with its axes."""
    return (Circle(centre, diameter / 2), *axes(centre, diameter / 2))


def cut_across(along: float, width: float) -> Mark:
    """The mark of a section across a piece of a width, at a place along it; its left is the front."""
    return Mark((along, 0.0), (along, width))


def cut_along(across: float, length: float) -> Mark:
    """The mark of a section along a piece of a length, seen from the front."""
    return Mark((0.0, across), (length, across))

