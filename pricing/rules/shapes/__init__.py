"""Every shape of the trade: a table of rules from its dimensions to its take-off, its mould and its drawing.

>>> SHAPES["slab with a lip"].dimensions[:4]
('length', 'width', 'thickness', 'drop')
"""

from __future__ import annotations

from pricing.rules.geometry import dimensions as dimensions
from pricing.rules.geometry.shape import TAKE_OFF, Cut, Limit, Panel, Shape
from pricing.rules.shapes.bench import BENCH
from pricing.rules.shapes.coping import COPING
from pricing.rules.shapes.disc import DISC
from pricing.rules.shapes.l_slab import L_SLAB
from pricing.rules.shapes.lipped_slab import LIPPED_SLAB
from pricing.rules.shapes.ring import RING
from pricing.rules.shapes.round_planter import ROUND_PLANTER
from pricing.rules.shapes.sill import SILL
from pricing.rules.shapes.slab import SLAB
from pricing.rules.shapes.slab_by_outline import SLAB_BY_OUTLINE
from pricing.rules.shapes.slab_with_openings import SLAB_WITH_OPENINGS
from pricing.rules.shapes.solid import SOLID
from pricing.rules.shapes.square_planter import SQUARE_PLANTER
from pricing.rules.shapes.step import STEP
from pricing.rules.shapes.trough import TROUGH

#: The shapes by the name that the price book's Shape column uses, in the order in which they are offered.
SHAPES: dict[str, Shape] = {
    shape.name: shape
    for shape in (
        SLAB, LIPPED_SLAB, SLAB_WITH_OPENINGS, L_SLAB, SLAB_BY_OUTLINE, DISC, RING, STEP, COPING, SILL, TROUGH, SQUARE_PLANTER,
        ROUND_PLANTER, BENCH, SOLID,
    )
}

__all__ = ["SHAPES", "TAKE_OFF", "Cut", "Limit", "Panel", "Shape"]
