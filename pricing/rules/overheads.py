"""Overhead: what an hour carries of rent, insurance and the hours that nobody pays for.

The rate is set on normal capacity. A slow year does not make the pieces dearer: what its hours do not carry is a cost
of the period. An unusually busy year makes them cheaper, since no more may be carried than was spent.

Source: IAS 2 Inventories, paragraph 13 (fixed production overhead is allocated on normal capacity; the amount for each
unit is not raised by low production and is lowered by abnormally high production).
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, larger
from pricing.glossary import Quantity, define

_ANY = float("-inf")

define([
    Quantity("overhead_per_year", "Overhead per year", "currency/year", "money per year", 0,
             "Rent, insurance, heating, unproductive hours and the like in one year."),
    Quantity("productive_hours", "Productive hours per year", "hour/year", "h", 0,
             "Hours that are worked on pieces in a normal year."),
    Quantity("overhead_rate", "Overhead for one hour", "currency/hour", "money per h", 4,
             "Overhead carried by each hour."),
    Quantity("hours_worked", "Hours worked in the year", "hour/year", "h", 0,
             "Hours really worked on pieces in the year."),
    Quantity("normal_capacity_rate", "Overhead rate on normal capacity", "currency/hour", "money per h", 4,
             "Overhead carried by each hour, on normal capacity or on the hours worked if there were more."),
    Quantity("overhead_absorbed", "Overhead absorbed", "currency/year", "money per year", 2,
             "Overhead that the hours worked have carried."),
    Quantity("overhead_spent", "Overhead spent", "currency/year", "money per year", 2,
             "Overhead really spent in the year."),
    Quantity("overhead_unabsorbed", "Overhead not absorbed", "currency/year", "money per year", 2,
             "Overhead spent that the hours worked did not carry (positive, adverse) or carried too much (negative).",
             _ANY),
    Quantity("amount_to_prorate", "Amount to share out", "currency", "money", 2,
             "What is shared out in proportion.", _ANY),
    Quantity("balance", "Balance", "currency", "money", 2, "Balance of the account that takes its share."),
    Quantity("balances_total", "Balances in all", "currency", "money", 2, "Sum of the balances that take a share."),
    Quantity("prorated_amount", "Share", "currency", "money", 2,
             "The account's share, in proportion to its balance.", _ANY),
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


def normal_capacity_rate(overhead_per_year: Value, productive_hours: Value, hours_worked: Value) -> Value:
    """Overhead carried by each hour of a finished year: no more than normal capacity allows, nor more than was spent.

    Parameters
    ----------
    overhead_per_year : [currency/year]
    productive_hours : normal capacity [hour/year]
    hours_worked : [hour/year]

    Returns
    -------
    normal_capacity_rate [currency/hour]

    Source: IAS 2, paragraph 13.

    >>> float(normal_capacity_rate(12000, 1000, 800)), float(normal_capacity_rate(12000, 1000, 1250))
    (12.0, 9.6)
    """
    return overhead_per_year / larger(productive_hours, hours_worked)


def overhead_absorbed(overhead_rate: Value, hours_worked: Value) -> Value:
    """Overhead that the hours worked have carried.

    Parameters
    ----------
    overhead_rate : [currency/hour]
    hours_worked : [hour/year]

    Returns
    -------
    overhead_absorbed [currency/year]

    >>> overhead_absorbed(12, 800)
    9600
    """
    return overhead_rate * hours_worked


def overhead_unabsorbed(overhead_spent: Value, overhead_absorbed: Value) -> Value:
    """Overhead spent that the hours worked did not carry; positive is adverse.

    Parameters
    ----------
    overhead_spent : [currency/year]
    overhead_absorbed : [currency/year]

    Returns
    -------
    overhead_unabsorbed [currency/year]

    >>> overhead_unabsorbed(12000, 9600)
    2400
    """
    return overhead_spent - overhead_absorbed


def prorated_amount(amount_to_prorate: Value, balance: Value, balances_total: Value) -> Value:
    """An account's share of an amount, in proportion to its balance, not rounded.

    Parameters
    ----------
    amount_to_prorate : such as overhead absorbed beyond what was spent [currency]
    balance : of the account [currency]
    balances_total : of all accounts that take a share [currency]

    Returns
    -------
    prorated_amount [currency]

    Source: any text on job costing (over- or under-applied overhead).

    >>> prorated_amount(1000, 30, 120)
    250.0
    """
    return amount_to_prorate * balance / balances_total
