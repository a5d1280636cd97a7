"""The tax of a quote by category and rate, by the arithmetic of EN 16931 (rules BR-S-08, BR-S-09 and their like for each category).

Each line, and its part of the discount and of what is charged besides, belongs to one category and rate. The base of each is
summed, and tax is taken once on it. What is charged for the delivery and for a small order is shared between them by the value of
the goods, as ancillary to each supply (Council Directive 2006/112/EC, article 78, counts it in the taxable amount).
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, round_to
from pricing.glossary import Quantity, define
from pricing.rules.totals import taxed

define([
    Quantity("quote_tax", "No.", "dimensionless", "", 0, "Number of the category and rate of a quote in this workbook."),
    Quantity("first_tax", "First", "dimensionless", "flag", 0, "1 for the first category and rate of its quote."),
    Quantity("tax_line_net_sum", "Sum of its lines", "currency", "money", 2, "Net of the lines of this category and rate, as added."),
    Quantity("tax_lines_net", "Its lines", "currency", "money", 2, "Net of the lines of this category and rate."),
    Quantity("tax_discountable_sum", "Discounted lines", "currency", "money", 2, "Net of its lines that the customer's discount is taken off, as added."),
    Quantity("tax_discount", "Discount on them", "currency", "money", 2, "The discount on the lines of this category and rate."),
    Quantity("tax_goods_net", "Lines less discount", "currency", "money", 2, "What the lines of this category and rate come to."),
    Quantity("tax_base", "Taxable", "currency", "money", 2, "What tax of this category and rate is taken on."),
    Quantity("tax_of_base", "Tax", "currency", "money", 2, "Tax of this category and rate."),
    Quantity("tax_discount_sum", "Discounts as added", "currency", "money", 2, "Discounts of all categories and rates."),
    Quantity("whole_charges", "Charges in whole coins", "currency", "money", 2, "Shares of the charges, each rounded down to the coin."),
    Quantity("tax_sum", "Taxes as added", "currency", "money", 2, "Tax of all categories and rates."),
])


def tax_lines_net(tax_line_net_sum: Value, minor_digits: Value) -> Value:
    """Net of the lines of one category and rate [currency]."""
    return round_to(tax_line_net_sum, minor_digits)


def tax_discount(tax_discountable_sum: Value, discount_rate: Value, minor_digits: Value) -> Value:
    """The discount on the lines of one category and rate that it is taken off, rounded: an allowance of its own [currency]."""
    return round_to(tax_discountable_sum * discount_rate, minor_digits)


def tax_goods_net(tax_lines_net: Value, tax_discount: Value, minor_digits: Value) -> Value:
    """Lines of one category and rate, less discount [currency]."""
    return round_to(tax_lines_net - tax_discount, minor_digits)


def amount_to_share(small_order_charge: Value, carriage: Value, minor_digits: Value) -> Value:
    """What is charged besides the goods [currency]."""
    return round_to(small_order_charge + carriage, minor_digits)


def share(goods_net: Value, tax_goods_net: Value, first_tax: Value) -> Value:
    """The share of the goods that is of one category and rate [1]; where the goods are given away, the first has it all."""
    return choose(goods_net > 0, tax_goods_net / goods_net, first_tax)


def tax_base(tax_goods_net: Value, shared_amount: Value, minor_digits: Value) -> Value:
    """What tax of one category and rate is taken on (BR-S-08) [currency].

    >>> float(tax_base(100.0, 12.5, 2))
    112.5
    """
    return round_to(tax_goods_net + shared_amount, minor_digits)


def tax_of_base(tax_base: Value, tax_rate: Value, tax_down: Value, minor_digits: Value) -> Value:
    """Tax of one category and rate, rounded once (BR-S-09) [currency].

    >>> float(tax_of_base(1460.5, 0.25, 0.0, 2))
    365.13
    """
    return taxed(tax_base, tax_rate, tax_down, minor_digits)


def discount(tax_discount_sum: Value, minor_digits: Value) -> Value:
    """The discounts on the lines of all categories and rates (BR-CO-11) [currency]."""
    return round_to(tax_discount_sum, minor_digits)


def tax(tax_sum: Value, minor_digits: Value) -> Value:
    """Tax of all categories and rates (BR-CO-14) [currency]."""
    return round_to(tax_sum, minor_digits)
