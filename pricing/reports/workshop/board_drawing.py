"""A nested sheet of board as a picture: the sheet to scale, each panel with its mark and its size, and what is left of it."""

from __future__ import annotations

import io
from typing import Any

from pricing.costing.nesting.nest import Nest, Placement
from pricing.costing.nesting.offcuts import offcuts
from pricing.reports.drawing.render import letter
from pricing.reports.drawing.strokes import INK, THIN, TINT, LengthUnit, Lettering, figure

#: Width of the picture and its height for a square sheet [px], and how much finer it is drawn before it is averaged down.
WIDTH, FINER = 1280, 2

#: Around the sheet, for its own size [px].
EDGE = 34

_LARGEST, _SMALLEST, _SIZE = 30, 14, 22


def sheet_png(nest: Nest, number: int, figures: LengthUnit = "mm") -> bytes:
    """One sheet of a cutting plan as a PNG picture in greys on white.

    Parameters
    ----------
    nest : the plan
    number : of the sheet, counted from 1
    figures : ``mm`` or ``in``

    >>> from pricing.costing.nesting.nest import Panel, nest
    >>> sheet_png(nest([Panel("1", 1.0, 0.5, 2)], 2.44, 1.22), 1)[1:4]
    b'PNG'
    """
    from PIL import Image, ImageDraw

    scale = (WIDTH - 2 * EDGE) / nest.sheet_length
    size = WIDTH, round(nest.sheet_width * scale) + 2 * EDGE
    fine = Image.new("L", (size[0] * FINER, size[1] * FINER), 255)
    pen = ImageDraw.Draw(fine)
    panels = [place for place in nest.placements if place.sheet == number]
    for place in panels:
        pen.rectangle(_box(place, scale), fill=TINT, outline=INK, width=2 * FINER)
    edge = EDGE * FINER
    pen.rectangle((edge, edge, fine.width - edge, fine.height - edge), outline=THIN, width=3 * FINER)
    picture = fine.reduce(FINER)
    for place in panels:
        _label(picture, place, scale, figures)
    for each in offcuts(nest, number):
        _label(picture, Placement("offcut", number, each.x, each.y, each.length, each.width, False), scale, figures)
    middle = picture.width / 2, picture.height / 2
    letter(picture, Lettering(figure(nest.sheet_length, figures), (middle[0], EDGE / 2), _SIZE))
    letter(picture, Lettering(figure(nest.sheet_width, figures), (EDGE / 2, middle[1]), _SIZE, turned=True))
    file = io.BytesIO()
    picture.save(file, "PNG", optimize=True)
    return file.getvalue()


def _box(place: Placement, scale: float) -> tuple[float, float, float, float]:
    left, top = EDGE + place.x * scale, EDGE + place.y * scale
    box = left, top, left + place.length * scale, top + place.width * scale
    return tuple(edge * FINER for edge in box)  # type: ignore[return-value]


def _label(picture: Any, place: Placement, scale: float, figures: LengthUnit) -> None:
    """Mark and size of a panel, along its longer side, as large as there is room for."""
    across, up = place.length * scale, place.width * scale
    turned = up > across
    along, over = (up, across) if turned else (across, up)
    sides = (place.width, place.length) if place.turned else (place.length, place.width)
    text = f"{place.panel}   {figure(sides[0], figures)} x {figure(sides[1], figures)}"
    middle = EDGE + place.x * scale + across / 2, EDGE + place.y * scale + up / 2
    for words in (text, place.panel):
        letters = min(_LARGEST, over * 0.7, along * 0.9 / max(len(words) * 0.55, 1))
        if letters >= _SMALLEST or words is not text:
            letter(picture, Lettering(words, middle, max(letters, 9.0), turned))
            return
