"""A drawing shows what is where it is: cut-outs with their place, edges at a wall, layers; what has no place is told, not drawn."""

from __future__ import annotations

import pytest
import shapely
from test_shapes import ISLAND, outline_of

from pricing.reports.drawing.layout import lay_out
from pricing.reports.quote.layout import SHRUNK, SKETCH_SIZES, SKETCH_WIDTH
from pricing.reports.quote.sizes import NOTES, notes_of, piece_text
from pricing.reports.quote.sketch import HIGHEST, SCALE, sketch_of
from pricing.reports.shared.flowing_page import WIDTHS
from pricing.reports.shared.paging import SMALLEST, room_between_margins
from pricing.rules.geometry.cut_out import CutOut
from pricing.rules.geometry.drawing import AS_AGREED, Area, Circle, Dimension, Drawing, Line, Mark
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
    assert notes_of(drawing, "mm") == [NOTES["as agreed"]]
    letters = [each.text for each in lay_out(drawing, 360, 240, notes=notes_of(drawing, "mm")).letters]
    assert "position as agreed" in letters


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
    assert notes_of(drawing, "mm") == ["layer of 12 mm on the face"]
    assert notes_of(drawing, "in") == ['layer of 1/2" on the face']


#: Points of the line of a layer of 10 mm in a section, by shape and what it lies on [m].
LAYERED = [
    ("slab with a lip", "face", [(0.01, 0.01), (0.03, 0.01), (0.59, 0.08), (0.01, 0.08)]),  # lower edge of the lip, top, back
    ("slab with a lip", "underside", [(0.02, 0.06), (0.6, 0.06)]),
    ("step", "face", [(0.01, 0.15), (0.01, 0.17), (0.29, 0.17)]),  # front of the riser is seen, its back is not
    ("bench", "face", [(0.01, 0.42), (1.39, 0.42)]),
    ("trough", "face", [(-0.14, 0.0), (-0.14, 0.29)]),
    ("trough", "face and inside", [(-0.12, 0.04)]),
    ("coping", "underside", [(0.0, 0.01)]),
    ("ring", "face", [(0.01, 0.04), (0.29, 0.04), (0.71, 0.04)]),
    ("sill", "face", []), ("disc", "face", []), ("L-shaped slab", "face", []), ("square planter", "face", []),
    ("round planter", "face and inside", []), ("slab with openings", "underside", []),
]
SIZES: dict[str, dict[str, float]] = {
    "slab with a lip": {"length": 1.2, "width": 0.6, "thickness": 0.04, "drop": 0.05, "lip_thickness": 0.03, "long_lips": 1,
                        "short_lips": 0},
    "step": {"length": 0.9, "width": 0.3, "thickness": 0.04, "drop": 0.14, "lip_thickness": 0.04, "nosing": 0.025},
    "bench": {"length": 1.4, "width": 0.4, "height": 0.43, "thickness": 0.06, "leg_thickness": 0.06, "leg_inset": 0.1},
    "trough": {"length": 1.0, "width": 0.3, "height": 0.3, "wall": 0.04, "base_thickness": 0.05, "holes": 1, "hole_diameter": 0.02},
    "coping": {"length": 0.6, "width": 0.28, "thickness": 0.06, "fall": 0.015, "grooves": 2, "groove_width": 0.01, "groove_depth": 0.008},
    "ring": {"diameter": 1.0, "inner_diameter": 0.4, "thickness": 0.05},
    "sill": {"length": 1.1, "width": 0.18, "thickness": 0.045, "fall": 0.01, "grooves": 1, "groove_width": 0.01, "groove_depth": 0.008},
    "disc": {"diameter": 0.7, "thickness": 0.03},
    "L-shaped slab": {"length": 2.0, "width": 0.6, "thickness": 0.04, "return_length": 1.6, "return_width": 0.6},
    "square planter": {"width": 0.4, "base_width": 0.32, "height": 0.42, "wall": 0.03, "holes": 1, "hole_diameter": 0.025},
    "round planter": {"diameter": 0.5, "base_diameter": 0.4, "height": 0.4, "wall": 0.04, "holes": 3, "hole_diameter": 0.02},
    "slab with openings": {"length": 0.9, "width": 0.5, "thickness": 0.035, "openings": 1, "opening_length": 0.4, "opening_width": 0.3,
                           "holes": 0, "hole_diameter": 0},
}


@pytest.mark.parametrize(("name", "on", "points"), LAYERED)
def test_a_layer_is_drawn_in_the_section_of_every_shape(name: str, on: str, points: list[tuple[float, float]]) -> None:
    """Its line runs within the cut, its thickness from the sides that it covers (as a geometry library measures it), through the
    points named."""
    shape, thickness = SHAPES[name], 0.01
    drawing = drawn_piece(shape, shape.take_off(SIZES[name]), PieceDetails(layers=((on, thickness),)))
    plain = drawn_piece(shape, shape.take_off(SIZES[name]))
    assert drawing is not None
    assert plain is not None
    lines = [part for part in drawing.views[1].parts if isinstance(part, Line) and part not in plain.views[1].parts]
    assert lines
    cut = shapely.union_all([shapely.Polygon(part.points) for part in drawing.views[1].parts if isinstance(part, Area)])
    for line in lines:
        run = shapely.LineString(line.points)
        assert cut.buffer(1e-9).contains(run)
        middle = run.interpolate(run.length / 2)
        assert cut.boundary.distance(middle) == pytest.approx(thickness)
    found = {(round(x, 6), round(y, 6)) for line in lines for x, y in line.points}
    assert set(points) <= found


def test_an_edge_at_a_wall_has_no_layer_of_the_face() -> None:
    """The line of the face mix of a worktop runs out at its back."""
    details = PieceDetails(seen_long_edges=1, layers=(("face", 0.012),))
    (line,) = [part for part in drawn(details).views[1].parts if isinstance(part, Line)]
    assert [tuple(round(each, 9) for each in point) for point in line.points] == [(0.62, 0.028), (0.012, 0.028), (0.012, 0.0)]


def test_a_section_shows_what_it_cuts() -> None:
    """The mark of a section stands clear of cut-outs where there is room; where there is none, the section is open there."""
    hob = CutOut(0.9, 0.45, 0.0, 1.2, 0.08)
    clear = drawn(PieceDetails((hob,)))
    (mark,) = [part for part in clear.views[0].parts if isinstance(part, Mark)]
    assert not hob.left < mark.start[0] < hob.left + hob.length
    assert [part.points for part in clear.views[1].parts if isinstance(part, Area)] == [((0, 0), (0.62, 0), (0.62, 0.04), (0, 0.04))]
    bowl = CutOut(0.3, 0.3, 0.15, 0.2, 0.2)
    disc = drawn_piece(SHAPES["disc"], {"diameter": 0.7, "thickness": 0.03}, PieceDetails((bowl,)))
    assert disc is not None
    assert [part.points[0][0] for part in disc.views[1].parts if isinstance(part, Area)] == pytest.approx([0.0, 0.5])


def test_an_outline_and_a_solid_are_drawn_to_scale() -> None:
    """The island by its corners; a solid by the box around its model."""
    island = drawn_piece(SHAPES["slab by outline"], {"thickness": 0.05, **ISLAND.figures}, PieceDetails(outline=ISLAND))
    solid = drawn_piece(SHAPES["solid"], {"volume": 0.04}, PieceDetails(extent=(0.5, 0.4, 0.2)))
    assert island is not None
    assert solid is not None
    assert sizes_of(island)[:2] == [1.8, 0.9]
    assert [round(part.size, 3) for view in solid.views for part in view.parts if isinstance(part, Dimension)] == [0.5, 0.4, 0.2]
    assert drawn_piece(SHAPES["solid"], {"volume": 0.04}, PLAIN) is None


def test_a_section_through_two_arms_leaves_what_is_between_them_open() -> None:
    """A top in the shape of a U that opens to the left, cut across both of its arms: two cuts, and the piece behind them."""
    u_top = outline_of([(0, 0, 0), (2.0, 0, 0), (2.0, 1.5, 0), (0, 1.5, 0), (0, 0.9, 0), (1.4, 0.9, 0), (1.4, 0.6, 0), (0, 0.6, 0)])
    drawing = drawn_piece(SHAPES["slab by outline"], {"thickness": 0.05, **u_top.figures}, PieceDetails(outline=u_top))
    assert drawing is not None
    cuts = [part.points for part in drawing.views[1].parts if isinstance(part, Area)]
    assert [(points[0][0], points[2][0]) for points in cuts] == [(0.0, 0.6), (0.9, 1.5)]


@pytest.mark.parametrize("size", [(190, 128), *SKETCH_SIZES])
@pytest.mark.parametrize("details", [PieceDetails((SINK, TAP)), PieceDetails((SINK,), seen_long_edges=1, layers=(("face", 0.012),))])
def test_a_sketch_with_details_stays_in_its_place(size: tuple[int, int], details: PieceDetails) -> None:
    """Whatever is drawn, the sketch is no larger than the place for it."""
    sketch = sketch_of(SHAPES["slab"], SLAB, "mm", details, size)
    assert sketch is not None
    assert sketch.width <= size[0] * SCALE + 1e-9
    assert sketch.height <= max(size[1], HIGHEST) * SCALE + 1e-9


def test_a_long_top_is_drawn_four_times_as_wide_as_a_centimetre() -> None:
    """Of a 2.2 m top a quote with room for it shows a plan of 40 mm and more on paper (96 pixels to the inch)."""
    sheet = lay_out(drawn(PLAIN), *SKETCH_SIZES[0], unit=False)
    xs = [x for x, _ in sheet.strokes()[0].points]
    share = room_between_margins("A4")[1] / 0.75 / sum(WIDTHS)  # as narrow as the paper
    assert (max(xs) - min(xs)) * SCALE * share * 25.4 / 96 > 40


@pytest.mark.parametrize("size", SKETCH_SIZES)
@pytest.mark.parametrize("name", SIZES)
def test_every_view_of_a_sketch_shows_its_form(name: str, size: tuple[int, int]) -> None:
    """Whatever little room a sketch is given, plan and section are longer than their figures are wide."""
    sketch = sketch_of(SHAPES[name], SIZES[name], "mm", PLAIN, size)
    assert sketch is not None
    assert sketch.sheet.clear


@pytest.mark.parametrize("size", SKETCH_SIZES)
def test_a_sketch_with_many_sizes_still_shows_the_piece(size: tuple[int, int]) -> None:
    """Three cut-outs in a long top: where their sizes would leave no room for the plan, they stand in the words alone."""
    top = {"length": 2.4, "width": 0.62, "thickness": 0.04}
    cuts = (CutOut(0.78, 0.48, 0.012, 0.3, 0.07), CutOut(0.56, 0.49, 0.006, 1.5, 0.065), CutOut(0.035, 0.035, 0.0175, 1.18, 0.54))
    sketch = sketch_of(SHAPES["slab"], top, "mm", PieceDetails(cuts, seen_long_edges=1, seen_short_edges=1), size)
    assert sketch is not None
    assert sketch.sheet.clear


def test_a_long_top_with_sink_and_tap_is_not_drawn_small_for_the_sizes_of_the_tap() -> None:
    """Where the sizes of all cut-outs would leave a plan of half the width, those of the largest alone are drawn."""
    cuts = PieceDetails((CutOut(0.56, 0.43, 0.015, 0.7, 0.08), CutOut(0.035, 0.035, 0.0175, 0.98, 0.56)), seen_long_edges=1)
    sketch = sketch_of(SHAPES["slab"], {"length": 2.4, "width": 0.65, "thickness": 0.04}, "mm", cuts, (212, 145))
    assert sketch is not None
    said = {letters.text for letters in sketch.sheet.letters}
    assert {"2400", "650", "700", "560", "430", "80"} <= said
    assert "980" not in said
    assert sketch.sheet.roomy


def test_the_largest_of_many_cut_outs_have_their_sizes() -> None:
    """Of five cut-outs three are measured, among them the sink that was typed last."""
    taps = [CutOut(0.035, 0.035, 0.0175, 0.2 + 0.1 * number, 0.5) for number in range(4)]
    drawing = drawn(PieceDetails((*taps, SINK)))
    sized = [(each.start, each.end) for each in drawing.views[0].parts if isinstance(each, Dimension)]
    assert any(abs(end[0] - start[0] - SINK.length) < 1e-9 for start, end in sized)


@pytest.mark.parametrize("height", [height for _, height in SKETCH_SIZES])
def test_the_letters_of_a_sketch_can_be_read(height: int) -> None:
    """On paper no letter of a sketch, of a note below it among them, is smaller than the smallest type that is printed."""
    details = PieceDetails((SINK, TAP, CutOut(0.1, 0.1)), seen_long_edges=1, layers=(("face", 0.012),))
    drawing = drawn(details)
    sheet = lay_out(drawing, SKETCH_WIDTH, height, notes=notes_of(drawing, "mm"), unit=False)
    share = room_between_margins("A4")[1] / 0.75 / sum(WIDTHS)
    assert min(letters.size for letters in sheet.letters) * SCALE * 0.75 * share * SHRUNK[1] >= SMALLEST


def test_the_words_of_a_piece_tell_what_it_has() -> None:
    """Sizes, cut-outs, edges and layers, in the order of a drawing."""
    details = PieceDetails((SINK, TAP), seen_long_edges=1, layers=(("face", 0.012),))
    assert piece_text(SHAPES["slab"], SLAB, details) == (
        "2200 × 620 × 40 mm, cut-out 760 × 460 mm, corners 15 mm, round cut-out 35 mm, 1 long edge at the wall, "
        "layer of 12 mm on the face"
    )
    taps = (CutOut(0.035, 0.035, 0.0175, 0.9, 0.5), TAP, CutOut(0.035, 0.035, 0.0175))
    assert "3 × round cut-out 35 mm, position as agreed" in piece_text(SHAPES["slab"], SLAB, PieceDetails(taps))
    assert piece_text(SHAPES["solid"], {"volume": 0.04}, PieceDetails(extent=(0.5, 0.4, 0.2))) == "500 × 400 × 200 mm"
