"""The size of a piece in words: millimetres, or inches where that is what the maker typed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from pricing.languages.words import Words, words_of
from pricing.reports.drawing.strokes import LengthUnit, figure
from pricing.rules.geometry.drawing import AS_AGREED, Drawing, Note
from pricing.rules.geometry.shape import Shape
from pricing.rules.shapes.piece_drawing import PieceDetails

INCH = 0.0254

#: What is said where no language is asked for.
ENGLISH_WORDS = words_of()

#: Rounding noise of a length that was typed in another unit [m].
_HAIR = 1e-8

#: The measures that are named first, joined by a cross, where a shape has them.
_OUTLINES: tuple[tuple[str, ...], ...] = (
    ("length", "width", "height"), ("length", "width", "thickness"), ("width", "width", "height"), ("length", "width"),
)

#: What is said of the others, where they are more than nothing: the measures that are named, and the words, for several too.
_PHRASES: dict[str, tuple[tuple[str, ...], str, str]] = {
    "diameter": (("diameter",), "diameter {size}", ""), "height": (("height",), "{size} high", ""),
    "thickness": (("thickness",), "{size} thick", ""), "drop": (("drop",), "drop {size}", ""),
    "lip_thickness": (("lip_thickness",), "lip {size}", ""),
    "long_lips": ((), "{count} long edge turned down", "{count} long edges turned down"),
    "short_lips": ((), "{count} short edge turned down", "{count} short edges turned down"),
    "openings": (("opening_length", "opening_width"), "{count} opening {size}", "{count} openings {size}"),
    "holes": (("hole_diameter",), "{count} hole {size}", "{count} holes {size}"),
    "return_length": (("return_length", "return_width"), "return {size}", ""),
    "inner_diameter": (("inner_diameter",), "opening {size}", ""), "wall": (("wall",), "wall {size}", ""),
    "base_thickness": (("base_thickness",), "floor {size}", ""), "base_width": (("base_width",), "foot {size}", ""),
    "base_diameter": (("base_diameter",), "foot {size}", ""), "nosing": (("nosing",), "nosing {size}", ""),
    "step drop": (("drop",), "riser {size}", ""),
    "fall": (("fall",), "fall {size}", ""), "grooves": ((), "{count} drip groove", "{count} drip grooves"),
    "leg_thickness": (("leg_thickness",), "legs {size}", ""), "leg_inset": (("leg_inset",), "legs set in {size}", ""),
}

#: What is said of cut-outs, edges at a wall and layers.
_OVER_ALL, _ROUND, _CUT, _ALIKE, _CORNERS = (
    "{size} over all", "round cut-out {size}", "cut-out {size}", "{count} × {what}", "{what}, corners {size}")
_AT_WALL = {
    "long": ("{count} long edge at the wall", "{count} long edges at the wall"),
    "short": ("{count} short edge at the wall", "{count} short edges at the wall"),
}

#: What stands below a drawing, by its word there.
NOTES = {
    "as agreed": "position as agreed", "layer on face": "layer of {size} on the face",
    "layer on underside": "layer of {size} on the underside", "layer on face and inside": "layer of {size} on face and inside",
}

#: Every text of these.
SIZE_WORDS = (
    *(text for _, one, several in _PHRASES.values() for text in (one, several) if text), _OVER_ALL, _ROUND, _CUT, _ALIKE, _CORNERS,
    *(text for texts in _AT_WALL.values() for text in texts), *NOTES.values(),
)

_SAID_WITH_OTHERS = frozenset({"opening_length", "opening_width", "hole_diameter", "return_width", "groove_width", "groove_depth"})


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


def size_text(shape: Shape, dimensions: Mapping[str, float], figures: LengthUnit = "mm", words: Words = ENGLISH_WORDS) -> str:
    """The size of a piece, as a customer reads it; empty for a solid given by its own figures.

    Parameters
    ----------
    shape : of the piece
    dimensions : its values by name, defaults filled in [SI]
    figures : ``mm`` or ``in``
    words : of the language

    >>> from pricing.rules.shapes import SHAPES
    >>> size_text(SHAPES["slab with a lip"], {"length": 0.9, "width": 0.25, "thickness": 0.025, "drop": 0.04, "long_lips": 1})
    '900 × 250 × 25 mm, drop 40 mm, 1 long edge turned down'
    >>> size_text(SHAPES["step"], {"length": 1.0, "width": 0.32, "thickness": 0.05, "drop": 0.15, "nosing": 0.02})
    '1000 × 320 × 50 mm, riser 150 mm, nosing 20 mm'
    >>> size_text(SHAPES["slab"], {"length": 1.2192, "width": 0.6096, "thickness": 0.0381}, "in")
    '48" × 24" × 1 1/2"'
    """
    given = {name: dimensions[name] for name in shape.dimensions if dimensions.get(name, 0.0) > 0}
    outline = next((names for names in _OUTLINES if set(names) <= set(given)), ())
    parts = [_shown([given[name] for name in outline], figures, words)] if outline else []
    for name in given:
        if name in outline or name in _SAID_WITH_OTHERS or name not in _PHRASES:
            continue
        sized, one, several = _PHRASES.get(f"{shape.name} {name}", _PHRASES[name])
        size = _shown([given.get(each, 0.0) for each in sized], figures, words)
        parts.append(words.count(one, several, given[name], size=size) if several else words.say(one, size=size))
    text = ", ".join(parts)
    return text.replace(" turned down, ", " and ") if text.count(" turned down") == 2 else text


def _shown(sizes: Sequence[float], figures: LengthUnit, words: Words) -> str:
    """Lengths joined by crosses, with their unit."""
    return words.figure(" × ".join(figure(size, figures) for size in sizes)) + (" mm" if figures == "mm" else "")


def piece_text(
    shape: Shape, dimensions: Mapping[str, float], details: PieceDetails, figures: LengthUnit = "mm", words: Words = ENGLISH_WORDS
) -> str:
    """The size of a piece with all that it has besides: cut-outs, edges at a wall, layers.

    Parameters
    ----------
    shape, dimensions, figures, words : as for :func:`size_text`
    details : what the piece has besides its dimensions

    >>> from pricing.rules.shapes import SHAPES
    >>> from pricing.rules.geometry.cut_out import CutOut
    >>> cut = PieceDetails((CutOut(0.5, 0.4, 0.02),), seen_long_edges=1)
    >>> piece_text(SHAPES["slab"], {"length": 2.0, "width": 0.6, "thickness": 0.04}, cut)
    '2000 × 600 × 40 mm, cut-out 500 × 400 mm, corners 20 mm, position as agreed, 1 long edge at the wall'
    """

    def shown(*sizes: float) -> str:
        return _shown(sizes, figures, words)

    if details.extent is not None:
        parts = [shown(*details.extent)]
    elif details.outline is not None:
        parts = [words.say(_OVER_ALL, size=shown(dimensions["outline_length"], dimensions["outline_width"], dimensions["thickness"]))]
    else:
        parts = [text for text in (size_text(shape, dimensions, figures, words) if shape.drawing or shape.panels else "",) if text]
    alike = Counter[str]()
    for cut in details.cut_outs:
        what = words.say(_ROUND, size=shown(cut.length)) if cut.is_round else words.say(_CUT, size=shown(cut.length, cut.width))
        alike[words.say(_CORNERS, what=what, size=shown(cut.radius)) if cut.radius and not cut.is_round else what] += cut.count
    parts += [words.say(_ALIKE, count=count, what=what) if count > 1 else what for what, count in alike.items()]
    if any(not cut.is_placed for cut in details.cut_outs) or dimensions.get("openings", 0.0) + _plan_holes(shape, dimensions) > 0:
        parts.append(_noted(AS_AGREED, figures, words))
    for word, seen in (("long", details.seen_long_edges), ("short", details.seen_short_edges)):
        if seen < 2:
            parts.append(words.count(*_AT_WALL[word], 2 - seen))
    parts += [_noted(Note(f"layer on {on}", thickness), figures, words) for on, thickness in details.layers]
    return ", ".join(parts)


def notes_of(drawing: Drawing, figures: LengthUnit, words: Words = ENGLISH_WORDS) -> list[str]:
    """What stands below a drawing, in the words of the page."""
    return [_noted(note, figures, words) for note in drawing.notes]


def _noted(note: Note, figures: LengthUnit, words: Words) -> str:
    return words.say(NOTES[note.word], size=_shown([note.size], figures, words))


def _plan_holes(shape: Shape, dimensions: Mapping[str, float]) -> float:
    """Holes through a slab, whose place is agreed; the drain of a vessel needs no word."""
    return dimensions.get("holes", 0.0) if "openings" in shape.dimensions else 0.0
