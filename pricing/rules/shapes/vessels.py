"""Rules that trough and planters share.

Seen: the outer faces, the rim, and the whole inside, walls and floor (how deep it is filled is the customer's matter).
Not seen: the foot and the faces of drain holes. Mould (common practice, no source): upside down, the rim on the base
board, around a core that stands on it; the foot is the open side, ground flat.
"""

from __future__ import annotations

from pricing.algebra import Value, choose, positive_part
from pricing.rules.shapes.shape import Limit


def floor_thickness(base_thickness: Value, wall: Value) -> Value:
    """Thickness of the floor: that of the walls where none is given [m]."""
    return choose(base_thickness > 0, base_thickness, wall)


def inner_height(height: Value, floor_thickness: Value) -> Value:
    """Depth inside [m]."""
    return height - floor_thickness


def inner_width(width: Value, wall: Value) -> Value:
    """Inner width at the rim [m]."""
    return width - 2 * wall


def core_end_length(inner_width: Value, board: Value) -> Value:
    """Wall across the core, between those along it [m]."""
    return positive_part(inner_width - 2 * board)


#: Limits on walls and floor that hold in every vessel.
FLOOR_LIMIT = Limit(
    inner_height, "the floor is as thick as the vessel is high; make Base thickness less than Height", "base_thickness"
)
#: What is said where the walls leave no inside.
WALLS = "the walls fill the inside; make Wall less"
