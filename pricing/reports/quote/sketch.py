"""The small dimensioned sketch of a piece: laid out for its size on the page, drawn finer, without the white around it."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import replace

from pricing.dataclass import dataclass
from pricing.languages.words import Words
from pricing.reports.drawing.layout import LaidOut, lay_out
from pricing.reports.drawing.png import sixteen_greys
from pricing.reports.drawing.strokes import TINT, LengthUnit, Lettering
from pricing.reports.quote.sizes import ENGLISH_WORDS, notes_of
from pricing.rules.geometry.drawing import Drawing, Point
from pricing.rules.geometry.shape import Shape
from pricing.rules.shapes.piece_drawing import MOST_SIZED, PLAIN, PieceDetails, drawn_piece

#: A sketch is laid out on a sheet of this size [px of the layout], so that its letters are as small as can be read.
LAYOUT_WIDTH, LAYOUT_HEIGHT = 190, 128

#: Size on the page of one pixel of the layout [pixels], and how many dots of the picture that is.
SCALE, DOTS = 1.0, 3

#: As high as a sketch becomes where it is not clear in the room that it was given, and in what steps [px of the layout].
HIGHEST, HIGHER_BY = 170, 13

#: Lines are drawn this many times too large and averaged down; white left around the picture [px of the layout].
_FINER, _MARGIN = 2, 2

#: Greys of a sketch: sixteen are enough for smooth lines, and ink, thin lines and tint are among them as they are.
_STEP = 17
_GREYS = [TINT if abs(shade - TINT) < _STEP / 2 else shade for shade in range(0, 256, _STEP)]


@dataclass(frozen=True)
class Sketch:
    """A picture for the page, inked when it is asked for.

    Parameters
    ----------
    sheet : its strokes and letters [px of the layout]
    corner : what of the layout is its upper left corner [px of the layout]
    dots : its width and height
    scale : size of a dot on the page [pixels]
    """

    sheet: LaidOut
    corner: Point
    dots: tuple[int, int]
    scale: float

    @property
    def width(self) -> float:
        """As it is to appear on the page [pixels]."""
        return self.dots[0] * self.scale

    @property
    def height(self) -> float:
        """As it is to appear on the page [pixels]."""
        return self.dots[1] * self.scale

    @functools.cached_property
    def png(self) -> bytes:
        """The picture."""
        from PIL import Image, ImageDraw

        from pricing.reports.drawing.render import ink, letter

        width, height = self.dots
        west, north = self.corner
        fine = Image.new("L", (width * _FINER, height * _FINER), len(_GREYS) - 1)
        pen = ImageDraw.Draw(fine)
        for stroke in self.sheet.strokes():
            ink(pen, stroke, DOTS * _FINER, self.corner, _STEP)
        picture = fine.reduce(_FINER)
        for each in self.sheet.letters:
            x, y = each.middle
            letter(picture, Lettering(each.text, ((x - west) * DOTS, (y - north) * DOTS), each.size * DOTS, each.turned), _STEP)
        return sixteen_greys(picture, _GREYS)


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
        from PIL import Image  # noqa: F401  # only whether it is there
    except ImportError:  # a quote without sketches is still a quote
        return None
    return _laid_out(shape.name, tuple(dimensions.items()), figures, details, size, words)


@functools.lru_cache(maxsize=2048)
def _laid_out(
    name: str, dimensions: tuple[tuple[str, float], ...], figures: LengthUnit, details: PieceDetails, size: tuple[int, int], words: Words
) -> Sketch | None:
    clearest = _clearest(name, dimensions, figures, details, size, words)
    if clearest is None:
        return None
    room, sheet = clearest
    spelt = _spelt(sheet, words)
    left, top, right, bottom = spelt.extent()
    corner = left - _MARGIN, top - _MARGIN
    width, height = math.ceil((right - corner[0] + _MARGIN) * DOTS), math.ceil((bottom - corner[1] + _MARGIN) * DOTS)
    # What cannot be laid out in so little room is made smaller.
    return Sketch(spelt, corner, (width, height), min(SCALE / DOTS, size[0] * SCALE / width, room * SCALE / height))


def _clearest(
    name: str, dimensions: tuple[tuple[str, float], ...], figures: LengthUnit, details: PieceDetails, size: tuple[int, int], words: Words
) -> tuple[int, LaidOut] | None:
    """The height that a layout was given [px of the layout], and the layout; None where the shape has no drawing.

    With the sizes of fewer cut-outs, then higher, where so little room shows little of the piece: its words tell them too.
    """
    placed = sum(cut.is_placed for cut in details.cut_outs)
    sized = (MOST_SIZED, 1, 0) if placed > 1 else (1, 0) if placed else (0,)
    first: tuple[int, LaidOut] | None = None
    crowded: tuple[int, LaidOut] | None = None
    for room, most in [(each, most) for each in range(size[1], max(size[1], HIGHEST) + 1, HIGHER_BY) for most in sized]:
        if crowded is not None and not most:
            return crowded
        drawing = _drawn(name, dimensions, details, most)
        if drawing is None:
            return None
        laid = room, lay_out(drawing, size[0], room, figures, notes_of(drawing, figures, words), unit=False)
        if laid[1].clear and (most <= 1 or laid[1].roomy):
            return laid
        first = first or laid
        crowded = crowded or (laid if laid[1].clear else None)
    return first


@functools.lru_cache(maxsize=32)
def _drawn(name: str, dimensions: tuple[tuple[str, float], ...], details: PieceDetails, most_sized: int) -> Drawing | None:
    """Plan and section of a piece, which are tried in several sizes one after the other."""
    from pricing.rules.shapes import SHAPES

    return drawn_piece(SHAPES[name], dict(dimensions), details, most_sized)


def _spelt(sheet: LaidOut, words: Words) -> LaidOut:
    """A layout with its figures as a language writes them."""
    letters = [replace(each, text=words.figure(each.text)) if each.text[:1].isdigit() else each for each in sheet.letters]
    return replace(sheet, letters=tuple(letters))
