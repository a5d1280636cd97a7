"""The stages in which a quote is paid: their shares, and what of them is the deposit and the balance."""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, round_to
from pricing.glossary import Quantity, define

define([
    Quantity("payment", "No.", "dimensionless", "", 0, "Number of the stage in this workbook."),
    Quantity("stated_share", "Stated share", "dimensionless", "%", 1, "Share of the amount to pay, as stated.", 0.0, 1.0),
    Quantity("takes_rest", "What is left", "dimensionless", "flag", 0, "1 for the stage that is all that the others leave."),
    Quantity("stated_shares", "Stated shares", "dimensionless", "%", 1, "All shares of the quote that are stated."),
    Quantity("payment_days", "Days", "day", "days", 0, "Days before or after what it falls due with."),
    Quantity("is_deposit", "Deposit", "dimensionless", "flag", 0, "1 where the stage falls due with the order."),
    Quantity("due_with_order", "Due with the order", "currency", "money", 2, "What of the stage falls due with the order."),
    Quantity("whole_payments", "Stages in whole coins", "currency", "money", 2, "Stages of the quote, each rounded down to the coin."),
    Quantity("deposit_sum", "Deposits as added", "currency", "money", 2, "What falls due with the order."),
    Quantity("balance", "Balance", "currency", "money", 2, "What is left to pay after the deposit."),
])


def share(takes_rest: Value, stated_shares: Value, stated_share: Value) -> Value:
    """The stage's share of the amount to pay: as stated, or what the others leave [1]."""
    return round_to(choose(takes_rest, 1 - stated_shares, stated_share), 12)


def due_with_order(is_deposit: Value, shared_amount: Value) -> Value:
    """What of the stage falls due with the order [currency]."""
    return is_deposit * shared_amount


def deposit(deposit_sum: Value, minor_digits: Value) -> Value:
    """What is paid with the order [currency]."""
    return round_to(deposit_sum, minor_digits)


def balance(payable: Value, deposit: Value, minor_digits: Value) -> Value:
    """What is left to pay after the deposit [currency]."""
    return round_to(payable - deposit, minor_digits)
