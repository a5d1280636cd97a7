"""Break-even: how many pieces, and at what price, pay for the costs that do not grow with them; mark-up and margin.

Source: any text on cost-volume-profit analysis; the figures of an open textbook (Saylor Academy 2012, Managerial
Accounting, chapter 6) are checked in the tests.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value
from pricing.glossary import Quantity, define

_ANY = float("-inf")

define([
    Quantity("markup_on_cost", "Mark-up on cost", "dimensionless", "%", 1, "Profit as a share of the cost."),
    Quantity("margin_on_price", "Margin on price", "dimensionless", "%", 1,
             "Profit as a share of the selling price.", _ANY, 0.99),
    Quantity("margin_of_markup", "Margin of a mark-up", "dimensionless", "%", 1, "The margin that a mark-up comes to."),
    Quantity("markup_of_margin", "Mark-up of a margin", "dimensionless", "%", 1, "The mark-up that a margin comes to."),
    Quantity("price_per_piece", "Price of one", "currency/piece", "money", 2,
             "Selling price of one piece, without tax."),
    Quantity("target_cost", "Target cost", "currency/piece", "money", 2,
             "What a piece may cost at a price the market gives."),
    Quantity("variable_cost_per_piece", "Variable cost of one", "currency/piece", "money", 2,
             "What one more piece causes: material, wages, machine time."),
    Quantity("contribution_per_piece", "Contribution of one", "currency/piece", "money", 2,
             "What a piece leaves towards fixed costs and profit.", _ANY),
    Quantity("contribution_ratio", "Contribution ratio", "dimensionless", "%", 1,
             "Contribution as a share of the price.", _ANY, 1.0),
    Quantity("fixed_costs", "Fixed costs", "currency", "money", 2,
             "Costs of the period, or of the order, however many are made."),
    Quantity("target_profit", "Target profit", "currency", "money", 2, "Profit before tax that is wanted.", _ANY),
    Quantity("pieces_sold", "Pieces sold", "piece", "pieces", 0, "Pieces sold, or planned to be."),
    Quantity("break_even_quantity", "Break-even quantity", "piece", "pieces", 2,
             "Pieces that pay for the fixed costs."),
    Quantity("target_profit_quantity", "Quantity for the target profit", "piece", "pieces", 2,
             "Pieces that pay for the fixed costs and leave the target profit."),
    Quantity("break_even_sales", "Break-even sales", "currency", "money", 2, "Sales that pay for the fixed costs."),
    Quantity("target_profit_sales", "Sales for the target profit", "currency", "money", 2,
             "Sales that pay for the fixed costs and leave the target profit."),
    Quantity("break_even_price", "Break-even price", "currency/piece", "money", 2,
             "Price at which so many pieces just pay for all costs."),
    Quantity("profit_before_tax", "Profit before tax", "currency", "money", 2,
             "Contribution of the pieces less the fixed costs.", _ANY),
    Quantity("profit_after_tax", "Profit after tax", "currency", "money", 2,
             "What is left of the profit once it is taxed.", _ANY),
    Quantity("profit_tax_rate", "Tax on profit", "dimensionless", "%", 1,
             "Share of the profit that is taxed away.", 0.0, 0.99),
    Quantity("pre_tax_target", "Target before tax", "currency", "money", 2,
             "Profit before tax that leaves the wanted one.", _ANY),
    Quantity("margin_of_safety", "Margin of safety", "piece", "pieces", 2, "Pieces sold beyond break-even.", _ANY),
])


def margin_of_markup(markup_on_cost: Value) -> Value:
    """The margin on the price that a mark-up on cost comes to.

    Parameters
    ----------
    markup_on_cost : [dimensionless]

    Returns
    -------
    margin_of_markup [dimensionless]

    >>> margin_of_markup(0.25)
    0.2
    """
    return markup_on_cost / (1 + markup_on_cost)


def markup_of_margin(margin_on_price: Value) -> Value:
    """The mark-up on cost that a margin on the price comes to.

    Parameters
    ----------
    margin_on_price : below 1 [dimensionless]

    Returns
    -------
    markup_of_margin [dimensionless]

    >>> markup_of_margin(0.5)
    1.0
    """
    return margin_on_price / (1 - margin_on_price)


def target_cost(price_per_piece: Value, margin_on_price: Value) -> Value:
    """What a piece may cost if it must be sold at a given price with a given margin.

    Parameters
    ----------
    price_per_piece : [currency/piece]
    margin_on_price : [dimensionless]

    Returns
    -------
    target_cost [currency/piece]

    >>> target_cost(100, 0.25)
    75.0
    """
    return price_per_piece * (1 - margin_on_price)


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


def contribution_ratio(contribution_per_piece: Value, price_per_piece: Value) -> Value:
    """Contribution as a share of the price.

    Parameters
    ----------
    contribution_per_piece : [currency/piece]
    price_per_piece : [currency/piece]

    Returns
    -------
    contribution_ratio [dimensionless]

    >>> contribution_ratio(100, 250)
    0.4
    """
    return contribution_per_piece / price_per_piece


def break_even_quantity(fixed_costs: Value, contribution_per_piece: Value) -> Value:
    """Pieces that just pay for the fixed costs, not rounded.

    Parameters
    ----------
    fixed_costs : [currency]
    contribution_per_piece : above zero [currency/piece]

    Returns
    -------
    break_even_quantity [piece]

    >>> break_even_quantity(50000, 100)
    500.0
    """
    return fixed_costs / contribution_per_piece


def target_profit_quantity(fixed_costs: Value, target_profit: Value, contribution_per_piece: Value) -> Value:
    """Pieces that pay for the fixed costs and leave the target profit, not rounded.

    Parameters
    ----------
    fixed_costs : [currency]
    target_profit : before tax [currency]
    contribution_per_piece : above zero [currency/piece]

    Returns
    -------
    target_profit_quantity [piece]

    >>> target_profit_quantity(50000, 30000, 100)
    800.0
    """
    return (fixed_costs + target_profit) / contribution_per_piece


def break_even_sales(fixed_costs: Value, contribution_ratio: Value) -> Value:
    """Sales that just pay for the fixed costs.

    Parameters
    ----------
    fixed_costs : [currency]
    contribution_ratio : above zero [dimensionless]

    Returns
    -------
    break_even_sales [currency]

    >>> break_even_sales(50000, 0.4)
    125000.0
    """
    return fixed_costs / contribution_ratio


def target_profit_sales(fixed_costs: Value, target_profit: Value, contribution_ratio: Value) -> Value:
    """Sales that pay for the fixed costs and leave the target profit.

    Parameters
    ----------
    fixed_costs : [currency]
    target_profit : before tax [currency]
    contribution_ratio : above zero [dimensionless]

    Returns
    -------
    target_profit_sales [currency]

    >>> target_profit_sales(50000, 30000, 0.4)
    200000.0
    """
    return (fixed_costs + target_profit) / contribution_ratio


def break_even_price(variable_cost_per_piece: Value, fixed_costs: Value, pieces_sold: Value) -> Value:
    """Price at which so many pieces just pay for all costs.

    Parameters
    ----------
    variable_cost_per_piece : [currency/piece]
    fixed_costs : [currency]
    pieces_sold : above zero [piece]

    Returns
    -------
    break_even_price [currency/piece]

    >>> break_even_price(150, 50000, 500)
    250.0
    """
    return variable_cost_per_piece + fixed_costs / pieces_sold


def profit_before_tax(contribution_per_piece: Value, pieces_sold: Value, fixed_costs: Value) -> Value:
    """Contribution of the pieces sold less the fixed costs.

    Parameters
    ----------
    contribution_per_piece : [currency/piece]
    pieces_sold : [piece]
    fixed_costs : [currency]

    Returns
    -------
    profit_before_tax [currency]

    >>> profit_before_tax(100, 700, 50000)
    20000
    """
    return contribution_per_piece * pieces_sold - fixed_costs


def pre_tax_target(profit_after_tax: Value, profit_tax_rate: Value) -> Value:
    """Profit before tax that leaves a wanted profit after tax.

    Parameters
    ----------
    profit_after_tax : [currency]
    profit_tax_rate : below 1 [dimensionless]

    Returns
    -------
    pre_tax_target [currency]

    >>> pre_tax_target(30000, 0.2)
    37500.0
    """
    return profit_after_tax / (1 - profit_tax_rate)


def margin_of_safety(pieces_sold: Value, break_even_quantity: Value) -> Value:
    """Pieces sold beyond break-even; below zero where it is not reached.

    Parameters
    ----------
    pieces_sold : [piece]
    break_even_quantity : [piece]

    Returns
    -------
    margin_of_safety [piece]

    >>> margin_of_safety(700, 500)
    200
    """
    return pieces_sold - break_even_quantity
