"""New workbooks whose formulas are written as they are.

The library that writes them looks through every formula for some thirty functions that only recent programs know, to mark
them. Ours are made of functions that every program has (``layout``), and there may be a million of them.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

import xlsxwriter
from xlsxwriter.worksheet import Worksheet


class PlainWorksheet(Worksheet):  # type: ignore[misc]
    """A worksheet whose formulas need no marking."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        """The formula without its equals sign."""
        return formula.removeprefix("=")


class PlainWorkbook(xlsxwriter.Workbook):  # type: ignore[misc]
    """A workbook of such worksheets.

    >>> import io
    >>> with PlainWorkbook(io.BytesIO()) as book:
    ...     isinstance(book.add_worksheet("Lines"), PlainWorksheet)
    True
    """

    worksheet_class = PlainWorksheet


def new_workbook(path: Any, options: Mapping[str, Any]) -> Any:
    """A new workbook.

    Parameters
    ----------
    path : where it goes: a path, or a file in memory
    options : of the library
    """
    return PlainWorkbook(path, copy.deepcopy(dict(options)))  # the library notes things in them, for the next workbook to find
