"""The price of what is sold by a measure: by the square metre, the metre, the kilogram."""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, round_to
from pricing.glossary import Quantity, define

define([
    Quantity("counted_each", "Counted in one piece", "dimensionless", "", 5, "Square metres, metres or kilograms of one piece; 1 where it is priced by the piece."),
    Quantity("measure_size", "Size of the measure", "dimensionless", "", 6, "How much of that its price is for: 1, or what a square foot, a foot or a pound is of it."),
    Quantity("measure_each", "Measure of one piece", "dimensionless", "", 5, "How much of what it is priced by is in one piece; 1 where that is the piece."),
    Quantity("measure_price", "Price of one measure", "currency/piece", "money", 2,
             "What the customer pays for one piece, or for one of what the product is priced by, without tax."),
    Quantity("charged_measure", "Measure charged", "piece", "", 2, "Pieces of the line, or what it is priced by, to two decimal places."),
])


def measure_each(counted_each: Value, measure_size: Value) -> Value:
    """How much of what it is priced by is in one piece [1].

    >>> round(measure_each(0.5, 0.09290304), 5)
    5.38196
    """
    return counted_each / measure_size


def price_steps(target_price: Value, measure_each: Value, price_step: Value) -> Value:
    """Target price of one of what the product is priced by, counted in price steps [1].

    >>> price_steps(20.0, 0.25, 1.0)
    80.0
    """
    return target_price / measure_each / price_step


def measure_price(price_is_given: Value, given_price: Value, rounded_price: Value) -> Value:
    """What the customer pays for one of what the product is priced by, without tax [currency/piece]."""
    return choose(price_is_given, given_price, rounded_price)


def unit_price(measure_price: Value, measure_each: Value) -> Value:
    """What the customer pays for one piece, without tax [currency/piece].

    >>> unit_price(80.0, 0.25)
    20.0
    """
    return measure_price * measure_each


def charged_measure(quantity: Value, measure_each: Value) -> Value:
    """What the line is priced by, square metres, feet or kilograms among them, to two decimal places [pieces].

    >>> float(charged_measure(200.0, 0.0256))
    5.12
    """
    return round_to(quantity * measure_each, 2)


def line_net(charged_measure: Value, measure_price: Value, own_discount: Value, minor_digits: Value) -> Value:
    """Measure times its price less the line's own discount, rounded (EN 16931, BT-131 with BT-136) [currency].

    >>> float(line_net(5.12, 80.0, 0.0, 2))
    409.6
    """
    return round_to(charged_measure * measure_price * (1 - own_discount), minor_digits)
