"""The dimension columns of Products and Enquiries: one for every dimension of every shape, from the glossary."""

from __future__ import annotations

from pricing.book.declared.column import Column
from pricing.rules.geometry.dimensions import DIMENSIONS, FIGURES, FORMER_NAMES
from pricing.rules.shapes import SHAPES

#: Units inside the engine and in the starter book, by the unit of the glossary.
_UNITS = {"metre": ("m", "mm"), "metre**2": ("m2", "m2"), "metre**3": ("m3", "L"), "dimensionless": ("", "")}


def _dimension_columns() -> tuple[Column, ...]:
    used = {name for shape in SHAPES.values() for name in shape.dimensions}
    typed = {quantity.name for quantity in DIMENSIONS}
    columns = []
    for quantity in (*DIMENSIONS, *FIGURES):
        if quantity.name not in used:
            continue
        unit, shown = _UNITS[quantity.unit]
        if quantity.name not in typed and unit == "m":
            shown = "m"  # running metres of a take-off, not a dimension
        whole = quantity.unit == "dimensionless"
        columns.append(
            Column(
                _heading(quantity.name), "number", _shapes_with(quantity.name, quantity.meaning),
                unit=unit, shown=shown, lower=quantity.lower, upper=quantity.upper, whole=whole,
                example=_example(shown, quantity.upper), decimals=0 if shown in ("mm", "") else 3 if shown == "m2" else 2,
                formerly=tuple(_heading(name) for name in FORMER_NAMES.get(quantity.name, ())),
            )
        )
    return tuple(columns)


def _heading(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _example(shown: str, upper: float) -> str:
    """A figure that is usual: small measures are a thickness, large ones a length."""
    return {"mm": "40" if upper <= 2.0 else "400", "m": "4.2", "m2": "0.5", "L": "12.5"}.get(shown, "1")


def _shapes_with(name: str, meaning: str) -> str:
    shapes = [shape.name for shape in SHAPES.values() if name in shape.dimensions]
    return f"{meaning} Shapes: {', '.join(shapes)}."


DIMENSION_COLUMNS = _dimension_columns()
DIMENSION_NAMES = tuple(column.name for column in DIMENSION_COLUMNS)
