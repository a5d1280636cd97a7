"""Drawings: every size is written once, nothing covers anything else, and a picture holds nothing but the drawing."""

from __future__ import annotations

import struct
from collections import Counter
from itertools import combinations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from test_shapes import EXAMPLES

from pricing.reports.drawing.layout import lay_out
from pricing.reports.drawing.render import draw_png
from pricing.reports.drawing.strokes import LengthUnit, box_of, figure
from pricing.reports.drawing.views import strokes_of
from pricing.reports.quote.sketch import HIGHEST, LAYOUT_WIDTH, SCALE, sketch_of
from pricing.rules.geometry.drawing import Dimension, Drawing
from pricing.rules.shapes import SHAPES

DRAWN = {name: sizes for name, sizes in EXAMPLES.items() if SHAPES[name].drawing is not None}
COUNTS = {"long_lips", "short_lips", "openings", "holes", "grooves"}
#: What of a slab with openings is told in words, because a drawing would have to say where it lies.
AS_AGREED = {"opening_length", "opening_width", "hole_diameter"}
each_drawn = pytest.mark.parametrize("name", DRAWN, ids=lambda name: name.replace(" ", "_"))


def drawn(name: str, **changed: float) -> Drawing:
    """The example piece of a shape, with some of its dimensions changed."""
    made = SHAPES[name].drawn({**EXAMPLES[name], **changed})
    assert made is not None
    return made


def test_all_but_the_solid_are_drawn() -> None:
    """Every shape has a drawing of its own, except the one that has only figures, and the one that is drawn by its outline."""
    assert set(SHAPES) - set(DRAWN) == {"solid", "slab by outline"}
    assert SHAPES["solid"].drawn(EXAMPLES["solid"]) is None


@each_drawn
def test_every_size_is_written(name: str) -> None:
    """Each dimension that was typed, and each that follows from a blank, stands on the drawing."""
    values = SHAPES[name].take_off(DRAWN[name])
    written = Counter(
        round(part.size, 9) for view in drawn(name).views for part in view.parts if isinstance(part, Dimension)
    )
    blank = {"lip_thickness": "lip", "base_thickness": "floor_thickness", "leg_thickness": "leg"}
    asked: Counter[float] = Counter()
    for dimension in SHAPES[name].dimensions:
        if dimension not in COUNTS and not (name == "slab with openings" and dimension in AS_AGREED):
            size = float(values[blank.get(dimension, dimension)])
            asked[round(size, 9)] += 1 if size > 0 else 0
    asked = +asked
    assert not asked - written, "a size is missing"
    assert not written - asked, "a size is written twice"


@each_drawn
@pytest.mark.parametrize("figures", ["mm", "in"])
@pytest.mark.parametrize("size", [(360, 240), (600, 400), (420, 560)])
def test_nothing_is_covered_or_cut_off(name: str, figures: LengthUnit, size: tuple[int, int]) -> None:
    """No figure lies on another one, and all lines and figures lie on the sheet."""
    sheet = lay_out(drawn(name), *size, figures)
    left, top, right, bottom = sheet.extent()
    assert left >= 0
    assert top >= 0
    assert right <= size[0]
    assert bottom <= size[1]
    for one, other in combinations(sheet.letters, 2):
        a, b = one.box, other.box
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, f"{one.text} and {other.text}"


@each_drawn
@pytest.mark.parametrize("figures", ["mm", "in"])
def test_a_drawing_is_measured_before_it_is_drawn(name: str, figures: LengthUnit) -> None:
    """How far the strokes of a view will reach is known before any of them is made."""
    for view in lay_out(drawn(name), 212, 145, figures).views:
        assert box_of([point for stroke in strokes_of(view) for point in stroke.points]) == pytest.approx(view.reach, abs=1e-9)


@settings(max_examples=150, deadline=None, derandomize=True, database=None)
@given(st.data())
def test_odd_pieces_stay_on_the_sheet(data: st.DataObject) -> None:
    """A piece up to four times as long, or as thin, as usual still fits, lines and figures."""
    name = data.draw(st.sampled_from(sorted(DRAWN)))
    factors = {each: data.draw(st.sampled_from([0.25, 0.5, 1.0, 2.0, 4.0])) for each in DRAWN[name]}
    sizes = {each: value if each in COUNTS else value * factors[each] for each, value in DRAWN[name].items()}
    assume(not SHAPES[name].refusals(sizes))
    left, top, right, bottom = lay_out(drawn(name, **sizes), 480, 320).extent()
    assert -2 <= left <= right <= 482
    assert -2 <= top <= bottom <= 322


@settings(max_examples=60, deadline=None, derandomize=True, database=None)
@given(st.data())
def test_a_sketch_stays_in_its_place(data: st.DataObject) -> None:
    """A sketch of any piece, its white margin counted, is no larger on the page than the place that a quote has for it."""
    name = data.draw(st.sampled_from(sorted(DRAWN)))
    factors = {each: data.draw(st.sampled_from([0.25, 0.5, 1.0, 2.0, 4.0])) for each in DRAWN[name]}
    sizes = {each: value if each in COUNTS else value * factors[each] for each, value in DRAWN[name].items()}
    assume(not SHAPES[name].refusals(sizes))
    sketch = sketch_of(SHAPES[name], sizes, data.draw(st.sampled_from(["mm", "in"])))
    assert sketch is not None
    assert sketch.width <= LAYOUT_WIDTH * SCALE + 1e-9
    assert sketch.height <= HIGHEST * SCALE + 1e-9
    dots = struct.unpack(">II", sketch.png[16:24])
    assert (sketch.width, sketch.height) == pytest.approx([count * sketch.scale for count in dots])


@each_drawn
def test_a_picture_holds_nothing_else(name: str) -> None:
    """The same drawing gives the same bytes, and a PNG has no part for text, time or program."""
    picture = draw_png(drawn(name), 480, 320)
    assert picture == draw_png(drawn(name), 480, 320)
    assert struct.unpack(">II", picture[16:24]) == (480, 320)
    place, kinds = 8, []
    while place < len(picture):
        length, kind = struct.unpack(">I4s", picture[place : place + 8])
        kinds.append(kind)
        place += 12 + length
    assert set(kinds) == {b"IHDR", b"IDAT", b"IEND"}
    assert len(picture) < 20_000


FIGURES: list[tuple[float, LengthUnit, str]] = [
    (0.6, "mm", "600"), (0.0125, "mm", "12.5"), (3.0, "mm", "3000"), (0.1 + 0.2, "mm", "300"),
    (0.0254, "in", '1"'), (0.6, "in", '23 5/8"'), (0.0127, "in", '1/2"'), (0.025, "in", '1"'),
]


@pytest.mark.parametrize(("length", "figures", "text"), FIGURES)
def test_figures(length: float, figures: LengthUnit, text: str) -> None:
    """Millimetres are written whole where they are, inches to the nearest sixteenth."""
    assert figure(length, figures) == text


def test_a_lip_that_is_not_there_is_not_drawn() -> None:
    """Hidden edges of the plan follow the lips: one for a single lip, four all round."""
    for long_lips, short_lips, edges in ((1, 0, 1), (0, 2, 2), (2, 2, 4)):
        plan = drawn("slab with a lip", width=0.4, long_lips=long_lips, short_lips=short_lips).views[0]
        assert sum(getattr(part, "kind", "") == "hidden" for part in plan.parts) == edges
