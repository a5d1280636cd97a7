"""Cutting plans by through cuts alone: the best of many quick plans, the same on every run and every machine.

Each plan takes the panels in some order, puts each into the free rectangle that suits it best by some measure, and
splits what is left of that rectangle by one through cut. Whichever plan needs the fewest sheets is kept; among these,
the one that leaves the largest whole off-cut.

Method: J. Jylanki, "A thousand ways to pack the bin" (2010), sections 2.2 and 2.3, in own words.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from heapq import heappop, heappush
from itertools import product

from pricing.costing.nesting.bounds import Size, Spot, ways

Free = tuple[int, int, int, int, int]  # sheet, x, y, extent along the length, extent along the width
Way = tuple[int, int, bool]  # extent along the length, extent along the width, turned
_Suits = tuple[tuple[int, ...], int, bool, Way]  # how well (the least is best), the number of the free rectangle, turned, the way
_WORK = 3_000_000  # panels placed times panels placed before them; the number of plans tried follows from it
_FEWEST_PLANS, _MOST_PLANS = 24, 1_500
_WORK_TO_COUNT, _FEWEST_TO_COUNT = 60_000, 8  # where only the number of sheets is asked for

_ORDERS: tuple[Callable[[Size], tuple[int, ...]], ...] = (
    lambda size: (size.length * size.width, max(size.length, size.width)),
    lambda size: (max(size.length, size.width), min(size.length, size.width)),
    lambda size: (min(size.length, size.width), max(size.length, size.width)),
    lambda size: (size.length + size.width, size.length * size.width),
    lambda size: (size.length, size.width),
    lambda size: (size.width, size.length),
)
_CHOICES = ("area", "short side", "long side", "first sheet")
_SPLITS = ("short", "long", "small", "large", "along", "across")


def _score(choice: str, free: Free, along: int, across: int) -> tuple[int, ...]:
    left, over = free[3] - along, free[4] - across
    if choice == "area":
        return free[3] * free[4] - along * across, min(left, over)
    if choice == "short side":
        return min(left, over), max(left, over)
    if choice == "long side":
        return max(left, over), min(left, over)
    return free[0], free[3] * free[4], min(left, over)


def _split_along(split: str, left: int, over: int, along: int, across: int) -> bool:
    """Whether the through cut runs along the length, so that the strip beyond keeps the full length."""
    if split == "short":
        return left <= over
    if split == "long":
        return left > over
    if split == "small":
        return left * across <= along * over
    if split == "large":
        return left * across > along * over
    return split == "along"


class _Spaces:
    """The free rectangles of the opened sheets, the earliest first.

    How well a rectangle suits panels of a size never changes: it is measured once for each size, however many panels there are of it.

    Parameters
    ----------
    choice : the measure by which a free rectangle suits
    sizes : of the panels that are still to be placed
    """

    def __init__(self, choice: str, sizes: Iterable[Size]) -> None:
        self.choice = choice
        self.all: list[Free] = []
        self.free: dict[int, Free] = {}
        self._to_come = Counter(sizes)
        self._measured: dict[Size, tuple[int, list[_Suits]]] = {}

    def add(self, space: Free) -> None:
        """One more free rectangle."""
        self.free[len(self.all)] = space
        self.all.append(space)

    def take(self, size: Size, fits: Sequence[Way]) -> tuple[Free, Way] | None:
        """The free rectangle that suits a panel best and how the panel lies in it, taken away; None where it fits none."""
        self._to_come[size] -= 1
        upto, suiting = self._measured.pop(size, (0, []))
        found: list[_Suits] = [
            (_score(self.choice, space, way[0], way[1]), number, way[2], way)
            for number, space in (enumerate(self.all[upto:], upto) if upto else self.free.items())
            for way in fits if way[0] <= space[3] and way[1] <= space[4]
        ]
        if not upto and not self._to_come[size]:  # the only panel of its size: nothing is to be remembered
            best = min(found, default=None)
        else:
            for each in found:
                heappush(suiting, each)
            while suiting and suiting[0][1] not in self.free:
                heappop(suiting)
            self._measured[size] = len(self.all), suiting
            best = suiting[0] if suiting else None
        return best and (self.free.pop(best[1]), best[3])


def one_plan(
    sizes: Sequence[Size], length: int, width: int, order: Sequence[int], choice: str, split: str
) -> tuple[list[Spot], list[Free]]:
    """One quick plan: where each panel lies, and the free rectangles that remain on the opened sheets.

    Parameters: panels and sheet in whole units; the order in which panels are taken; the measure by which a free
    rectangle suits (`area`, `short side`, `long side`, `first sheet`); the rule of the through cut (`short`, `long`,
    `small`, `large` leftover first, or always `along` or `across`). Every panel must fit the sheet.
    """
    spots: list[Spot] = [Spot(0, 0, 0, False)] * len(sizes)
    spaces = _Spaces(choice, sizes)
    small: list[Free] = []
    fits = [ways(size, length, width) for size in sizes]
    narrowest = [0] * (len(order) + 1)
    narrowest[len(order)] = max(length, width) + 1
    for place in range(len(order) - 1, -1, -1):
        size = sizes[order[place]]
        narrowest[place] = min(narrowest[place + 1], size.length, size.width)
    opened = 0
    for place, index in enumerate(order):
        found = spaces.take(sizes[index], fits[index])
        if found is None:
            whole = (opened, 0, 0, length, width)
            opened += 1
            found = whole, min(fits[index], key=lambda way: _score(choice, whole, way[0], way[1]))
        (sheet, x, y, extent, depth), (along, across, turned) = found
        spots[index] = Spot(sheet, x, y, turned)
        left, over = extent - along, depth - across
        if _split_along(split, left, over, along, across):
            parts = ((sheet, x + along, y, left, across), (sheet, x, y + across, extent, over))
        else:
            parts = ((sheet, x + along, y, left, depth), (sheet, x, y + across, along, over))
        for part in parts:
            if min(part[3], part[4]) >= narrowest[place + 1]:
                spaces.add(part)
            elif part[3] and part[4]:
                small.append(part)
    return spots, [*spaces.free.values(), *small]


def _plans(sizes: Sequence[Size], seed: int) -> Iterator[tuple[list[int], str, str]]:
    """Orders and rules of the plans to try, first the plain ones, then some with the order shaken a little."""
    orders = [sorted(range(len(sizes)), key=lambda index: order(sizes[index]), reverse=True) for order in _ORDERS]
    for split, choice, order in product(_SPLITS, _CHOICES, orders):
        yield order, choice, split
    shaker = random.Random(seed)
    while True:
        order = list(shaker.choice(orders))
        for _ in range(1 + len(order) // 6):
            one, two = shaker.randrange(len(order)), shaker.randrange(len(order))
            order[one], order[two] = order[two], order[one]
        yield order, shaker.choice(_CHOICES), shaker.choice(_SPLITS)


def guillotine(sizes: Sequence[Size], length: int, width: int, enough: int, seed: int = 0, count: bool = False) -> list[Spot]:
    """The best of many plans by through cuts: fewest sheets, then the largest whole off-cut.

    Parameters: panels and sheet in whole units (each panel fits the sheet); `enough`, the number of sheets below which
    no plan exists, so that once it is met the shaken orders are left out; `seed` of those orders. Where some panels may
    be turned, half of the plans leave every panel unturned, so that leave to turn never costs a sheet. Where only the
    number of sheets counts (`count`), the first of the same plans are tried, until one needs no more than `enough`.

    >>> guillotine([Size(6, 4, True), Size(6, 4, True)], 10, 6, enough=1)
    [Spot(sheet=0, x=0, y=0, turned=True), Spot(sheet=0, x=4, y=0, turned=False)]
    """
    if not sizes:
        return []
    pairs = len(sizes) * len(sizes) // 2 + 1
    plain = len(_ORDERS) * len(_CHOICES) * len(_SPLITS)
    trials = max(_FEWEST_PLANS, min(_MOST_PLANS, _WORK // pairs))
    if count:
        trials = max(_FEWEST_TO_COUNT, min(plain, _WORK_TO_COUNT // pairs))
    best: tuple[tuple[int, int], list[Spot]] | None = None
    unturned = [size._replace(turn=size.length > length or size.width > width) for size in sizes]
    for panels in (unturned, sizes) if unturned != list(sizes) else (unturned,):
        for trial, (order, choice, split) in enumerate(_plans(panels, seed)):
            if trial >= trials or (trial >= plain and best is not None and best[0][0] <= enough):
                break
            spots, free = one_plan(panels, length, width, order, choice, split)
            sheets = 1 + max(spot.sheet for spot in spots)
            key = sheets, -max((space[3] * space[4] for space in free), default=0)
            if best is None or key < best[0]:
                best = key, spots
            if count and sheets <= enough:
                return spots
    return best[1] if best else []
