"""Yields: how many pieces must be started to have enough good ones, and what a good one then costs.

Sources: any text on process costing; published cases are checked in the tests.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, whole_up
from pricing.glossary import Quantity, define

define([
    Quantity("good_pieces", "Good pieces wanted", "piece", "pieces", 0, "Pieces that must pass inspection."),
    Quantity("good_share", "Good share", "dimensionless", "%", 1,
             "Share of the pieces started that pass inspection.", 0.01, 1.0),
    Quantity("starts", "Pieces to start", "piece", "pieces", 0,
             "Whole pieces to start so that, on average, enough are good."),
    Quantity("good_share_before", "Good share up to here", "dimensionless", "%", 1,
             "Share of the pieces started that are still good before this step.", 0.0, 1.0),
    Quantity("rolled_good_share", "Rolled yield", "dimensionless", "%", 1,
             "Share of the pieces started that are still good after this step.", 0.0, 1.0),
    Quantity("cost_per_start", "Cost of a piece started", "currency/piece", "money", 4,
             "What each piece started costs."),
    Quantity("recovered_per_reject", "Recovered from a reject", "currency/piece", "money", 4,
             "What a rejected piece still fetches or saves."),
    Quantity("cost_per_good_piece", "Cost of a good piece", "currency/piece", "money", 4,
             "What a good piece costs once the rejected ones are paid for."),
    Quantity("input_cost", "Cost put in", "currency", "money", 2,
             "Material, labour and overhead of all pieces started."),
    Quantity("scrap_value_of_normal_loss", "Scrap value of normal loss", "currency", "money", 2,
             "What the loss that must be expected fetches."),
    Quantity("expected_output", "Expected output", "piece", "pieces", 2,
             "Good pieces if no more is lost than must be expected."),
    Quantity("cost_after_normal_loss", "Cost after normal loss", "currency/piece", "money", 4,
             "Cost of a good piece that carries only the loss that must be expected."),
    Quantity("normal_rejects", "Normal rejects", "piece", "pieces", 0, "Rejected pieces that had to be expected."),
    Quantity("abnormal_rejects", "Abnormal rejects", "piece", "pieces", 0,
             "Rejected pieces beyond what had to be expected."),
    Quantity("abnormal_loss", "Abnormal loss", "currency", "money", 2,
             "Cost of what was lost beyond expectation: a cost of the period, not of the pieces."),
    Quantity("cost_with_normal_rejects", "Cost with normal rejects", "currency/piece", "money", 4,
             "Cost of a good piece that carries the normal rejects really found."),
])


def starts(good_pieces: Value, good_share: Value) -> Value:
    """Whole pieces to start so that, on average, enough are good.

    Rounded up after a look at six places: 57 good ones at 57 % need 100 starts, although 57 / 0.57 is a hair more in
    binary arithmetic.

    Parameters
    ----------
    good_pieces : [piece]
    good_share : [dimensionless]

    Returns
    -------
    starts [piece]

    >>> float(starts(57, 0.57)), float(starts(10, 0.95))
    (100.0, 11.0)
    """
    return whole_up(good_pieces / good_share)


def rolled_good_share(good_share_before: Value, good_share: Value) -> Value:
    """Share of the pieces started that are still good after one more step; from step to step it is their product.

    Parameters
    ----------
    good_share_before : after the steps so far; 1 before the first [dimensionless]
    good_share : of this step [dimensionless]

    Returns
    -------
    rolled_good_share [dimensionless]

    Source: rolled throughput yield, as in any text on quality.

    >>> rolled_good_share(0.5, 0.5)
    0.25
    """
    return good_share_before * good_share


def cost_per_good_piece(cost_per_start: Value, good_share: Value, recovered_per_reject: Value) -> Value:
    """What a good piece costs once the rejected ones are paid for, less what they still fetch.

    Parameters
    ----------
    cost_per_start : [currency/piece]
    good_share : [dimensionless]
    recovered_per_reject : [currency/piece]

    Returns
    -------
    cost_per_good_piece [currency/piece]

    >>> cost_per_good_piece(80, 0.8, 0)
    100.0
    """
    return (cost_per_start - (1 - good_share) * recovered_per_reject) / good_share


def cost_after_normal_loss(input_cost: Value, scrap_value_of_normal_loss: Value, expected_output: Value) -> Value:
    """Cost of a good piece that carries only the loss that must be expected.

    Parameters
    ----------
    input_cost : [currency]
    scrap_value_of_normal_loss : [currency]
    expected_output : [piece]

    Returns
    -------
    cost_after_normal_loss [currency/piece]

    Source: any text on process costing.

    >>> cost_after_normal_loss(1000, 100, 90)
    10.0
    """
    return (input_cost - scrap_value_of_normal_loss) / expected_output


def cost_with_normal_rejects(cost_per_start: Value, good_pieces: Value, normal_rejects: Value) -> Value:
    """Cost of a good piece that carries the normal rejects found at inspection, each at what a start costs.

    Parameters
    ----------
    cost_per_start : [currency/piece]
    good_pieces : [piece]
    normal_rejects : [piece]

    Returns
    -------
    cost_with_normal_rejects [currency/piece]

    Source: any text on spoilage in job costing.

    >>> cost_with_normal_rejects(9, 90, 10)
    10.0
    """
    return cost_per_start * (good_pieces + normal_rejects) / good_pieces


def abnormal_loss(abnormal_rejects: Value, cost_per_start: Value) -> Value:
    """Cost of what was lost beyond expectation, kept out of the cost of the pieces.

    Parameters
    ----------
    abnormal_rejects : [piece]
    cost_per_start : what one of them is valued at [currency/piece]

    Returns
    -------
    abnormal_loss [currency]

    Source: IAS 2, paragraph 16 (abnormal waste is not a cost of inventories; paragraph number from memory).

    >>> abnormal_loss(5, 9)
    45
    """
    return abnormal_rejects * cost_per_start
