"""Dimensioned drawings as pictures for workbooks.

The bytes of a picture follow from its drawing alone: no date, no program, no path in it.
"""

from __future__ import annotations

import functools
import io
from collections.abc import Sequence
from typing import Any

from pricing.reports.drawing.layout import lay_out
from pricing.reports.drawing.strokes import INK, LengthUnit, Lettering, Stroke, dashed
from pricing.rules.geometry.drawing import Drawing, Point

#: Lines are drawn this many times too large and averaged down, so that slanting ones are smooth.
_FINER = 3

#: A line through more points than this is a curve, and has no corners to fill.
_ROUND = 24


def draw_png(
    drawing: Drawing, width_px: int = 600, height_px: int = 400, figures: LengthUnit = "mm", notes: Sequence[str] = ()
) -> bytes:
    """A drawing as a PNG picture in greys on white.

    Parameters
    ----------
    drawing : plan and section [m]
    width_px, height_px : of the picture [px]
    figures : ``mm`` or ``in``
    notes : what stands below, in the words of the page

    >>> from pricing.rules.shapes import SHAPES
    >>> draw_png(SHAPES["slab"].drawn({"length": 1.2, "width": 0.4, "thickness": 0.04}))[1:4]
    b'PNG'
    """
    from PIL import Image, ImageDraw

    sheet = lay_out(drawing, width_px, height_px, figures, notes)
    fine = Image.new("L", (width_px * _FINER, height_px * _FINER), 255)
    pen = ImageDraw.Draw(fine)
    for stroke in sheet.strokes():
        ink(pen, stroke, _FINER)
    picture = fine.reduce(_FINER)
    for letters in sheet.letters:
        letter(picture, letters)
    file = io.BytesIO()
    picture.save(file, "PNG")
    return file.getvalue()


def ink(pen: Any, stroke: Stroke, finer: int, corner: Point = (0.0, 0.0), step: int = 1) -> None:
    """Draw a stroke, so many times too large, on a picture that begins at a corner of its sheet and counts its greys in such steps."""
    west, north = corner
    shade = round(stroke.shade / step)
    points = [((x - west) * finer, (y - north) * finer) for x, y in stroke.points]
    weight = max(1, round(stroke.weight * finer))
    if stroke.fill is not None:
        pen.polygon(points, fill=round(stroke.fill / step))
    if stroke.dashes:
        for start, end in dashed(tuple(points), tuple(each * finer for each in stroke.dashes)):
            pen.line((start, end), fill=shade, width=weight)
    else:
        closed = len(points) > 2 and points[0] == points[-1]
        corners = "curve" if 2 < len(points) <= _ROUND else None
        pen.line([*points, points[1]] if closed else points, fill=shade, width=weight, joint=corners)


def letter(picture: Any, letters: Lettering, step: int = 1) -> None:
    """Set a figure or letter onto a picture in its final size that counts its greys in such steps."""
    room = _lettered(letters.text, round(letters.size), letters.turned)
    x, y = letters.middle
    picture.paste(round(INK / step), (round(x - room.width / 2), round(y - room.height / 2)), room)


@functools.lru_cache(maxsize=1024)
def _lettered(text: str, size: int, turned: bool) -> Any:
    """The letters of a figure, white on black, in a picture of their own."""
    from PIL import Image, ImageDraw

    font = _font(size)
    left, top, right, bottom = font.getbbox(text, anchor="ls")
    room = Image.new("L", (int(right - left) + 2, int(bottom - top) + 2), 0)
    ImageDraw.Draw(room).text((1 - left, 1 - top), text, fill=255, font=font, anchor="ls")
    return room.transpose(Image.Transpose.ROTATE_90) if turned else room


@functools.cache
def _font(size: int) -> Any:
    from PIL import ImageFont

    return ImageFont.load_default(size)
