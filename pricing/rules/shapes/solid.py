"""Solid given by its own figures: whatever has no shape here, measured by the maker.

Its dimensions are its take-off; it has no panels, so the board of its mould is typed too. A figure that does not apply
is left blank and is nothing. Its length, width and height over all are no part of the take-off: it is drawn by them.
"""

from __future__ import annotations

from pricing.rules.geometry.shape import TAKE_OFF, Shape, more_than_zero

SOLID = Shape(
    name="solid",
    meaning="Anything else, given by its own volume, areas and lengths.",
    dimensions=TAKE_OFF,
    defaults=dict.fromkeys((name for name in TAKE_OFF if name not in ("volume", "face_area")), 0.0),
    rules=(),
    drawn_by=("length", "width", "height"),
    limits=more_than_zero("volume"),
)
