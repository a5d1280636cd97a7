"""What a piece is used as: the words of the Use column."""

from __future__ import annotations

#: The words that may stand under Use.
USES: tuple[str, ...] = ("worktop", "hearth", "stair", "floor", "seat", "wall", "vessel", "garden", "food")

def _words(cell: str) -> list[str]:
    return [word for word in (part.strip().casefold() for part in cell.replace(";", ",").split(",")) if word]


def uses_of(cell: str) -> tuple[str, ...]:
    """The uses that stand in a cell of the Use column; none where it is blank, and the shape decides.

    >>> uses_of("Worktop, food"), uses_of("")
    (('worktop', 'food'), ())
    """
    return tuple(dict.fromkeys(word for word in _words(cell) if word in USES))


def unknown_uses(cell: str) -> list[str]:
    """The words under Use that are none.

    >>> unknown_uses("worktop, boat")
    ['boat']
    """
    return [word for word in _words(cell) if word not in USES]
