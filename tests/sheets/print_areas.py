"""What of a sheet is printed, and how wide it is."""

from __future__ import annotations

from openpyxl.utils.cell import range_boundaries
from openpyxl.worksheet.worksheet import Worksheet


def area_of(sheet: Worksheet) -> tuple[int, int, int, int] | None:
    """The cells that print: first column and row, last column and row; None where the print area holds nothing."""
    if not sheet.print_area:
        return 1, 1, sheet.max_column, sheet.max_row
    first, top, last, bottom = (int(each or 0) for each in range_boundaries(str(sheet.print_area).rpartition("!")[2]))
    rows = sheet.iter_rows(min_col=first, min_row=top, max_col=last, max_row=bottom, values_only=True)
    return (first, top, last, bottom) if any(cell is not None for row in rows for cell in row) else None


def width_of(sheet: Worksheet, first: int, last: int) -> float:
    """The width of some columns as they are set, at seven pixels a digit [points]."""
    widths = {column: each.width for each in sheet.column_dimensions.values() for column in range(each.min, each.max + 1)}
    return sum(round(widths.get(column, 9.14) * 7) for column in range(first, last + 1)) * 0.75
