"""The closed forms of every shape agree with a solid built from the same dimensions by a geometry library.

Sizes are whole millimetres. A circle is replaced by the polygon of 48 sides around it, of which every area and outline
is the circle's with another constant for π; the rules are read with that constant, so that the agreement is exact.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from solids import SIDES, Measured, Vectors, box, circle_constant, cone, hull, measure

from pricing.algebra.expressions import inputs_of
from pricing.rules.shapes import SHAPES

#: Two faces that turn by less than this are one bent face, where the piece has round parts [rad].
BENT = 1.5 * 2 * np.pi / SIDES

LIPPED = {"length": 1.0, "width": 0.4, "thickness": 0.025, "drop": 0.04}

many = settings(
    max_examples=250, deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)


def mm(low: int, high: int) -> st.SearchStrategy[float]:
    """A size of whole millimetres [m]."""
    return st.integers(low, high).map(lambda size: size / 1000)


def blank_or(low: int, high: int) -> st.SearchStrategy[float]:
    """A size of whole millimetres, or a blank cell [m]."""
    return st.just(0.0) | mm(low, high)


def closed_forms(name: str, dimensions: dict[str, Any]) -> dict[str, float]:
    """A shape's take-off, a circle read as the polygon around it."""
    shape = SHAPES[name]
    assume(not shape.refusals(dimensions))
    values: dict[str, Any] = {**shape.defaults, **dimensions, "board": 0.018}
    for rule in shape.all_rules:
        constants = {"pi": circle_constant()} if "pi" in rule.__code__.co_varnames else {}
        values[rule.__name__] = rule(**{each: values[each] for each in inputs_of(rule)}, **constants)
    return {each: float(value) for each, value in values.items()}


def agree(values: dict[str, float], measured: Measured) -> None:
    """Every measured figure is the closed form's."""
    for figure, value in asdict(measured).items():
        assert values[figure] == pytest.approx(value, rel=1e-9, abs=1e-12), figure
    assert values["face_area"] + values["underside_area"] == pytest.approx(
        measured.release_area + measured.open_side_area, rel=1e-9
    )


def not_below(normals: Vectors, centres: Vectors) -> Any:
    """Faces that do not look downwards."""
    return normals[:, 2] > -0.5


def not_foot(normals: Vectors, centres: Vectors) -> Any:
    """Faces other than the foot, on which the piece stands."""
    return ~((normals[:, 2] < -0.99) & (centres[:, 2] < 1e-9))


@many
@given(length=mm(20, 4000), width=mm(20, 2000), thickness=mm(5, 300))
def test_slab(**dimensions: float) -> None:
    """A slab is a block; all but its underside is seen and touches the mould."""
    values = closed_forms("slab", dimensions)
    solid = box((0, 0, 0), (values["length"], values["width"], values["thickness"]))
    agree(values, measure(solid, not_below, not_below))


@many
@given(
    length=mm(50, 3000), width=mm(50, 1500), thickness=mm(10, 100), drop=mm(1, 300), lip_thickness=blank_or(5, 200),
    long_lips=st.integers(0, 2), short_lips=st.integers(0, 2),
)
def test_slab_with_a_lip(**dimensions: float) -> None:
    """With any number of lips, corners are counted once and every lip end is seen."""
    values = closed_forms("slab with a lip", dimensions)
    length, width, drop, lip = (values[each] for each in ("length", "width", "drop", "lip"))
    west, south = lip if values["short_lips"] > 0 else -1.0, lip if values["long_lips"] > 0 else -1.0
    east = length - lip if values["short_lips"] > 1 else length + 1.0
    north = width - lip if values["long_lips"] > 1 else width + 1.0
    solid = box((0, 0, 0), (length, width, values["thickness"] + drop)) - box((west, south, -1), (east, north, drop))

    def seen(normals: Vectors, centres: Vectors) -> Any:
        outside = np.abs(centres[:, :2] - [length / 2, width / 2]) > np.array([length, width]) / 2 - 1e-9
        lower_edge = (normals[:, 2] < -0.5) & (centres[:, 2] < 1e-9)
        return (normals[:, 2] > 0.5) | lower_edge | ((np.abs(normals[:, 2]) < 0.5) & outside.any(axis=1))

    agree(values, measure(solid, seen, not_below, feet=True))


def test_the_referee_notices_a_corner_counted_twice() -> None:
    """Two lips whose common corner is counted with each of them do not agree with the solid."""
    take_off = SHAPES["slab with a lip"].take_off({**LIPPED, "long_lips": 1, "short_lips": 1})
    values = {figure: float(value) for figure, value in take_off.items()}
    twice = values["volume"] + values["lip"] ** 2 * values["drop"]
    solid = box((0, 0, 0), (1, 0.4, 0.065)) - box((0.025, 0.025, -1), (2, 2, 0.04))
    measured = measure(solid, not_below, not_below)
    assert values["volume"] == pytest.approx(measured.volume, rel=1e-9)
    with pytest.raises(AssertionError, match="volume"):
        agree({**values, "volume": twice}, measured)


@many
@given(
    thickness=mm(10, 120), openings=st.integers(0, 2), opening_length=mm(30, 900), opening_width=mm(30, 600),
    holes=st.integers(0, 3), hole_diameter=mm(20, 400), gap=mm(10, 100),
)
def test_slab_with_openings(gap: float, **given_sizes: float) -> None:
    """Openings and holes, set out in a row, leave the slab with faces inside them."""
    rectangles, rounds = int(given_sizes["openings"]), int(given_sizes["holes"])
    opening_length, opening_width = given_sizes["opening_length"], given_sizes["opening_width"]
    diameter, thickness = given_sizes["hole_diameter"], given_sizes["thickness"]
    length = gap + rectangles * (opening_length + gap) + rounds * (diameter + gap)
    width = max(opening_width * (rectangles > 0), diameter * (rounds > 0)) + 2 * gap
    values = closed_forms("slab with openings", {"length": length, "width": width, **given_sizes})
    solid = box((0, 0, 0), (length, width, thickness))
    for each in range(rectangles):
        west = gap + each * (opening_length + gap)
        solid -= box((west, gap, -1), (west + opening_length, gap + opening_width, 1))
    for each in range(rounds):
        centre = length - gap - diameter / 2 - each * (diameter + gap)
        solid -= cone(centre, gap + diameter / 2, -1, 1, diameter)
    agree(values, measure(solid, not_below, not_below, least_angle=BENT))


@many
@given(
    length=mm(50, 3000), width=mm(30, 1200), thickness=mm(10, 120), return_length=mm(60, 3000),
    return_width=mm(30, 1200),
)
def test_l_shaped_slab(**dimensions: float) -> None:
    """An L is a block less a block; its inner corner is no arris and gets no sealant."""
    values = closed_forms("L-shaped slab", dimensions)
    length, width, thickness = (values[each] for each in ("length", "width", "thickness"))
    outer = box((0, 0, 0), (length, values["return_length"], thickness))
    solid = outer - box((values["return_width"], width, -1), (length + 1, values["return_length"] + 1, 1))
    agree(values, measure(solid, not_below, not_below))


@many
@given(diameter=mm(50, 2500), thickness=mm(5, 300))
def test_disc(**dimensions: float) -> None:
    """A disc is a low cylinder."""
    values = closed_forms("disc", dimensions)
    solid = cone(0, 0, 0, values["thickness"], values["diameter"])
    agree(values, measure(solid, not_below, not_below, least_angle=BENT))


@many
@given(diameter=mm(50, 2500), inner_diameter=mm(10, 2400), thickness=mm(5, 300))
def test_ring(**dimensions: float) -> None:
    """A ring is a low cylinder less another; its inner edge is seen."""
    values = closed_forms("ring", dimensions)
    solid = cone(0, 0, 0, values["thickness"], values["diameter"]) - cone(0, 0, -1, 1, values["inner_diameter"])
    agree(values, measure(solid, not_below, not_below, least_angle=BENT))


@many
@given(
    length=mm(50, 2500), width=mm(60, 600), thickness=mm(10, 100), drop=mm(5, 300), lip_thickness=blank_or(5, 400),
    nosing=mm(5, 60),
)
def test_step(**dimensions: float) -> None:
    """A step is a tread on a riser that stands back by the nosing, whose underside is seen."""
    values = closed_forms("step", dimensions)
    assume(values["underside_width"] > 0.0005)
    length, width, drop, nosing = (values[each] for each in ("length", "width", "drop", "nosing"))
    solid = box((0, 0, 0), (length, width, drop + values["thickness"])) - box((-1, -1, -1), (length + 1, nosing, drop))
    solid -= box((-1, nosing + values["lip"], -1), (length + 1, width + 1, drop))

    def seen(normals: Vectors, centres: Vectors) -> Any:
        below_nosing = (normals[:, 2] < -0.5) & (centres[:, 1] < nosing)
        back_of_riser = (normals[:, 1] > 0.5) & (centres[:, 1] < width - 1e-9)
        return (not_below(normals, centres) & ~back_of_riser) | below_nosing

    agree(values, measure(solid, seen, not_below, feet=True))


def grooved(points: list[tuple[float, float]], values: dict[str, float]) -> Manifold:
    """The hull of a section along the length, drip grooves cut out of its underside."""
    length, width = values["length"], values["width"]
    solid = hull([(x, y, z) for x in (0.0, length) for y, z in points])
    grooves, across, depth = int(values["grooves"]), values["groove_width"], values["groove_depth"]
    for each in range(grooves if across * depth > 0 else 0):
        middle = width * (each + 1) / (grooves + 1)
        solid -= box((-1, middle - across / 2, -1), (length + 1, middle + across / 2, depth))
    return solid


def agree_grooved(values: dict[str, float], solid: Manifold) -> None:
    """All but the underside and its grooves is seen and sealed; the strips of the grooves touch but are not sealed."""
    width = values["width"]

    def seen(normals: Vectors, centres: Vectors) -> Any:
        in_groove = (np.abs(normals[:, 1]) > 0.5) & (np.abs(centres[:, 1] - width / 2) < width / 2 - 1e-9)
        return ~((normals[:, 2] < -0.5) | (in_groove & (np.abs(normals[:, 2]) < 1e-9)))

    def sealed(normals: Vectors, centres: Vectors) -> Any:
        roof_of_groove = (normals[:, 2] < -0.5) & (centres[:, 2] > 1e-9)
        return seen(normals, centres) & ~roof_of_groove

    agree(values, measure(solid, seen, not_foot, sealed=sealed))


falling = {
    "length": mm(50, 2500), "width": mm(60, 600), "thickness": mm(20, 150), "fall": mm(1, 100),
    "grooves": st.integers(0, 2), "groove_width": mm(3, 15), "groove_depth": mm(3, 15),
}


@many
@given(**falling)
def test_coping(**dimensions: float) -> None:
    """A coping falls both ways from its ridge, which is an arris."""
    values = closed_forms("coping", dimensions)
    width, edge = values["width"], values["edge_thickness"]
    section = [(0.0, 0.0), (width, 0.0), (width, edge), (width / 2, values["thickness"]), (0.0, edge)]
    agree_grooved(values, grooved(section, values))


@many
@given(**{**falling, "fall": blank_or(1, 100)})
def test_sill(**dimensions: float) -> None:
    """A sill falls one way, and may be level."""
    values = closed_forms("sill", dimensions)
    width = values["width"]
    section = [(0.0, 0.0), (width, 0.0), (width, values["thickness"]), (0.0, values["edge_thickness"])]
    agree_grooved(values, grooved(section, values))


def agree_vessel(values: dict[str, float], solid: Manifold, across: float) -> None:
    """Drill the drain holes in a row along the middle of the floor, and compare: the inside is seen, the holes not."""
    assume(values.get("taper", 0.0) < 4 * values["height"])  # flatter than this, a rim would pass for a bend
    holes, diameter, floor = int(values["holes"]), values["hole_diameter"], values["floor_thickness"]
    around = diameter / np.cos(np.pi / SIDES)
    assume(holes * (around + 0.001) < across)
    centres_of_holes = [((each - (holes - 1) / 2) * (around + 0.001), 0.0) for each in range(holes)]
    for x, y in centres_of_holes:
        solid -= cone(x, y, -1, floor + 1e-4, diameter)

    def seen(normals: Vectors, centres: Vectors) -> Any:
        in_hole = np.zeros(len(centres), dtype=bool)
        for x, y in centres_of_holes:
            in_hole |= np.hypot(centres[:, 0] - x, centres[:, 1] - y) < around / 2 * (1 + 1e-9)
        return not_foot(normals, centres) & ~(in_hole & (np.abs(normals[:, 2]) < 0.5))

    agree(values, measure(solid, seen, not_foot, least_angle=BENT))


drained = {
    "height": mm(60, 1200), "wall": mm(8, 120), "base_thickness": blank_or(8, 150),
    "holes": st.integers(0, 3), "hole_diameter": mm(10, 60),
}


@many
@given(length=mm(100, 2000), width=mm(100, 900), **drained)
def test_trough(**dimensions: float) -> None:
    """A trough is a block less a block, with drain holes through its floor."""
    values = closed_forms("trough", dimensions)
    x, y, wall = values["length"] / 2, values["width"] / 2, values["wall"]
    inside = box((wall - x, wall - y, values["floor_thickness"]), (x - wall, y - wall, values["height"] + 1))
    solid = box((-x, -y, 0), (x, y, values["height"])) - inside
    agree_vessel(values, solid, values["inner_length"])


def frustum(bottom: float, top: float, foot: float, rim: float) -> Manifold:
    """A square block, wider at its rim than at its foot."""
    ends = ((bottom, foot / 2), (top, rim / 2))
    return hull([(x * half, y * half, z) for z, half in ends for x in (-1, 1) for y in (-1, 1)])


@many
@given(width=mm(100, 1200), base_width=blank_or(80, 1200), **drained)
def test_square_planter(**dimensions: float) -> None:
    """A square planter is a frustum less a frustum that leans as it does."""
    values = closed_forms("square planter", dimensions)
    rim, foot, wall = values["width"], values["foot_width"], values["wall"]
    height, floor = values["height"], values["floor_thickness"]
    above = rim + (rim - foot) / height  # one metre above the rim, so that the cut leaves nothing there
    inside = frustum(floor, height + 1, foot + (rim - foot) * floor / height - 2 * wall, above - 2 * wall)
    agree_vessel(values, frustum(0, height, foot, rim) - inside, min(values["floor_width"], foot))


@many
@given(diameter=mm(100, 1200), base_diameter=blank_or(80, 1200), **drained)
def test_round_planter(**dimensions: float) -> None:
    """A round planter is a cone less a cone that leans as it does."""
    values = closed_forms("round planter", dimensions)
    rim, foot, wall = values["diameter"], values["foot_diameter"], values["wall"]
    height, floor = values["height"], values["floor_thickness"]
    above = rim + (rim - foot) / height
    floor_diameter = foot + (rim - foot) * floor / height - 2 * wall
    solid = cone(0, 0, 0, height, foot, rim) - cone(0, 0, floor, height + 1, floor_diameter, above - 2 * wall)
    agree_vessel(values, solid, min(values["floor_diameter"], values["foot_diameter"]))


@many
@given(
    length=mm(300, 2500), width=mm(100, 700), height=mm(150, 900), thickness=mm(20, 150),
    leg_thickness=blank_or(20, 300), leg_inset=blank_or(1, 400),
)
def test_bench(**dimensions: float) -> None:
    """A bench is a top on two legs, flush with its ends or set in from them."""
    values = closed_forms("bench", dimensions)
    length, width, leg, inset = (values[each] for each in ("length", "width", "leg", "leg_inset"))
    under, middle = values["leg_height"], values["leg_height"] + values["thickness"] / 2
    solid = box((0, 0, under), (length, width, values["height"]))
    solid += box((inset, 0, 0), (inset + leg, width, middle))
    solid += box((length - inset - leg, 0, 0), (length - inset, width, middle))
    agree(values, measure(solid, not_below, not_below, feet=True))
