"""A drawing shows what is where it is: cut-outs with their place, edges at a wall, layers; what has no place is told, not drawn."""

from __future__ import annotations

import pytest
from test_shapes import ISLAND

from pricing.reports.drawing.layout import lay_out
from pricing.reports.quote.sizes import piece_text
from pricing.reports.quote.sketch import sketch_of
from pricing.rules.geometry.cut_out import CutOut
from pricing.rules.geometry.drawing import AS_AGREED, Circle, Dimension, Drawing, Line
from pricing.rules.shapes import SHAPES
from pricing.rules.shapes.piece_drawing import PLAIN, PieceDetails, drawn_piece

SLAB = {"length": 2.2, "width": 0.62, "thickness": 0.04}
SINK, TAP = CutOut(0.76, 0.46, 0.015, 0.25, 0.08), CutOut(0.035, 0.035, 0.0175, 1.5, 0.52)


def drawn(details: PieceDetails, name: str = "slab", **sizes: float) -> Drawing:
    made = drawn_piece(SHAPES[name], {**SLAB, **sizes}, details)
    assert made is not None
    return made


def sizes_of(drawing: Drawing) -> list[float]:
    return [round(part.size, 4) for part in drawing.views[0].parts if isinstance(part, Dimension)]


def test_a_plain_piece_is_the_drawing_of_its_shape() -> None:
    """Nothing is added where there is nothing besides the dimensions."""
    assert drawn(PLAIN) == SHAPES["slab"].drawn(SLAB)


def test_a_cut_out_is_drawn_where_it_is_with_its_sizes() -> None:
    """The sink from 250 to 1010 and from 80 to 540; the tap round; how far each is from left and front is written."""
    drawing = drawn(PieceDetails((SINK, TAP)))
    parts = drawing.views[0].parts
    outlines = [part for part in parts if isinstance(part, Line) and len(part.points) > 10]
    xs, ys = zip(*outlines[0].points, strict=True)
    assert (min(xs), max(xs), min(ys), max(ys)) == pytest.approx((0.25, 1.01, 0.08, 0.54))
    (circle,) = [part for part in parts if isinstance(part, Circle)]
    assert circle.centre == pytest.approx((1.5175, 0.5375))
    assert circle.radius == pytest.approx(0.0175)
    assert {0.25, 0.76, 0.08, 0.46, 1.5, 0.035, 0.52} <= set(sizes_of(drawing))
    assert drawing.notes == ()


def test_what_has_no_place_is_not_drawn_and_the_drawing_says_so() -> None:
    """Neither a cut-out without a place nor an opening of a slab with openings is put anywhere."""
    drawing = drawn(PieceDetails((CutOut(0.76, 0.46),)))
    assert drawing.views == drawn(PLAIN).views
    assert drawing.notes == (AS_AGREED,)
    openings = drawn(PLAIN, "slab with openings", openings=1, opening_length=0.5, opening_width=0.4, holes=0, hole_diameter=0)
    assert openings.views == drawn(PLAIN).views
    assert openings.notes == (AS_AGREED,)
    letters = [each.text for each in lay_out(drawing, 360, 240).letters]
    assert AS_AGREED in letters


def test_edges_at_a_wall_are_hatched_beside_the_edge() -> None:
    """One long edge: strokes behind the back edge; all four: on every side."""
    parts = drawn(PieceDetails(seen_long_edges=1)).views[0].parts
    added = [part for part in parts if part not in drawn(PLAIN).views[0].parts]
    assert added
    assert all(isinstance(part, Line) and min(y for _, y in part.points) >= 0.62 for part in added)
    everywhere = drawn(PieceDetails(seen_long_edges=0, seen_short_edges=0)).views[0].parts
    assert len(everywhere) > len(parts) + len(added)


def test_a_layer_is_a_line_in_the_section_and_a_word_below() -> None:
    """12 mm on the face: inside the cut, 12 mm from its top and its sides."""
    drawing = drawn(PieceDetails(layers=(("face", 0.012),)))
    lines = [part for part in drawing.views[1].parts if isinstance(part, Line)]
    assert ((0.012, 0.028) in [tuple(round(each, 9) for each in point) for line in lines for point in line.points])
    assert drawing.notes == ("face: 12 mm",)


def test_an_outline_and_a_solid_are_drawn_to_scale() -> None:
    """The island by its corners; a solid by the box around its model."""
    island = drawn_piece(SHAPES["slab by outline"], {"thickness": 0.05, **ISLAND.figures}, PieceDetails(outline=ISLAND))
    solid = drawn_piece(SHAPES["solid"], {"volume": 0.04}, PieceDetails(extent=(0.5, 0.4, 0.2)))
    assert island is not None
    assert solid is not None
    assert sizes_of(island)[:2] == [1.8, 0.9]
    assert [round(part.size, 3) for view in solid.views for part in view.parts if isinstance(part, Dimension)] == [0.5, 0.4, 0.2]
    assert drawn_piece(SHAPES["solid"], {"volume": 0.04}, PLAIN) is None


@pytest.mark.parametrize("size", [(190, 128), (240, 140), (240, 170)])
@pytest.mark.parametrize("details", [PieceDetails((SINK, TAP)), PieceDetails((SINK,), seen_long_edges=1, layers=(("face", 0.012),))])
def test_a_sketch_with_details_stays_in_its_place(size: tuple[int, int], details: PieceDetails) -> None:
    """Whatever is drawn, the sketch is no larger than the place for it."""
    sketch = sketch_of(SHAPES["slab"], SLAB, "mm", details, size)
    assert sketch is not None
    assert sketch.width <= size[0] * 0.8
    assert sketch.height <= size[1] * 0.8


def test_a_long_top_is_drawn_four_times_as_wide_as_a_centimetre() -> None:
    """Of a 2.2 m top a quote of up to three lines shows a plan of 40 mm and more on paper (96 pixels to the inch)."""
    sheet = lay_out(drawn(PLAIN), 240, 170)
    xs = [x for x, _ in sheet.strokes[0].points]
    assert (max(xs) - min(xs)) * 0.8 * 25.4 / 96 > 40


def test_the_words_of_a_piece_tell_what_it_has() -> None:
    """Sizes, cut-outs, edges and layers, in the order of a drawing."""
    details = PieceDetails((SINK, TAP), seen_long_edges=1, layers=(("face", 0.012),))
    assert piece_text(SHAPES["slab"], SLAB, details) == (
        "2200 × 620 × 40 mm, cut-out 760 × 460 mm, corners 15 mm, round cut-out 35 mm, 1 long edge at the wall, "
        "layer of 12 mm on the face"
    )
    assert piece_text(SHAPES["solid"], {"volume": 0.04}, PieceDetails(extent=(0.5, 0.4, 0.2))) == "500 × 400 × 200 mm"
