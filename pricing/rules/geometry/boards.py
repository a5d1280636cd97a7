"""Rules that many shapes share: the boards around a rectangular base, and the outline they follow.

The mould assumed throughout (common practice, no source): the piece lies upside down, its top on the base board. The
sides stand beside the base on the bench, so each is a board's thickness higher than the piece; the sides along the
length run past the ends by a board's thickness at each end.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value


def side_length(length: Value, board: Value) -> Value:
    """Length of a side board: it covers the ends of both end boards [m]."""
    return length + 2 * board


def side_height(thickness: Value, board: Value) -> Value:
    """Height of a side board: the piece and the base beside which it stands [m]."""
    return board + thickness


def perimeter(length: Value, width: Value) -> Value:
    """Outline of a rectangle [m]."""
    return 2 * (length + width)
