"""Overhead rates against the figures of an open textbook, and the rule of normal capacity.

Source of the tables unless said otherwise: Saylor Academy 2012, Managerial Accounting (open), sections s06-03, s07-02
and s07-03 as stored at github.com/saylordotorg/text_managerial-accounting, commit 6b8ed09b: figures only.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.rules.overheads import (
    normal_capacity_rate,
    overhead_absorbed,
    overhead_rate,
    overhead_unabsorbed,
    prorated_amount,
)

hours = st.floats(1.0, 1e5)
amounts = st.floats(0.01, 1e7)


def test_job_of_the_textbook() -> None:
    """1,140,000 over 38,000 h is 30 an hour; 6 h at 15 and material of 370 make a job of 640."""
    rate = overhead_rate(1_140_000, 38_000)
    assert rate == 30
    assert overhead_absorbed(rate, 6) == 180
    assert 370 + 6 * 15 + overhead_absorbed(rate, 6) == 640


def test_too_much_absorbed() -> None:
    """500,000 over 100,000 h is 5 an hour, 10,000 for 2,000 h; 40,000 too much is shared out 10, 10 and 20 thousand."""
    rate = overhead_rate(500_000, 100_000)
    assert rate == 5
    assert overhead_absorbed(rate, 2_000) == 10_000
    assert overhead_absorbed(rate, 102_000) == 510_000
    excess = overhead_unabsorbed(470_000, 510_000)
    assert excess == -40_000
    assert [prorated_amount(-excess, balance, 100_000) for balance in (25_000, 25_000, 50_000)] == [
        10_000,
        10_000,
        20_000,
    ]


def test_too_little_absorbed() -> None:
    """2,000 too little over balances of 60, 30 and 10 % are 1,200, 600 and 200."""
    assert [prorated_amount(2_000, share, 100) for share in (60, 30, 10)] == [1_200, 600, 200]


#: (overhead, base, rate, tolerance): plant-wide, by department (the book rounds 23.0415 to whole), by labour cost.
RATES = [
    (8_000_000, 250_000, 32, 0), (3_000_000, 60_000, 50, 0), (5_000_000, 217_000, 23.0415, 5e-5),
    (800_000, 160_000, 5.00, 0), (200_000, 25_000, 8, 0), (600_000, 50_000, 12, 0),
]


@pytest.mark.parametrize(("overhead", "base", "expected", "tolerance"), RATES)
def test_rates(overhead: float, base: float, expected: float, tolerance: float) -> None:
    """Published rates, whatever they are counted by: hours, or a share of the labour cost."""
    assert overhead_rate(overhead, base) == pytest.approx(expected, rel=1e-12, abs=tolerance)


#: (material, labour, hours, price, overhead, cost, profit) at the plant-wide rate of 32.
PRODUCTS = [(1_000, 600, 40, 3_200, 1_280, 2_880, 320), (1_300, 750, 50, 4_500, 1_600, 3_650, 850)]


@pytest.mark.parametrize(("material", "labour", "taken", "price", "overhead", "cost", "profit"), PRODUCTS)
def test_products(
    material: float, labour: float, taken: float, price: float, overhead: float, cost: float, profit: float
) -> None:
    """Published product costs at a plant-wide rate."""
    applied = overhead_absorbed(overhead_rate(8_000_000, 250_000), taken)
    assert applied == overhead
    assert material + labour + applied == cost
    assert price - cost == profit


#: Activities: (pool, base, rate, used by the first product, by the second).
POOLS = [
    (1_200_000, 10_000, 120, 7_000, 3_000), (1_600_000, 2_000, 800, 1_100, 900),
    (2_700_000, 90_000, 30, 50_000, 40_000),
    (1_500_000, 250_000, 6, 200_000, 50_000), (1_000_000, 20_000, 50, 12_000, 8_000),
]


def test_by_activities() -> None:
    """The same rule over five pools: rates, overhead of 5,020,000 and 2,980,000, 8,000,000 in all; one week."""
    rates = [overhead_rate(pool, base) for pool, base, *_ in POOLS]
    assert rates == [rate for _, _, rate, *_ in POOLS]
    first = sum(overhead_absorbed(rate, pool[3]) for rate, pool in zip(rates, POOLS, strict=True))
    second = sum(overhead_absorbed(rate, pool[4]) for rate, pool in zip(rates, POOLS, strict=True))
    assert (first, second, first + second) == (5_020_000, 2_980_000, 8_000_000)
    assert (first / 5_000, second / 1_000) == (1_004, 2_980)
    week = [overhead_absorbed(rate, used) for rate, used in zip(rates, (10, 15, 35, 150, 60), strict=True)]
    assert week == [1_200, 12_000, 1_050, 900, 3_000]
    assert sum(week) == 18_150


#: IAS 2 Inventories, paragraph 13, worked by hand for 12,000 and a normal capacity of 1,000 h:
#: (hours worked, rate, not absorbed).
NORMAL_CAPACITY = [(800, 12.00, 2_400), (1_000, 12.00, 0), (1_250, 9.60, 0)]


@pytest.mark.parametrize(("worked", "rate", "unabsorbed"), NORMAL_CAPACITY)
def test_normal_capacity(worked: float, rate: float, unabsorbed: float) -> None:
    """A slow year leaves overhead unabsorbed at the same rate; a busy one lowers the rate and leaves none."""
    found = float(normal_capacity_rate(12_000, 1_000, worked))
    assert found == pytest.approx(rate, rel=1e-12)
    assert overhead_unabsorbed(12_000, overhead_absorbed(found, worked)) == pytest.approx(unabsorbed, abs=1e-9)


@given(amounts, hours, hours)
def test_never_more_than_spent(overhead: float, normal: float, worked: float) -> None:
    """The rate of a finished year is never above the planned one, and never absorbs more than there was."""
    rate = float(normal_capacity_rate(overhead, normal, worked))
    assert rate <= overhead_rate(overhead, normal)
    assert overhead_unabsorbed(overhead, overhead_absorbed(rate, worked)) >= -1e-12 * overhead


@given(st.floats(-1e6, 1e6), st.lists(amounts, min_size=1, max_size=10))
def test_shares_make_the_whole(amount: float, balances: list[float]) -> None:
    """What is shared out in proportion is shared out whole."""
    shares = [prorated_amount(amount, balance, sum(balances)) for balance in balances]
    assert sum(shares) == pytest.approx(amount, rel=1e-12, abs=1e-9)
