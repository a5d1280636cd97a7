"""What cut-outs take from a slab and add to it: rectangles with or without rounded corners, and round ones.

A round cut-out is a rectangle whose corners are rounded by half its side, so one set of rules serves both. A cut-out goes
straight down through the slab. Where the top falls, the depth at the middle of the cut-out gives volume and reveal exactly,
because a cut-out is the same on both sides of its middle; around its edge on the falling top a rounded corner becomes a quarter
of an ellipse, whose length is Ramanujan's first approximation (S. Ramanujan, "Modular equations and approximations to π",
Quarterly Journal of Mathematics 45, 1914; exact where nothing falls).

The mould (common practice, no source): a box of boards for a cut-out with sharp corners; thin board bent round for any other. Each
is as high as the slab is thick; a bead of sealant runs around it where it stands on the base.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, positive_part, square_root
from pricing.glossary import Quantity, define

define([
    Quantity("cut_out", "No.", "dimensionless", "", 0, "Number of the cut-out in this workbook."),
    Quantity("is_round", "Round", "dimensionless", "flag", 0, "1 where the cut-out is round."),
    Quantity("cut_out_length", "Length", "metre", "m", 3, "Of a rectangular cut-out, along the length of the piece.", 0.005, 12.0),
    Quantity("cut_out_width", "Width", "metre", "m", 3, "Of a rectangular cut-out, along the width of the piece.", 0.005, 6.0),
    Quantity("corner_radius", "Corner radius", "metre", "m", 3, "Of a rectangular cut-out; 0: sharp corners.", 0.0, 3.0),
    Quantity("cut_out_diameter", "Diameter", "metre", "m", 3, "Of a round cut-out.", 0.002, 6.0),
    Quantity("cut_outs_alike", "Count", "dimensionless", "", 0, "How many of it a piece has.", 1.0, 1000.0),
    Quantity("is_placed", "Placed", "dimensionless", "flag", 0, "1 where its place in the piece is given."),
    Quantity("from_front", "From front", "metre", "m", 3, "From the front edge of the piece to the near edge of the cut-out.", 0.0, 20.0),
    Quantity("from_left", "From left", "metre", "m", 3, "From the left edge of the piece to the near edge of the cut-out.", 0.0, 20.0),
    Quantity("piece_width", "Width of the piece", "metre", "m", 3, "From the front of the piece to its back."),
    Quantity("middle_depth", "Thickness in the middle", "metre", "m", 4, "Of the slab, half way between its front and its back."),
    Quantity("slab_depth", "Thickness at most", "metre", "m", 4, "Of the slab; what forms a cut-out is as high."),
    Quantity("fall_per_metre", "Rise of the top", "dimensionless", "", 5, "How much thicker the slab gets from front to back."),
    Quantity("cut_length", "Length over all", "metre", "m", 3, "Of the cut-out, round or not."),
    Quantity("cut_width", "Width over all", "metre", "m", 3, "Of the cut-out, round or not."),
    Quantity("cut_radius", "Radius", "metre", "m", 3, "Of its corners; of a round one, half its diameter."),
    Quantity("off_middle", "Behind the middle", "metre", "m", 3, "From half way across the piece back to the middle of the cut-out.", float("-inf")),
    Quantity("cut_depth", "Depth", "metre", "m", 4, "Thickness of the slab at the middle of the cut-out."),
    Quantity("cut_plan_area", "Area", "metre**2", "m²", 5, "Of one cut-out, seen from above."),
    Quantity("cut_girth", "Girth", "metre", "m", 4, "Length around one cut-out, seen from above."),
    Quantity("top_slope", "Slope of the top", "dimensionless", "", 6, "Length along the falling top for one seen from above."),
    Quantity("top_girth", "Girth on the top", "metre", "m", 4, "Length around one cut-out, on the top of the slab."),
    Quantity("core_girth", "Length of its boards", "metre", "m", 4, "Boards of the core of one cut-out, side by side."),
    Quantity("taken_volume", "Takes from the volume", "metre**3", "m³", 6, "All cut-outs alike."),
    Quantity("taken_underside", "Takes from the underside", "metre**2", "m²", 5, "All cut-outs alike."),
    Quantity("taken_top", "Takes from the top", "metre**2", "m²", 5, "All cut-outs alike."),
    Quantity("added_reveal", "Adds faces inside", "metre**2", "m²", 5, "All cut-outs alike."),
    Quantity("added_arris", "Adds arrises", "metre", "m", 4, "Edges around all cut-outs alike; as long are the joints of their cores."),
    Quantity("added_board", "Adds board", "metre**2", "m²", 5, "Boards of all cores alike."),
    Quantity("added_release", "Changes the release face", "metre**2", "m²", 5, "Faces of the cores, less the base below them.", float("-inf")),
])


def cut_length(is_round: Value, cut_out_diameter: Value, cut_out_length: Value) -> Value:
    """Length of the cut-out over all [m]."""
    return choose(is_round, cut_out_diameter, cut_out_length)


def cut_width(is_round: Value, cut_out_diameter: Value, cut_out_width: Value) -> Value:
    """Width of the cut-out over all [m]."""
    return choose(is_round, cut_out_diameter, cut_out_width)


def cut_radius(is_round: Value, cut_out_diameter: Value, corner_radius: Value) -> Value:
    """Radius of the corners; half the diameter of a round one [m]."""
    return choose(is_round, cut_out_diameter / 2, corner_radius)


def off_middle(is_placed: Value, from_front: Value, cut_width: Value, piece_width: Value) -> Value:
    """From half way across the piece back to the middle of the cut-out; 0 where no place is given [m].

    >>> round(off_middle(1, 0.1, 0.2, 0.6), 9)
    -0.1
    """
    return is_placed * (from_front + cut_width / 2 - piece_width / 2)


def cut_depth(middle_depth: Value, fall_per_metre: Value, off_middle: Value) -> Value:
    """Thickness of the slab at the middle of the cut-out [m]."""
    return middle_depth + fall_per_metre * off_middle


def cut_plan_area(cut_length: Value, cut_width: Value, pi: Value, cut_radius: Value) -> Value:
    """One cut-out, seen from above [m²].

    >>> import math
    >>> round(cut_plan_area(2.0, 2.0, math.pi, 1.0) / math.pi, 12)
    1.0
    """
    return cut_length * cut_width - (4 - pi) * cut_radius**2


def cut_girth(cut_length: Value, cut_width: Value, pi: Value, cut_radius: Value) -> Value:
    """Length around one cut-out, seen from above [m].

    >>> import math
    >>> round(cut_girth(2.0, 2.0, math.pi, 1.0) / math.pi, 12)
    2.0
    """
    return 2 * (cut_length + cut_width) - (8 - 2 * pi) * cut_radius


def top_slope(fall_per_metre: Value) -> Value:
    """Length along the falling top, from front to back, for one seen from above [1]."""
    return square_root(1 + fall_per_metre**2)


def top_girth(cut_length: Value, cut_width: Value, cut_radius: Value, top_slope: Value, pi: Value) -> Value:
    """Length around one cut-out on the falling top: its straight sides, and an ellipse for its four corners [m]."""
    return 2 * (cut_length - 2 * cut_radius + (cut_width - 2 * cut_radius) * top_slope) + pi * cut_radius * (
        3 + 3 * top_slope - square_root((3 + top_slope) * (1 + 3 * top_slope))
    )


def core_girth(cut_radius: Value, cut_girth: Value, cut_length: Value, cut_width: Value, board: Value) -> Value:
    """Boards of one core: thin board bent round, or two boards and two between them [m]."""
    return choose(cut_radius > 0, cut_girth, 2 * (cut_length + positive_part(cut_width - 2 * board)))


def taken_volume(cut_outs_alike: Value, cut_plan_area: Value, cut_depth: Value) -> Value:
    """What the cut-outs take from the volume [m³]."""
    return cut_outs_alike * cut_plan_area * cut_depth


def taken_underside(cut_outs_alike: Value, cut_plan_area: Value) -> Value:
    """What the cut-outs take from the underside [m²]."""
    return cut_outs_alike * cut_plan_area


def taken_top(taken_underside: Value, top_slope: Value) -> Value:
    """What the cut-outs take from the top [m²]."""
    return taken_underside * top_slope


def added_reveal(cut_outs_alike: Value, cut_girth: Value, cut_depth: Value) -> Value:
    """Faces inside the cut-outs, which are seen [m²]."""
    return cut_outs_alike * cut_girth * cut_depth


def added_arris(cut_outs_alike: Value, top_girth: Value) -> Value:
    """Edges around the cut-outs on the top, and as long the joints of their cores on the base [m]."""
    return cut_outs_alike * top_girth


def added_board(cut_outs_alike: Value, core_girth: Value, slab_depth: Value) -> Value:
    """Boards of the cores [m²]."""
    return cut_outs_alike * core_girth * slab_depth


def added_release(added_reveal: Value, taken_top: Value) -> Value:
    """Faces of the cores, less the base below them [m²]."""
    return added_reveal - taken_top
