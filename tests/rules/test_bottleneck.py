"""What to make first when hours are scarce.

Source of the tables: Saylor Academy 2012, Managerial Accounting (open), sections s10-05 and s11-08 as stored at
github.com/saylordotorg/text_managerial-accounting, commit 6b8ed09b: figures only.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scarce_hours import made_in_order

from pricing.rules.bottleneck import contribution_per_bottleneck_hour, contribution_per_piece

#: (contributions, hours of one, hours there are, per hour, earned with one product alone): labour, then machine hours.
TEXTBOOK = [
    ((400, 150), (4, 1), 320, (100, 150), (32_000, 48_000)),
    ((400, 150), (16, 10), 3_000, (25, 15), (75_000, 45_000)),
]


@pytest.mark.parametrize(("contributions", "hours", "available", "per_hour", "totals"), TEXTBOOK)
def test_the_dearer_hour_wins(
    contributions: tuple[float, ...],
    hours: tuple[float, ...],
    available: float,
    per_hour: tuple[float, ...],
    totals: tuple[float, ...],
) -> None:
    """The product with the higher contribution per scarce hour earns more, whichever earns more per piece."""
    found = [contribution_per_bottleneck_hour(c, h) for c, h in zip(contributions, hours, strict=True)]
    assert tuple(found) == per_hour
    assert tuple(each * available for each in found) == totals
    made = made_in_order(contributions, hours, [math.inf, math.inf], available)
    assert made @ np.array(contributions) == max(totals)
    assert np.count_nonzero(made) == 1


def test_three_products_of_the_textbook() -> None:
    """15 less 5 in 0.25 h, 20 less 8 in 0.40 h, 35 less 22 in 0.50 h: 40, 30 and 26 an hour, made in this order."""
    each = [contribution_per_piece(price, variable) for price, variable in ((15, 5), (20, 8), (35, 22))]
    per_hour = [contribution_per_bottleneck_hour(c, h) for c, h in zip(each, (0.25, 0.40, 0.50), strict=True)]
    assert per_hour == pytest.approx([40, 30, 26], rel=1e-12)
    made = made_in_order(each, [0.25, 0.40, 0.50], [100, 100, 100], 25 + 20)
    assert made == pytest.approx([100, 50, 0], rel=1e-12)


lists = st.integers(1, 6).flatmap(
    lambda n: st.tuples(
        st.lists(st.floats(-50, 500), min_size=n, max_size=n),
        st.lists(st.floats(0.1, 20), min_size=n, max_size=n),
        st.lists(st.floats(0, 100), min_size=n, max_size=n),
        st.lists(st.floats(0, 1), min_size=n, max_size=n),
    )
)


@given(lists, st.floats(0, 500))
def test_no_other_choice_earns_more(products: tuple[list[float], ...], hours: float) -> None:
    """Made in the order of the rank, pieces keep to hours and demand, and no other plan that does earns more."""
    contributions, taken, demand = (np.array(figures) for figures in products[:3])
    made = made_in_order(products[0], products[1], products[2], hours)
    assert np.all(made >= 0)
    assert np.all(made <= demand)
    assert made @ taken <= hours * (1 + 1e-12) + 1e-9
    other = np.array(products[3]) * demand
    other *= hours / (other @ taken) if other @ taken > hours else 1.0
    assert other @ contributions <= made @ contributions + 1e-7
