"""What is left of a sheet that is worth keeping: the largest rectangles between the panels, one after another."""

from __future__ import annotations

from pricing.costing.nesting.nest import Nest
from pricing.dataclass import dataclass

#: An offcut narrower than this is waste; so many are named on a sheet at most (common practice, no source) [m, number].
NARROWEST, MOST = 0.1, 4


@dataclass(frozen=True, slots=True)
class Offcut:
    """A rectangle that no panel is cut from [m], from the sheet's corner."""

    x: float
    y: float
    length: float
    width: float

    @property
    def area(self) -> float:
        """Area of it [m²]."""
        return self.length * self.width


def offcuts(nest: Nest, sheet: int) -> list[Offcut]:
    """The offcuts of a sheet, the largest first.

    Parameters
    ----------
    nest : the cutting plan
    sheet : counted from 1

    >>> from pricing.costing.nesting.nest import Panel, nest
    >>> [round(each.area, 3) for each in offcuts(nest([Panel("1", 1.0, 1.0, 1)], 2.0, 1.0, kerf=0.0), 1)]
    [1.0]
    """
    free = [Offcut(0.0, 0.0, nest.sheet_length, nest.sheet_width)]
    for place in nest.placements:
        if place.sheet == sheet:
            taken = Offcut(place.x - nest.kerf, place.y - nest.kerf, place.length + 2 * nest.kerf, place.width + 2 * nest.kerf)
            free = _without(free, taken)
    found: list[Offcut] = []
    while free and len(found) < MOST:
        largest = max(free, key=lambda each: each.area)
        found.append(largest)
        free = _without(free, largest)
    return found


def _without(free: list[Offcut], taken: Offcut) -> list[Offcut]:
    """All largest rectangles that are left where one more is taken; those too narrow to keep are left out."""
    left: list[Offcut] = []
    for each in free:
        east, north = each.x + each.length, each.y + each.width
        taken_east, taken_north = taken.x + taken.length, taken.y + taken.width
        if taken.x >= east or taken_east <= each.x or taken.y >= north or taken_north <= each.y:
            left.append(each)
            continue
        left += [
            Offcut(each.x, each.y, taken.x - each.x, each.width), Offcut(taken_east, each.y, east - taken_east, each.width),
            Offcut(each.x, each.y, each.length, taken.y - each.y), Offcut(each.x, taken_north, each.length, north - taken_north),
        ]
    kept = list(dict.fromkeys(each for each in left if min(each.length, each.width) >= NARROWEST))
    return [each for each in kept if not any(_holds(other, each) for other in kept if other != each)]


def _holds(outer: Offcut, inner: Offcut) -> bool:
    return (
        outer.x <= inner.x and outer.y <= inner.y and outer.x + outer.length >= inner.x + inner.length
        and outer.y + outer.width >= inner.y + inner.width
    )
