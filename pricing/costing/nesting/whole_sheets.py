"""Board by whole sheets: what each mould pays when its panels are cut from sheets that are bought whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pricing.costing.nesting.nest import Nest, NestingError, Panel, nest
from pricing.rules.geometry.shape import Cut

#: What a saw takes away where the book does not say [m]; common practice, no source.
KERF = 0.003


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
    return [Panel(cut.name, cut.length, cut.width, cut.count * moulds) for cut in cuts]


def nested(cuts: Sequence[Cut], moulds: int, sheet: Sheet, kerf: float = KERF) -> Nest | None:
    """The panels of so many moulds on whole sheets; None where a panel is longer or wider than a sheet."""
    panels = panels_of(cuts, moulds)
    if not panels:
        return None
    try:
        return nest(panels, sheet.length, sheet.width, kerf=kerf, method="guillotine")
    except NestingError:
        return None


def sheet_share(cuts: Sequence[Cut], moulds: int, sheet: Sheet, kerf: float = KERF) -> float:
    """A mould's share of the whole sheets bought [m²/mould]; its own panels where they do not fit any sheet."""
    placed = nested(cuts, moulds, sheet, kerf)
    return placed.sheets * sheet.area / moulds if placed is not None else sum(cut.length * cut.width * cut.count for cut in cuts)


__all__: Sequence[str] = ("KERF", "Sheet", "nested", "panels_of", "sheet_share")
