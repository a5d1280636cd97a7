"""Board by whole sheets: what each mould pays when its panels are cut from sheets that are bought whole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from pricing.dataclass import dataclass
from pricing.rules.geometry.shape import Cut

if TYPE_CHECKING:
    from pricing.costing.nesting.nest import Panel

#: What a saw takes away where the book does not say [m]; common practice, no source.
KERF = 0.003

#: So many panels are cut by one plan. More are cut so many moulds at a time as fill one to three sheets best, as a maker saws
#: them; up to a number between, whichever takes fewer sheets.
_ONE_PLAN, _EITHER = 50, 80

#: Panels that are looked at together, and sheets that are filled together.
_TOGETHER, _FILLED = 160, 3


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole sheet of board [m]."""

    length: float
    width: float

    @property
    def area(self) -> float:
        """Area of the sheet [m²]."""
        return self.length * self.width


def panels_of(cuts: Sequence[Cut], moulds: int) -> list[Panel]:
    """The panels of so many moulds, ready to be nested.

    Parameters
    ----------
    cuts : the cut list of one mould
    moulds : how many moulds are cut together
    """
    from pricing.costing.nesting.nest import Panel

    return [Panel(cut.name, cut.length, cut.width, cut.count * moulds) for cut in cuts]


def sheet_share(cuts: Sequence[Cut], moulds: int, sheet: Sheet, kerf: float = KERF) -> float:
    """A mould's share of the whole sheets bought [m²/mould]; its own panels where they do not fit any sheet.

    >>> tile = [Cut("base", 0.3, 0.3, 1), Cut("side", 0.3, 0.05, 4)]
    >>> [round(sheet_share(tile, moulds, Sheet(2.5, 1.25)) * moulds / 3.125) for moulds in (1, 10, 20, 40, 400)]
    [1, 1, 2, 3, 23]
    """
    from pricing.costing.nesting.nest import NestingError

    try:
        return _fewest(tuple(cuts), moulds, sheet, kerf) * sheet.area / moulds
    except NestingError:
        return sum(cut.area for cut in cuts)


def _fewest(cuts: tuple[Cut, ...], moulds: int, sheet: Sheet, kerf: float) -> int:
    panels = sum(cut.count for cut in cuts) * moulds
    if panels <= _ONE_PLAN:
        return _sheets(cuts, moulds, sheet, kerf)
    by_groups = _of_groups(_groups(cuts, sheet, kerf), moulds)
    return min(by_groups, _sheets(cuts, moulds, sheet, kerf)) if panels <= _EITHER else by_groups


@lru_cache(maxsize=4096)
def _groups(cuts: tuple[Cut, ...], sheet: Sheet, kerf: float) -> dict[int, int]:
    """How many moulds are cut from so many sheets at the most, by number of moulds: its sheets."""
    most, area = max(1, _TOGETHER // max(1, sum(cut.count for cut in cuts))), sum(cut.area for cut in cuts)
    found: dict[int, int] = {}
    low = 0
    for sheets in range(1, max(_FILLED, _sheets(cuts, 1, sheet, kerf)) + 1):
        high = min(most, int(sheets * sheet.area / area + 1e-9))
        while low < high:
            middle = (low + high + 1) // 2
            fits = _sheets(cuts, middle, sheet, kerf) <= sheets
            low, high = (middle, high) if fits else (low, middle - 1)
        if low:
            found.setdefault(low, sheets)
    return found


def _of_groups(groups: Mapping[int, int], moulds: int) -> int:
    """Sheets for so many moulds, cut in groups: many by the group that wastes least, the rest by whichever suit.

    >>> _of_groups({5: 1, 11: 2}, 16), _of_groups({5: 1, 11: 2}, 1_000_000)
    (3, 181819)
    """
    best = min(groups, key=lambda size: groups[size] / size)
    often = max(0, moulds // best - max(groups))
    fewest = [0]
    for number in range(1, moulds - often * best + 1):
        fewest.append(min(sheets + fewest[max(0, number - size)] for size, sheets in groups.items()))
    return often * groups[best] + fewest[-1]


@lru_cache(maxsize=4096)
def _sheets(cuts: tuple[Cut, ...], moulds: int, sheet: Sheet, kerf: float) -> int:
    """Whole sheets for so many moulds cut together."""
    from pricing.costing.nesting.nest import nest

    return nest(panels_of(cuts, moulds), sheet.length, sheet.width, kerf=kerf, method="count").sheets


__all__: Sequence[str] = ("KERF", "Sheet", "panels_of", "sheet_share")
