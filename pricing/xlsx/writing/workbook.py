"""New workbooks, written by the writing library as it comes, but for three of its steps."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NoReturn

import xlsxwriter
from xlsxwriter.app import App
from xlsxwriter.packager import Packager
from xlsxwriter.worksheet import Worksheet

#: What writes our files, as their properties name it.
PROGRAM = "cast-pricing"


#: The highest row that a spreadsheet knows [points].
HIGHEST = 409.0


class PlainWorksheet(Worksheet):  # type: ignore[misc]
    """A worksheet whose formulas need no marking, and that holds whatever is written into it."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        """The formula without its equals sign.

        The library looks through every formula for some fifty functions that only recent programs know, to mark them; ours
        are made of functions that every program has (:mod:`pricing.algebra.expressions`). A margin workbook of 300 quotes took
        17.7 s with that search and 5.9 s without.
        """
        return formula.removeprefix("=")

    def set_row(self, row: int, height: float | None = None, *others: Any, **options: Any) -> int:
        """Give a row its height, of which a spreadsheet knows no more than 409 points."""
        return int(super().set_row(row, None if height is None else min(height, HIGHEST), *others, **options) or 0)

    def _check_dimensions(self, row: int, col: int, ignore_row: bool = False, ignore_col: bool = False) -> int:
        """Note that the sheet reaches so far; the library leaves out, without a word, whatever lies beyond the last row.

        Problems raised: ValueError for a cell beyond the sheet.
        """
        if row >= self.xls_rowmax or col >= self.xls_colmax:
            self._out_of_reach(row, col)
        return int(super()._check_dimensions(row, col, ignore_row, ignore_col))

    def _out_of_reach(self, row: int, col: int) -> NoReturn:
        """Say that a cell lies beyond the sheet."""
        raise ValueError(f'the sheet "{self.name}" has no cell in row {row + 1:,}, column {col + 1:,}')


class _Packager(Packager):  # type: ignore[misc]
    """Makes the parts of a file."""

    def _write_app_file(self) -> None:
        """The part that says which program wrote the file; the library would name another than ours."""
        app = App()
        app._set_xml_writer(self._filename("docProps/app.xml"))
        app._xml_declaration()
        app._write_properties()
        app._xml_data_element("Application", PROGRAM)
        app._xml_end_tag("Properties")
        app._xml_close()


class PlainWorkbook(xlsxwriter.Workbook):  # type: ignore[misc]
    """A workbook of such worksheets.

    >>> import io
    >>> with PlainWorkbook(io.BytesIO()) as book:
    ...     isinstance(book.add_worksheet("Lines"), PlainWorksheet)
    True
    """

    worksheet_class = PlainWorksheet

    def _get_packager(self) -> Packager:
        return _Packager()

    def _write_file_version(self) -> None:
        """Which program wrote the workbook, and none of another's numbers of versions."""
        self._xml_empty_tag("fileVersion", [("appName", PROGRAM)])


def new_workbook(path: Any, options: Mapping[str, Any]) -> Any:
    """A new workbook.

    Parameters
    ----------
    path : where it goes: a path, or a file in memory
    options : of the library
    """
    return PlainWorkbook(path, dict(options))
