"""Variances: how far a finished job went from its standard, split into what was paid and what was used.

Sign convention, everywhere: actual minus standard, so that **positive is adverse** (it cost more) and negative is
favourable. Standard quantities and hours are those allowed for the *actual* output. The price of a material is compared
on what was bought, its usage on what was used; where all that was bought is used, the two add up to the whole
difference between actual and standard cost, and so do the pairs for labour and overhead.

Source: any text on cost accounting; the figures of an open textbook (Saylor Academy 2012, Managerial Accounting,
chapter 10) are checked in the tests.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value
from pricing.glossary import Quantity, define

_ANY = float("-inf")

define([
    Quantity("standard_quantity_allowed", "Allowed use", "count", "", 3,
             "What the pieces really made were allowed of a material."),
    Quantity("actual_quantity_bought", "Bought", "count", "", 3, "What was bought of a material for the job."),
    Quantity("actual_quantity_used", "Used", "count", "", 3, "What the job really used of a material."),
    Quantity("actual_material_price", "Price paid", "currency/count", "money", 3,
             "What one unit of the material really cost."),
    Quantity("standard_material_price", "Standard price", "currency/count", "money", 3,
             "What one unit of the material was reckoned to cost."),
    Quantity("material_price_variance", "Price variance", "currency", "money", 2,
             "Paid more (positive) or less (negative) for the material than the standard price.", _ANY),
    Quantity("material_usage_variance", "Usage variance", "currency", "money", 2,
             "Used more (positive) or less (negative) of the material than was allowed, at the standard price.", _ANY),
    Quantity("standard_hours_allowed", "Allowed hours", "hour", "h", 2,
             "Hours that the pieces really made were allowed."),
    Quantity("actual_hours", "Hours taken", "hour", "h", 2, "Hours that the job really took."),
    Quantity("actual_labour_rate", "Rate paid", "currency/hour", "money per h", 2,
             "What an hour of labour really cost."),
    Quantity("standard_labour_rate", "Standard rate", "currency/hour", "money per h", 2,
             "What an hour of labour was reckoned to cost."),
    Quantity("labour_rate_variance", "Rate variance", "currency", "money", 2,
             "Paid more (positive) or less (negative) for the hours taken than the standard rate.", _ANY),
    Quantity("labour_time_variance", "Time variance", "currency", "money", 2,
             "Took more hours (positive) or fewer (negative) than were allowed, at the standard rate.", _ANY),
    Quantity("variable_overhead_rate", "Variable overhead rate", "currency/hour", "money per h", 2,
             "Overhead that grows with the hours worked, for one hour."),
    Quantity("variable_overhead_spent", "Variable overhead spent", "currency", "money", 2,
             "Overhead that grows with the hours worked, as really spent."),
    Quantity("overhead_spending_variance", "Overhead spending variance", "currency", "money", 2,
             "Spent more (positive) or less (negative) on variable overhead than the hours taken allow.", _ANY),
    Quantity("overhead_efficiency_variance", "Overhead efficiency variance", "currency", "money", 2,
             "Variable overhead of hours taken beyond (positive) or short of (negative) those allowed.", _ANY),
])


def material_price_variance(
    actual_material_price: Value, standard_material_price: Value, actual_quantity_bought: Value
) -> Value:
    """What was paid beyond the standard price for the material bought; positive is adverse.

    Parameters
    ----------
    actual_material_price : [currency/count]
    standard_material_price : [currency/count]
    actual_quantity_bought : [count]

    Returns
    -------
    material_price_variance [currency]

    >>> material_price_variance(6, 5, 100)
    100
    """
    return (actual_material_price - standard_material_price) * actual_quantity_bought


def material_usage_variance(
    actual_quantity_used: Value, standard_quantity_allowed: Value, standard_material_price: Value
) -> Value:
    """What was used of a material beyond what was allowed, at the standard price; positive is adverse.

    Parameters
    ----------
    actual_quantity_used : [count]
    standard_quantity_allowed : [count]
    standard_material_price : [currency/count]

    Returns
    -------
    material_usage_variance [currency]

    >>> material_usage_variance(110, 100, 5)
    50
    """
    return (actual_quantity_used - standard_quantity_allowed) * standard_material_price


def labour_rate_variance(actual_labour_rate: Value, standard_labour_rate: Value, actual_hours: Value) -> Value:
    """What was paid beyond the standard rate for the hours taken; positive is adverse.

    Parameters
    ----------
    actual_labour_rate : [currency/hour]
    standard_labour_rate : [currency/hour]
    actual_hours : [hour]

    Returns
    -------
    labour_rate_variance [currency]

    >>> labour_rate_variance(21, 20, 50)
    50
    """
    return (actual_labour_rate - standard_labour_rate) * actual_hours


def labour_time_variance(actual_hours: Value, standard_hours_allowed: Value, standard_labour_rate: Value) -> Value:
    """What the hours taken beyond those allowed cost, at the standard rate; positive is adverse.

    Parameters
    ----------
    actual_hours : [hour]
    standard_hours_allowed : [hour]
    standard_labour_rate : [currency/hour]

    Returns
    -------
    labour_time_variance [currency]

    >>> labour_time_variance(55, 50, 20)
    100
    """
    return (actual_hours - standard_hours_allowed) * standard_labour_rate


def overhead_spending_variance(
    variable_overhead_spent: Value, variable_overhead_rate: Value, actual_hours: Value
) -> Value:
    """Variable overhead spent beyond what the hours taken allow; positive is adverse.

    Parameters
    ----------
    variable_overhead_spent : [currency]
    variable_overhead_rate : [currency/hour]
    actual_hours : hours, or whatever else the rate is counted by [hour]

    Returns
    -------
    overhead_spending_variance [currency]

    >>> overhead_spending_variance(550, 10, 50)
    50
    """
    return variable_overhead_spent - variable_overhead_rate * actual_hours


def overhead_efficiency_variance(
    actual_hours: Value, standard_hours_allowed: Value, variable_overhead_rate: Value
) -> Value:
    """Variable overhead of the hours taken beyond those allowed; positive is adverse.

    Parameters
    ----------
    actual_hours : hours, or whatever else the rate is counted by [hour]
    standard_hours_allowed : [hour]
    variable_overhead_rate : [currency/hour]

    Returns
    -------
    overhead_efficiency_variance [currency]

    >>> overhead_efficiency_variance(55, 50, 10)
    50
    """
    return (actual_hours - standard_hours_allowed) * variable_overhead_rate
