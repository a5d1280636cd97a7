"""What cut-outs take and add agrees with solids built by a geometry library, and where they cannot be is said.

Sizes are whole millimetres. A circle, and a rounded corner, is replaced by the polygon of 48 sides around it, of which every area and
outline is the circle's with another constant for π; the rules are read with that constant, so that the agreement is exact.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from solids import SIDES, Measured, Vectors, box, circle_constant, cone, measure
from solids import hull as hull_of

from pricing.algebra.expressions import inputs_of
from pricing.rules import cut_outs
from pricing.rules.geometry import cut_out as cut_out_module
from pricing.rules.geometry.cut_out import CutOut, core_cuts, place_faults, size_fault
from pricing.rules.geometry.plan import circle, rectangle
from pricing.rules.geometry.plan import rounded as rounded_path
from pricing.rules.shapes import SHAPES

RULES = (
    cut_outs.cut_length, cut_outs.cut_width, cut_outs.cut_radius, cut_outs.off_middle, cut_outs.cut_depth, cut_outs.cut_plan_area,
    cut_outs.cut_girth, cut_outs.top_slope, cut_outs.top_girth, cut_outs.core_girth, cut_outs.taken_volume, cut_outs.taken_underside,
    cut_outs.taken_top, cut_outs.added_reveal, cut_outs.added_arris, cut_outs.added_board, cut_outs.added_release,
)

BENT = 1.5 * 2 * np.pi / SIDES

many = settings(
    max_examples=150, deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)


def mm(low: int, high: int) -> st.SearchStrategy[float]:
    """A size of whole millimetres [m]."""
    return st.integers(low, high).map(lambda size: size / 1000)


def worked_out(cut: CutOut, pi: float = math.pi, **slab: float) -> dict[str, float]:
    """Every figure of a cut-out by the rules, in a slab of the given figures."""
    values: dict[str, Any] = {
        "is_round": float(cut.is_round), "cut_out_length": cut.length, "cut_out_width": cut.width, "corner_radius": cut.radius,
        "cut_out_diameter": cut.length, "cut_outs_alike": float(cut.count), "is_placed": float(cut.is_placed),
        "from_front": 0.0 if math.isnan(cut.front) else cut.front, "fall_per_metre": 0.0, "board": 0.018, "piece_width": 0.0, **slab,
    }
    for rule in RULES:
        constants = {"pi": pi} if "pi" in rule.__code__.co_varnames else {}
        values[rule.__name__] = rule(**{name: values[name] for name in inputs_of(rule)}, **constants)
    return {name: float(value) for name, value in values.items()}


def prism(cut: CutOut) -> Manifold:
    """What is cut out, higher than any slab; rounded corners are polygons around their circles."""
    west, south, east, north = cut.left, cut.front, cut.left + cut.length, cut.front + cut.width
    if not cut.radius:
        return box((west, south, -1), (east, north, 2))
    turned = 180 / SIDES  # so that sides, not corners, of the polygon look along the axes
    corner = cone(0, 0, -1, 2, 2 * cut.radius).rotate((0, 0, turned))
    r = cut.radius
    return Manifold.batch_hull([
        corner.translate((x, y, 0)) for x in dict.fromkeys((west + r, east - r)) for y in dict.fromkeys((south + r, north - r))
    ])


def not_below(normals: Vectors, centres: Vectors) -> Any:
    """Faces that do not look downwards."""
    return normals[:, 2] > -0.5


def after_cutting(whole: dict[str, float], cuts: list[dict[str, float]]) -> dict[str, float]:
    """The figures of a slab less what its cut-outs take, and with what they add."""
    changes = {
        "volume": (("taken_volume", -1),), "face_area": (("taken_top", -1), ("added_reveal", 1)),
        "underside_area": (("taken_underside", -1),),
        "open_side_area": (("taken_underside", -1),), "release_area": (("added_release", 1),), "arris_length": (("added_arris", 1),),
        "joint_length": (("added_arris", 1),),
    }
    return {name: whole[name] + sum(sign * cut[each] for cut in cuts for each, sign in terms) for name, terms in changes.items()}


def agree(values: dict[str, float], measured: Measured, **tolerance: float) -> None:
    """Every measured figure is the closed form's."""
    for figure, value in values.items():
        within = tolerance.get(figure, 1e-9)
        assert value == pytest.approx(getattr(measured, figure), rel=within, abs=1e-12), figure


@st.composite
def in_a_rectangle(draw: st.DrawFn, west: float, south: float, east: float, north: float, sharp: bool = False) -> list[CutOut]:
    """One to three cut-outs side by side within a rectangle."""
    count = draw(st.integers(1, 3))
    span = (east - west) / count
    found = []
    for each in range(count):
        length = round(draw(st.floats(0.1, 0.8)) * span, 3)
        width = round(draw(st.floats(0.1, 0.8)) * (north - south), 3)
        kind = "sharp" if sharp else draw(st.sampled_from(["sharp", "rounded", "round"]))
        if kind == "round":
            length = width = min(length, width)
        radius = {"sharp": 0.0, "rounded": round(draw(st.floats(0.05, 0.45)) * min(length, width), 3), "round": length / 2}[kind]
        found.append(CutOut(length, width, radius, west + (each + 0.1) * span, south + 0.1 * (north - south)))
    return found


def whole_of(name: str, **dimensions: float) -> dict[str, float]:
    return {key: float(value) for key, value in SHAPES[name].take_off(dimensions).items()}


@many
@given(st.data(), mm(300, 3000), mm(200, 1000), mm(15, 120))
def test_slab_with_cut_outs(data: st.DataObject, length: float, width: float, thickness: float) -> None:
    """Cut-outs of any form leave a slab with what the rules say, exactly."""
    cuts = data.draw(in_a_rectangle(0, 0, length, width))
    solid = box((0, 0, 0), (length, width, thickness))
    for cut in cuts:
        solid -= prism(cut)
    taken = [worked_out(cut, circle_constant(), middle_depth=thickness, slab_depth=thickness, piece_width=width) for cut in cuts]
    values = after_cutting(whole_of("slab", length=length, width=width, thickness=thickness), taken)
    agree(values, measure(solid, not_below, not_below, least_angle=BENT))


@many
@given(st.data(), mm(400, 3000), mm(300, 1000), mm(15, 60), mm(20, 200), st.integers(0, 2), st.integers(0, 2))
def test_slab_with_a_lip_and_cut_outs(
    data: st.DataObject, length: float, width: float, thickness: float, drop: float, long_lips: int, short_lips: int
) -> None:
    """Within its lips, a slab with lips is cut like any other."""
    if long_lips + short_lips == 0:
        long_lips = 1
    values = whole_of("slab with a lip", length=length, width=width, thickness=thickness, drop=drop, long_lips=long_lips,
                      short_lips=short_lips)
    lip = values["lip"]
    west, south = lip * (short_lips > 0), lip * (long_lips > 0)
    east, north = length - lip * (short_lips > 1), width - lip * (long_lips > 1)
    solid = box((0, 0, 0), (length, width, thickness + drop)) - box(
        (west if short_lips else -1, south if long_lips else -1, -1),
        (east if short_lips > 1 else length + 1, north if long_lips > 1 else width + 1, drop),
    )
    cuts = data.draw(in_a_rectangle(west, south, east, north))
    for cut in cuts:
        solid -= prism(cut)

    def seen(normals: Vectors, centres: Vectors) -> Any:
        outside = np.abs(centres[:, :2] - [length / 2, width / 2]) > np.array([length, width]) / 2 - 1e-9
        lower_edge = (normals[:, 2] < -0.5) & (centres[:, 2] < 1e-9)
        within = (np.abs(normals[:, 2]) < 0.5) & (centres[:, 2] > drop)
        return (normals[:, 2] > 0.5) | lower_edge | ((np.abs(normals[:, 2]) < 0.5) & outside.any(axis=1)) | within

    taken = [worked_out(cut, circle_constant(), middle_depth=thickness, slab_depth=thickness, piece_width=width) for cut in cuts]
    agree(after_cutting(values, taken), measure(solid, seen, not_below, least_angle=BENT, feet=True))


@many
@given(st.data(), mm(500, 2500), mm(200, 700), mm(20, 80), mm(250, 2500), mm(200, 480))
def test_l_shaped_slab_with_cut_outs(
    data: st.DataObject, length: float, width: float, thickness: float, further: float, return_width: float
) -> None:
    """Each arm of an L may be cut."""
    far = width + further
    solid = box((0, 0, 0), (length, far, thickness)) - box((return_width, width, -1), (length + 1, far + 1, 1))
    cuts = [
        *data.draw(in_a_rectangle(0, 0, length, width)), *data.draw(in_a_rectangle(0, width, return_width, far)),
    ]
    for cut in cuts:
        solid -= prism(cut)
    taken = [worked_out(cut, circle_constant(), middle_depth=thickness, slab_depth=thickness, piece_width=far) for cut in cuts]
    whole = whole_of("L-shaped slab", length=length, width=width, thickness=thickness, return_length=far, return_width=return_width)
    agree(after_cutting(whole, taken), measure(solid, not_below, not_below, least_angle=BENT))


@many
@given(st.data(), mm(300, 3000), mm(120, 500), mm(40, 120), st.floats(0.05, 0.7), st.booleans())
def test_sill_with_a_fall_and_cut_outs(
    data: st.DataObject, length: float, width: float, thickness: float, share: float, sharp: bool
) -> None:
    """Cut through a falling top, a cut-out has the depth at its middle; only arcs on the slope are approximated."""
    fall = round(thickness * share, 3)
    edge = thickness - fall
    solid = hull_of([(x, y, z) for x in (0.0, length) for y, z in ((0, 0), (0, edge), (width, 0), (width, thickness))])
    cuts = data.draw(in_a_rectangle(0, 0, length, width, sharp))
    for cut in cuts:
        solid -= prism(cut)
    slab = {"middle_depth": (thickness + edge) / 2, "slab_depth": thickness, "fall_per_metre": fall / width, "piece_width": width}
    taken = [worked_out(cut, circle_constant(), **slab) for cut in cuts]
    whole = whole_of("sill", length=length, width=width, thickness=thickness, fall=fall, grooves=0)
    turned = 1e-9 if all(cut.radius == 0 for cut in cuts) else 2e-3  # the polygon on the slope is no regular one
    measured = measure(solid, not_below, not_below, least_angle=BENT)
    agree(after_cutting(whole, taken), measured, arris_length=turned, joint_length=turned)


@many
@given(st.data(), mm(500, 2500), mm(10, 80))
def test_disc_with_cut_outs(data: st.DataObject, diameter: float, thickness: float) -> None:
    """A round slab may be cut within the square inside it."""
    inset = diameter * 0.15
    cuts = data.draw(in_a_rectangle(inset, inset, diameter - inset, diameter - inset))
    solid = cone(diameter / 2, diameter / 2, 0, thickness, diameter)
    for cut in cuts:
        solid -= prism(cut)
    taken = [worked_out(cut, circle_constant(), middle_depth=thickness, slab_depth=thickness, piece_width=diameter) for cut in cuts]
    shape, values = SHAPES["disc"], dict[str, Any](diameter=diameter, thickness=thickness, board=0.018)
    for rule in shape.all_rules:
        constants = {"pi": circle_constant()} if "pi" in rule.__code__.co_varnames else {}
        values[rule.__name__] = rule(**{name: values[name] for name in inputs_of(rule)}, **constants)
    agree(after_cutting(values, taken), measure(solid, not_below, not_below, least_angle=BENT))


@pytest.mark.parametrize("sizes", [
    {"openings": 1, "opening_length": 0.5, "opening_width": 0.4}, {"openings": 2, "opening_length": 0.3, "opening_width": 0.03},
    {"holes": 3, "hole_diameter": 0.035}, {"openings": 1, "opening_length": 0.5, "opening_width": 0.4, "holes": 2, "hole_diameter": 0.035},
])
def test_a_slab_with_cut_outs_is_the_slab_with_those_openings(sizes: dict[str, float]) -> None:
    """Openings of one size given with the product, and the same given as cut-outs, are the same piece in the same mould."""
    slab = {"length": 2.0, "width": 0.6, "thickness": 0.04}
    one, other = whole_of("slab with openings", **slab, **sizes), whole_of("slab", **slab)
    cuts = []
    if sizes.get("openings"):
        cuts.append(CutOut(sizes["opening_length"], sizes["opening_width"], count=int(sizes["openings"])))
    if sizes.get("holes"):
        cuts.append(CutOut(sizes["hole_diameter"], sizes["hole_diameter"], sizes["hole_diameter"] / 2, count=int(sizes["holes"])))
    taken = [worked_out(cut, middle_depth=0.04, slab_depth=0.04, piece_width=0.6) for cut in cuts]
    for name, value in after_cutting(other, taken).items():
        assert value == pytest.approx(one[name], rel=1e-12), name
    assert other["mould_area"] + sum(cut["added_board"] for cut in taken) == pytest.approx(one["mould_area"], rel=1e-12)


@many
@given(mm(50, 900), mm(20, 600), st.floats(0, 1), st.sampled_from([0.012, 0.018]))
def test_the_boards_of_the_cut_list_are_those_that_are_paid_for(length: float, width: float, share: float, board: float) -> None:
    """The cores in the cut list have the area that the rules charge."""
    cut = CutOut(length, width, share * min(length, width) / 2 if share > 0.2 else 0.0, count=2)
    charged = worked_out(cut, middle_depth=0.04, slab_depth=0.04, board=board)["added_board"]
    listed = sum(each.length * each.width * each.count for each in core_cuts(cut, 0.04, board))
    assert listed == pytest.approx(charged, rel=1e-3 if width < 2 * board + 2e-4 else 1e-9)


SLAB = rectangle(0, 0, 2.0, 0.6)


@pytest.mark.parametrize(("cuts", "said"), [
    ([CutOut(0.5, 0.4, left=0.3, front=0.1)], []),
    ([CutOut(0.5, 0.4, left=0.04, front=0.04)], []),
    ([CutOut(0.5, 0.4, left=0.3, front=0.17)], ["leaves a rim of 30 mm; 40 mm is the least"]),
    ([CutOut(0.5, 0.4, left=0.3, front=0.25)], ["reaches out of the piece"]),
    ([CutOut(0.5, 0.4, left=3.0, front=0.1)], ["reaches out of the piece"]),
    ([CutOut(0.5, 0.4, left=0.3, front=0.1), CutOut(0.5, 0.4, left=0.7, front=0.1)], ["overlap"]),
    ([CutOut(0.5, 0.4, left=0.3, front=0.1), CutOut(0.1, 0.1, left=0.5, front=0.2)], ["overlap"]),
    ([CutOut(0.5, 0.4, left=0.3, front=0.1), CutOut(0.5, 0.4, left=0.82, front=0.1)], ["are 20 mm apart; 40 mm is the least"]),
    ([CutOut(0.4, 0.4, 0.2, 0.3, 0.1), CutOut(0.4, 0.4, 0.2, 0.72, 0.1)], ["are 20 mm apart"]),
    ([CutOut(0.4, 0.4, 0.2, 0.3, 0.1), CutOut(0.4, 0.4, 0.2, 0.75, 0.1)], []),
    ([CutOut(0.5, 0.4, left=0.3, front=0.1, count=2)], ["cannot be in one place"]),
    ([CutOut(0.5, 0.4, count=2)], []),
    ([CutOut(0.5, 0.55)], ["is too large for a piece of 2000 mm x 600 mm with a rim of 40 mm; make Width 520 mm at most"]),
    ([CutOut(1.9, 0.5, count=2)], ["leave nothing of the piece"]),
])
def test_where_a_cut_out_cannot_be_is_said_with_a_remedy(cuts: list[CutOut], said: list[str]) -> None:
    """Overlaps, cut-outs that leave the piece and thin rims are refused; what fits is not."""
    found = place_faults(SLAB, cuts)
    assert len(found) == len(said)
    for (_, sentence), part in zip(found, said, strict=True):
        assert part in sentence


SIZE = st.sampled_from([0.02, 0.05, 0.1, 0.3])
PLACE = st.tuples(st.sampled_from([0.0, 0.03, 0.04, 0.05, 0.09, 0.1, 0.5]), st.sampled_from([0.0, 0.04, 0.06, 0.1, 0.3]))


@settings(max_examples=25, deadline=None, derandomize=True, database=None)
@given(cuts=st.lists(st.tuples(SIZE, SIZE, st.sampled_from([0.0, 0.01]), PLACE), min_size=1, max_size=6))
def test_what_is_left_out_without_a_look_is_sound(cuts: list[tuple[float, float, float, tuple[float, float]]]) -> None:
    """Cut-outs that boxes around them keep apart, and from the edge, are those in which a look at each and each pair finds nothing."""
    made = [CutOut(length, width, radius, *place) for length, width, radius, place in cuts]
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(cut_out_module, "_far_from_edge", lambda *_: [False] * len(made))
        patched.setattr(cut_out_module, "_near_each_other", lambda *_: {number: range(number) for number in range(len(made))})
        every = place_faults(rectangle(0, 0, 1.0, 0.6), made)
    assert place_faults(rectangle(0, 0, 1.0, 0.6), made) == every


def test_cut_outs_that_lie_apart_are_not_held_against_each_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred cut-outs in a grid are five thousand pairs, of which none is looked at."""
    monkeypatch.setattr(cut_out_module, "_against_other", None)
    monkeypatch.setattr(cut_out_module, "_against_edge", None)
    cuts = [CutOut(0.02, 0.02, 0.005, 0.1 + 0.1 * (number % 10), 0.1 + 0.1 * (number // 10)) for number in range(100)]
    assert place_faults(rectangle(0, 0, 1.2, 1.2), cuts) == []


def test_a_rounded_corner_lets_a_cut_out_come_nearer_to_a_rounded_edge() -> None:
    """A round cut-out in the middle of a disc may be wider than a square one."""
    disc = circle(1.0)
    assert place_faults(disc, [CutOut(0.9, 0.9, 0.45, 0.05, 0.05)]) == []
    assert "reaches out" in place_faults(disc, [CutOut(0.9, 0.9, 0.0, 0.05, 0.05)])[0][1]


def test_an_l_is_left_at_its_inner_corner() -> None:
    """A cut-out within the rectangle around an L may still be outside the L."""
    corner = np.array([(0, 0), (2, 0), (2, 0.6), (0.6, 0.6), (0.6, 2), (0, 2)], dtype=float)
    assert place_faults(corner, [CutOut(0.4, 0.4, left=0.1, front=1.0)]) == []
    assert "reaches out" in place_faults(corner, [CutOut(0.4, 0.4, left=1.0, front=1.0)])[0][1]
    assert "reaches out" in place_faults(corner, [CutOut(0.4, 0.4, left=0.4, front=0.4)])[0][1]


def test_a_radius_wider_than_the_cut_out_is_refused() -> None:
    """Corners that do not fit are told with the largest radius that does."""
    assert size_fault(CutOut(0.5, 0.4, 0.2)) == ""
    assert "make Corner radius 200 mm at most" in size_fault(CutOut(0.5, 0.4, 0.21))


@many
@given(mm(100, 900), mm(100, 600), st.floats(0, 0.5))
def test_a_drawn_corner_has_the_area_that_is_charged(length: float, width: float, share: float) -> None:
    """The path that is drawn for a cut-out surrounds its area, to the error of its chords."""
    cut = CutOut(length, width, share * min(length, width))
    path = rounded_path(rectangle(0, 0, length, width), (cut.radius,) * 4)
    x, y = path[:, 0], path[:, 1]
    drawn = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2
    assert drawn == pytest.approx(cut.area, abs=2e-3 * cut.radius**2 * np.pi + 1e-12)
    assert drawn <= cut.area + 1e-12
