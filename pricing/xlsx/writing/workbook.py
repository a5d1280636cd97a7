"""New workbooks, written by the writing library as it comes, but for a few of its steps.

Many workbooks of one kind have the same formats, and much of their text in several styles: what was made of these once is remembered.
"""

from __future__ import annotations

import contextlib
import functools
import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NoReturn, TypeAlias

import xlsxwriter
from xlsxwriter.app import App
from xlsxwriter.format import Format
from xlsxwriter.packager import Packager
from xlsxwriter.utility import xl_rowcol_to_cell_fast
from xlsxwriter.worksheet import CellFormulaTuple, Worksheet
from xlsxwriter.xmlwriter import XMLwriter

from pricing.files.hidden_folders import hidden_folder
from pricing.xlsx.writing.zip_file import zip_file

#: What writes our files, as their properties name it.
PROGRAM = "cast-pricing"


#: The highest row that a spreadsheet knows [points].
HIGHEST = 409.0

#: The properties of a format, in the order in which they are set.
Properties: TypeAlias = tuple[tuple[str, Any], ...]

#: Lists of formats as files hold them, by the properties of each; so many are remembered.
_LISTS: dict[tuple[Properties, ...], str] = {}
_MOST_LISTS = 200


class PlainWorksheet(Worksheet):  # type: ignore[misc]
    """A worksheet whose formulas need no marking, and that holds whatever is written into it."""

    first_page_bare = False

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        """The formula without its equals sign.

        The library looks through every formula for some fifty functions that only recent programs know, to mark them; ours
        are made of functions that every program has (:mod:`pricing.algebra.expressions`). A margin workbook of 300 quotes took
        17.7 s with that search and 5.9 s without.
        """
        return formula.removeprefix("=")

    def _write_formula(self, row: int, col: int, formula: str, cell_format: Any = None, value: Any = 0) -> int:
        """Put a formula into a cell without the search for functions whose results spill, of which ours have none."""
        if self.constant_memory or formula[:1] in ("", "{"):
            return int(super()._write_formula(row, col, formula, cell_format, value))
        self._check_dimensions(row, col)
        self.table[row][col] = CellFormulaTuple(self._prepare_formula(formula), cell_format, value)
        return 0

    def set_row(self, row: int, height: float | None = None, *others: Any, **options: Any) -> int:
        """Give a row its height, of which a spreadsheet knows no more than 409 points."""
        return int(super().set_row(row, None if height is None else min(height, HIGHEST), *others, **options) or 0)

    def _write_rich_string(self, row: int, col: int, *pieces: Any) -> int:
        """Write a text of pairs of format and text, the format of its cell behind them."""
        *parts, style = pieces
        markup = "".join(_run(each.properties, text) for each, text in zip(parts[::2], parts[1::2], strict=True))
        if len(markup) > self.xls_strmax // 2:  # of a text without styles, so much would be cut off
            return int(super()._write_rich_string(row, col, *pieces))
        return int(self._write_string(row, col, markup, style))

    def _check_dimensions(self, row: int, col: int, ignore_row: bool = False, ignore_col: bool = False) -> int:
        """Note that the sheet reaches so far; the library leaves out, without a word, whatever lies beyond the last row.

        Problems raised: ValueError for a cell beyond the sheet.
        """
        if not (self.constant_memory or self.dim_rowmin is None or self.dim_colmin is None) and (
            self.dim_rowmin <= row <= self.dim_rowmax and self.dim_colmin <= col <= self.dim_colmax
        ):
            return 0  # it does already
        if row >= self.xls_rowmax or col >= self.xls_colmax:
            self._out_of_reach(row, col)
        return int(super()._check_dimensions(row, col, ignore_row, ignore_col))

    def merge_range(self, *given: Any, **named: Any) -> int:
        """Join cells that hold nothing yet; those without a format are not kept but for that."""
        if named or len(given) < 6 or given[4] or self.table_cells:
            return int(super().merge_range(*given, **named))
        top, left, bottom, right, _, style = given
        cells = [(row, column) for row in range(top, bottom + 1) for column in range(left, right + 1)]
        if len(cells) < 2 or not self.merged_cells.keys().isdisjoint(cells):
            return int(super().merge_range(*given))
        self._check_dimensions(top, left)
        self._check_dimensions(bottom, right)
        self.merged_cells.update(dict.fromkeys(cells, _range(*given[:4])))
        self.merge.append([top, left, bottom, right])
        for row, column in cells if style is not None else ():
            self._write_blank(row, column, "", style)
        return 0

    def _write_cell(self, row: int, col: int, cell: Any) -> None:
        """Write a number, a formula that comes to one, a shared text or nothing in a format of its own at one go, and any other cell as
        the library does.
        """
        kind = type(cell).__name__
        if cell.format is None or self.constant_memory:
            super()._write_cell(row, col, cell)
            return
        begun = f'<c r="{xl_rowcol_to_cell_fast(row, col)}" s="{cell.format._get_xf_index()}"'
        if kind == "Blank":
            self.fh.write(f"{begun}/>")
        elif kind == "String":
            self.fh.write(f'{begun} t="s"><v>{cell.string}</v></c>')
        elif kind == "Number":
            self.fh.write(f"{begun}><v>{cell.number:.16G}</v></c>")
        elif kind == "Formula" and isinstance(cell.value, float):
            self.fh.write(f"{begun}><f>{self._escape_data(cell.formula)}</f><v>{cell.value}</v></c>")
        else:
            super()._write_cell(row, col, cell)

    def _write_merge_cell(self, merged_range: list[int]) -> None:
        """Write which cells are joined."""
        self.fh.write(f'<mergeCell ref="{_range(*merged_range)}"/>')

    def set_further_header(self, header: str) -> None:
        """Head every page but the first."""
        self.set_header(header)
        self.first_page_bare = True

    def _write_header_footer(self) -> None:
        """Head and foot of the pages; the library knows none that the first page lacks."""
        if not self.first_page_bare:
            super()._write_header_footer()
            return
        self._xml_start_tag("headerFooter", [("differentFirst", 1)])
        self._write_odd_header()
        self._write_odd_footer()
        self._xml_data_element("firstFooter", self.footer)
        self._xml_end_tag("headerFooter")

    def _out_of_reach(self, row: int, col: int) -> NoReturn:
        """Say that a cell lies beyond the sheet."""
        raise ValueError(f'the sheet "{self.name}" has no cell in row {row + 1:,}, column {col + 1:,}')


def _range(top: int, left: int, bottom: int, right: int) -> str:
    """The address of some cells, from row and column counted from 0 up to the last."""
    return f"{xl_rowcol_to_cell_fast(top, left)}:{xl_rowcol_to_cell_fast(bottom, right)}"


@functools.lru_cache(maxsize=1000)
def _format(properties: Properties) -> Any:
    """A format that is copied into each workbook that has it."""
    made = Format(dict(properties))
    made._get_format_key()  # which remembers it
    made.properties = properties
    return made


@functools.lru_cache(maxsize=1000)
def _run(properties: Properties, text: str) -> str:
    """A part of a text in several styles, as a file holds it."""
    sheet, file = _sheet(), io.StringIO()
    sheet.rstring = XMLwriter()
    sheet.rstring._set_filehandle(file)
    sheet.rstring._xml_start_tag("r")
    sheet._write_font(_format(properties))
    sheet.rstring._xml_data_element("t", text, [("xml:space", "preserve")] if text != text.strip() else [])
    sheet.rstring._xml_end_tag("r")
    return file.getvalue()


@functools.cache
def _sheet() -> Any:
    """A worksheet that belongs to no workbook."""
    return Worksheet()


class _Packager(Packager):  # type: ignore[misc]
    """Makes the parts of a file."""

    def _create_package(self) -> list[Any]:
        """The parts that the library puts into a file: none of one in memory."""
        made: list[Any] = super()._create_package()
        return [] if self.in_memory else made

    def _write_styles_file(self) -> None:
        """The part that lists the formats."""
        formats = self.workbook.known_formats
        if formats is None:
            super()._write_styles_file()
            return
        if formats not in _LISTS:
            super()._write_styles_file()
            if len(_LISTS) >= _MOST_LISTS:
                _LISTS.clear()
            _LISTS[formats] = self.filenames[-1][0].getvalue()
        else:
            self._filename("xl/styles.xml").write(_LISTS[formats])

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

    #: Where it goes; what makes its parts.
    filename: Any
    packager: Any

    def __init__(self, filename: Any, options: Mapping[str, Any] | None = None) -> None:
        """Begin a workbook; what is not kept in memory until it is whole lies in a hidden folder beside it, and nowhere else."""
        self._beside, wanted = contextlib.ExitStack(), dict(options or {})
        if isinstance(filename, str) and not wanted.get("in_memory"):
            wanted["tmpdir"] = str(self._beside.enter_context(hidden_folder(Path(filename).parent, "writing")))
        super().__init__(filename, wanted)

    def close(self) -> None:
        """Write the workbook, once: what cannot be written is given up, and nothing in it holds it any longer in memory."""
        with self._beside:
            try:
                super().close()
            finally:
                self.fileclosed, self.packager = True, None
                for sheet in self.worksheets_objs:
                    sheet.workbook_add_format = None

    def add_format(self, properties: Mapping[str, Any] | None = None) -> Any:
        """A format; one that another workbook had before is copied."""
        made = Format.__new__(Format)
        made.__dict__.update(vars(_format(tuple({**self.default_format_properties, **(properties or {})}.items()))))
        made.xf_format_indices, made.dxf_format_indices = self.xf_format_indices, self.dxf_format_indices
        self.formats.append(made)
        return made

    def _prepare_format_properties(self) -> None:
        """Number what the formats are made of, unless a list of the same formats was written before."""
        self._prepare_formats()
        alone = self.in_memory and not (self.dxf_formats or self.custom_colors or self.has_comments)
        self.known_formats = tuple(each.properties for each in self.xf_formats) if alone else None
        if self.known_formats not in _LISTS:
            super()._prepare_format_properties()

    def _get_packager(self) -> Packager:
        self.packager = _Packager()
        return self.packager

    def _store_workbook(self) -> None:
        """Put the parts into the file; those in memory at one go."""
        if not self.in_memory:
            super()._store_workbook()
            return
        target, self.filename = self.filename, io.BytesIO()
        super()._store_workbook()
        whole = zip_file((name, made.getvalue() if binary else made.getvalue().encode()) for made, name, binary in self.packager.filenames)
        if isinstance(target, io.BytesIO):
            target.write(whole)
        else:
            Path(target).write_bytes(whole)

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
