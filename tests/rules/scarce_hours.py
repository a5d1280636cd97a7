"""The best use of scarce hours: a plan to hold other plans against."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pricing.rules.bottleneck import contribution_per_bottleneck_hour


def made_in_order(contributions: Sequence[float], hours_of_one: Sequence[float], demand: Sequence[float], hours: float) -> np.ndarray:
    """Pieces made in the order of their contribution per bottleneck hour until hours or demand run out; none at a loss."""
    earned, taken, wanted = (np.asarray(figures, dtype=float) for figures in (contributions, hours_of_one, demand))
    made, left = np.zeros(len(earned)), hours
    for product in np.argsort(-contribution_per_bottleneck_hour(earned, taken), kind="stable"):
        made[product] = min(wanted[product], left / taken[product]) if earned[product] > 0 else 0.0
        left = max(left - made[product] * taken[product], 0.0)
    return made
