"""What is asked of every shape besides its take-off: its extent, what a cut-out through it needs to know, and its inside.

A shape that has no such figure is left out of the tables below; it counts as nothing there.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping

import numpy as np

from pricing.algebra.expressions import Value
from pricing.glossary import Quantity, define
from pricing.rules.geometry import plan
from pricing.rules.geometry.plan import Polygon

define([
    Quantity("piece_length", "Length over all", "metre", "m", 3, "Of the piece, seen from above, from left to right."),
    Quantity("inside_area", "Inside", "metre**2", "m²", 4, "Inner faces of a vessel."),
])

Rule = Callable[..., Value]

#: What may be asked of a shape, in this order.
MEASURES = ("piece_length", "piece_width", "slab_depth", "middle_depth", "fall_per_metre", "inside_area")


def _same(name: str, source: str) -> Rule:
    """A rule by which one figure is another of the same shape."""

    def rule(**values: Value) -> Value:
        return +values[source]

    rule.__name__ = rule.__qualname__ = name
    rule.__doc__ = f"The {source.replace('_', ' ')}."
    rule.__signature__ = inspect.Signature([inspect.Parameter(source, inspect.Parameter.KEYWORD_ONLY)])  # type: ignore[attr-defined]
    return rule


def middle_depth(thickness: Value, fall: Value) -> Value:
    """Thickness half way between the high edge and the low one [m]."""
    return thickness - fall / 2


def fall_per_metre(fall: Value, width: Value) -> Value:
    """How much thicker the slab gets from front to back [1]."""
    return fall / width


def inside_area(
    inner_perimeter: Value, inner_height: Value, inner_length: Value, inner_width: Value, hole_area: Value
) -> Value:
    """Inner walls and floor of a trough, the drain holes taken out [m²]."""
    return inner_perimeter * inner_height + inner_length * inner_width - hole_area


_EXTENTS: dict[str, tuple[str, str]] = {
    **dict.fromkeys(("slab", "slab with a lip", "slab with openings", "step", "coping", "sill", "trough", "bench"), ("length", "width")),
    "L-shaped slab": ("length", "return_length"), "disc": ("diameter", "diameter"), "ring": ("diameter", "diameter"),
    "square planter": ("width", "width"), "round planter": ("diameter", "diameter"),
    "slab by outline": ("outline_length", "outline_width"),
}

#: The shapes through which a cut-out may go straight down, from plan to underside.
SLABS = ("slab", "slab with a lip", "slab with openings", "L-shaped slab", "disc", "sill", "slab by outline")

_INSIDE: dict[str, Rule] = {
    "trough": inside_area, "square planter": _same("inside_area", "inner_area"), "round planter": _same("inside_area", "inner_area"),
}


def _measures_of(shape: str) -> tuple[Rule, ...]:
    found: list[Rule] = []
    if shape in _EXTENTS:
        found += [_same(name, source) for name, source in zip(("piece_length", "piece_width"), _EXTENTS[shape], strict=True)]
    if shape in SLABS:
        found.append(_same("slab_depth", "thickness"))
        found += [middle_depth, fall_per_metre] if shape == "sill" else [_same("middle_depth", "thickness")]
    if shape in _INSIDE:
        found.append(_INSIDE[shape])
    return tuple(found)


#: The rules of each shape that has any.
RULES: dict[str, tuple[Rule, ...]] = {shape: _measures_of(shape) for shape in (*_EXTENTS, *_INSIDE)}


def room_of(shape: str, sizes: Mapping[str, float]) -> Polygon:
    """The outline within which a cut-out of a slab has to be, its left and its front at 0 [m].

    Parameters
    ----------
    shape : one of ``SLABS`` except ``slab by outline``, which knows its own
    sizes : take-off of the piece [SI]

    >>> room_of("disc", {"diameter": 1.0}).shape[1]
    2
    """
    if shape == "disc":
        return plan.circle(sizes["diameter"])
    length, width = sizes["length"], sizes["width"]
    if shape == "L-shaped slab":
        arm, far = sizes["return_width"], sizes["return_length"]
        return np.array([(0, 0), (length, 0), (length, width), (arm, width), (arm, far), (0, far)], dtype=np.float64)
    if shape == "slab with a lip":
        lip, along, across = sizes["lip"], sizes["long_lips"], sizes["short_lips"]
        return plan.rectangle(
            lip * (across > 0), lip * (along > 0), length - lip * (across > 1), width - lip * (along > 1)
        )
    return plan.rectangle(0, 0, length, width)
