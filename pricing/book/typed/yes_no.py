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
    "DATE_REASONS", "FIGURE_REASONS", "PERCENT_REASONS", "YES_NO_REASONS", "Figure", "date_from_text",
    "figure_from_text", "fold", "percent_from_cell", "unit_in_format", "yes_no_from_cell",
]

PERCENT_REASONS = FIGURE_REASONS | {
    "ambiguous-percentage": "can be read as a percentage or as a fraction; type 4 % or 0.04",
    "not-a-percentage": "is not a percentage",
}

YES_NO_REASONS = {"empty": "is empty", "not-yes-or-no": "is neither yes nor no"}


def percent_from_cell(cell: Cell, heading_unit: str) -> float | str:
    """The fraction that a cell states as a percentage, or the code of ``PERCENT_REASONS`` that says why it states none.

    Parameters
    ----------
    cell : as read
    heading_unit : the unit in the heading of its column, "%" or empty

    Text with a percent sign, and a number shown as a percentage, mean what they show. Under a heading with "%" a plain
    number is divided by 100. Otherwise a plain number below 1 is a fraction, and one of 1 or more is ambiguous.

    >>> percent_from_cell(Cell(1, 1, "4 %", "text"), ""), percent_from_cell(Cell(1, 1, 4.0, "number"), "")
    (0.04, 'ambiguous-percentage')
    """
    if cell.kind == "number" and isinstance(cell.value, float):
        number, unit = cell.value, unit_in_format(cell.number_format)
        if unit == "%":
            return number
        if unit:
            return "not-a-percentage"
    elif cell.kind == "text" and isinstance(cell.value, str):
        figure = figure_from_text(cell.value)
        if isinstance(figure, str):
            return figure
        if figure.unit == "%":
            return float(f"{figure.value / 100:.15g}")
        if figure.unit:
            return "not-a-percentage"
        number = figure.value
    else:
        return "empty" if cell.kind == "blank" else "not-a-percentage"
    if heading_unit.strip() == "%":
        return float(f"{number / 100:.15g}")
    return number if abs(number) < 1 else "ambiguous-percentage"


def yes_no_from_cell(cell: Cell) -> bool | str:
    """Yes or no as a cell states it, or the code of ``YES_NO_REASONS`` that says why it states neither.

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
    if cell.kind == "blank" or (cell.kind == "text" and not fold(str(cell.value))):
        return "empty"
    if cell.kind == "text":
        word = fold(str(cell.value))
        if word in ("yes", "y", "true", "1", "x", "✓", "✔"):
            return True
        if word in ("no", "n", "false", "0"):
            return False
    return "not-yes-or-no"
