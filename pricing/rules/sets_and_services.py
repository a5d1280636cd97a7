"""What is otherwise in a line of a service, which is not cast, and in one of a set: several pieces under one heading at one price, which is
the sum of its parts, or is typed and shared over them by cost."""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, larger, round_to, whole_up
from pricing.glossary import Quantity, define

define([
    Quantity("is_service", "A service", "dimensionless", "flag", 0, "1 where the line is a service, which is not cast."),
    Quantity("set_number", "Set no.", "dimensionless", "", 0, "Number of the set in this workbook."),
    Quantity("set_part", "Part no.", "dimensionless", "", 0, "Number of the part of a set in this workbook."),
    Quantity("sets_ordered", "Sets", "piece", "pieces", 0, "How many of the set are ordered.", 1.0, 1e6),
    Quantity("pieces_of_set", "In one set", "dimensionless", "", 0, "How many of the part are in one set.", 1.0, 1e6),
    Quantity("pieces_of_part", "In all sets", "piece", "pieces", 0, "Good pieces of the part in all sets."),
    Quantity("is_part", "A part of a set", "dimensionless", "flag", 0, "1 where the line is a part of a set."),
    Quantity("set_pieces", "Pieces of sets", "piece", "pieces", 0, "Good pieces of the line that are ordered in sets."),
    Quantity("typed_quantity", "Quantity asked for", "piece", "pieces", 0, "Good pieces ordered by themselves.", 0.0, 1e6),
    Quantity("set_price", "Price of a set", "currency/piece", "money", 2, "The price that is typed for one set, without tax; 0 where it is the sum.",
             0.0, 1e13),
    Quantity("set_discount", "Discount of the set", "dimensionless", "%", 1, "Of the line that asks for the set.", 0.0, 1.0),
    Quantity("set_cost", "Cost of the sets", "currency", "money", 2, "Cost of all parts of the sets."),
    Quantity("set_net", "Net of the sets", "currency", "money", 2, "What all parts of the sets come to."),
    Quantity("first_part", "First", "dimensionless", "flag", 0, "1 for the first part of its set."),
    Quantity("shares_set_price", "Shares a set's price", "dimensionless", "flag", 0, "1 where the line has a share of the price of its set."),
    Quantity("set_share", "Share of the set", "currency", "money", 2, "What of the price of its set the line has."),
    Quantity("left_of_price", "Left of the price", "dimensionless", "", 4, "What the discount of the line leaves of its price; 1 where it takes all."),
    Quantity("stated_price", "Typed or listed price", "currency/piece", "money", 2, "The price that is typed or listed for a piece.", 0.0, 1e13),
])


def rounds(is_service: Value, quantity: Value, casts: Value, places: Value) -> Value:
    """How often the moulds of a line are filled; a service is not cast [rounds].

    >>> float(rounds(1.0, 3.0, 3.0, 3.0)), float(rounds(0.0, 8.0, 8.0, 4.0))
    (0.0, 2.0)
    """
    return (1 - is_service) * larger(whole_up(quantity / places), casts / places)


def pieces_of_part(sets_ordered: Value, pieces_of_set: Value) -> Value:
    """Good pieces of a part in all sets that are ordered [pieces].

    >>> pieces_of_part(3.0, 2.0)
    6.0
    """
    return sets_ordered * pieces_of_set


def quantity(is_part: Value, set_pieces: Value, typed_quantity: Value) -> Value:
    """Good pieces ordered, in sets or by themselves [pieces]."""
    return choose(is_part, set_pieces, typed_quantity)


def amount_to_share(sets_ordered: Value, set_price: Value, set_discount: Value, minor_digits: Value) -> Value:
    """What all sets come to where the price of one is typed, less the discount of the line [currency].

    >>> float(amount_to_share(2.0, 950.0, 0.1, 2))
    1710.0
    """
    return round_to(sets_ordered * set_price * (1 - set_discount), minor_digits)


def share(set_cost: Value, line_cost: Value, first_part: Value) -> Value:
    """The share of a set's cost that a part has [1]; where none of them costs anything, the first has it all."""
    return choose(set_cost > 0, line_cost / set_cost, first_part)


def left_of_price(own_discount: Value) -> Value:
    """What the discount of the line leaves of its price [1]; 1 where it takes all, so that the price can be told."""
    return choose(own_discount < 1, 1 - own_discount, 1)


def given_price(shares_set_price: Value, set_share: Value, quantity: Value, left_of_price: Value, stated_price: Value) -> Value:
    """The price of a piece that stands: its share of the price of its set, before the discount of the line, or what is typed or
    listed [currency/piece].

    >>> float(given_price(1.0, 90.0, 2.0, 0.9, 0.0))
    50.0
    """
    return choose(shares_set_price, set_share / quantity / left_of_price, stated_price)
