"""What a typed cell means: figures with units, percentages, dates, yes or no, and names that are compared.

Nothing is guessed: what can be read in two ways comes back as a reason, not as a number.
"""

from __future__ import annotations

from pricing.book.typed.dates import DATE_REASONS, date_from_text
from pricing.book.typed.figures import FIGURE_REASONS, Figure, figure_from_text
from pricing.text import fold
from pricing.xlsx.cells import Cell
from pricing.xlsx.number_formats import unit_in_format

__all__ = [
    "DATE_REASONS", "FIGURE_REASONS", "Figure", "date_from_text", "figure_from_text", "fold", "unit_in_format", "yes_no_from_cell",
]


_LONGEST = 100  # characters; longer texts are prose


def yes_no_from_cell(cell: Cell) -> bool | str:
    """Yes or no as a cell states it, or ``empty`` or ``not-yes-or-no`` where it states neither.

    Parameters
    ----------
    cell : as read: true or false, 1 or 0, yes or no, y or n, x

    >>> yes_no_from_cell(Cell(1, 1, "Yes", "text")), yes_no_from_cell(Cell(1, 1, "perhaps", "text"))
    (True, 'not-yes-or-no')
    """
    if isinstance(cell.value, bool):
        return cell.value
    if cell.kind == "number" and cell.value in (0.0, 1.0):
        return cell.value == 1.0
    word = fold(str(cell.value)[:_LONGEST]) if cell.kind == "text" else ""
    if cell.kind == "blank" or (cell.kind == "text" and not word and len(str(cell.value)) <= _LONGEST):
        return "empty"
    if cell.kind == "text":
        if word in ("yes", "y", "true", "1", "x", "✓", "✔"):
            return True
        if word in ("no", "n", "false", "0"):
            return False
    return "not-yes-or-no"
