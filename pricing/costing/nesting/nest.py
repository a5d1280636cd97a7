"""Nesting: which panel is cut where, from how few whole sheets of board.

Panels are rectangles without grain; each may be turned a quarter unless told otherwise. A saw's kerf is kept between
panels, and a trimmed border is kept free. Lengths are taken to a hundredth of a millimetre.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import gcd, isfinite

from pricing.costing.nesting.bounds import Size, Spot, sheets_at_least, ways
from pricing.costing.nesting.exact import ExactSearchMissingError, on_sheets, solver
from pricing.costing.nesting.guillotine import guillotine
from pricing.dataclass import dataclass

_PER_METRE = 100_000
_LONGEST = 1_000.0  # m
_MOST_PANELS = 5_000
_MOST_FOR_EXACT = 80  # panels; beyond, the exact search seldom closes anything in seconds
METHODS = ("auto", "guillotine", "count", "exact")


class NestingError(ValueError):
    """A cut list that cannot be nested; its text is one sentence with the remedy."""


@dataclass(frozen=True)
class Panel:
    """A rectangle of board to cut: name, length and width [m], how many, and whether it may be turned a quarter."""

    name: str
    length: float
    width: float
    count: int
    rotate: bool = True


@dataclass(frozen=True)
class Placement:
    """A panel on a sheet: sheets count from 1; x and y [m] from the sheet's corner to the panel's nearest corner,
    along the sheet's length and width; length and width as placed [m]; whether it is turned."""

    panel: str
    sheet: int
    x: float
    y: float
    length: float
    width: float
    turned: bool


@dataclass(frozen=True)
class Nest:
    """A cutting plan: the sheet [m], the kerf [m], every panel's place, sheets needed, share of their area used
    [0 to 1], how it was found (`guillotine`: through cuts alone do it; `exact`: some cuts may have to stop inside the
    sheet), and whether fewer sheets are proven impossible, whatever the cuts."""

    sheet_length: float
    sheet_width: float
    kerf: float
    placements: tuple[Placement, ...]
    sheets: int
    used_share: float
    method: str
    proven: bool


def nest(
    panels: Iterable[Panel],
    sheet_length: float,
    sheet_width: float,
    kerf: float = 0.003,
    trim: float = 0.0,
    method: str = "auto",
    seconds: float = 5.0,
    seed: int = 0,
) -> Nest:
    """Cut panels from as few whole sheets as can be found.

    Parameters: panels; the sheet's length and width [m]; kerf kept between panels [m]; border trimmed from each edge
    of the sheet [m]; method: `guillotine` (through cuts, quick), `count` (the first of these
    plans, where no more is asked than how many sheets), `exact` (proof by search, needs the optional package
    `ortools`), or `auto` (through cuts, then the exact search where it may save a sheet and is installed); time limit
    of the exact search [s of effort]; seed. The same question always gets the same plan.

    Raises NestingError, with a sentence, for a panel larger than the sheet, a size that is not a positive number, or
    an exact plan without `ortools`.

    >>> plan = nest([Panel("side", 1.0, 0.5, 4)], 2.0, 1.0, kerf=0.0)
    >>> plan.sheets, plan.used_share, plan.proven
    (1, 1.0, True)
    """
    panels = list(panels)
    _check(panels, sheet_length, sheet_width, kerf, trim, method, seconds)
    one_each = [panel for panel in panels for _ in range(panel.count)]
    extra = _whole(kerf)
    border = _whole(trim)
    usable = _whole(sheet_length) - 2 * border + extra, _whole(sheet_width) - 2 * border + extra
    raw = [(_whole(panel.length) + extra, _whole(panel.width) + extra) for panel in one_each]
    unit = gcd(*usable, *(side for sides in raw for side in sides))
    length, width = usable[0] // unit, usable[1] // unit
    sizes = [Size(a // unit, b // unit, panel.rotate) for (a, b), panel in zip(raw, one_each, strict=True)]
    for size, panel in zip(sizes, one_each, strict=True):
        if not ways(size, length, width):
            raise NestingError(_too_large(panel, sheet_length, sheet_width, trim))
    enough = sheets_at_least(sizes, length, width)
    spots = guillotine(sizes, length, width, enough, seed, count=method == "count")
    sheets = 1 + max((spot.sheet for spot in spots), default=-1)
    found, proven = "guillotine", sheets <= enough
    if not proven and method not in ("guillotine", "count") and (method == "exact" or len(sizes) <= _MOST_FOR_EXACT):
        try:
            better, proven = _fewer(sizes, length, width, sheets, enough, seconds, seed)
        except ExactSearchMissingError:
            better = []
        if better:
            spots, found = better, "exact"
            sheets = 1 + max(spot.sheet for spot in spots)
    placements = tuple(_placed(panel, spot, unit, border) for panel, spot in zip(one_each, spots, strict=True))
    area = sum(panel.length * panel.width * panel.count for panel in panels)
    share = area / (sheets * sheet_length * sheet_width) if sheets else 0.0
    return Nest(sheet_length, sheet_width, kerf, placements, sheets, share, found, proven)


def _fewer(sizes: Sequence[Size], length: int, width: int, sheets: int, enough: int, seconds: float, seed: int) -> tuple[list[Spot], bool]:
    """A plan on fewer sheets, if the time allows, and whether still fewer are impossible."""
    best: list[Spot] = []
    left = seconds
    while sheets > enough and left > 0:
        search = on_sheets(sizes, length, width, sheets - 1, left, seed)
        left -= search.spent
        if not search.spots:
            return best, search.closed
        best = _pushed([spot for spot in search.spots if spot is not None], sizes)
        sheets -= 1
    return best, sheets <= enough


def _pushed(spots: Sequence[Spot], sizes: Sequence[Size]) -> list[Spot]:
    """The same plan with every panel slid towards the sheet's corner until it meets another or the edge."""
    boxes = []
    for spot, size in zip(spots, sizes, strict=True):
        along, across = (size.width, size.length) if spot.turned else (size.length, size.width)
        boxes.append([spot.sheet, spot.x, spot.y, along, across])
    moved = True
    while moved:
        moved = False
        for box in sorted(boxes, key=lambda box: (box[0], box[1] + box[2], box[1])):
            for axis, other in ((1, 2), (2, 1)):
                ends = [
                    near[axis] + near[axis + 2]
                    for near in boxes
                    if near[0] == box[0]
                    and near[axis] + near[axis + 2] <= box[axis]
                    and near[other] < box[other] + box[other + 2]
                    and box[other] < near[other] + near[other + 2]
                ]
                nearest = max(ends, default=0)
                moved = moved or nearest < box[axis]
                box[axis] = nearest
    return [spot._replace(x=box[1], y=box[2]) for spot, box in zip(spots, boxes, strict=True)]


def _placed(panel: Panel, spot: Spot, unit: int, border: int) -> Placement:
    length, width = (panel.width, panel.length) if spot.turned else (panel.length, panel.width)
    x, y = (spot.x * unit + border) / _PER_METRE, (spot.y * unit + border) / _PER_METRE
    return Placement(panel.name, spot.sheet + 1, x, y, length, width, spot.turned)


def _whole(metres: float) -> int:
    return round(metres * _PER_METRE)


def _too_large(panel: Panel, sheet_length: float, sheet_width: float, trim: float) -> str:
    usable = f" of which {trim:g} m is trimmed from each edge" if trim else ""
    turned = ", turned or not" if panel.rotate else " and must not be turned"
    return (
        f'The panel "{panel.name}", {panel.length:g} m x {panel.width:g} m, does not fit a sheet '
        f"{sheet_length:g} m x {sheet_width:g} m{usable}{turned}; use a larger sheet or make the panel of two."
    )


def _check(
    panels: Sequence[Panel],
    sheet_length: float,
    sheet_width: float,
    kerf: float,
    trim: float,
    method: str,
    seconds: float,
) -> None:
    """Refuse what cannot be nested, with a sentence."""
    lengths = {"length of the sheet": sheet_length, "width of the sheet": sheet_width}
    for panel in panels:
        lengths[f'length of the panel "{panel.name}"'] = panel.length
        lengths[f'width of the panel "{panel.name}"'] = panel.width
        if panel.count < 0 or panel.count != int(panel.count):
            raise NestingError(f'The number of panels "{panel.name}" is {panel.count}; give a whole number, 0 or more.')
    for name, value in lengths.items():
        if not (isfinite(value) and 1e-4 <= value <= _LONGEST):
            raise NestingError(f"The {name} is {value:g} m; give a length between 0.0001 m and {_LONGEST:g} m.")
    for name, value in {"kerf": kerf, "border trimmed from each edge": trim}.items():
        if not (isfinite(value) and 0 <= 2 * value < min(sheet_length, sheet_width)):
            raise NestingError(f"The {name} is {value:g} m; give a length of 0 m or more, less than half a sheet.")
    if method not in METHODS:
        raise NestingError(f'The nesting method "{method}" is not known; choose auto, guillotine, count or exact.')
    if not seconds > 0:
        raise NestingError(f"The time of the exact search is {seconds:g} s; give more than 0 s.")
    count = sum(panel.count for panel in panels)
    if count > _MOST_PANELS:
        raise NestingError(f"The cut list has {count} panels; nest at most {_MOST_PANELS} at once, order by order.")
    if method == "exact":
        try:
            solver()
        except ExactSearchMissingError as absent:
            raise NestingError(str(absent)) from absent
