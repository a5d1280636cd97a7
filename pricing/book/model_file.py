"""A solid measured from a file of triangles: STL, OBJ, PLY or 3MF, as modelling programs write them.

The file is somebody else's: its size, what its archive holds, and how often one part refers to another are looked at before
it is read. A general mesh library (the extra ``models``) reads and measures it; it is imported when it is needed.
"""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any
from xml.etree import ElementTree

import numpy as np

from pricing.dataclass import dataclass
from pricing.units import LENGTH, unit_of

#: Kinds of files, by how their names end.
KINDS = ("stl", "obj", "ply", "3mf")

#: A larger file, an archive that unpacks to more, and more triangles are refused [bytes, bytes, number].
LARGEST, UNPACKED, MOST_TRIANGLES = 60_000_000, 200_000_000, 1_000_000

#: A 3MF file that places its parts more often than this is refused [number].
MOST_PARTS = 10_000

#: No piece is longer or shorter than this over all; otherwise the unit is wrong [m].
LONGEST, SHORTEST = 20.0, 0.01

#: Faces that lie this near to the lowest level, as a share of the height, are the foot on which the piece stands [1].
FOOT = 1e-4

_CELL = re.compile(r"(?P<name>.*\.(?:stl|obj|ply|3mf))\s*[\[(]?\s*(?P<unit>[^\])]*?)\s*[\])]?", re.IGNORECASE)


class ModelFileError(ValueError):
    """Raised where a model cannot be read or measured; its text is a sentence with the remedy."""


@dataclass(frozen=True)
class ModelMeasures:
    """What a model measures [SI].

    Parameters
    ----------
    volume, area : what the surface surrounds [m³], and the surface itself [m²]
    foot_area : of the faces that it stands on [m²]
    length, width, height : of the box around it [m]
    triangles : how many the surface has
    """

    volume: float
    area: float
    foot_area: float
    length: float
    width: float
    height: float
    triangles: int


def named_in(cell: str) -> tuple[str, str]:
    """The file and the unit that a cell of the Model column names; the unit is empty where none stands behind the name.

    >>> named_in("basin.stl (mm)"), named_in("Basin 2.3mf")
    (('basin.stl', 'mm'), ('Basin 2.3mf', ''))
    """
    found = _CELL.fullmatch(cell.strip())
    return (found["name"].strip(), found["unit"].strip()) if found else (cell.strip(), "")


def measure_model(folder: Path, name: str, unit: str = "") -> ModelMeasures:
    """Measure a model.

    Parameters
    ----------
    folder : of the price book, beside which the file lies
    name : of the file, with its ending
    unit : of its figures; empty where the file itself says it

    Problems raised: ModelFileError, with the remedy.
    """
    path = _path(folder, name)
    kind = path.suffix.lower().lstrip(".")
    content = _content(path, kind)
    mesh = _mesh(content, kind, name)
    return _measured(mesh, name, _metres(mesh, kind, name, unit))


def _path(folder: Path, name: str) -> Path:
    if PurePosixPath(name).is_absolute() or PureWindowsPath(name).drive or PureWindowsPath(name).root or ".." in re.split(r"[/\\]", name):
        raise ModelFileError(f'"{name}" lies elsewhere; put the file beside the price book and name it alone')
    path = folder / name
    if path.suffix.lower().lstrip(".") not in KINDS:
        raise ModelFileError(f'"{name}" is no file of triangles that is known here; save the model as STL, OBJ, PLY or 3MF')
    if not path.is_file():
        raise ModelFileError(f'there is no file "{name}" beside the price book; put it there, or look at its name')
    return path


def _content(path: Path, kind: str) -> bytes:
    try:
        if path.stat().st_size > LARGEST:
            raise ModelFileError(f'"{path.name}" is larger than {LARGEST // 1_000_000} MB; save it with fewer triangles')
        content = path.read_bytes()
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise ModelFileError(f'"{path.name}" cannot be read ({reason}); look at the file and its folder') from None
    if kind == "3mf":
        _look_into(content, path.name)
    return content


def _look_into(content: bytes, name: str) -> None:
    """Refuse an archive that unpacks to too much, and a model that places its parts without end."""
    broken = ModelFileError(f'"{name}" is no 3MF file that can be read; save the model again')
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if sum(member.file_size for member in archive.infolist()) > UNPACKED or len(archive.infolist()) > 1000:
                raise ModelFileError(f'"{name}" unpacks to more than {UNPACKED // 1_000_000} MB; save it with fewer triangles')
            parts = [archive.read(member) for member in archive.namelist() if member.lower().endswith(".model")]
        if any(b"<!DOCTYPE" in part or b"<!ENTITY" in part for part in parts):
            raise broken
        placed = sum(_placed(part) for part in parts)
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, ElementTree.ParseError, KeyError):
        raise broken from None
    if placed > MOST_PARTS:
        raise ModelFileError(f'"{name}" places its parts more than {MOST_PARTS} times; save it as one solid')


def _placed(part: bytes) -> int:
    """How many meshes a model is made of, once all that refer to each other are counted."""
    holds: dict[str, list[str]] = {}
    items: list[str] = []
    for _, element in ElementTree.iterparse(io.BytesIO(part), events=("end",)):
        tag = element.tag.rpartition("}")[2]
        if tag == "object":
            holds[element.get("id", "")] = [each.get("objectid", "") for each in element.iter() if each.tag.endswith("}component")]
        elif tag == "item":
            items.append(element.get("objectid", ""))
        if tag in ("vertex", "triangle", "mesh"):
            element.clear()
    counted: dict[str, int] = {}

    def count(name: str, depth: int) -> int:
        if depth > 100:
            return MOST_PARTS + 1
        if name not in counted:
            counted[name] = min(sum(count(each, depth + 1) for each in holds.get(name, [])) or 1, MOST_PARTS + 1)
        return counted[name]

    return sum(count(each, 0) for each in items)


def _mesh(content: bytes, kind: str, name: str) -> Any:
    try:
        import trimesh
    except ImportError:
        raise ModelFileError(
            f'measuring "{name}" needs a mesh library that is not installed; '
            'install it with: pip install "cast-pricing[models]", or type the volume and the areas of the solid'
        ) from None
    try:
        plain: dict[str, Any] = {"skip_materials": True} if kind == "obj" else {}
        made: Any = trimesh.load(io.BytesIO(content), file_type=kind, **plain)
        mesh = made if isinstance(made, trimesh.Trimesh) else made.to_mesh()
        mesh.merge_vertices()
    except ImportError:
        more = 'pip install "cast-pricing[models]", or save it as STL'
        raise ModelFileError(f'reading "{name}" needs more than is installed: {more}') from None
    except Exception:  # whatever a reader of other people's files stumbles over
        raise ModelFileError(f'"{name}" cannot be read as {kind.upper()}; save the model again') from None
    if not len(mesh.faces):
        raise ModelFileError(f'"{name}" has no triangles; save the solid, and not its drawing')
    if len(mesh.faces) > MOST_TRIANGLES:
        raise ModelFileError(f'"{name}" has {len(mesh.faces):,} triangles; {MOST_TRIANGLES:,} is the most, so save it coarser')
    if not np.isfinite(mesh.vertices).all():
        raise ModelFileError(f'"{name}" has points that are no numbers; save the model again')
    return mesh


def _metres(mesh: Any, kind: str, name: str, unit: str) -> float:
    """How many metres one unit of the file is."""
    stated = {"micron": 1e-6, "millimeter": 1e-3, "centimeter": 1e-2, "inch": 0.0254, "foot": 0.3048, "meter": 1.0}
    if unit:
        found = unit_of(unit)
        if isinstance(found, str) or found.dimension != LENGTH:
            raise ModelFileError(f'"{unit}" is no unit of length; write the unit of the file after its name: {name} (mm)')
        return found.factor
    if kind == "3mf":  # millimetres where the file is silent: 3MF Core Specification, 3.4, attribute unit
        return stated.get(str(mesh.units or "millimeter").lower().rstrip("s"), 1e-3)
    raise ModelFileError(f'"{name}" does not say in which unit its figures are; write it after the name: {name} (mm)')


def _measured(mesh: Any, name: str, metres: float) -> ModelMeasures:
    open_edges, crowded = _edges(mesh.faces)
    if open_edges:
        raise ModelFileError(
            f'"{name}" is not watertight: {open_edges:,} {"edge is" if open_edges == 1 else "edges are"} open; '
            "close the holes of the surface and save it again"
        )
    if crowded or not mesh.is_winding_consistent:
        raise ModelFileError(f'"{name}" is no single solid: faces lie in each other or look both ways; unite its parts and save it again')
    length, width, height = (float(size) * metres for size in mesh.extents)
    if not SHORTEST <= max(length, width, height) <= LONGEST:
        raise ModelFileError(
            f'"{name}" would be {max(length, width, height):.4g} m long over all; look at the unit that is written after its name'
        )
    volume = abs(float(mesh.volume)) * metres**3
    if volume <= 0:
        raise ModelFileError(f'"{name}" surrounds nothing; save the solid, and not its surface')
    lowest = mesh.bounds[0][2]
    level = mesh.triangles[:, :, 2].max(axis=1) <= lowest + FOOT * (mesh.bounds[1][2] - lowest)
    foot = float(mesh.area_faces[level].sum()) * metres**2
    return ModelMeasures(volume, float(mesh.area) * metres**2, foot, length, width, height, len(mesh.faces))


def _edges(faces: Any) -> tuple[int, int]:
    """How many edges have one face only, and how many more than two."""
    edges = np.sort(np.concatenate([faces[:, pair] for pair in ((0, 1), (1, 2), (2, 0))]), axis=1)
    _, counts = np.unique(edges, axis=0, return_counts=True)
    return int(np.count_nonzero(counts == 1)), int(np.count_nonzero(counts > 2))
