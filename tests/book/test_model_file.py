"""Files of triangles: closed forms are measured to the error of their facets, and what cannot be measured is said."""

from __future__ import annotations

import io
import math
import sys
import zipfile
from pathlib import Path
from typing import Any

import manifold3d
import numpy as np
import pytest
import trimesh

from pricing.book import model_file
from pricing.book.model_file import ModelFileError, ModelMeasures, measure_model, named_in

KINDS = model_file.KINDS


def saved(folder: Path, mesh: Any, kind: str) -> str:
    """A mesh written as a file of a kind; its name."""
    content = trimesh.Scene(mesh).export(file_type=kind) if kind == "3mf" else mesh.export(file_type=kind)
    folder.joinpath(f"solid.{kind}").write_bytes(content if isinstance(content, bytes) else content.encode())
    return f"solid.{kind}"


def measured(folder: Path, mesh: Any, kind: str) -> ModelMeasures:
    """A mesh in millimetres, written and measured."""
    return measure_model(folder, saved(folder, mesh, kind), "" if kind == "3mf" else "mm")


@pytest.mark.parametrize("kind", KINDS)
def test_sphere(tmp_path: Path, kind: str) -> None:
    """A sphere of facets lies within the sphere: 4/3 π r³ and 4 π r² less an error that four times the facets quarter."""
    radius, errors = 200.0, []
    for finer in (3, 4):
        found = measured(tmp_path, trimesh.creation.icosphere(finer, radius), kind)
        volume, area = 4 / 3 * math.pi * 0.2**3, 4 * math.pi * 0.2**2
        errors.append((1 - found.volume / volume, 1 - found.area / area))
        assert found.height == pytest.approx(0.4, rel=1e-6)
    assert all(0 < error < 0.01 for error in errors[0])
    assert [coarse / fine for coarse, fine in zip(*errors, strict=True)] == pytest.approx([4.0, 4.0], rel=0.02)


@pytest.mark.parametrize("kind", KINDS)
def test_torus(tmp_path: Path, kind: str) -> None:
    """A torus: 2 π² R r² and 4 π² R r (theorems of Pappus), exactly those of the polygons that stand for its circles."""
    major, minor, sides = 300.0, 80.0, 64
    found = measured(tmp_path, trimesh.creation.torus(major, minor, sides, sides), kind)
    polygon = sides / (2 * math.pi) * math.sin(2 * math.pi / sides)  # area of a polygon within its circle, as a share
    assert found.volume == pytest.approx(2 * math.pi**2 * 0.3 * 0.08**2 * polygon**2, rel=2e-4)
    assert found.area == pytest.approx(4 * math.pi**2 * 0.3 * 0.08, rel=2e-3)
    assert (found.length, found.width) == pytest.approx((0.76, 0.76), rel=1e-5)


@pytest.mark.parametrize("kind", KINDS)
def test_frustum(tmp_path: Path, kind: str) -> None:
    """A frustum of a pyramid: h/3 (A + B + √(AB)), its flanks, and the foot that it stands on."""
    corners = [(x * size / 2, y * size / 2, z) for z, size in ((0, 400), (300, 200)) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    solid = manifold3d.Manifold.hull_points(np.array(corners, dtype=float)).to_mesh64()
    found = measured(tmp_path, trimesh.Trimesh(solid.vert_properties, solid.tri_verts), kind)
    assert found.volume == pytest.approx(0.3 / 3 * (0.16 + 0.04 + 0.08), rel=1e-6)
    slant = math.hypot(0.3, 0.1)
    assert found.area == pytest.approx(0.16 + 0.04 + 4 * 0.3 * slant, rel=1e-6)
    assert found.foot_area == pytest.approx(0.16, rel=1e-6)
    assert (found.length, found.width, found.height) == pytest.approx((0.4, 0.4, 0.3), rel=1e-6)


def test_a_basin_is_the_difference_of_its_solids(tmp_path: Path) -> None:
    """A hollow inside is taken off; a solid whose faces look inward has the same volume."""
    outer, inner = trimesh.creation.box((600, 400, 150)), trimesh.creation.box((560, 360, 130))
    inner.apply_translation((0, 0, 30))
    basin = trimesh.boolean.difference([outer, inner], engine="manifold")
    found = measured(tmp_path, basin, "stl")
    assert found.volume == pytest.approx(0.6 * 0.4 * 0.15 - 0.56 * 0.36 * 0.11, rel=1e-6)
    basin.invert()
    assert measured(tmp_path, basin, "stl").volume == pytest.approx(found.volume, rel=1e-9)


def test_open_edges_are_counted(tmp_path: Path) -> None:
    """A box without one triangle has three open edges."""
    box = trimesh.creation.box((400, 300, 200))
    torn = trimesh.Trimesh(box.vertices, box.faces[1:], process=False)
    with pytest.raises(ModelFileError, match="is not watertight: 3 edges are open; close the holes"):
        measured(tmp_path, torn, "stl")


@pytest.mark.parametrize(("name", "unit", "said"), [
    ("solid.stl", "", r"does not say in which unit its figures are; write it after the name: solid.stl \(mm\)"),
    ("solid.stl", "kg", '"kg" is no unit of length'),
    ("solid.stl", "m", "would be 400 m long over all; look at the unit"),
    ("solid.step", "mm", "save the model as STL, OBJ, PLY or 3MF"),
    ("other.stl", "mm", 'there is no file "other.stl" beside the price book'),
    ("../solid.stl", "mm", "lies elsewhere; put the file beside the price book"),
    ("/solid.stl", "mm", "lies elsewhere"),
    ("C:\\solid.stl", "mm", "lies elsewhere"),
])
def test_what_cannot_be_measured_is_a_sentence(tmp_path: Path, name: str, unit: str, said: str) -> None:
    """A unit that is missing or wrong, another kind of file, no file, a file elsewhere: each has its remedy."""
    folder = tmp_path / "books"
    folder.mkdir()
    saved(folder, trimesh.creation.box((400, 300, 200)), "stl")
    with pytest.raises(ModelFileError, match=said):
        measure_model(folder, name, unit)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("content", [b"", b"nothing of the kind", b"\x00" * 500, b"solid x\nfacet normal 0 0 0\nouter loop\nvertex nan"])
def test_a_broken_file_is_a_sentence(tmp_path: Path, kind: str, content: bytes) -> None:
    """Whatever stands in a file, it is read or refused in words."""
    tmp_path.joinpath(f"solid.{kind}").write_bytes(content)
    with pytest.raises(ModelFileError, match="solid"):
        measure_model(tmp_path, f"solid.{kind}", "mm")


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Size, unpacked size and number of triangles have their limits."""
    ball = trimesh.creation.icosphere(3, 100)
    monkeypatch.setattr(model_file, "MOST_TRIANGLES", 1000)
    with pytest.raises(ModelFileError, match="1,280 triangles; 1,000 is the most"):
        measured(tmp_path, ball, "stl")
    monkeypatch.setattr(model_file, "UNPACKED", 1000)
    with pytest.raises(ModelFileError, match="unpacks to more than"):
        measured(tmp_path, ball, "3mf")
    monkeypatch.setattr(model_file, "LARGEST", 1000)
    with pytest.raises(ModelFileError, match="is larger than"):
        measured(tmp_path, ball, "ply")


def test_parts_that_refer_to_each_other_without_end_are_refused(tmp_path: Path) -> None:
    """A small 3MF file that places a part two to the fortieth times, and one that holds itself, are refused at once."""
    objects = '<object id="1"><mesh><vertices/><triangles/></mesh></object>' + "".join(
        f'<object id="{n}"><components><component objectid="{n - 1}"/><component objectid="{n - 1}"/></components></object>'
        for n in range(2, 42)
    )
    circle = '<object id="1"><components><component objectid="1"/></components></object>'
    for inside, item in ((objects, 41), (circle, 1)):
        space = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
        model = f'<model xmlns="{space}"><resources>{inside}</resources><build><item objectid="{item}"/></build></model>'
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w") as archive:
            archive.writestr("3D/3dmodel.model", model)
        tmp_path.joinpath("solid.3mf").write_bytes(packed.getvalue())
        with pytest.raises(ModelFileError, match="places its parts more than"):
            measure_model(tmp_path, "solid.3mf")


def test_without_the_library_the_remedy_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who has not installed the extra reads what to install, or what to type instead."""
    name = saved(tmp_path, trimesh.creation.box((400, 300, 200)), "stl")
    monkeypatch.setitem(sys.modules, "trimesh", None)
    with pytest.raises(ModelFileError, match=r'pip install "cast-pricing\[models\]", or type the volume'):
        measure_model(tmp_path, name, "mm")


def test_a_3mf_file_in_inches_says_so_itself(tmp_path: Path) -> None:
    """The unit that a 3MF file states is taken; one behind its name stands before it."""
    box = trimesh.creation.box((10, 10, 10))
    box.units = "inch"
    name = saved(tmp_path, box, "3mf")
    text = zipfile.ZipFile(tmp_path / name).read("3D/3dmodel.model").decode()
    with zipfile.ZipFile(tmp_path / name, "w") as archive:
        archive.writestr("3D/3dmodel.model", text.replace('unit="millimeter"', 'unit="inch"'))
    assert measure_model(tmp_path, name).length == pytest.approx(0.254, rel=1e-6)
    assert measure_model(tmp_path, name, "cm").length == pytest.approx(0.1, rel=1e-6)


@pytest.mark.parametrize(("cell", "expected"), [
    ("basin.stl", ("basin.stl", "")), ("basin.stl (mm)", ("basin.stl", "mm")), ("basin.STL mm", ("basin.STL", "mm")),
    ("two words.obj [in]", ("two words.obj", "in")), ("basin", ("basin", "")), ("models/basin.ply cm", ("models/basin.ply", "cm")),
])
def test_the_cell_names_file_and_unit(cell: str, expected: tuple[str, str]) -> None:
    """The unit may stand behind the name, in brackets or not."""
    assert named_in(cell) == expected
