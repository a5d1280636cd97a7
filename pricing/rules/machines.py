"""Machines: what an hour of one costs, by straight line, with interest on the average investment, by capital recovery.

A small workshop mostly needs the first: what the machine loses in worth, spread over the hours it will run, its upkeep
and its electricity. The other two add the cost of the money tied up in it.

Sources: US Army Corps of Engineers EP 1110-1-8 (31 July 2003), volume 8, page 2-14, for depreciation by the hour and
the average investment; any text on engineering economy for capital recovery. Published figures are checked in the
tests.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from pricing.algebra.expressions import Function, Value
from pricing.glossary import Quantity, define

define([
    Quantity("machine_price", "Machine price", "currency", "money", 2, "What the machine costs to buy, ready to run."),
    Quantity("resale", "Resale", "currency", "money", 2, "What the machine will fetch at the end of its life here."),
    Quantity("life_hours", "Life", "hour", "h", 0, "Hours the machine will run before it is sold or scrapped."),
    Quantity("upkeep", "Upkeep", "currency/hour", "money per h", 2,
             "Repairs, blades and service for one hour of running."),
    Quantity("power", "Power", "kilowatt", "kW", 2, "Electricity the machine draws while it runs."),
    Quantity("electricity_price", "Electricity price", "currency/(kilowatt*hour)", "per kWh", 4,
             "What a kilowatt-hour costs."),
    Quantity("machine_rate", "Machine hour", "currency/hour", "money per h", 4,
             "What one hour of the machine costs: loss in worth, upkeep and electricity."),
    Quantity("hours_used_per_year", "Hours used in a year", "hour", "h", 0, "Hours the machine runs in one year."),
    Quantity("years_of_life", "Life in years", "dimensionless", "years", 2,
             "Years until the machine's hours are used up."),
    Quantity("residual_share", "Residual share", "dimensionless", "%", 1,
             "Resale as a share of the machine's price.", 0.0, 1.0),
    Quantity("interest_rate", "Interest rate", "dimensionless", "%", 2,
             "Interest for one year: 0.08 for 8 %.", 0.0, 1.0),
    Quantity("average_investment_factor", "Average investment", "dimensionless", "", 4,
             "Money tied up in the machine, averaged over its years, as a share of its price.", 0.0, 1.0),
    Quantity("machine_rate_with_interest", "Machine hour with interest", "currency/hour", "money per h", 4,
             "What one hour of the machine costs, interest on the average investment included."),
    Quantity("present_value_factor", "Present value factor", "dimensionless", "", 4,
             "What one unit of money a year, at the end of each of so many years, is worth today."),
    Quantity("capital_recovery_factor", "Capital recovery factor", "dimensionless", "", 5,
             "Equal payment, at the end of each of so many years, that repays one unit of money with interest."),
    Quantity("sinking_fund_factor", "Sinking fund factor", "dimensionless", "", 5,
             "Equal payment, at the end of each of so many years, that grows to one unit of money."),
    Quantity("owning_cost_per_year", "Owning cost of a year", "currency", "money", 2,
             "Equal yearly cost of owning the machine: its loss in worth and interest, by capital recovery."),
    Quantity("machine_rate_by_capital_recovery", "Machine hour by capital recovery", "currency/hour", "money per h", 4,
             "What one hour of the machine costs, its owning cost by capital recovery."),
])


def _present_value(rate: Any, years: Any) -> Any:
    rates = np.asarray(rate, dtype=np.float64)
    some = np.where(rates == 0.0, 1.0, rates)
    return np.where(rates == 0.0, years, -np.expm1(-np.asarray(years) * np.log1p(some)) / some)


#: Present value of 1 a year: the spreadsheet function of the same name, which takes a rate of zero as it should.
level_present_value = Function(
    "level_present_value",
    _present_value,
    ("PV(", 0, ",", 1, ",-1)"),
    "present value of 1 a year for {1} years at {0}",
    result="one",
)

#: Yearly payment that repays 1: the spreadsheet's function for level payments.
level_payment = Function(
    "level_payment",
    lambda rate, years: 1.0 / _present_value(rate, years),
    ("PMT(", 0, ",", 1, ",-1)"),
    "yearly payment that repays 1 in {1} years at {0}",
    result="one",
)


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


def present_value_factor(interest_rate: Value, years_of_life: Value) -> Value:
    """What one unit of money at the end of each of so many years is worth today (P/A).

    Parameters
    ----------
    interest_rate : for one year; zero is allowed [dimensionless]
    years_of_life : [dimensionless]

    Returns
    -------
    present_value_factor [dimensionless]

    Source: any annuity table; one is checked figure by figure in the tests.

    >>> float(present_value_factor(0, 10)), round(float(present_value_factor(0.10, 5)), 4)
    (10.0, 3.7908)
    """
    return level_present_value(interest_rate, years_of_life)


def capital_recovery_factor(interest_rate: Value, years_of_life: Value) -> Value:
    """Equal payment at the end of each of so many years that repays one unit of money with interest (A/P).

    Parameters
    ----------
    interest_rate : for one year; zero is allowed [dimensionless]
    years_of_life : [dimensionless]

    Returns
    -------
    capital_recovery_factor [dimensionless]

    Source: any text on engineering economy.

    >>> float(capital_recovery_factor(0, 10)), round(float(capital_recovery_factor(0.10, 5)), 5)
    (0.1, 0.2638)
    """
    return level_payment(interest_rate, years_of_life)


def sinking_fund_factor(capital_recovery_factor: Value, interest_rate: Value) -> Value:
    """Equal payment at the end of each of so many years that grows to one unit of money (A/F).

    Parameters
    ----------
    capital_recovery_factor : [dimensionless]
    interest_rate : for one year [dimensionless]

    Returns
    -------
    sinking_fund_factor [dimensionless]

    Source: any text on engineering economy.

    >>> round(float(sinking_fund_factor(0.2638, 0.10)), 4)
    0.1638
    """
    return capital_recovery_factor - interest_rate


def owning_cost_per_year(
    machine_price: Value, resale: Value, capital_recovery_factor: Value, interest_rate: Value
) -> Value:
    """Equal yearly cost of owning a machine, by capital recovery.

    Parameters
    ----------
    machine_price : [currency]
    resale : [currency]
    capital_recovery_factor : over the machine's years [dimensionless]
    interest_rate : for one year [dimensionless]

    Returns
    -------
    owning_cost_per_year [currency]

    Source: any text on engineering economy: (P - S)(A/P) + S i.

    >>> owning_cost_per_year(5000, 1000, 0.25, 0.10)
    1100.0
    """
    return (machine_price - resale) * capital_recovery_factor + resale * interest_rate


def machine_rate_by_capital_recovery(
    owning_cost_per_year: Value, hours_used_per_year: Value, upkeep: Value, power: Value, electricity_price: Value
) -> Value:
    """Cost of a machine's hour, its owning cost by capital recovery.

    Parameters
    ----------
    owning_cost_per_year : from :func:`owning_cost_per_year` [currency]
    hours_used_per_year : [hour]
    upkeep : [currency/hour]
    power : [kilowatt]
    electricity_price : [currency/(kilowatt*hour)]

    Returns
    -------
    machine_rate_by_capital_recovery [currency/hour]

    Source: any text on engineering economy.

    >>> machine_rate_by_capital_recovery(1000, 500, 0.5, 2, 0.25)
    3.0
    """
    return owning_cost_per_year / hours_used_per_year + upkeep + power * electricity_price
