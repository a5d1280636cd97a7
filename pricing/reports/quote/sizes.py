"""The size of a piece in words: millimetres, or inches where that is what the maker typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from pricing.glossary import GLOSSARY
from pricing.reports.drawing.strokes import LengthUnit, figure
from pricing.rules.geometry.shape import Shape

INCH = 0.0254

#: Rounding noise of a length that was typed in another unit [m].
_HAIR = 1e-8

#: The measures that are named first, joined by a cross, where a shape has them.
_OUTLINES: tuple[tuple[str, ...], ...] = (
    ("length", "width", "height"), ("length", "width", "thickness"), ("width", "width", "height"), ("length", "width"),
)

#: What is said of the others, where they are more than nothing; "s" in brackets is for several.
_PHRASES: dict[str, str] = {
    "diameter": "diameter {diameter}", "height": "{height} high", "thickness": "{thickness} thick", "drop": "drop {drop}",
    "lip_thickness": "lip {lip_thickness}", "long_lips": "{long_lips} long edge(s) turned down",
    "short_lips": "{short_lips} short edge(s) turned down", "openings": "{openings} opening(s) {opening_length} × {opening_width}",
    "holes": "{holes} hole(s) {hole_diameter}", "return_length": "return {return_length} × {return_width}",
    "inner_diameter": "opening {inner_diameter}", "wall": "wall {wall}", "base_thickness": "floor {base_thickness}",
    "base_width": "foot {base_width}", "base_diameter": "foot {base_diameter}", "nosing": "nosing {nosing}", "fall": "fall {fall}",
    "groove_width": "{grooves} drip groove(s)", "leg_thickness": "legs {leg_thickness}", "leg_inset": "legs set in {leg_inset}",
}
_SAID_WITH_OTHERS = frozenset({"opening_length", "opening_width", "hole_diameter", "return_width", "grooves", "groove_depth"})


def typed_in_inches(lengths: Iterable[float]) -> bool | None:
    """Whether lengths were typed in inches: True or False, or None where either is possible.

    Parameters
    ----------
    lengths : of one piece, or of a whole price book [m]

    A length in whole sixteenths of an inch but not in whole millimetres speaks for inches, the reverse for millimetres.

    >>> typed_in_inches([1.2192, 0.6096]), typed_in_inches([1.2, 0.6]), typed_in_inches([0.254])
    (True, False, None)
    """
    values = np.array([length for length in lengths if length > 0 and np.isfinite(length)], dtype=np.float64)
    inches, metric = (np.abs(values / unit - np.round(values / unit)) * unit < _HAIR for unit in (INCH / 16, 1e-3))
    for_inches, for_metric = int((inches & ~metric).sum()), int((metric & ~inches).sum())
    return None if for_inches == for_metric else for_inches > for_metric


def size_text(shape: Shape, dimensions: Mapping[str, float], figures: LengthUnit = "mm") -> str:
    """The size of a piece, as a customer reads it; empty for a solid given by its own figures.

    Parameters
    ----------
    shape : of the piece
    dimensions : its values by name, defaults filled in [SI]
    figures : ``mm`` or ``in``

    >>> from pricing.rules.shapes import SHAPES
    >>> size_text(SHAPES["slab with a lip"], {"length": 0.9, "width": 0.25, "thickness": 0.025, "drop": 0.04, "long_lips": 1})
    '900 × 250 × 25 mm, drop 40 mm, 1 long edge turned down'
    >>> size_text(SHAPES["slab"], {"length": 1.2192, "width": 0.6096, "thickness": 0.0381}, "in")
    '48" × 24" × 1 1/2"'
    """
    given = {name: dimensions[name] for name in shape.dimensions if dimensions.get(name, 0.0) > 0}
    outline = next((names for names in _OUTLINES if set(names) <= set(given)), ())
    unit = " mm" if figures == "mm" else ""
    parts = [" × ".join(figure(given[name], figures) for name in outline) + unit] if outline else []
    for name in given:
        phrase = _PHRASES.get(name)
        if name in outline or name in _SAID_WITH_OTHERS or phrase is None:
            continue
        parts.append(_filled(phrase, given, figures, unit))
    text = ", ".join(parts)
    return text.replace(" turned down, ", " and ") if text.count(" turned down") == 2 else text


def _filled(phrase: str, given: Mapping[str, float], figures: LengthUnit, unit: str) -> str:
    shown: dict[str, str] = {}
    several = True
    for name, value in given.items():
        if GLOSSARY[name].unit == "dimensionless":
            shown[name] = f"{value:.0f}"
            if f"{{{name}}}" in phrase:
                several = value != 1
        else:
            shown[name] = figure(value, figures)
    text = phrase.replace("(s)", "s" if several else "").format_map(_OrNothing(shown))
    return text + unit if phrase.endswith("}") else text.replace(" high", f"{unit} high").replace(" thick", f"{unit} thick")


class _OrNothing(dict[str, str]):
    def __missing__(self, name: str) -> str:
        return "0"
