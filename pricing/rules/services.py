"""What is otherwise in a line of a service: it is not cast."""

from __future__ import annotations

from pricing.algebra.expressions import Value, larger, whole_up
from pricing.glossary import Quantity, define

define([
    Quantity("is_service", "A service", "dimensionless", "flag", 0, "1 where the line is a service, which is not cast."),
])


def rounds(is_service: Value, quantity: Value, casts: Value, places: Value) -> Value:
    """How often the moulds of a line are filled; a service is not cast [rounds].

    >>> float(rounds(1.0, 3.0, 3.0, 3.0)), float(rounds(0.0, 8.0, 8.0, 4.0))
    (0.0, 2.0)
    """
    return (1 - is_service) * larger(whole_up(quantity / places), casts / places)
