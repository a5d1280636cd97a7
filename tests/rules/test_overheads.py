"""Overhead rates, and what they make a piece carry, against the figures of an open textbook.

Source of the tables: Saylor Academy 2012, Managerial Accounting (open), sections s06-03, s07-02 and s07-03 as stored at
github.com/saylordotorg/text_managerial-accounting, commit 6b8ed09b: figures only.
"""

from __future__ import annotations

import pytest

from pricing.rules.overheads import overhead_rate
from pricing.rules.prices import overhead_cost


def test_job_of_the_textbook() -> None:
    """1,140,000 over 38,000 h is 30 an hour; 6 h at 15 and material of 370 make a job of 640."""
    rate = overhead_rate(1_140_000, 38_000)
    assert rate == 30
    assert 370 + 6 * 15 + overhead_cost(rate, 6) == 640


#: (overhead, base, rate, tolerance): plant-wide, by department (the book rounds 23.0415 to whole), by labour cost.
RATES = [
    (8_000_000, 250_000, 32, 0), (3_000_000, 60_000, 50, 0), (5_000_000, 217_000, 23.0415, 5e-5),
    (800_000, 160_000, 5.00, 0), (200_000, 25_000, 8, 0), (600_000, 50_000, 12, 0), (500_000, 100_000, 5, 0),
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
    applied = overhead_cost(overhead_rate(8_000_000, 250_000), taken)
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
    """The same rules over five pools: rates, and overhead of 5,020,000 and 2,980,000."""
    rates = [overhead_rate(pool, base) for pool, base, *_ in POOLS]
    assert rates == [rate for _, _, rate, *_ in POOLS]
    of_each = [sum(overhead_cost(rate, pool[used]) for rate, pool in zip(rates, POOLS, strict=True)) for used in (3, 4)]
    assert of_each == [5_020_000, 2_980_000]
