"""Overhead: what an hour carries of rent, insurance and the hours that nobody pays for.

The rate is set on normal capacity, so that a slow year does not make the pieces dearer.

Source: IAS 2 Inventories, paragraph 13 (fixed production overhead is allocated on normal capacity; the amount for each
unit is not raised by low production).
"""

from __future__ import annotations

from pricing.algebra.expressions import Value
from pricing.glossary import Quantity, define

define([
    Quantity("overhead_per_year", "Overhead per year", "currency/year", "money per year", 0,
             "Rent, insurance, heating, unproductive hours and the like in one year.", 0.0, 1e15),
    Quantity("productive_hours", "Productive hours per year", "hour/year", "h", 0,
             "Hours that are worked on pieces in a normal year.", 1.0, 1e7),
    Quantity("overhead_rate", "Overhead for one hour", "currency/hour", "money per h", 2,
             "Overhead carried by each hour."),
])


def overhead_rate(overhead_per_year: Value, productive_hours: Value) -> Value:
    """Overhead carried by each productive hour.

    Parameters
    ----------
    overhead_per_year : [currency/year]
    productive_hours : in a normal year [hour/year]

    Returns
    -------
    overhead_rate [currency/hour]

    Source: any text on job costing (predetermined overhead rate).

    >>> overhead_rate(12000, 1000)
    12.0
    """
    return overhead_per_year / productive_hours
