"""Machines: what an hour of one costs, by straight line, and with interest on the average investment.

A small workshop mostly needs the first: what the machine loses in worth, spread over the hours it will run, its upkeep
and its electricity. The other adds the cost of the money tied up in it.

Source: US Army Corps of Engineers EP 1110-1-8 (31 July 2003), volume 8, page 2-14, for depreciation by the hour and
the average investment. Published figures are checked in the tests.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value
from pricing.glossary import Quantity, define

define([
    Quantity("machine_price", "Machine price", "currency", "money", 2, "What the machine costs to buy, ready to run.", 0.0, 1e13),
    Quantity("resale", "Resale", "currency", "money", 2, "What the machine will fetch at the end of its life here.", 0.0, 1e13),
    Quantity("life_hours", "Life", "hour", "h", 0, "Hours the machine will run before it is sold or scrapped.", 1.0, 1e6),
    Quantity("upkeep", "Upkeep", "currency/hour", "money per h", 2,
             "Repairs, blades and service for one hour of running.", 0.0, 1e13),
    Quantity("power", "Power", "kilowatt", "kW", 2, "Electricity the machine draws while it runs.", 0.0, 10_000.0),
    Quantity("electricity_price", "Electricity price", "currency/(kilowatt*hour)", "per kWh", 4,
             "What a kilowatt-hour costs.", 0.0, 1e9),
    Quantity("machine_rate", "Machine hour", "currency/hour", "money per h", 2,
             "What one hour of the machine costs: loss in worth, upkeep and electricity."),
    Quantity("hours_used_per_year", "Hours used in a year", "hour", "h", 0, "Hours the machine runs in one year.", 1.0, 9_000.0),
    Quantity("years_of_life", "Life in years", "dimensionless", "years", 2,
             "Years until the machine's hours are used up."),
    Quantity("residual_share", "Residual share", "dimensionless", "%", 1,
             "Resale as a share of the machine's price.", 0.0, 1.0),
    Quantity("interest_rate", "Interest rate", "dimensionless", "%", 2,
             "Interest for one year: 0.08 for 8 %.", 0.0, 1.0),
    Quantity("average_investment_factor", "Average investment", "dimensionless", "", 4,
             "Money tied up in the machine, averaged over its years, as a share of its price.", 0.0, 1.0),
    Quantity("machine_rate_with_interest", "Machine hour with interest", "currency/hour", "money per h", 2,
             "What one hour of the machine costs, interest on the average investment included."),
])


def machine_rate(
    machine_price: Value, resale: Value, life_hours: Value, upkeep: Value, power: Value, electricity_price: Value
) -> Value:
    """Cost of a machine's hour: what it loses in worth by straight line, its upkeep and its electricity.

    Parameters
    ----------
    machine_price : what it costs to buy, less parts that wear out sooner and are carried in upkeep [currency]
    resale : what it fetches at the end [currency]
    life_hours : hours it runs until then [hour]
    upkeep : repairs, blades and service [currency/hour]
    power : electricity drawn [kilowatt]
    electricity_price : [currency/(kilowatt*hour)]

    Returns
    -------
    machine_rate [currency/hour]

    Source: EP 1110-1-8, volume 8, page 2-14 (depreciation by the hour).

    >>> machine_rate(5000, 1000, 4000, 0.5, 2, 0.25)
    2.0
    """
    return (machine_price - resale) / life_hours + upkeep + power * electricity_price


def years_of_life(life_hours: Value, hours_used_per_year: Value) -> Value:
    """Years in which a machine's hours are used up.

    Parameters
    ----------
    life_hours : [hour]
    hours_used_per_year : [hour]

    Returns
    -------
    years_of_life [dimensionless]

    Source: EP 1110-1-8, volume 8, page 2-14.

    >>> years_of_life(4000, 500)
    8.0
    """
    return life_hours / hours_used_per_year


def residual_share(resale: Value, machine_price: Value) -> Value:
    """Resale as a share of the machine's price.

    Parameters
    ----------
    resale : [currency]
    machine_price : [currency]

    Returns
    -------
    residual_share [dimensionless]

    >>> residual_share(1000, 5000)
    0.2
    """
    return resale / machine_price


def average_investment_factor(years_of_life: Value, residual_share: Value) -> Value:
    """Money tied up in a machine, averaged over its years, as a share of its price.

    Parameters
    ----------
    years_of_life : [dimensionless]
    residual_share : [dimensionless]

    Returns
    -------
    average_investment_factor [dimensionless]

    Source: EP 1110-1-8 (the form from memory and from a dictionary of equipment terms): the mean of the values at the
    start of each year where the loss in worth is even.

    >>> average_investment_factor(5, 0)
    0.6
    """
    return ((years_of_life - 1) * (1 + residual_share) + 2) / (2 * years_of_life)


def machine_rate_with_interest(
    machine_rate: Value,
    machine_price: Value,
    average_investment_factor: Value,
    interest_rate: Value,
    hours_used_per_year: Value,
) -> Value:
    """Cost of a machine's hour, interest on the average investment included.

    Parameters
    ----------
    machine_rate : by straight line, from :func:`machine_rate` [currency/hour]
    machine_price : [currency]
    average_investment_factor : [dimensionless]
    interest_rate : for one year [dimensionless]
    hours_used_per_year : [hour]

    Returns
    -------
    machine_rate_with_interest [currency/hour]

    Source: EP 1110-1-8 (cost of facilities capital on the average investment, from memory).

    >>> machine_rate_with_interest(2, 5000, 0.6, 0.10, 500)
    2.6
    """
    return machine_rate + machine_price * average_investment_factor * interest_rate / hours_used_per_year
