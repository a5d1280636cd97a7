"""The small dimensioned sketch of a piece: laid out for its size on the page, drawn finer, its white margins cut off."""

from __future__ import annotations

import functools
import io
import zlib
from collections.abc import Mapping
from dataclasses import dataclass

from pricing.rules.shapes.shape import Shape
from pricing.sheets.drawing_layout import lay_out
from pricing.sheets.drawing_sheet import Figures, Lettering, Sheet, Stroke

#: A sketch is laid out on a sheet of this size [px of the layout], so that its letters are as small as can be read.
LAYOUT_WIDTH, LAYOUT_HEIGHT = 190, 128

#: Size on the page of one pixel of the layout [pixels], and how many dots of the picture that is.
SCALE, DOTS = 0.8, 3

_WHITE, _NEARLY_WHITE, _SMOOTHER, _MARGIN = 255, 248, 3, 2


@dataclass(frozen=True, slots=True)
class Sketch:
    """A picture for the page.

    Parameters
    ----------
    png : the picture
    width, height : as it is to appear on the page [pixels]
    """

    png: bytes
    width: float
    height: float

    @property
    def scale(self) -> float:
        """Size of a dot of the picture on the page [pixels]."""
        return SCALE / DOTS


def sketch_of(shape: Shape, dimensions: Mapping[str, float], figures: Figures) -> Sketch | None:
    """The sketch of a piece; None where its shape has no drawing, or Pillow, which draws it, is not installed.

    Parameters
    ----------
    shape : of the piece
    dimensions : its values by name [SI]
    figures : ``mm`` or ``in``
    """
    if shape.drawing is None:
        return None
    try:
        return _drawn(shape.name, tuple(dimensions.items()), figures)
    except ImportError:  # a quote without sketches is still a quote
        return None


@functools.lru_cache(maxsize=512)
def _drawn(name: str, dimensions: tuple[tuple[str, float], ...], figures: Figures) -> Sketch | None:
    from PIL import Image, ImageDraw

    from pricing.rules.shapes import SHAPES
    from pricing.sheets.drawings import _ink, _letter

    drawing = SHAPES[name].drawn(dict(dimensions))
    if drawing is None:
        return None
    sheet = _finer(lay_out(drawing, LAYOUT_WIDTH, LAYOUT_HEIGHT, figures))
    size = LAYOUT_WIDTH * DOTS * _SMOOTHER, LAYOUT_HEIGHT * DOTS * _SMOOTHER
    fine = Image.new("L", size, _WHITE)
    pen = ImageDraw.Draw(fine)
    for stroke in sheet.strokes:
        _ink(pen, stroke)
    picture = fine.reduce(_SMOOTHER)
    for letters in sheet.letters:
        _letter(picture, letters)
    picture = picture.point(lambda shade: _WHITE if shade > _NEARLY_WHITE else shade)
    inked = picture.point(lambda shade: _WHITE - shade).getbbox() or (0, 0, *picture.size)
    margin = _MARGIN * DOTS
    left, top, right, bottom = (inked[0] - margin, inked[1] - margin, inked[2] + margin, inked[3] + margin)
    picture = picture.crop((max(left, 0), max(top, 0), min(right, picture.width), min(bottom, picture.height)))
    file = io.BytesIO()
    picture.save(file, "PNG", compress_level=6, compress_type=zlib.Z_RLE)  # runs of one shade: small enough, ten times as fast
    return Sketch(file.getvalue(), picture.width * SCALE / DOTS, picture.height * SCALE / DOTS)


def _finer(sheet: Sheet) -> Sheet:
    """A layout in dots; the unit is left out, because it stands beside the sketch."""
    strokes = [
        Stroke(tuple((x * DOTS, y * DOTS) for x, y in stroke.points), stroke.weight * DOTS, stroke.shade,
               tuple(dash * DOTS for dash in stroke.dashes), stroke.fill)
        for stroke in sheet.strokes
    ]  # fmt: skip
    letters = [
        Lettering(each.text, (each.middle[0] * DOTS, each.middle[1] * DOTS), each.size * DOTS, each.turned)
        for each in sheet.letters
        if each.text != "mm"
    ]
    return Sheet(strokes, letters)
