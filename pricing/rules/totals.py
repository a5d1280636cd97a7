"""The totals of a quote, by the arithmetic of EN 16931 (rules BR-CO-10 to BR-CO-17).

Each amount is rounded once, where it arises, halves away from zero, to the currency's minor unit; tax is taken on the
summed base and not line by line; sums of rounded amounts are not rounded again (the rounding of a sum here only clears
what binary addition leaves behind the last decimal).
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, positive_part, round_down_to, round_to, whole_nearest
from pricing.glossary import Quantity, define

define([
    Quantity("up_to", "Up to", "kilogram", "kg", 0, "Heaviest delivery of the band.", 0.1, 1e6),
    Quantity("charge", "Charge", "currency", "money", 2, "What the customer pays for the delivery.", 0.0, 1e13),
    Quantity("line_net_sum", "Sum of the lines", "currency", "money", 2, "Net of all lines, as added."),
    Quantity("lines_net", "Lines", "currency", "money", 2, "Net of all lines."),
    Quantity("discountable_sum", "Discounted lines as added", "currency", "money", 2, "Net of all lines that the customer's discount is taken off."),
    Quantity("discountable", "Discounted lines", "currency", "money", 2, "Net of all lines that the customer's discount is taken off."),
    Quantity("taken_sum", "Taken from the price", "currency", "money", 2, "What commission, cards and warranty take of all lines."),
    Quantity("discount", "Discount", "currency", "money", 2, "The customer's discount on the lines."),
    Quantity("goods_net", "Lines less discount", "currency", "money", 2, "What the lines come to after discount."),
    Quantity("smallest_order", "Smallest order", "currency", "money", 2, "The least that an order comes to, carriage and tax aside.",
             0.0, 1e13),
    Quantity("small_order_charge", "Small order charge", "currency", "money", 2, "What is added to reach the smallest order."),
    Quantity("quote_mass_sum", "Mass as added", "kilogram", "kg", 3, "Mass of all lines."),
    Quantity("quote_mass", "Mass", "kilogram", "kg", 1, "Mass of the delivery, to the gram."),
    Quantity("carriage_of_band", "Charge of the band", "currency", "money", 2, "Charge of the lowest band that holds the delivery."),
    Quantity("carriage", "Carriage", "currency", "money", 2, "What delivery costs the customer."),
    Quantity("net", "Net", "currency", "money", 2, "Everything without tax."),
    Quantity("standard_tax_rate", "Tax rate", "dimensionless", "%", 1, "Tax on sales, unless a customer has a rate of their own.",
             0.0, 0.99),
    Quantity("has_own_tax_rate", "Own tax rate", "dimensionless", "flag", 0, "1 where the customer has a tax rate of their own."),
    Quantity("own_tax_rate", "Customer's rate", "dimensionless", "%", 1, "The customer's own tax rate.", 0.0, 0.99),
    Quantity("tax_rate", "Tax rate", "dimensionless", "%", 1, "Tax on the net."),
    Quantity("tax_down", "Tax rounded down", "dimensionless", "flag", 0, "1 where the total tax is rounded down."),
    Quantity("tax", "Tax", "currency", "money", 2, "Tax on the net."),
    Quantity("gross", "Total with tax", "currency", "money", 2, "Net and tax."),
    Quantity("cash_step", "Cash step", "currency", "money", 2, "Smallest step in which the total is paid; 0 for none.", 0.0, 1e13),
    Quantity("one_unit_of_money", "One unit of money", "currency", "money", 0, "What stands for a cash step where there is none."),
    Quantity("cash_divisor", "Cash divisor", "currency", "money", 2, "The cash step, or 1 where there is none."),
    Quantity("payable", "Payable", "currency", "money", 2, "What the customer pays."),
    Quantity("rounding", "Rounding", "currency", "money", 2, "What rounding to the cash step changes.", float("-inf")),
    Quantity("deposit_share", "Deposit", "dimensionless", "%", 1, "Share of the total that is paid with the order.", 0.0, 1.0),
    Quantity("deposit", "Deposit", "currency", "money", 2, "What is paid with the order."),
    Quantity("line_cost_sum", "Cost of the lines", "currency", "money", 2, "Cost of all lines."),
    Quantity("quote_cost", "Cost", "currency", "money", 2, "Cost of all lines, carriage at what is charged for it, and what is taken from the price."),
    Quantity("quote_margin", "Margin of the quote", "dimensionless", "%", 1, "Share of the net that is left after cost.", float("-inf"), 1),
    Quantity("line_contribution_sum", "Contribution of the lines", "currency", "money", 2, "Contribution of all lines.", float("-inf")),
    Quantity("quote_contribution", "Contribution", "currency", "money", 2, "Contribution of all lines and of the small order charge.", float("-inf")),
])


def tax_rate(has_own_tax_rate: Value, own_tax_rate: Value, standard_tax_rate: Value) -> Value:
    """The customer's own tax rate, or the workshop's [1]."""
    return choose(has_own_tax_rate, own_tax_rate, standard_tax_rate)


def lines_net(line_net_sum: Value, minor_digits: Value) -> Value:
    """Net of all lines (BR-CO-10) [currency]."""
    return round_to(line_net_sum, minor_digits)


def discountable(discountable_sum: Value, minor_digits: Value) -> Value:
    """Net of all lines that the customer's discount is taken off [currency]."""
    return round_to(discountable_sum, minor_digits)


def discount(discountable: Value, discount_rate: Value, minor_digits: Value) -> Value:
    """The customer's discount, rounded (BR-CO-11) [currency]."""
    return round_to(discountable * discount_rate, minor_digits)


def goods_net(lines_net: Value, discount: Value, minor_digits: Value) -> Value:
    """Lines less discount [currency]."""
    return round_to(lines_net - discount, minor_digits)


def small_order_charge(smallest_order: Value, goods_net: Value, minor_digits: Value) -> Value:
    """What is added to reach the smallest order [currency].

    >>> float(small_order_charge(100.0, 80.0, 2)), float(small_order_charge(100.0, 120.0, 2))
    (20.0, 0.0)
    """
    return round_to(positive_part(smallest_order - goods_net), minor_digits)


def quote_mass(quote_mass_sum: Value) -> Value:
    """Mass of the delivery, to the gram, so that a band of weights ends where it says [kg]."""
    return round_to(quote_mass_sum, 3)


def carriage(quote_mass: Value, carriage_of_band: Value, minor_digits: Value) -> Value:
    """What delivery costs the customer: the charge of its band, rounded; nothing where nothing is to be carried [currency]."""
    return choose(quote_mass, round_to(carriage_of_band, minor_digits), 0)


def net(goods_net: Value, small_order_charge: Value, carriage: Value, minor_digits: Value) -> Value:
    """Everything without tax: the base that tax is taken on (BR-CO-13) [currency]."""
    return round_to(goods_net + small_order_charge + carriage, minor_digits)


def taxed(base: Value, tax_rate: Value, tax_down: Value, minor_digits: Value) -> Value:
    """Tax on a base, rounded as the workshop's law has it [currency]."""
    return choose(tax_down, round_down_to(base * tax_rate, minor_digits), round_to(base * tax_rate, minor_digits))


def tax(net: Value, tax_rate: Value, tax_down: Value, minor_digits: Value) -> Value:
    """Tax on the summed base, rounded once (BR-CO-17) [currency].

    Rounding the total down is allowed to invoice traders in the United Kingdom (VAT Trader Records manual, vatrec12010).

    >>> float(tax(1460.5, 0.25, 0.0, 2)), float(tax(1460.5, 0.25, 1.0, 2))
    (365.13, 365.12)
    """
    return taxed(net, tax_rate, tax_down, minor_digits)


def gross(net: Value, tax: Value, minor_digits: Value) -> Value:
    """Net and tax (BR-CO-15) [currency]."""
    return round_to(net + tax, minor_digits)


def cash_divisor(cash_step: Value, one_unit_of_money: Value) -> Value:
    """The cash step, or 1 where there is none [currency]."""
    return choose(cash_step > 0, cash_step, one_unit_of_money)


def payable(gross: Value, cash_step: Value, cash_divisor: Value, minor_digits: Value) -> Value:
    """What the customer pays: the total, in steps of cash where there are any (BR-CO-16) [currency].

    >>> float(payable(10.02, 0.05, 0.05, 2)), float(payable(10.02, 0.0, 1.0, 2))
    (10.0, 10.02)
    """
    return choose(cash_step > 0, round_to(whole_nearest(gross / cash_divisor) * cash_step, minor_digits), gross)


def rounding(payable: Value, gross: Value, minor_digits: Value) -> Value:
    """What rounding to the cash step changes (BT-114) [currency]."""
    return round_to(payable - gross, minor_digits)


def deposit(payable: Value, deposit_share: Value, minor_digits: Value) -> Value:
    """What is paid with the order [currency]."""
    return round_to(payable * deposit_share, minor_digits)


def quote_cost(line_cost_sum: Value, carriage: Value, taken_sum: Value) -> Value:
    """Cost of all lines, carriage at what is charged for it, and what commission, cards and warranty take: both are passed on and not
    earned [currency]."""
    return line_cost_sum + carriage + taken_sum


def quote_margin(net: Value, quote_cost: Value) -> Value:
    """Share of the net that is left after cost [1]; 0 where nothing is charged."""
    return choose(net > 0, (net - quote_cost) / net, 0)


def quote_contribution(line_contribution_sum: Value, small_order_charge: Value) -> Value:
    """Contribution of all lines and of the small order charge [currency]."""
    return line_contribution_sum + small_order_charge
