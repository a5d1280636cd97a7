"""The live formula of a figure of a quote: the rule's own algebra, without the branches that this quote does not need.

A rule chooses for every kind of workshop, such as whether tax is rounded down; a customer's page says only what holds
for the quote at hand. What is left is the rule's own formula, never one typed again.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from typing import Any

from pricing.algebra.expressions import Call, Expression, Name, Number, Operation, choose, expression_of

_COMPARED: dict[str, Callable[[float, float], bool]] = {
    "<": lambda a, b: a < b, "<=": lambda a, b: a <= b, ">": lambda a, b: a > b, ">=": lambda a, b: a >= b,
    "=": lambda a, b: a == b, "<>": lambda a, b: a != b,
}


def live_formula(rule: Callable[..., Any], cells: Mapping[str, str], settled: Mapping[str, float]) -> str:
    """The formula of a rule over the cells of a page.

    Parameters
    ----------
    rule : a rule of the costing method
    cells : the cell, or the formula of cells, that stands for each input
    settled : inputs that are the same whatever a reader of the page changes, by their value

    Problems raised: KeyError for an input that is neither.

    >>> from pricing.rules.totals import tax
    >>> live_formula(tax, {"net": "H20", "tax_rate": "G21"}, {"tax_down": 0, "minor_digits": 2})
    '=ROUND(H20*G21,2)'
    """
    return "=" + _settled(rule, tuple(settled.items())).formula(cells)


@functools.lru_cache(maxsize=512)
def _settled(rule: Callable[..., Any], settled: tuple[tuple[str, float], ...]) -> Expression:
    return settle(expression_of(rule), dict(settled))


def settle(expression: Expression, settled: Mapping[str, float]) -> Expression:
    """An expression with some of its names settled, and what follows from them: a branch taken, a nought left out.

    >>> from pricing.rules.totals import net
    >>> settle(expression_of(net), {"small_order_charge": 0, "minor_digits": 2}).formula({"goods_net": "A1", "carriage": "A2"})
    'ROUND(A1+A2,2)'
    """
    match expression:
        case Name(name) if name in settled:
            return Number(float(settled[name]))
        case Operation(sign, left, right):
            return _operation(sign, settle(left, settled), settle(right, settled))
        case Call(function, arguments):
            done = tuple(settle(argument, settled) for argument in arguments)
            if function is choose and isinstance(done[0], Number):
                return done[1] if done[0].value else done[2]
            return Call(function, done)
        case _:
            return expression


def _operation(sign: str, left: Expression, right: Expression) -> Expression:
    nothing = [isinstance(side, Number) and side.value == 0 for side in (left, right)]
    if sign in _COMPARED and isinstance(left, Number) and isinstance(right, Number):
        return Number(float(_COMPARED[sign](left.value, right.value)))
    if sign in "+-" and nothing[1]:
        return left
    if sign == "+" and nothing[0]:
        return right
    return Operation(sign, left, right)
