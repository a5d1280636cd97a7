"""The hour of a machine against published worked figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.money import round_half_away
from pricing.rules.machines import (
    average_investment_factor,
    machine_rate,
    machine_rate_with_interest,
    residual_share,
    years_of_life,
)


def test_published_equipment_hour() -> None:
    """US Army Corps of Engineers EP 1110-1-8 (31 July 2003), volume 8, page 2-14: 46.78 an hour for a large machine.

    The sheet builds the value from list price, discount, tax and freight, each in whole dollars, takes off 20 % salvage
    and the tires, which wear out sooner, at an index of 2,373 / 2,515, and spreads the rest over 20,000 hours.
    """
    discount = round_half_away(1_197_389 * 0.075, 0)
    tax = round_half_away((1_197_389 - discount) * 0.058, 0)
    freight = round_half_away(1_913 * 5.27, 0)
    assert (discount, tax, freight) == (89_804, 64_240, 10_082)
    value = 1_197_389 - discount + tax + freight
    assert value == 1_181_907
    tires = round_half_away(2_373 / 2_515, 3) * 10_560
    rate = machine_rate(value - tires, 0.20 * value, 20_000, upkeep=0, power=0, electricity_price=0)
    assert round_half_away(rate, 2) == 46.78


def test_published_life_and_average_investment() -> None:
    """The same sheet: 20,000 h at 1,540 h a year are 12.99 years; its average investment at 20 % salvage is 0.6308."""
    life = years_of_life(20_000, 1_540)
    assert round_half_away(life, 2) == 12.99
    assert residual_share(236_381.4, 1_181_907) == pytest.approx(0.2, rel=1e-12)
    assert average_investment_factor(12.987, 0.20) == pytest.approx(0.6308, abs=5e-5)
    assert average_investment_factor(5, 0.0) == pytest.approx(0.60, rel=1e-12)


@given(st.integers(1, 40), st.floats(0.0, 1.0))
def test_average_investment_is_the_mean_of_yearly_values(life: int, salvage: float) -> None:
    """The factor is the mean, over the years, of the value at the start of each year when the loss in worth is even."""
    starts = np.array([1 - (1 - salvage) * year / life for year in range(life)])
    assert average_investment_factor(life, salvage) == pytest.approx(starts.mean(), rel=1e-12)


@given(st.floats(1.0, 40.0), st.floats(0.0, 1e5), st.floats(0.0, 1.0), st.floats(100.0, 3000.0))
def test_without_interest_it_is_the_straight_line(life: float, price: float, share: float, hours: float) -> None:
    """At an interest of zero, interest on the average investment adds nothing to the straight line."""
    straight = machine_rate(price, price * share, life * hours, 0.5, 2.0, 0.25)
    factor = average_investment_factor(life, share)
    assert machine_rate_with_interest(straight, price, factor, 0.0, hours) == straight


@given(st.floats(0.001, 0.2), st.integers(2, 15), st.floats(0.0, 0.9))
def test_interest_on_the_average_is_near_what_a_loan_costs(rate: float, life: int, share: float) -> None:
    """Interest on the average investment comes to within three tenths of what equal payments of a loan would add to the hour.

    The payment that repays 1 in n years is i / (1 - (1 + i) ** -n), as in any text on engineering economy.
    """
    price, hours = 10_000.0, 1000.0
    straight = machine_rate(price, price * share, life * hours, 0.0, 0.0, 0.0)
    added = machine_rate_with_interest(straight, price, average_investment_factor(life, share), rate, hours) - straight
    payment = rate / (1 - (1 + rate) ** -life)
    yearly = price * (1 - share) * payment + price * share * rate
    assert 0 < added == pytest.approx(yearly / hours - straight, rel=0.3)


def test_a_saw_of_the_workshop() -> None:
    """By hand: (1,200 - 200) / 2,000 h + 0.80 upkeep + 1.5 kW at 0.30 = 0.50 + 0.80 + 0.45 = 1.75 an hour."""
    assert machine_rate(1200, 200, 2000, 0.80, 1.5, 0.30) == pytest.approx(1.75, rel=1e-12)
