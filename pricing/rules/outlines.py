"""A free outline: its area, perimeter and corners, worked out point by point.

The points are gone through in order, either way round. Each has the side that leads on to the next point, and a corner that may be
rounded. Area by the shoelace formula (half the sum of the cross products of neighbouring points; A. L. F. Meister, 1769), less
what the rounded corners take: an arc that touches both sides of a corner starts r tan(φ/2) from it, φ being the turn, so it takes
r² (tan(φ/2) - φ/2) of the area and 2 r tan(φ/2) - r φ of the length. A corner that turns inward gives instead of taking; the sign
of the turn says which.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, absolute, arc_tangent, choose, square_root
from pricing.glossary import Quantity, define

_ANY = float("-inf")

define([
    Quantity("outline_point", "No.", "dimensionless", "", 0, "Number of the point in this workbook."),
    Quantity("next_point", "Next", "dimensionless", "", 0, "Number of the point that follows; the first after the last."),
    Quantity("previous_point", "Previous", "dimensionless", "", 0, "Number of the point before; the last before the first."),
    Quantity("x", "X", "metre", "m", 4, "Of the point, to the right.", -20.0, 20.0),
    Quantity("y", "Y", "metre", "m", 4, "Of the point, to the back.", -20.0, 20.0),
    Quantity("point_radius", "Radius", "metre", "m", 4, "By which the corner is rounded; 0: sharp.", 0.0, 20.0),
    Quantity("x_after", "X of the next", "metre", "m", 4, "Of the point that follows.", _ANY),
    Quantity("y_after", "Y of the next", "metre", "m", 4, "Of the point that follows.", _ANY),
    Quantity("side_x", "Side to the right", "metre", "m", 4, "How far the side to the next point goes to the right.", _ANY),
    Quantity("side_y", "Side to the back", "metre", "m", 4, "How far the side to the next point goes to the back.", _ANY),
    Quantity("side", "Side", "metre", "m", 4, "Length of the side to the next point, from corner to corner."),
    Quantity("side_x_before", "Side before, to the right", "metre", "m", 4, "The same of the side from the point before.", _ANY),
    Quantity("side_y_before", "Side before, to the back", "metre", "m", 4, "The same of the side from the point before.", _ANY),
    Quantity("side_before", "Side before", "metre", "m", 4, "Length of the side from the point before."),
    Quantity("cross", "Cross product", "metre**2", "m²", 6, "Half the cross product of the point and the next.", _ANY),
    Quantity("half_turn", "Tangent of half the turn", "dimensionless", "", 6, "At the corner; more than 0 where it turns left.", _ANY),
    Quantity("cut_back", "Tangent length", "metre", "m", 4, "From the corner to where its arc begins."),
    Quantity("arc", "Arc", "metre", "m", 4, "Length of the arc that rounds the corner."),
    Quantity("corner_takes", "Corner takes", "metre**2", "m²", 6, "Of the area; less than 0 where it turns right.", _ANY),
    Quantity("cut_back_after", "Tangent length of the next", "metre", "m", 4, "At the other end of the side."),
    Quantity("straight", "Straight part", "metre", "m", 4, "Of the side, between its rounded corners.", _ANY),
    Quantity("sharp_turn", "Sharp turn", "dimensionless", "", 6, "Tangent of half the turn where the corner is not rounded.", _ANY),
    Quantity("turns_left", "Turns left", "dimensionless", "flag", 0, "1 where a sharp corner turns left."),
    Quantity("turns_right", "Turns right", "dimensionless", "flag", 0, "1 where a sharp corner turns right."),
    Quantity("x_first", "X of the first", "metre", "m", 4, "Of the first point of the outline.", _ANY),
    Quantity("y_first", "Y of the first", "metre", "m", 4, "Of the first point of the outline.", _ANY),
    Quantity("first_point", "First", "dimensionless", "", 0, "Number of the first point of the outline."),
    Quantity("to_east", "To the right", "metre", "m", 4, "From the first point to the right.", _ANY),
    Quantity("to_west", "To the left", "metre", "m", 4, "From the first point to the left.", _ANY),
    Quantity("to_north", "To the back", "metre", "m", 4, "From the first point to the back.", _ANY),
    Quantity("to_south", "To the front", "metre", "m", 4, "From the first point to the front.", _ANY),
    Quantity("crosses", "Shoelace sum", "metre**2", "m²", 6, "Of all points; less than 0 where they go round to the right.", _ANY),
    Quantity("corners_take", "Corners take", "metre**2", "m²", 6, "All rounded corners, in the way the points go round.", _ANY),
    Quantity("sides", "Sides", "metre", "m", 4, "All sides from corner to corner."),
    Quantity("cut_backs", "Tangent lengths", "metre", "m", 4, "Of all rounded corners, one for each."),
    Quantity("arcs", "Arcs", "metre", "m", 4, "Of all rounded corners."),
    Quantity("left_turns", "Sharp corners to the left", "dimensionless", "", 0, "How many there are."),
    Quantity("right_turns", "Sharp corners to the right", "dimensionless", "", 0, "How many there are."),
    Quantity("east", "Reach to the right", "metre", "m", 4, "Furthest point right of the first."),
    Quantity("west", "Reach to the left", "metre", "m", 4, "Furthest point left of the first."),
    Quantity("north", "Reach to the back", "metre", "m", 4, "Furthest point behind the first."),
    Quantity("south", "Reach to the front", "metre", "m", 4, "Furthest point before the first."),
    Quantity("outline_area", "Area of the outline", "metre**2", "m²", 5, "What the outline surrounds."),
    Quantity("outline_girth", "Girth of the outline", "metre", "m", 4, "Length around the outline."),
    Quantity("outline_length", "Length over all", "metre", "m", 4, "Of the rectangle around its points."),
    Quantity("outline_width", "Width over all", "metre", "m", 4, "Of the rectangle around its points."),
    Quantity("outward_corners", "Outward corners", "dimensionless", "", 0, "Sharp corners that turn outward."),
    Quantity("inward_corners", "Inward corners", "dimensionless", "", 0, "Sharp corners that turn inward."),
])


def side_x(x_after: Value, x: Value) -> Value:
    """How far the side to the next point goes to the right [m]."""
    return x_after - x


def side_y(y_after: Value, y: Value) -> Value:
    """How far the side to the next point goes to the back [m]."""
    return y_after - y


def side(side_x: Value, side_y: Value) -> Value:
    """Length of the side to the next point, from corner to corner [m].

    >>> float(side(0.3, 0.4))
    0.5
    """
    return square_root(side_x**2 + side_y**2)


def cross(x: Value, y_after: Value, x_after: Value, y: Value) -> Value:
    """Half the cross product of the point and the next, of which the shoelace formula is the sum [m²]."""
    return (x * y_after - x_after * y) / 2


def half_turn(
    side_x_before: Value, side_y: Value, side_y_before: Value, side_x: Value, side_before: Value, side: Value
) -> Value:
    """Tangent of half the turn at the corner: sin φ / (1 + cos φ) [1].

    >>> half_turn(1.0, 2.0, 0.0, 0.0, 1.0, 2.0)
    1.0
    """
    return (side_x_before * side_y - side_y_before * side_x) / (
        side_before * side + side_x_before * side_x + side_y_before * side_y
    )


def cut_back(point_radius: Value, half_turn: Value) -> Value:
    """From the corner to where its arc begins [m]."""
    return point_radius * absolute(half_turn)


def arc(point_radius: Value, half_turn: Value) -> Value:
    """Length of the arc that rounds the corner [m]."""
    return 2 * point_radius * arc_tangent(absolute(half_turn))


def corner_takes(point_radius: Value, half_turn: Value) -> Value:
    """What rounding the corner takes of the area, its sign that of the turn [m²]."""
    return point_radius**2 * (half_turn - arc_tangent(half_turn))


def straight(side: Value, cut_back: Value, cut_back_after: Value) -> Value:
    """Straight part of the side, between its rounded corners [m]."""
    return side - cut_back - cut_back_after


def sharp_turn(point_radius: Value, half_turn: Value) -> Value:
    """Tangent of half the turn where the corner is not rounded, otherwise 0 [1]."""
    return choose(point_radius > 0, 0, half_turn)


def turns_left(sharp_turn: Value) -> Value:
    """1 where a sharp corner turns left [flag]."""
    return choose(sharp_turn > 0, 1, 0)


def turns_right(sharp_turn: Value) -> Value:
    """1 where a sharp corner turns right [flag]."""
    return choose(sharp_turn < 0, 1, 0)


def to_east(x: Value, x_first: Value) -> Value:
    """From the first point to the right [m]."""
    return x - x_first


def to_west(x_first: Value, x: Value) -> Value:
    """From the first point to the left [m]."""
    return x_first - x


def to_north(y: Value, y_first: Value) -> Value:
    """From the first point to the back [m]."""
    return y - y_first


def to_south(y_first: Value, y: Value) -> Value:
    """From the first point to the front [m]."""
    return y_first - y


def outline_area(crosses: Value, corners_take: Value) -> Value:
    """What the outline surrounds, whichever way its points go round [m²].

    >>> float(outline_area(-6.0, -0.5))
    5.5
    """
    return absolute(crosses - corners_take)


def outline_girth(sides: Value, cut_backs: Value, arcs: Value) -> Value:
    """Length around the outline [m]."""
    return sides - 2 * cut_backs + arcs


def outline_length(east: Value, west: Value) -> Value:
    """Length of the rectangle around the points [m]."""
    return east + west


def outline_width(north: Value, south: Value) -> Value:
    """Width of the rectangle around the points [m]."""
    return north + south


def outward_corners(crosses: Value, left_turns: Value, right_turns: Value) -> Value:
    """Sharp corners that turn outward: those to the left where the points go round to the left [number]."""
    return choose(crosses > 0, left_turns, right_turns)


def inward_corners(crosses: Value, right_turns: Value, left_turns: Value) -> Value:
    """Sharp corners that turn inward [number]."""
    return choose(crosses > 0, right_turns, left_turns)


#: The rules of a point and those of an outline, each after those it rests on.
OF_A_POINT = (
    side_x, side_y, side, cross, half_turn, cut_back, arc, corner_takes, straight, sharp_turn, turns_left, turns_right, to_east,
    to_west, to_north, to_south,
)
OF_AN_OUTLINE = (outline_area, outline_girth, outline_length, outline_width, outward_corners, inward_corners)

#: What an outline adds up from its points, and what it takes the largest of.
ADDED_UP = (
    ("crosses", "cross"), ("corners_take", "corner_takes"), ("sides", "side"), ("cut_backs", "cut_back"), ("arcs", "arc"),
    ("left_turns", "turns_left"), ("right_turns", "turns_right"),
)
LARGEST_OF = (("east", "to_east"), ("west", "to_west"), ("north", "to_north"), ("south", "to_south"))

#: What a point takes from others: from the next, from the one before, and from the first.
FROM_OTHERS = (
    ("x_after", "x", "next_point"), ("y_after", "y", "next_point"), ("cut_back_after", "cut_back", "next_point"),
    ("side_x_before", "side_x", "previous_point"), ("side_y_before", "side_y", "previous_point"),
    ("side_before", "side", "previous_point"), ("x_first", "x", "first_point"), ("y_first", "y", "first_point"),
)
