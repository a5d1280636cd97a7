"""Every shape of the trade: a table of rules from its dimensions to its take-off, its mould and its drawing.

>>> SHAPES["slab with a lip"].dimensions[:4]
('length', 'width', 'thickness', 'drop')
"""

from __future__ import annotations

from pricing.rules.shapes import dimensions as dimensions
from pricing.rules.shapes.lipped_slab import LIPPED_SLAB
from pricing.rules.shapes.shape import TAKE_OFF, Cut, Limit, Panel, Shape, check_order
from pricing.rules.shapes.slab import SLAB
from pricing.rules.shapes.solid import SOLID

#: The shapes by the name that the price book's Shape column uses.
SHAPES: dict[str, Shape] = {shape.name: shape for shape in (SLAB, LIPPED_SLAB, SOLID)}

__all__ = ["SHAPES", "TAKE_OFF", "Cut", "Limit", "Panel", "Shape", "check_order"]
