"""Edges that touch a wall: they are in the mould like any other, and neither ground nor polished.

A rectangular piece has two edges along its length and two along its width; which of them are seen is said by their number. A lip
stands at a seen edge; of a sill the back is hidden first. An edge around the top and an upright corner count as arrises only
where both faces beside them are seen.
"""

from __future__ import annotations

from collections.abc import Callable

from pricing.algebra.expressions import Value, positive_part, smaller
from pricing.glossary import Quantity, define
from pricing.rules.geometry.shape import Limit

define([
    Quantity("seen_long_edges", "Seen long edges", "dimensionless", "", 0, "How many of the two edges along the length are seen.", 0, 2),
    Quantity("seen_short_edges", "Seen short edges", "dimensionless", "", 0, "How many of the two edges along the width are seen.", 0, 2),
    Quantity("wall_sides", "Long edges at a wall", "dimensionless", "", 0, "How many of the two edges along the length are not seen."),
    Quantity("wall_ends", "Short edges at a wall", "dimensionless", "", 0, "How many of the two edges along the width are not seen."),
    Quantity("wall_corners", "Corners at a wall", "dimensionless", "", 0, "Upright corners beside an edge that is not seen."),
    Quantity("lip_corners_at_wall", "Lip corners at a wall", "dimensionless", "", 0, "Ends of lips at a corner beside an edge that is not seen."),
    Quantity("wall_back", "Back at a wall", "dimensionless", "", 0, "1 where the back of a sill is not seen."),
    Quantity("wall_front", "Front at a wall", "dimensionless", "", 0, "1 where the front of a sill is not seen either."),
    Quantity("wall_back_corners", "Back corners at a wall", "dimensionless", "", 0, "Upright corners at the back that are not seen."),
    Quantity("wall_front_corners", "Front corners at a wall", "dimensionless", "", 0, "Upright corners at the front that are not seen."),
    Quantity("wall_face", "Faces at a wall", "metre**2", "m²", 4, "Edges that are not seen."),
    Quantity("wall_arris", "Arrises at a wall", "metre", "m", 3, "Outward edges beside a face that is not seen."),
])

Rule = Callable[..., Value]


def wall_sides(seen_long_edges: Value) -> Value:
    """Edges along the length that are not seen [number]."""
    return 2 - seen_long_edges


def wall_ends(seen_short_edges: Value) -> Value:
    """Edges along the width that are not seen [number]."""
    return 2 - seen_short_edges


def wall_corners(seen_long_edges: Value, seen_short_edges: Value) -> Value:
    """Upright corners beside an edge that is not seen [number].

    >>> wall_corners(1, 2), wall_corners(1, 1), wall_corners(0, 2)
    (2, 3, 4)
    """
    return 4 - seen_long_edges * seen_short_edges


def lip_corners_at_wall(
    lip_corners: Value, seen_long_edges: Value, seen_short_edges: Value, long_lips: Value, short_lips: Value
) -> Value:
    """Of the corners at which a lip stands, those beside an edge that is not seen [number]."""
    return lip_corners - seen_long_edges * seen_short_edges + (seen_long_edges - long_lips) * (seen_short_edges - short_lips)


def wall_back(wall_sides: Value) -> Value:
    """1 where the back of a sill is not seen [flag]."""
    return smaller(wall_sides, 1)


def wall_front(wall_sides: Value) -> Value:
    """1 where its front is not seen either [flag]."""
    return positive_part(wall_sides - 1)


def wall_back_corners(wall_back: Value, seen_short_edges: Value) -> Value:
    """Upright corners at the back of a sill that are not seen [number]."""
    return 2 - (1 - wall_back) * seen_short_edges


def wall_front_corners(wall_front: Value, seen_short_edges: Value) -> Value:
    """Upright corners at the front of a sill that are not seen [number]."""
    return 2 - (1 - wall_front) * seen_short_edges


def _face_of_slab(wall_sides: Value, length: Value, wall_ends: Value, width: Value, thickness: Value) -> Value:
    """Edges that are not seen [m²]."""
    return (wall_sides * length + wall_ends * width) * thickness


def _arris_of_slab(
    wall_sides: Value, length: Value, wall_ends: Value, width: Value, wall_corners: Value, thickness: Value
) -> Value:
    """Outward edges beside a face that is not seen [m]."""
    return wall_sides * length + wall_ends * width + wall_corners * thickness


def _face_with_lips(
    wall_sides: Value, length: Value, thickness: Value, short_lips: Value, lip: Value, drop: Value, wall_ends: Value,
    width: Value, long_lips: Value,
) -> Value:
    """Edges that are not seen, ends of lips among them [m²]."""
    return (wall_sides * length + wall_ends * width) * thickness + (wall_sides * short_lips + wall_ends * long_lips) * lip * drop


def _arris_with_lips(
    wall_sides: Value, length: Value, short_lips: Value, lip: Value, wall_ends: Value, width: Value, long_lips: Value,
    wall_corners: Value, thickness: Value, lip_corners_at_wall: Value, drop: Value,
) -> Value:
    """Outward edges beside a face that is not seen, those of lips among them [m]."""
    return (
        wall_sides * (length + short_lips * lip) + wall_ends * (width + long_lips * lip)
        + wall_corners * thickness + lip_corners_at_wall * drop
    )


def _face_of_sill(
    wall_back: Value, length: Value, thickness: Value, wall_front: Value, edge_thickness: Value, wall_ends: Value, section_area: Value
) -> Value:
    """Back, front and ends that are not seen [m²]."""
    return length * (wall_back * thickness + wall_front * edge_thickness) + wall_ends * section_area


def _arris_of_sill(
    wall_sides: Value, length: Value, wall_ends: Value, slope: Value, wall_back_corners: Value, thickness: Value,
    wall_front_corners: Value, edge_thickness: Value,
) -> Value:
    """Outward edges beside a face that is not seen [m]."""
    return wall_sides * length + wall_ends * slope + wall_back_corners * thickness + wall_front_corners * edge_thickness


def _face_of_coping(wall_sides: Value, length: Value, edge_thickness: Value, wall_ends: Value, section_area: Value) -> Value:
    """Edges and ends that are not seen [m²]."""
    return wall_sides * length * edge_thickness + wall_ends * section_area


def _arris_of_coping(
    wall_sides: Value, length: Value, wall_ends: Value, slope: Value, wall_corners: Value, edge_thickness: Value
) -> Value:
    """Outward edges beside a face that is not seen [m]."""
    return wall_sides * length + 2 * wall_ends * slope + wall_corners * edge_thickness


def _pair(face: Rule, arris: Rule) -> tuple[Rule, Rule]:
    """The two results under the names that every shape gives them."""
    face.__name__, arris.__name__ = "wall_face", "wall_arris"
    return face, arris


_SLAB = (wall_sides, wall_ends, wall_corners, *_pair(_face_of_slab, _arris_of_slab))

#: The rules of each shape whose edges may touch a wall; of any other all edges are seen.
RULES: dict[str, tuple[Rule, ...]] = {
    "slab": _SLAB, "slab with openings": _SLAB,
    "slab with a lip": (wall_sides, wall_ends, wall_corners, lip_corners_at_wall, *_pair(_face_with_lips, _arris_with_lips)),
    "sill": (
        wall_sides, wall_ends, wall_back, wall_front, wall_back_corners, wall_front_corners, *_pair(_face_of_sill, _arris_of_sill),
    ),
    "coping": (wall_sides, wall_ends, wall_corners, *_pair(_face_of_coping, _arris_of_coping)),
}

#: How many edges are seen where nothing is said.
ALL_SEEN = {"seen_long_edges": 2.0, "seen_short_edges": 2.0}


def _long_lip_seen(seen_long_edges: Value, long_lips: Value) -> Value:
    return seen_long_edges - long_lips


def _short_lip_seen(seen_short_edges: Value, short_lips: Value) -> Value:
    return seen_short_edges - short_lips


#: What the edges of a slab with lips have to fulfil besides.
LIP_LIMITS = (
    Limit(_long_lip_seen, "a lip stands at a seen edge; make Seen long edges as many as Long lips or more", "seen_long_edges", False),
    Limit(_short_lip_seen, "a lip stands at a seen edge; make Seen short edges as many as Short lips or more", "seen_short_edges", False),
)
