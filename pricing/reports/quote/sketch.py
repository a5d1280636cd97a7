"""The small dimensioned sketch of a piece: laid out for its size on the page, drawn finer, without the white around it."""

from __future__ import annotations

import functools
import io
import math
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace

from pricing.languages.words import Words
from pricing.reports.drawing.layout import lay_out
from pricing.reports.drawing.strokes import TINT, LaidOut, LengthUnit, Lettering, Stroke, figure
from pricing.reports.quote.sizes import ENGLISH_WORDS
from pricing.rules.geometry.shape import Shape
from pricing.rules.shapes.piece_drawing import PLAIN, PieceDetails, drawn_piece

#: A sketch is laid out on a sheet of this size [px of the layout], so that its letters are as small as can be read.
LAYOUT_WIDTH, LAYOUT_HEIGHT = 190, 128

#: Size on the page of one pixel of the layout [pixels], and how many dots of the picture that is.
SCALE, DOTS = 0.8, 3

#: Lines are drawn this many times too large and averaged down; white left around the picture [px of the layout].
_FINER, _MARGIN = 2, 2

#: Greys of a sketch: sixteen are enough for smooth lines, and ink, thin lines and tint are among them as they are.
_STEP = 17
_GREYS = [TINT if abs(shade - TINT) < _STEP / 2 else shade for shade in range(0, 256, _STEP)]
_NEAREST = [round(shade / _STEP) for shade in range(256)]


@dataclass(frozen=True, slots=True)
class Sketch:
    """A picture for the page.

    Parameters
    ----------
    png : the picture
    width, height : as it is to appear on the page [pixels]
    scale : size of a dot of the picture on the page [pixels]
    """

    png: bytes
    width: float
    height: float
    scale: float


def sketch_of(
    shape: Shape, dimensions: Mapping[str, float], figures: LengthUnit, details: PieceDetails = PLAIN,
    size: tuple[int, int] = (LAYOUT_WIDTH, LAYOUT_HEIGHT), words: Words = ENGLISH_WORDS,
) -> Sketch | None:
    """The sketch of a piece; None where its shape has no drawing, or Pillow, which draws it, is not installed.

    Parameters
    ----------
    shape : of the piece
    dimensions : its values by name [SI]
    figures : ``mm`` or ``in``
    details : what the piece has besides
    size : that it is laid out for [px of the layout]
    words : of the language
    """
    try:
        return _drawn(shape.name, tuple(dimensions.items()), figures, details, size, words)
    except ImportError:  # a quote without sketches is still a quote
        return None


@functools.lru_cache(maxsize=512)
def _drawn(
    name: str, dimensions: tuple[tuple[str, float], ...], figures: LengthUnit, details: PieceDetails, size: tuple[int, int], words: Words
) -> Sketch | None:
    from PIL import Image, ImageDraw

    from pricing.reports.drawing.render import ink, letter
    from pricing.rules.shapes import SHAPES

    drawing = drawn_piece(SHAPES[name], dict(dimensions), details, lambda length: words.figure(figure(length, figures)))
    if drawing is None:
        return None
    drawing = replace(drawing, notes=tuple(words.say(note) for note in drawing.notes))
    sheet, (width, height) = _in_dots(lay_out(drawing, *size, figures))
    fine = Image.new("L", (width * _FINER, height * _FINER), 255)
    pen = ImageDraw.Draw(fine)
    for stroke in sheet.strokes:
        ink(pen, stroke, _FINER)
    picture = fine.reduce(_FINER)
    for letters in sheet.letters:
        letter(picture, letters)
    few = Image.frombytes("P", picture.size, picture.point(_NEAREST).tobytes())
    few.putpalette([part for grey in _GREYS for part in (grey, grey, grey)])
    file = io.BytesIO()
    few.save(file, "PNG", bits=4, compress_level=6, compress_type=zlib.Z_RLE)  # runs of one shade: small enough, and fast
    # What cannot be laid out in so little room is made smaller.
    scale = min(SCALE / DOTS, size[0] * SCALE / width, size[1] * SCALE / height)
    return Sketch(file.getvalue(), width * scale, height * scale, scale)


def _in_dots(sheet: LaidOut) -> tuple[LaidOut, tuple[int, int]]:
    """A layout in dots without the white around it, and its size [dots]; the unit is left out, it stands beside the sketch."""
    kept = LaidOut(sheet.strokes, [each for each in sheet.letters if each.text != "mm"])
    left, top, right, bottom = kept.extent()
    west, north = left - _MARGIN, top - _MARGIN
    strokes = [
        Stroke(tuple(((x - west) * DOTS, (y - north) * DOTS) for x, y in stroke.points), stroke.weight * DOTS, stroke.shade,
               tuple(dash * DOTS for dash in stroke.dashes), stroke.fill)
        for stroke in kept.strokes
    ]
    letters = [
        Lettering(each.text, ((each.middle[0] - west) * DOTS, (each.middle[1] - north) * DOTS), each.size * DOTS, each.turned)
        for each in kept.letters
    ]
    return LaidOut(strokes, letters), (math.ceil((right - west + _MARGIN) * DOTS), math.ceil((bottom - north + _MARGIN) * DOTS))
