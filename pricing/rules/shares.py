"""An amount shared out to the coin by largest remainder: every share is rounded down, and the coins left go to the largest remainders.

The shares then add up to the amount, none is a coin away from its exact part, and equal remainders are served in their order.
Source of the method: Hamilton's method of apportionment, as M. L. Balinski and H. P. Young describe it ("Fair Representation", 1982).
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, round_down_to, round_to
from pricing.glossary import Quantity, define

define([
    Quantity("amount_to_share", "Amount to share", "currency", "money", 2, "What is shared out."),
    Quantity("share", "Share", "dimensionless", "%", 1, "Share of the amount.", 0.0, 1.0),
    Quantity("whole_part", "In whole coins", "currency", "money", 2, "The share of the amount, rounded down to the coin."),
    Quantity("remainder", "Left over", "currency", "money", 6, "What rounding down has left of the share."),
    Quantity("remainder_rank", "Before it", "dimensionless", "", 0, "How many others have left more, or as much and stand before it."),
    Quantity("whole_parts", "All in whole coins", "currency", "money", 2, "All shares of the amount, each rounded down to the coin."),
    Quantity("shared_amount", "Amount", "currency", "money", 2, "The share to the coin; all together are the amount."),
])


def whole_part(amount_to_share: Value, share: Value, minor_digits: Value) -> Value:
    """The share of the amount, rounded down to the coin [currency].

    >>> float(whole_part(100.0, 0.125, 1))
    12.5
    """
    return round_down_to(amount_to_share * share, minor_digits)


def remainder(amount_to_share: Value, share: Value, whole_part: Value) -> Value:
    """What rounding down has left of the share, to six places [currency]."""
    return round_to(amount_to_share * share - whole_part, 6)


def shared_amount(
    whole_part: Value, remainder_rank: Value, amount_to_share: Value, whole_parts: Value, one_unit_of_money: Value, minor_digits: Value
) -> Value:
    """The share to the coin: one coin more where so many are left that its turn comes [currency].

    >>> [float(shared_amount(33.33, rank, 100.0, 99.99, 1.0, 2)) for rank in (0.0, 1.0, 2.0)]
    [33.34, 33.33, 33.33]
    """
    coins_left = round_to((amount_to_share - whole_parts) / one_unit_of_money * 10**minor_digits, 0)
    return round_to(whole_part + choose(remainder_rank < coins_left, 1, 0) * one_unit_of_money / 10**minor_digits, minor_digits)
