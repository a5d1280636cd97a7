"""What a piece contributes, and with each hour of the bottleneck: the hours, or days in the mould, that are scarce.

Source: any text on cost-volume-profit analysis (constrained resources); the figures of an open textbook (Saylor Academy
2012, Managerial Accounting, chapters 6 and 7) are checked in the tests.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value
from pricing.glossary import Quantity, define

_ANY = float("-inf")

define([
    Quantity("price_per_piece", "Price of one", "currency/piece", "money", 2,
             "Selling price of one piece, without tax."),
    Quantity("variable_cost_per_piece", "Variable cost of one", "currency/piece", "money", 2,
             "What one more piece causes: material, wages, machine time."),
    Quantity("contribution_per_piece", "Contribution of one", "currency/piece", "money", 2,
             "What a piece leaves towards fixed costs and profit.", _ANY),
    Quantity("bottleneck_hours_per_piece", "Bottleneck hours of one", "hour/piece", "h", 4,
             "Hours that a piece takes of what is scarce."),
    Quantity("contribution_per_bottleneck_hour", "Contribution of a bottleneck hour", "currency/hour", "money per h", 2,
             "What an hour of what is scarce earns with this piece.", _ANY),
])


def contribution_per_piece(price_per_piece: Value, variable_cost_per_piece: Value) -> Value:
    """What a piece leaves towards fixed costs and profit.

    Parameters
    ----------
    price_per_piece : [currency/piece]
    variable_cost_per_piece : [currency/piece]

    Returns
    -------
    contribution_per_piece [currency/piece]

    >>> contribution_per_piece(250, 150)
    100
    """
    return price_per_piece - variable_cost_per_piece


def contribution_per_bottleneck_hour(contribution_per_piece: Value, bottleneck_hours_per_piece: Value) -> Value:
    """What an hour of what is scarce earns with this piece: the figure to rank by, not the contribution of a piece.

    Made in the order of this figure until the hours run out, the pieces earn the most that the hours can earn
    (G. B. Dantzig 1957, "Discrete-variable extremum problems", from memory).

    Parameters
    ----------
    contribution_per_piece : [currency/piece]
    bottleneck_hours_per_piece : above zero [hour/piece]

    Returns
    -------
    contribution_per_bottleneck_hour [currency/hour]

    >>> contribution_per_bottleneck_hour(400, 4)
    100.0
    """
    return contribution_per_piece / bottleneck_hours_per_piece
