"""Figures with their units, as they go into the interface and come out of it; what a maker types is the common form of both.

A quantity belongs to the one registry of :mod:`pricing.units`; one of another registry is taken over by the name of its unit.
pint is imported when the first quantity is asked for.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from pricing.units import AMBIGUOUS, COUNTED, TABLE, registry, unit_of

if TYPE_CHECKING:
    import pint

#: How pint spells each unit of the closed list, and what is counted.
_PINT: dict[str, str] = {spelling: pint for spelling, _, _, _, pint in TABLE} | {each: each for each in COUNTED}


def quantity(figure: Any, unit: str = "") -> pint.Quantity[Any]:
    """A figure with its unit, in the one registry.

    Parameters
    ----------
    figure : a number, or an array of them
    unit : as a maker may write it (``mm``, ``m2/L``, ``currency/kg``), or as the glossary spells it (``metre**2/piece``)

    Problems raised: ValueError where the unit means two things; pint.UndefinedUnitError where there is none of that name.

    >>> print(quantity(25, "mm").to("inch").round(3), quantity(12.5, "currency/piece") * quantity(4, "piece"))
    0.984 inch 50.0 currency
    """
    return registry().Quantity(figure, "/".join(map(_spelled, unit.split("/"))))


def _spelled(part: str) -> str:
    """A unit as pint spells it; one that the closed list lacks is left to pint."""
    if part.casefold() in AMBIGUOUS:
        raise ValueError(AMBIGUOUS[part.casefold()])
    if part in _PINT or part.removesuffix("s") in COUNTED:
        return f"({_PINT.get(part, part.removesuffix('s'))})"
    known = unit_of(part)
    return f"({part if isinstance(known, str) else _PINT[known.spelling]})" if part else ""


def is_quantity(value: Any) -> bool:
    """True for what has a magnitude and units, whichever registry it is of; pint is not imported for it."""
    return hasattr(value, "magnitude") and hasattr(value, "units")


def as_typed(value: Any) -> str:
    """A number or a quantity as a maker would type it: in a unit of the closed list, every digit kept.

    Parameters
    ----------
    value : a number, a quantity, or a text, which stays as it is

    Returns
    -------
    the text; a unit that the list lacks is converted into one that it has, or stands by its name where there is none

    >>> as_typed(0.1), as_typed(quantity(1.5, "m")), as_typed(quantity(9.8, "currency/kg"))
    ('0.1', '1.5 m', '9.8 currency/kg')
    >>> as_typed(registry().Quantity(2, "mile")), as_typed(registry().Quantity(2, "tesla"))
    ('3218.688 m', '2 tesla')
    """
    if isinstance(value, str):
        return value
    if not is_quantity(value):
        return np.format_float_positional(float(value), trim="-")
    spelling, factor = _in_the_list(str(value.units))
    return f"{np.format_float_positional(float(f'{float(value.magnitude) * factor:.15g}'), trim='-')} {spelling}".strip()


@functools.cache
def _in_the_list(units: str) -> tuple[str, float]:
    """The spelling of a unit of pint's in the closed list, and how many of it one is; the unit itself where nothing fits."""
    one = registry().Quantity(1.0, units)
    if one.dimensionless and one.units != registry().Unit("percent"):
        return "", float(one.m_as("dimensionless"))
    known = {spelling: registry().Unit(pint) for spelling, pint in _PINT.items()}
    fitting = {spelling: unit for spelling, unit in known.items() if unit.dimensionality == one.dimensionality} or {
        f"{above}/{below}": over / under
        for above, over in known.items() for below, under in known.items() if (over / under).dimensionality == one.dimensionality
    }
    if not fitting:
        return units, 1.0
    # Of those that fit, the unit itself; otherwise the one that is nearest to the base of the SI.
    spelling = min(fitting, key=lambda each: (fitting[each] != one.units, abs(np.log10((1.0 * fitting[each]).to_base_units().magnitude))))
    return spelling, float(one.m_as(fitting[spelling]))


def pieces(figures: Iterable[Any]) -> tuple[float, ...]:
    """Numbers of pieces as plain numbers.

    >>> pieces([1, quantity(5, "pieces")])
    (1.0, 5.0)
    """
    return tuple(in_unit(figure, "piece") for figure in figures)


def in_unit(figure: Any, unit: str) -> float:
    """A figure as a plain number: a quantity in a unit, a number as it is.

    Parameters
    ----------
    unit : as :func:`quantity` takes it

    Problems raised: pint.DimensionalityError where a quantity is of another dimension.

    >>> in_unit(quantity(25, "cm"), "mm"), in_unit(4, "piece")
    (250.0, 4.0)
    """
    if not is_quantity(figure):
        return float(figure)
    return float(registry().Quantity(figure.magnitude, str(figure.units)).m_as(quantity(1.0, unit).units))
