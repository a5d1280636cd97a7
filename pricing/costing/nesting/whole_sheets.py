"""Board by whole sheets: what each mould pays when its panels are cut from sheets that are bought whole."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from pricing.dataclass import dataclass
from pricing.rules.geometry.shape import Cut

if TYPE_CHECKING:
    from pricing.costing.nesting.nest import Panel

#: What a saw takes away where the book does not say [m]; common practice, no source.
KERF = 0.003

#: Panels that are looked at together where only the number of sheets is asked for.
_TOGETHER = 80


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

    Moulds of more panels than are looked at together are cut so many at a time.
    """
    from pricing.costing.nesting.nest import NestingError

    most = max(1, _TOGETHER // max(1, sum(cut.count for cut in cuts)))
    times, rest = divmod(moulds, most)
    try:
        sheets = sum(often * _sheets(tuple(cuts), count, sheet, kerf) for count, often in ((most, times), (rest, 1)) if count and often)
    except NestingError:
        return sum(cut.area for cut in cuts)
    return sheets * sheet.area / moulds


@lru_cache(maxsize=4096)
def _sheets(cuts: tuple[Cut, ...], moulds: int, sheet: Sheet, kerf: float) -> int:
    """Whole sheets for so many moulds cut together."""
    from pricing.costing.nesting.nest import nest

    return nest(panels_of(cuts, moulds), sheet.length, sheet.width, kerf=kerf, method="count").sheets


__all__: Sequence[str] = ("KERF", "Sheet", "panels_of", "sheet_share")
