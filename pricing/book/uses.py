"""What a piece is used as: the words of the Use column, and what a shape stands for where it is blank."""

from __future__ import annotations

#: The words that may stand under Use.
USES: tuple[str, ...] = ("worktop", "hearth", "stair", "floor", "seat", "wall", "vessel", "garden", "food")

#: What a piece of a shape is used as where nothing is said: no more than its shape shows.
BY_SHAPE: dict[str, tuple[str, ...]] = {
    "step": ("stair",), "coping": ("wall", "garden"), "sill": ("wall",), "trough": ("vessel",), "square planter": ("vessel", "garden"),
    "round planter": ("vessel", "garden"), "bench": ("seat",),
}


def _words(cell: str) -> list[str]:
    return [word for word in (part.strip().casefold() for part in cell.replace(";", ",").split(",")) if word]


def uses_of(cell: str, shape: str) -> tuple[str, ...]:
    """The uses of a product.

    Parameters
    ----------
    cell : what stands under Use
    shape : of the product

    >>> uses_of("Worktop, food", "slab"), uses_of("", "step")
    (('worktop', 'food'), ('stair',))
    """
    found = tuple(dict.fromkeys(word for word in _words(cell) if word in USES))
    return found or BY_SHAPE.get(shape, ())


def unknown_uses(cell: str) -> list[str]:
    """The words under Use that are none.

    >>> unknown_uses("worktop, boat")
    ['boat']
    """
    return [word for word in _words(cell) if word not in USES]
