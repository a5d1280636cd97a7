"""The size of a piece in words: millimetres, or inches where that is what the maker typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from pricing.glossary import GLOSSARY
from pricing.reports.drawing.strokes import LengthUnit, figure
from pricing.reports.quote.wording import LABELS
from pricing.rules.geometry.drawing import AS_AGREED, Drawing, Note
from pricing.rules.geometry.shape import Shape
from pricing.rules.shapes.piece_drawing import PieceDetails

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


def piece_text(shape: Shape, dimensions: Mapping[str, float], details: PieceDetails, figures: LengthUnit = "mm") -> str:
    """The size of a piece with all that it has besides: cut-outs, edges at a wall, layers.

    Parameters
    ----------
    shape, dimensions, figures : as for :func:`size_text`
    details : what the piece has besides its dimensions

    >>> from pricing.rules.shapes import SHAPES
    >>> from pricing.rules.geometry.cut_out import CutOut
    >>> cut = PieceDetails((CutOut(0.5, 0.4, 0.02),), seen_long_edges=1)
    >>> piece_text(SHAPES["slab"], {"length": 2.0, "width": 0.6, "thickness": 0.04}, cut)
    '2000 × 600 × 40 mm, cut-out 500 × 400 mm, corners 20 mm, position as agreed, 1 long edge at the wall'
    """
    unit = " mm" if figures == "mm" else ""

    def shown(*sizes: float) -> str:
        return " × ".join(figure(size, figures) for size in sizes) + unit

    if details.extent is not None:
        parts = [shown(*details.extent)]
    elif details.outline is not None:
        parts = [f"{shown(dimensions['outline_length'], dimensions['outline_width'], dimensions['thickness'])} over all"]
    else:
        parts = [text for text in (size_text(shape, dimensions, figures) if shape.drawing or shape.panels else "",) if text]
    for cut in details.cut_outs:
        what = f"round cut-out {shown(cut.length)}" if cut.is_round else f"cut-out {shown(cut.length, cut.width)}"
        several = f"{cut.count} × {what}" if cut.count > 1 else what
        parts.append(f"{several}, corners {shown(cut.radius)}" if cut.radius and not cut.is_round else several)
    if any(not cut.is_placed for cut in details.cut_outs) or dimensions.get("openings", 0.0) + _plan_holes(shape, dimensions) > 0:
        parts.append(_noted(AS_AGREED, figures))
    for word, seen in (("long", details.seen_long_edges), ("short", details.seen_short_edges)):
        if seen < 2:
            parts.append(f"{2 - seen} {word} edge{'s' * (seen < 1)} at the wall")
    parts += [_noted(Note(f"layer on {on}", thickness), figures) for on, thickness in details.layers]
    return ", ".join(parts)


def notes_of(drawing: Drawing, figures: LengthUnit) -> list[str]:
    """What stands below a drawing, in the words of the page."""
    return [_noted(note, figures) for note in drawing.notes]


def _noted(note: Note, figures: LengthUnit) -> str:
    return LABELS[note.word].format(size=figure(note.size, figures) + (" mm" if figures == "mm" else ""))


def _plan_holes(shape: Shape, dimensions: Mapping[str, float]) -> float:
    """Holes through a slab, whose place is agreed; the drain of a vessel needs no word."""
    return dimensions.get("holes", 0.0) if "openings" in shape.dimensions else 0.0


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
