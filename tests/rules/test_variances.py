"""Variances against the figures of an open textbook, and the sums that they must make.

Source of the tables unless said otherwise: Saylor Academy 2012, Managerial Accounting (open), sections s14-02 to s14-08
as stored at github.com/saylordotorg/text_managerial-accounting, commit 6b8ed09b: figures only.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.rules.variances import (
    labour_rate_variance,
    labour_time_variance,
    material_price_variance,
    material_usage_variance,
    overhead_efficiency_variance,
    overhead_spending_variance,
)

#: Made of cents and hundredths, as people type them, so that sums of products keep their digits.
amounts = st.integers(0, 10**7).map(lambda figure: figure / 100)


def exactly(value: float) -> object:
    return pytest.approx(value, rel=1e-12, abs=1e-7)


def test_material_of_the_textbook() -> None:
    """210,000 made at 2, 440,000 bought at 1.20 for 1.00, 399,000 used: price 88,000 adverse, usage 21,000 less."""
    allowed = 2 * 210_000
    assert allowed * 1.00 == 420_000
    assert material_price_variance(1.20, 1.00, 440_000) == exactly(88_000)
    assert material_usage_variance(399_000, allowed, 1.00) == exactly(-21_000)


def test_labour_of_the_textbook() -> None:
    """0.10 h each at 13, 18,900 h at 15: rate 37,800 adverse, time 27,300 favourable."""
    allowed = 0.10 * 210_000
    assert allowed * 13 == exactly(273_000)
    assert labour_rate_variance(15, 13, 18_900) == exactly(37_800)
    assert labour_time_variance(18_900, allowed, 13) == exactly(-27_300)


def test_variable_overhead_of_the_textbook() -> None:
    """5 an hour, 100,000 spent: spending 5,500 adverse, efficiency 10,500 favourable."""
    allowed = 0.10 * 210_000
    assert allowed * 5 == exactly(105_000)
    assert overhead_spending_variance(100_000, 5, 18_900) == exactly(5_500)
    assert overhead_efficiency_variance(18_900, allowed, 5) == exactly(-10_500)


#: Overhead counted by activities: (output, rate, standard per piece, spent, activity, spending, efficiency).
ACTIVITIES = [
    (210_000, 25.00, 0.01, 42_000, 1_600, 2_000, -12_500),
    (210_000, 0.20, 1, 31_000, 180_000, -5_000, -6_000),
    (210_000, 0.05, 2, 27_000, 575_000, -1_750, 7_750),
    (390_000, 0.60, 0.5, 130_000, 220_000, -2_000, 15_000),
    (390_000, 0.10, 2, 60_000, 750_000, -15_000, -3_000),
    (390_000, 0.12, 4, 170_000, 1_400_000, 2_000, -19_200),
]


@pytest.mark.parametrize(("output", "rate", "per_piece", "spent", "activity", "spending", "efficiency"), ACTIVITIES)
def test_overhead_by_activity(
    output: float, rate: float, per_piece: float, spent: float, activity: float, spending: float, efficiency: float
) -> None:
    """The rules hold for whatever a rate is counted by: set-ups, inspections, kilowatt-hours."""
    assert overhead_spending_variance(spent, rate, activity) == exactly(spending)
    assert overhead_efficiency_variance(activity, per_piece * output, rate) == exactly(efficiency)


#: Two more, from pages of answers (weak hosts; the textbook above is the support):
#: accountingqa.blogspot.com/2018/11/ex-23-5-direct-materials-variances.html and qammunity.org/8059627:
#: (actual quantity, actual price, standard quantity, standard price, price variance, usage variance, total).
ANSWERS = [(450, 6.50, 430, 6.90, -180, 138, -42), (183_200, 5.80, 185_000, 6.00, -36_640, -10_800, -47_440)]


@pytest.mark.parametrize(("quantity", "price", "allowed", "standard", "of_price", "of_usage", "total"), ANSWERS)
def test_worked_answers(
    quantity: float, price: float, allowed: float, standard: float, of_price: float, of_usage: float, total: float
) -> None:
    """Where all that was bought was used, price and usage variance add up to the whole difference."""
    assert material_price_variance(price, standard, quantity) == exactly(of_price)
    assert material_usage_variance(quantity, allowed, standard) == exactly(of_usage)
    assert of_price + of_usage == total


@given(amounts, amounts, amounts, amounts)
def test_material_parts_make_the_whole(price: float, standard: float, used: float, allowed: float) -> None:
    """Price and usage variance of what was bought and used are actual cost less standard cost."""
    parts = material_price_variance(price, standard, used) + material_usage_variance(used, allowed, standard)
    assert parts == pytest.approx(
        price * used - standard * allowed, rel=1e-12, abs=1e-12 * (price + standard) * (used + allowed)
    )


@given(amounts, amounts, amounts, amounts)
def test_labour_parts_make_the_whole(rate: float, standard: float, taken: float, allowed: float) -> None:
    """Rate and time variance are wages paid less wages allowed."""
    parts = labour_rate_variance(rate, standard, taken) + labour_time_variance(taken, allowed, standard)
    assert parts == pytest.approx(
        rate * taken - standard * allowed, rel=1e-12, abs=1e-12 * (rate + standard) * (taken + allowed)
    )


@given(amounts, amounts, amounts, amounts)
def test_variable_overhead_parts_make_the_whole(spent: float, rate: float, taken: float, allowed: float) -> None:
    """Spending and efficiency variance are overhead spent less overhead allowed."""
    parts = overhead_spending_variance(spent, rate, taken) + overhead_efficiency_variance(taken, allowed, rate)
    assert parts == pytest.approx(spent - rate * allowed, rel=1e-12, abs=1e-12 * (spent + rate * (taken + allowed)))


@given(amounts, amounts, amounts)
def test_positive_is_adverse(standard: float, quantity: float, more: float) -> None:
    """To pay more or to use more is never favourable, to do as allowed is no variance."""
    assert material_price_variance(standard + more, standard, quantity) >= 0
    assert material_usage_variance(quantity + more, quantity, standard) >= 0
    assert labour_rate_variance(standard + more, standard, quantity) >= 0
    assert labour_time_variance(quantity + more, quantity, standard) >= 0
    assert material_price_variance(standard, standard, quantity) == 0
    assert labour_time_variance(quantity, quantity, standard) == 0
