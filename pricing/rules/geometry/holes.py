"""Rules that many shapes share: round holes through the piece.

A hole is formed by a plug or by thin board bent into a tube (common practice, no source); a bead of sealant runs
around it where it stands on the mould.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose
from pricing.rules.geometry.shape import Limit, whole_number


def hole_girth(pi: Value, hole_diameter: Value) -> Value:
    """Length around one hole [m]."""
    return pi * hole_diameter


def hole_run(holes: Value, hole_girth: Value) -> Value:
    """Length around all holes [m]."""
    return holes * hole_girth


def hole_area(holes: Value, pi: Value, hole_diameter: Value) -> Value:
    """Holes together, seen from above [m²]."""
    return holes * pi * hole_diameter**2 / 4


def _sized(holes: Value, hole_diameter: Value) -> Value:
    return choose(holes > 0, hole_diameter, 1)


#: Limits on holes that hold in every shape.
HOLE_LIMITS: tuple[Limit, ...] = (
    *whole_number("holes"),
    Limit(_sized, "there are holes without a size; type Hole diameter, or leave Holes blank", "hole_diameter"),
)
