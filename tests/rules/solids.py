"""A solid measured face by face and edge by edge: the referee of the shapes' closed forms.

The solid is built by boolean operations of a geometry library (manifold3d) from the same dimensions; its surface is
then told apart only by where a face lies and which way it looks, never by the formulas under test.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

Vectors = NDArray[np.float64]
Faces = Callable[[Vectors, Vectors], NDArray[np.bool_]]

#: Sides of the polygon that stands for a circle.
SIDES = 48


def circle_constant() -> float:
    """What π is for a polygon around a circle: its area is this × r², its outline this × d, exactly."""
    return SIDES * float(np.tan(np.pi / SIDES))


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> manifold3d.Manifold:
    """A block between two corners."""
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    return manifold3d.Manifold.cube(size).translate(low)


def cone(
    x: float, y: float, bottom: float, top: float, diameter: float, top_diameter: float | None = None
) -> manifold3d.Manifold:
    """An upright cylinder or cone, its circles replaced by the polygons around them."""
    around = 0.5 / float(np.cos(np.pi / SIDES))
    upper = diameter if top_diameter is None else top_diameter
    made = manifold3d.Manifold.cylinder(top - bottom, diameter * around, upper * around, SIDES)
    return made.translate((x, y, bottom))


def hull(points: list[tuple[float, float, float]]) -> manifold3d.Manifold:
    """The convex solid with these corners."""
    return manifold3d.Manifold.hull_points(np.array(points))


@dataclass(frozen=True)
class Measured:
    """What the surface of a solid amounts to, under the names that the shapes use [SI]."""

    volume: float
    face_area: float
    underside_area: float
    open_side_area: float
    release_area: float
    arris_length: float
    joint_length: float


def measure(
    solid: manifold3d.Manifold, seen: Faces, touched: Faces, *, sealed: Faces | None = None, least_angle: float = 1e-6,
    feet: bool = False,
) -> Measured:
    """Measure a solid.

    Parameters
    ----------
    solid : the piece as it is used, its top upwards [m]
    seen : from normals and centres of faces to True where a face is seen and finished
    touched : the same, True where a face lies against the mould
    sealed : the same, True where a face lies against a board whose joints get sealant; all that touch, if not given
    least_angle : two faces that turn by less are one bent face [rad]
    feet : whether boards stand on the piece, so that an inward edge of one touched face is the foot of a board and gets sealant
    """
    mesh = solid.to_mesh64()
    points = np.asarray(mesh.vert_properties)[:, :3]
    corners = points[np.asarray(mesh.tri_verts, dtype=np.int64)]
    crossed = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.linalg.norm(crossed, axis=1)
    normals, centres, areas = crossed / double[:, None], corners.mean(axis=1), double / 2
    is_seen, is_touched = seen(normals, centres), touched(normals, centres)
    is_sealed = sealed(normals, centres) if sealed else is_touched
    triangles = np.asarray(mesh.tri_verts, dtype=np.int64)
    first, second, lengths = _edges(points, triangles, normals, least_angle)
    one, other, standing = _edges(points, triangles, normals, least_angle, inward=True)
    of_feet = float(standing[is_touched[one] != is_touched[other]].sum()) if feet else 0.0
    return Measured(
        volume=solid.volume(),
        face_area=float(areas[is_seen].sum()),
        underside_area=float(areas[~is_seen].sum()),
        open_side_area=float(areas[~is_touched].sum()),
        release_area=float(areas[is_touched].sum()),
        arris_length=float(lengths[is_seen[first] & is_seen[second]].sum()),
        joint_length=float(lengths[is_sealed[first] & is_sealed[second]].sum()) + of_feet,
    )


def _edges(
    points: Vectors, triangles: NDArray[np.int64], normals: Vectors, least_angle: float, *, inward: bool = False
) -> tuple[NDArray[np.int64], NDArray[np.int64], Vectors]:
    """Edges at which two faces turn outwards, or inwards: the two faces of each, and its length."""
    faces = np.repeat(np.arange(len(triangles)), 3)
    starts, ends = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    # every edge is run along twice, once in each direction, by the two faces that share it
    order = np.lexsort((starts > ends, np.maximum(starts, ends), np.minimum(starts, ends)))
    there, back = order[0::2], order[1::2]
    if not (np.array_equal(starts[there], ends[back]) and np.array_equal(ends[there], starts[back])):
        raise ValueError("the surface is not closed")
    first, second = faces[there], faces[back]
    along = points[ends[there]] - points[starts[there]]
    turn = np.cross(normals[first], normals[second])
    angle = np.arctan2(np.linalg.norm(turn, axis=1), (normals[first] * normals[second]).sum(axis=1))
    # two faces turn outwards where their normals turn the way the edge runs around the first of them
    way = (turn * along).sum(axis=1)
    chosen = (angle > least_angle) & ((way < 0) if inward else (way > 0))
    return first[chosen], second[chosen], np.linalg.norm(along[chosen], axis=1)
