"""What of a rule's algebra counts at given figures: its worth, the names that make a difference, and its shorter form.

A rule chooses for every kind of workshop, such as whether tax is rounded down. The explanation and a customer's page say only
what holds for the figure at hand, and what is left is the rule's own algebra, never one typed again.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np

from pricing.algebra.expressions import Call, Expression, Name, Number, Operation, Pieces, expression_of, in_cells


def decisive(algebra: Expression, values: Mapping[str, float]) -> Iterator[str]:
    """The names that make a difference to an expression: those of a way not taken, or multiplied by zero, do not.

    >>> from pricing.algebra.expressions import expression_of
    >>> from pricing.rules.prices import unit_price
    >>> list(decisive(expression_of(unit_price), {"price_is_given": 1.0, "given_price": 95.0, "rounded_price": 40.0}))
    ['price_is_given', 'given_price']
    """
    match algebra:
        case Name(name):
            yield name
        case Operation("*", left, right) if worth(left, values) == 0 or worth(right, values) == 0:
            yield from decisive(left if worth(left, values) == 0 else right, values)
        case Operation("/", left, right) if worth(left, values) == 0 and worth(right, values) != 0:
            yield from decisive(left, values)
        case Operation(_, left, right):
            yield from decisive(left, values)
            yield from decisive(right, values)
        case Call(function, (condition, when_true, when_false)) if function.name == "choose":
            yield from decisive(condition, values)
            yield from decisive(when_true if worth(condition, values) else when_false, values)
        case Call(_, arguments):
            for argument in arguments:
                yield from decisive(argument, values)


def worth(algebra: Expression, values: Mapping[str, float]) -> float:
    """What an expression comes to with these figures for its names.

    >>> worth(Name("length") * 2 + 1, {"length": 3.0})
    7.0
    """
    match algebra:
        case Name(name):
            return values[name]
        case Number(value):
            return value
        case Operation(sign, left, right):
            with np.errstate(all="ignore"):
                return float(_SIGNS[sign](np.float64(worth(left, values)), np.float64(worth(right, values))))
        case Call(function, arguments):
            with np.errstate(all="ignore"):
                return float(function.numeric(*(worth(argument, values) for argument in arguments)))
    raise TypeError(f"{algebra!r} has no worth")


_SIGNS: dict[str, Any] = {
    "+": np.add, "-": np.subtract, "*": np.multiply, "/": np.divide, "^": np.power,
    "<": np.less, "<=": np.less_equal, ">": np.greater, ">=": np.greater_equal,
}


def raised(expression: Expression) -> frozenset[str]:
    """The names that stand directly under a power."""
    match expression:
        case Operation("^", Name(name), _):
            return frozenset({name})
        case Operation(_, left, right):
            return raised(left) | raised(right)
        case Call(_, arguments):
            return frozenset[str]().union(*(raised(argument) for argument in arguments))
    return frozenset()


def simplified(algebra: Expression, settled: Mapping[str, float]) -> Expression:
    """An expression with some of its names settled: sums lose what is zero, products what is one, ways not taken go.

    >>> flagged = Name("wages") * (1 - Name("builds_mould"))
    >>> simplified(flagged, {"builds_mould": 0.0}).formula({"wages": "C7"})
    'C7'
    """
    match algebra:
        case Name(name) if name in settled:
            return Number(settled[name])
        case Operation(sign, left, right):
            first, second = simplified(left, settled), simplified(right, settled)
            return algebra if first is left and second is right else _joined(Operation(sign, first, second))
        case Call(function, arguments):
            made = tuple(simplified(argument, settled) for argument in arguments)
            if function.name == "choose" and isinstance(made[0], Number):
                return made[1] if made[0].value else made[2]
            return algebra if all(new is old for new, old in zip(made, arguments, strict=True)) else Call(function, made)
    return algebra


def taken(algebra: Expression, values: Mapping[str, float]) -> Expression:
    """An expression without its conditions: of each choice the way that these figures take.

    >>> from pricing.rules.prices import unit_price
    >>> given = {"price_is_given": 1.0, "given_price": 95.0, "rounded_price": 40.0}
    >>> taken(expression_of(unit_price), given).formula({"given_price": "G7"})
    'G7'
    """
    match algebra:
        case Operation(sign, left, right):
            return Operation(sign, taken(left, values), taken(right, values))
        case Call(function, (condition, when_true, when_false)) if function.name == "choose":
            return taken(when_true if worth(condition, values) else when_false, values)
        case Call(function, arguments):
            return Call(function, tuple(taken(argument, values) for argument in arguments))
    return algebra


def live_formula(rule: Callable[..., Any], cells: Mapping[str, str], settled: Mapping[str, float]) -> str:
    """The formula of a rule over the cells of a page, without the branches that the page does not need.

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
    return "=" + in_cells(_of_rule(rule, tuple(settled.items())), cells)


@functools.lru_cache(maxsize=512)
def _of_rule(rule: Callable[..., Any], settled: tuple[tuple[str, float], ...]) -> Pieces:
    return simplified(expression_of(rule), {name: float(value) for name, value in settled}).pieces()


def _joined(made: Operation) -> Expression:
    """An operation one of whose sides was settled, without what changes nothing."""
    left, right = (side.value if isinstance(side, Number) else None for side in (made.left, made.right))
    if left is not None and right is not None:
        return Number(worth(made, {}))
    match made.sign:
        case "*" if 0 in (left, right):
            return Number(0.0)
        case "/" if left == 0:
            return Number(0.0)
        case "*" if left == 1:
            return made.right
        case "+" if left == 0:
            return made.right
        case "*" | "/" if right == 1:
            return made.left
        case "+" | "-" if right == 0:
            return made.left
    return made
