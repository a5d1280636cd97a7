"""Whether the table of a shape can be worked out in its order."""

from __future__ import annotations

from pricing.algebra.expressions import CONSTANTS, inputs_of
from pricing.rules.geometry.shape import TAKE_OFF, Shape


def check_order(shape: Shape) -> list[str]:
    """What is wrong with a shape's table: a rule that comes before what it rests on, or a missing result."""
    known = {*shape.dimensions, *shape.measured, *CONSTANTS, "board"}
    wrong = []
    for rule in shape.all_rules:
        missing = [name for name in inputs_of(rule) if name not in known]
        wrong += [f"{rule.__name__} rests on {name}, which is not known yet" for name in missing]
        known.add(rule.__name__)
    wrong += [f"{name} is missing" for name in TAKE_OFF if name not in known]
    return wrong
