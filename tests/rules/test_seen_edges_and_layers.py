"""Edges at a wall and layers of another mix agree with solids built by a geometry library."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from manifold3d import Manifold
from solids import Vectors, box, cone, measure
from solids import hull as hull_of
from test_cut_outs import many, mm

from pricing.algebra.expressions import evaluate
from pricing.rules import layers
from pricing.rules.geometry import measures, seen_edges
from pricing.rules.shapes import SHAPES

STEEL = 7850.0  # kg/m³, EN 1991-1-1:2002, table A.4, and the density that EN 10080 takes for nominal masses

#: Nominal mass of a metre of reinforcing bar by its diameter in mm (EN 10080:2005, table 6; ISO 6935-2:2015, table 1;
#: entries from memory) [kg/m].
BARS = {6: 0.222, 8: 0.395, 10: 0.617, 12: 0.888, 14: 1.21, 16: 1.58, 20: 2.47, 25: 3.85, 28: 4.83, 32: 6.31, 40: 9.86}

#: Mass of a square metre of welded square mesh of 200 mm by its wire in mm (BS 4483:2005, table 1: A142, A193, A252, A393;
#: entries from memory) [kg/m²].
MESH = {6: 2.22, 7: 3.02, 8: 3.95, 10: 6.16}


def with_edges(name: str, long_edges: int, short_edges: int, **dimensions: float) -> dict[str, float]:
    """The take-off of a shape of which so many edges are seen, those at the wall taken out."""
    values: dict[str, Any] = {**SHAPES[name].take_off(dimensions), "seen_long_edges": long_edges, "seen_short_edges": short_edges}
    for rule in seen_edges.RULES[name]:
        values[rule.__name__] = evaluate(rule, values)
    return {key: float(value) for key, value in values.items()}


def hidden_in(values: dict[str, float], long_edges: int, short_edges: int) -> Any:
    """Which faces lie against the wall: the back and the right side first, then the front and the left."""
    length, width = values["length"], values["width"]
    walls = [(1, width)] * (long_edges < 2) + [(1, 0.0)] * (long_edges < 1)
    walls += [(0, length)] * (short_edges < 2) + [(0, 0.0)] * (short_edges < 1)

    def hidden(normals: Vectors, centres: Vectors) -> Any:
        found = np.zeros(len(normals), dtype=bool)
        for axis, at in walls:
            found |= (np.abs(normals[:, axis]) > 0.99) & (np.abs(centres[:, axis] - at) < 1e-9)
        return found

    return hidden


def agree_hidden(values: dict[str, float], solid: Manifold, seen: Any, hidden: Any) -> None:
    """Faces and arrises that are left are those of the solid's seen faces that lie against no wall."""
    measured = measure(solid, lambda n, c: seen(n, c) & ~hidden(n, c), seen)
    assert values["face_area"] - values["wall_face"] == pytest.approx(measured.face_area, rel=1e-9, abs=1e-12)
    assert values["arris_length"] - values["wall_arris"] == pytest.approx(measured.arris_length, rel=1e-9, abs=1e-12)


def not_below(normals: Vectors, centres: Vectors) -> Any:
    return normals[:, 2] > -0.5


edges = {"long_edges": st.integers(0, 2), "short_edges": st.integers(0, 2)}


@many
@given(length=mm(100, 3000), width=mm(100, 900), thickness=mm(10, 100), **edges)
def test_slab_at_a_wall(long_edges: int, short_edges: int, **dimensions: float) -> None:
    """A worktop's wall edges are no faces, and what runs along them is no arris."""
    values = with_edges("slab", long_edges, short_edges, **dimensions)
    solid = box((0, 0, 0), (values["length"], values["width"], values["thickness"]))
    agree_hidden(values, solid, not_below, hidden_in(values, long_edges, short_edges))


@many
@given(
    length=mm(300, 3000), width=mm(200, 900), thickness=mm(10, 60), drop=mm(5, 200), long_lips=st.integers(0, 2),
    short_lips=st.integers(0, 2), **edges,
)
def test_slab_with_lips_at_a_wall(long_edges: int, short_edges: int, long_lips: int, short_lips: int, **dimensions: float) -> None:
    """Lips stand at seen edges; where one runs into the wall its end is hidden."""
    assume(long_lips <= long_edges and short_lips <= short_edges and long_lips + short_lips > 0)
    values = with_edges("slab with a lip", long_edges, short_edges, long_lips=long_lips, short_lips=short_lips, **dimensions)
    length, width, drop, lip = (values[name] for name in ("length", "width", "drop", "lip"))
    # lips from the front and from the left, walls from the back and from the right
    space = box(
        (lip if short_lips else -1, lip if long_lips else -1, -1),
        (length - lip if short_lips > 1 else length + 1, width - lip if long_lips > 1 else width + 1, drop),
    )
    solid = box((0, 0, 0), (length, width, drop + values["thickness"])) - space

    def seen(normals: Vectors, centres: Vectors) -> Any:
        outside = np.abs(centres[:, :2] - [length / 2, width / 2]) > np.array([length, width]) / 2 - 1e-9
        lower_edge = (normals[:, 2] < -0.5) & (centres[:, 2] < 1e-9)
        return (normals[:, 2] > 0.5) | lower_edge | ((np.abs(normals[:, 2]) < 0.5) & outside.any(axis=1))

    agree_hidden(values, solid, seen, hidden_in(values, long_edges, short_edges))
    rooms = [float(evaluate(limit.room, values)) for limit in seen_edges.LIP_LIMITS]
    assert all(room >= 0 for room in rooms)


@many
@given(length=mm(300, 2500), width=mm(100, 500), thickness=mm(40, 120), share=st.floats(0.05, 0.6), **edges)
def test_sill_and_coping_at_a_wall(long_edges: int, short_edges: int, share: float, **dimensions: float) -> None:
    """A sill's back is hidden first; a coping's edges are alike."""
    length, width, thickness = (dimensions[name] for name in ("length", "width", "thickness"))
    fall = round(thickness * share, 3)
    sill = with_edges("sill", long_edges, short_edges, **dimensions, fall=fall, grooves=0)
    section = [(0.0, 0.0), (width, 0.0), (width, thickness), (0.0, thickness - fall)]
    hidden = hidden_in(sill, long_edges, short_edges)
    agree_hidden(sill, hull_of([(x, y, z) for x in (0.0, length) for y, z in section]), not_below, hidden)
    coping = with_edges("coping", long_edges, short_edges, **dimensions, fall=fall, grooves=0)
    section = [(0.0, 0.0), (width, 0.0), (width, thickness - fall), (width / 2, thickness), (0.0, thickness - fall)]
    agree_hidden(coping, hull_of([(x, y, z) for x in (0.0, length) for y, z in section]), not_below, hidden)


@many
@given(length=mm(300, 3000), width=mm(150, 900), thickness=mm(30, 100), layer=mm(3, 25))
def test_a_face_mix_is_the_shell_of_a_slab(length: float, width: float, thickness: float, layer: float) -> None:
    """On the face of a slab a layer is the slab less the block behind it, but for the four cubes at its corners."""
    assume(layer < thickness)
    slab = SHAPES["slab"].take_off({"length": length, "width": width, "thickness": thickness})
    area = layers.layer_area(1, slab["face_area"], 0, 0, 0, slab["underside_area"])
    shell = box((0, 0, 0), (length, width, thickness)) - box((layer, layer, -1), (length - layer, width - layer, thickness - layer))
    volume = layers.layer_volume(layer, area, 1, slab["arris_length"])
    assert volume + 4 * layer**3 == pytest.approx(shell.volume(), rel=1e-9)


def test_a_face_mix_on_a_disc_and_on_a_backing() -> None:
    """An own example, no published one was found (the figures are ours, the solid is a geometry library's): 12 mm of white of
    2300 kg/m³ on a disc of 1 m, 50 mm thick, of grey of 2400 kg/m³."""
    disc = {name: float(value) for name, value in SHAPES["disc"].take_off({"diameter": 1.0, "thickness": 0.05}).items()}
    volume = layers.layer_volume(0.012, layers.layer_area(1, disc["face_area"], 0, 0, 0, 0), 1, disc["arris_length"])
    shell = cone(0, 0, 0, 0.05, 1.0) - cone(0, 0, -1, 0.038, 0.976)
    assert volume == pytest.approx(shell.volume(), rel=5e-3)
    backing = layers.backing_volume(disc["volume"], volume)
    mass = layers.concrete_mass(backing, 2400.0, layers.layer_mass(volume, 2300.0))
    assert mass == pytest.approx(2400 * disc["volume"] - 100 * volume, rel=1e-12)


@pytest.mark.parametrize("shape", ["trough", "square planter", "round planter"])
def test_the_inside_of_a_vessel_is_part_of_its_face(shape: str) -> None:
    """Whatever is seen of a vessel is its outside, its rim and its inside; a layer may leave the inside."""
    sizes = {
        "trough": {"length": 1.2, "width": 0.4, "height": 0.4, "wall": 0.04, "base_thickness": 0.04},
        "square planter": {"width": 0.5, "height": 0.6, "wall": 0.04, "base_thickness": 0.05, "base_width": 0.5},
        "round planter": {"diameter": 0.5, "height": 0.6, "wall": 0.04, "base_thickness": 0.05, "base_diameter": 0.5},
    }[shape]
    values = {name: float(value) for name, value in SHAPES[shape].take_off(sizes).items()}
    inside = float(evaluate(measures.RULES[shape][-1], values))
    outside = values["face_area"] - inside
    rim = {"trough": 1.2 * 0.4 - 1.12 * 0.32, "square planter": 0.25 - 0.42**2, "round planter": np.pi / 4 * (0.25 - 0.42**2)}[shape]
    walls = {"trough": 3.2 * 0.4, "square planter": 2.0 * 0.6, "round planter": np.pi * 0.5 * 0.6}[shape]
    assert outside == pytest.approx(rim + walls, rel=1e-9)


@pytest.mark.parametrize(("diameter", "mass"), BARS.items())
def test_bars_weigh_what_the_table_says(diameter: int, mass: float) -> None:
    """A metre of bar is its nominal section times 7850 kg/m³, to the places of the table."""
    metre = np.pi / 4 * (diameter / 1000) ** 2 * STEEL
    assert metre == pytest.approx(mass, abs=0.0055 if mass >= 1 else 0.00055)
    assert layers.extra_mass(1, 3.0, 2.0, mass) == pytest.approx(6 * mass, rel=1e-12)


@pytest.mark.parametrize(("wire", "mass"), MESH.items())
def test_mesh_weighs_what_its_wires_do(wire: int, mass: float) -> None:
    """A square metre of mesh is five metres of wire each way."""
    assert 10 * np.pi / 4 * (wire / 1000) ** 2 * STEEL == pytest.approx(mass, abs=0.0055)


def test_what_is_not_cast_in_weighs_nothing_with_the_piece() -> None:
    """Packing and brackets are no part of the mass."""
    assert layers.extra_mass(0, 3.0, 2.0, 0.395) == 0
