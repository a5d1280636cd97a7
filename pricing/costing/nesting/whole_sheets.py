"""Board by whole sheets: what each mould pays when its panels are cut from sheets that are bought whole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pricing.costing.nesting.nest import Nest, NestingError, Panel, nest
from pricing.rules.shapes.shape import Shape

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


def panels_of(shape: Shape, values: Mapping[str, float], moulds: int) -> list[Panel]:
    """The panels of so many moulds, ready to be nested.

    Parameters
    ----------
    values : what the shape's take-off gave for one piece [SI]
    moulds : how many moulds are cut together
    """
    return [Panel(cut.name, cut.length, cut.width, cut.count * moulds) for cut in shape.cuts(values)]


def nested(shape: Shape, values: Mapping[str, float], moulds: int, sheet: Sheet, kerf: float = KERF) -> Nest | None:
    """The panels of so many moulds on whole sheets; None where a panel is longer or wider than a sheet."""
    panels = panels_of(shape, values, moulds)
    if not panels:
        return None
    try:
        return nest(panels, sheet.length, sheet.width, kerf=kerf, method="guillotine")
    except NestingError:
        return None


def sheet_share(shape: Shape, values: Mapping[str, float], moulds: int, sheet: Sheet, kerf: float = KERF) -> float:
    """A mould's share of the whole sheets bought [m²/mould]; its own panels where they do not fit any sheet."""
    placed = nested(shape, values, moulds, sheet, kerf)
    return placed.sheets * sheet.area / moulds if placed is not None else float(values["mould_area"])


__all__: Sequence[str] = ("KERF", "Sheet", "nested", "panels_of", "sheet_share")
