"""Free outlines agree with a general geometry library on random simple polygons whose corners are rounded."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shape_order import check_order
from shapely.geometry import Point, Polygon
from solids import box, measure
from test_cut_outs import agree, not_below

from pricing.rules.geometry import plan
from pricing.rules.geometry.outline import MOST_POINTS, Outline, outline_of
from pricing.rules.shapes import SHAPES
from pricing.rules.shapes.slab_by_outline import SLAB_BY_OUTLINE, outline_cuts, outline_drawing

many = settings(
    max_examples=200, deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)

#: Chords in a quarter circle of the referee; a chord is shorter than its arc by 1/24 of its angle squared.
QUARTER = 256


@st.composite
def stars(draw: st.DrawFn) -> list[tuple[float, float]]:
    """A random simple polygon: points at growing angles around a middle, at any distance, in either order."""
    count = draw(st.integers(3, 9))
    shares = [draw(st.integers(10, 100)) for _ in range(count)]
    angles = np.cumsum(shares) / sum(shares) * 2 * np.pi
    assume(np.diff(np.concatenate((angles, [angles[0] + 2 * np.pi]))).max() < 0.95 * np.pi)
    reaches = [draw(st.integers(200, 2000)) / 1000 for _ in range(count)]
    points = [(float(r * np.cos(a)), float(r * np.sin(a))) for r, a in zip(reaches, angles, strict=True)]
    return points if draw(st.booleans()) else points[::-1]


def fitting_radii(points: list[tuple[float, float]], shares: list[float]) -> list[float]:
    """A radius for each corner that fits beside its neighbours'."""
    corners = np.array(points)
    before, after = corners - np.roll(corners, 1, axis=0), np.roll(corners, -1, axis=0) - corners
    dot = (before * after).sum(axis=1)
    turned = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    lengths = np.linalg.norm(before, axis=1), np.linalg.norm(after, axis=1)
    half = turned / (lengths[0] * lengths[1] + dot)
    most = np.minimum(*lengths) / 2 / np.maximum(half, 1e-9)
    return [0.0 if share < 0.2 else float(min(share * room, 3.0)) for share, room in zip(shares, most, strict=True)]


def by_library(points: list[tuple[float, float]], radii: list[float]) -> Polygon:
    """The same outline made of sets: at each corner what lies between it and its circle is taken away, or filled in."""
    whole = Polygon(points)
    turned = 1.0 if whole.exterior.is_ccw else -1.0
    corners = np.array(points)
    for corner, before, after, radius in zip(corners, np.roll(corners, 1, axis=0), np.roll(corners, -1, axis=0), radii, strict=True):
        if not radius:
            continue
        back, on = (before - corner) / np.linalg.norm(before - corner), (after - corner) / np.linalg.norm(after - corner)
        bisector = (back + on) / np.linalg.norm(back + on)
        half = np.arccos(np.clip(back @ on, -1, 1)) / 2
        centre = corner + bisector * radius / np.sin(half)
        reach = radius / np.tan(half)
        starts, ends = corner + back * reach, corner + on * reach
        over = 1e-3 * radius  # so that no side of what is taken lies along a side of the outline
        sides = [starts + (starts - centre) / radius * over, ends + (ends - centre) / radius * over]
        kite = Polygon([corner - bisector * over / np.sin(half), sides[0], centre, sides[1]])
        beyond = kite.difference(Point(centre).buffer(radius, quad_segs=QUARTER))
        outward = turned * (-back[0] * on[1] + back[1] * on[0]) > 0
        whole = whole.difference(beyond) if outward else whole.union(beyond)
    return whole


@many
@given(stars(), st.data())
def test_areas_and_perimeters_are_those_of_a_geometry_library(points: list[tuple[float, float]], data: st.DataObject) -> None:
    """Shoelace less rounded corners gives the area and the perimeter that sets of points give, to the error of its chords."""
    radii = fitting_radii(points, [data.draw(st.floats(0, 0.95)) for _ in points])
    outline = outline_of([(x, y, r) for (x, y), r in zip(points, radii, strict=True)])
    assume(not outline.faults())
    made = by_library(points, radii)
    error = 2 * (np.pi / 2 / QUARTER) ** 2  # of a chord against its arc, with a margin
    taken = sum(radius**2 for radius in radii) + 1e-9
    assert outline.figures["outline_area"] == pytest.approx(made.area, abs=error * taken * np.pi + 1e-9)
    # where a circle just touches a side, the step that its chords leave is far shorter than a chord
    assert outline.figures["outline_girth"] == pytest.approx(made.length, abs=error * sum(radii) * 4 + 1e-9, rel=1e-4)


@many
@given(stars())
def test_sharp_outlines_agree_exactly(points: list[tuple[float, float]]) -> None:
    """Without rounded corners area, perimeter and extent are those of the library."""
    outline, made = outline_of([(x, y, 0.0) for x, y in points]), Polygon(points)
    assume(not outline.faults())
    west, south, east, north = made.bounds
    expected = {
        "outline_area": made.area, "outline_girth": made.length, "outline_length": east - west, "outline_width": north - south,
    }
    assert {name: outline.figures[name] for name in expected} == pytest.approx(expected, rel=1e-9)
    corners = outline.figures["outward_corners"] + outline.figures["inward_corners"]
    assert corners == len(points)


@many
@given(st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), min_size=4, max_size=8, unique=True))
def test_an_outline_is_refused_where_the_library_says_it_is_not_simple(points: list[tuple[int, int]]) -> None:
    """Whether sides cross or touch is what the geometry library says, for points on a coarse grid."""
    outline = outline_of([(x / 10, y / 10, 0.0) for x, y in points])
    library = Polygon(points)
    refused = bool(outline.faults())
    assert refused == (not library.is_valid or library.area == 0)


def test_both_ways_round_are_one_outline() -> None:
    """Points in the other order surround the same slab."""
    points = [(0.0, 0.0, 0.0), (2.0, 0.0, 0.3), (2.0, 1.0, 0.3), (0.8, 1.0, 0.1), (0.8, 1.6, 0.0), (0.0, 1.6, 0.05)]
    assert outline_of(points).figures["outline_area"] == pytest.approx(outline_of(points[::-1]).figures["outline_area"], rel=1e-12)
    for name in ("outline_girth", "outward_corners", "inward_corners", "outline_length", "outline_width"):
        assert outline_of(points).figures[name] == pytest.approx(outline_of(points[::-1]).figures[name], rel=1e-12)


def take_off(outline: Outline, thickness: float) -> dict[str, float]:
    figures = {name: outline.figures[name] for name in SLAB_BY_OUTLINE.measured}
    return {name: float(value) for name, value in SLAB_BY_OUTLINE.take_off({"thickness": thickness, **figures}).items()}


def test_a_rectangle_by_its_outline_is_the_slab() -> None:
    """A rectangle given by four points has the take-off and the mould of a slab of that size."""
    outline = outline_of([(0.5, 0.2, 0), (2.5, 0.2, 0), (2.5, 0.8, 0), (0.5, 0.8, 0)])
    slab = SHAPES["slab"].take_off({"length": 2.0, "width": 0.6, "thickness": 0.04})
    made = take_off(outline, 0.04)
    for name in ("volume", "face_area", "underside_area", "arris_length", "open_side_area", "mould_area", "joint_length", "release_area"):
        assert made[name] == pytest.approx(float(slab[name]), rel=1e-12), name


def test_an_l_by_its_outline_is_the_l_shaped_slab_but_for_its_base() -> None:
    """An L given by six points differs from the L-shaped slab only in the base: one rectangle, and not one for each arm."""
    outline = outline_of([(0, 0, 0), (2.0, 0, 0), (2.0, 0.6, 0), (0.5, 0.6, 0), (0.5, 1.5, 0), (0, 1.5, 0)])
    sizes = {"length": 2.0, "width": 0.6, "thickness": 0.04, "return_length": 1.5, "return_width": 0.5}
    corner = {name: float(value) for name, value in SHAPES["L-shaped slab"].take_off(sizes).items()}
    made = take_off(outline, 0.04)
    for name in ("volume", "face_area", "underside_area", "arris_length", "open_side_area", "joint_length", "release_area"):
        assert made[name] == pytest.approx(corner[name], rel=1e-12), name
    assert made["mould_area"] - 2.0 * 1.5 == pytest.approx(corner["mould_area"] - corner["plan_area"], rel=1e-12)


def test_a_solid_of_the_outline_agrees() -> None:
    """A slab with two outward steps, built as a solid, has the volume, faces and edges of its outline."""
    outline = outline_of([(0, 0, 0), (3, 0, 0), (3, 1, 0), (2, 1, 0), (2, 0.8, 0), (1, 0.8, 0), (1, 1, 0), (0, 1, 0)])
    solid = box((0, 0, 0), (3, 1, 0.05)) - box((1, 0.8, -1), (2, 2, 1))
    made = take_off(outline, 0.05)
    names = ("volume", "face_area", "underside_area", "open_side_area", "release_area", "arris_length", "joint_length")
    agree({name: made[name] for name in names}, measure(solid, not_below, not_below))


def test_a_disc_is_a_square_whose_corners_are_rounded_to_its_middle() -> None:
    """Rounded by half its side, a square is a disc: area, edge and arris."""
    outline = outline_of([(0, 0, 0.4), (0.8, 0, 0.4), (0.8, 0.8, 0.4), (0, 0.8, 0.4)])
    assert outline.faults() == []
    disc = SHAPES["disc"].take_off({"diameter": 0.8, "thickness": 0.04})
    made = take_off(outline, 0.04)
    for name in ("volume", "face_area", "arris_length", "joint_length", "release_area"):
        assert made[name] == pytest.approx(float(disc[name]), rel=1e-12), name


@many
@given(stars(), st.data())
def test_the_cut_list_has_the_boards_that_are_paid_for(points: list[tuple[float, float]], data: st.DataObject) -> None:
    """Base and sides of the cut list add up to the mould's area; every edge that is not all arc has its side."""
    radii = fitting_radii(points, [data.draw(st.floats(0, 0.9)) for _ in points])
    outline = outline_of([(x, y, r) for (x, y), r in zip(points, radii, strict=True)])
    assume(not outline.faults())
    values = take_off(outline, 0.04)
    cuts = outline_cuts(outline, values, str)
    assert sum(cut.length * cut.width * cut.count for cut in cuts) == pytest.approx(values["mould_area"], rel=1e-2)
    straight = [length for length in outline.of_points["straight"] if length > 0.04]
    assert sum(cut.name.startswith("side") for cut in cuts) >= len(straight)


@pytest.mark.parametrize(("points", "said"), [
    ([(0, 0, 0), (1, 0, 0)], "an outline of 2 points surrounds nothing"),
    ([(0, 0, 0), (1, 1, 0), (1, 0, 0), (0, 1, 0)], "the side from point 3 to point 4 crosses the side from point 1 to point 2"),
    ([(0, 0, 0), (1, 0, 0), (1, 0, 0), (0, 1, 0)], "point 2 lies where the point after it lies"),
    ([(0, 0, 0), (1, 0, 0), (0.5, 0, 0), (0.5, 1, 0)], "turns back on itself at point 2"),
    ([(0, 0, 0.6), (1, 0, 0.6), (1, 1, 0), (0, 1, 0)],
     "is 1000 mm long and the radii at both its ends do not fit; make Radius at point 1 less; 400 mm"),
    ([(0, 0, 0), (1, 0, 0.7), (1, 0.5, 0), (0, 1, 0)],
     "the radius at point 2 does not fit; make Radius at point 2 less; 500 mm is the most"),
])
def test_an_impossible_outline_is_told_with_its_point_and_a_remedy(points: list[tuple[float, float, float]], said: str) -> None:
    """Crossing sides, doubled points and radii that do not fit are each a sentence."""
    faults = outline_of(points).faults()
    assert any(said in fault.sentence for fault in faults), faults


def test_the_shape_is_whole_and_its_plan_is_drawn_to_its_outline() -> None:
    """Every rule comes after what it rests on, and the drawn path surrounds the area."""
    assert check_order(SLAB_BY_OUTLINE) == []
    outline = outline_of([(0, 0, 0), (2, 0, 0.3), (2, 0.9, 0.3), (0, 0.9, 0)])
    path = outline.path()
    assert Polygon(path).area == pytest.approx(outline.figures["outline_area"], rel=1e-3)
    drawing = outline_drawing(outline, {"thickness": 0.04, **outline.figures})
    assert [view.letter for view in drawing.views] == ["", "A"]


def test_an_outline_of_very_many_rounded_corners_is_looked_at_in_no_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the millions of pairs of sides of a star with all corners rounded, those are held against each other that lie near."""
    real, looked = plan._meeting, []

    def counted(*sides: plan.Polygon) -> np.ndarray:
        looked.append(len(sides[0]))
        return real(*sides)

    monkeypatch.setattr(plan, "_meeting", counted)
    angles = np.arange(MOST_POINTS) * 2 * np.pi / MOST_POINTS
    reach = 1.9 + 0.03 * (np.arange(MOST_POINTS) % 2)
    star = Outline(tuple((reach * np.cos(angles)).tolist()), tuple((reach * np.sin(angles)).tolist()), (0.001,) * MOST_POINTS)
    assert star.faults() == []
    assert len(star.path()) == 7000
    assert sum(looked) < 10 * len(star.path())
