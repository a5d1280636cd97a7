"""New workbooks, written by the library in fewer steps than it takes by itself.

The library looks through every formula for some thirty functions that only recent programs know, to mark them; ours are
made of functions that every program has (``layout``), and there may be a million of them. It asks of every cell what kind
of file it is written for; ours has one answer. And it packs every part anew, though much of a quote's workbook is the same
in the next.
"""

from __future__ import annotations

import copy
import functools
import io
import re
from collections.abc import Mapping, Sequence
from typing import Any, NoReturn

import xlsxwriter
from xlsxwriter.exceptions import OverlappingRange
from xlsxwriter.format import Format
from xlsxwriter.packager import Packager
from xlsxwriter.sharedstrings import SharedStrings
from xlsxwriter.worksheet import CellBlankTuple, CellFormulaTuple, CellRichStringTuple, Worksheet
from xlsxwriter.xmlwriter import XMLwriter

from pricing.xlsx.writing.packing import pack

#: A text longer than this is not remembered: whatever a maker may type must not fill the memory [letters].
LONG = 4000

#: A text that stands in a file as it is.
_PLAIN = re.compile(r"[A-Za-z0-9.,()/'-](?:[A-Za-z0-9 .,()/'-]*[A-Za-z0-9.,()/'-])?")

#: A part of these kinds is another in every workbook, and its packed bytes are not worth remembering.
_OWN = ("xl/worksheets/", "xl/sharedStrings", "docProps/core", "xl/media/")


class PlainWorksheet(Worksheet):  # type: ignore[misc]
    """A worksheet whose formulas need no marking, and whose cells are texts, numbers, formulas and blanks with a format."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        """The formula without its equals sign."""
        return formula.removeprefix("=")

    def _check_dimensions(self, row: int, col: int, ignore_row: bool = False, ignore_col: bool = False) -> int:
        """Note that the sheet reaches so far.

        Problems raised: ValueError for a cell beyond the sheet, which the library would leave out without a word.
        """
        known = self.dim_rowmin is not None and self.dim_colmin is not None and not self.constant_memory
        if known and self.dim_rowmin <= row <= self.dim_rowmax and self.dim_colmin <= col <= self.dim_colmax:
            return 0
        if row >= self.xls_rowmax or col >= self.xls_colmax:
            self._out_of_reach(row, col)
        return int(super()._check_dimensions(row, col, ignore_row, ignore_col))

    def _out_of_reach(self, row: int, col: int) -> NoReturn:
        """Say that a cell lies beyond the sheet."""
        raise ValueError(f'the sheet "{self.name}" has no cell in row {row + 1:,}, column {col + 1:,}')

    def write_formulas(self, first_row: int, column: int, formulas: Sequence[str], style: Any, results: Sequence[float]) -> None:
        """Put formulas, without their equals signs, into a column from a row on, with their true results."""
        if self.constant_memory:
            for row, (formula, result) in enumerate(zip(formulas, results, strict=True), first_row):
                self._write_formula(row, column, formula, style, result)
            return
        for row in {first_row, first_row + len(formulas) - 1} if formulas else ():
            self._check_dimensions(row, column)
        table = self.table
        for row, (formula, result) in enumerate(zip(formulas, results, strict=True), first_row):
            table[row][column] = CellFormulaTuple(formula, style, result)

    def _write_formula(self, row: int, col: int, formula: str, cell_format: Any = None, value: Any = 0) -> int:
        """Put a formula into a cell; one that fills several cells is left to the library."""
        if self.constant_memory or not formula or formula.startswith("{"):
            return int(super()._write_formula(row, col, formula, cell_format, value))
        if self._check_dimensions(row, col):
            return -1
        self.table[row][col] = CellFormulaTuple(formula.removeprefix("="), cell_format, value)
        return 0

    def _calculate_spans(self) -> None:
        """Which columns a row uses: a hint that may be left out."""
        self.row_spans: dict[int, str] = {}

    def _write_cell(self, row: int, col: int, cell: Any) -> None:
        """Write one cell; whatever is out of the ordinary is left to the library."""
        style = cell.format
        kind = type(cell).__name__
        if style is not None:
            place = f'<c r="{_letters(col)}{row + 1}" s="{style._get_xf_index()}"'
            if kind in ("Number", "Datetime"):
                self.fh.write(f"{place}><v>{cell.number:.16G}</v></c>")
                return
            if kind == "Blank":
                self.fh.write(f"{place}/>")
                return
            if kind in ("String", "RichString") and not self.constant_memory:
                self.fh.write(f'{place} t="s"><v>{cell.string}</v></c>')
                return
            if kind == "String" and _PLAIN.fullmatch(cell.string):
                self.fh.write(f'{place} t="inlineStr"><is><t>{cell.string}</t></is></c>')
                return
            if kind == "Formula" and not isinstance(cell.value, (bool, str)):
                self.fh.write(f"{place}><f>{self._escape_data(cell.formula)}</f><v>{cell.value}</v></c>")
                return
        super()._write_cell(row, col, cell)

    def merge_range(
        self, first_row: int, first_col: int, last_row: int, last_col: int, data: Any, cell_format: Any = None
    ) -> int:
        """Merge cells of one row that are still empty; whatever else is merged is left to the library."""
        if data != "" or cell_format is None or first_row != last_row or first_col >= last_col or self.constant_memory:
            return int(super().merge_range(first_row, first_col, last_row, last_col, data, cell_format))
        if self._check_dimensions(first_row, first_col) or self._check_dimensions(last_row, last_col):
            return -1
        for column in range(first_col, last_col + 1):
            if (first_row, column) in self.merged_cells or (first_row, column) in self.table_cells:
                raise OverlappingRange(f"the cell in row {first_row + 1}, column {column + 1} is merged already")
            self.merged_cells[first_row, column] = True
        cells, blank = self.table[first_row], CellBlankTuple(cell_format)
        ruled = cell_format.top or cell_format.bottom or cell_format.left or cell_format.right
        for column in range(first_col, (last_col if ruled else first_col) + 1):  # a rule is drawn cell by cell, all else once
            cells[column] = blank
        self.merge.append([first_row, first_col, last_row, last_col])
        return 0

    def _write_rich_string(self, row: int, col: int, *args: Any) -> int:
        """Write text in several formats, each piece behind its format, and the cell's own format last."""
        *pieces, style = args
        formats, texts = pieces[::2], pieces[1::2]
        plain = len(formats) == len(texts) > 1 and isinstance(style, Format) and all(texts)
        if not plain or self.constant_memory or not all(isinstance(each, Format) for each in formats):
            return int(super()._write_rich_string(row, col, *args))
        if self._check_dimensions(row, col):
            return -1
        written = "".join(map(self._run, formats, texts))
        self.table[row][col] = CellRichStringTuple(self.str_table._get_shared_string_index(written), style, "".join(texts))
        return 0

    def _run(self, style: Any, text: str) -> str:
        """A piece of text in its format, as the file has it."""
        font = _fonts.get(style._get_font_key())
        if font is None:
            self.rstring = XMLwriter()
            self.rstring._set_filehandle(io.StringIO())
            self._write_font(style)
            font = _fonts[style._get_font_key()] = self.rstring.fh.getvalue()
        space = ' xml:space="preserve"' if text[0].isspace() or text[-1].isspace() else ""
        escaped = _escaped(text) if len(text) <= LONG else _escaped.__wrapped__(text)
        return f"<r>{font}<t{space}>{escaped}</t></r>"

    def _write_merge_cell(self, merged_range: Sequence[int]) -> None:
        """Say that cells are one."""
        top, left, bottom, right = merged_range
        self.fh.write(f'<mergeCell ref="{_letters(left)}{top + 1}:{_letters(right)}{bottom + 1}"/>')


@functools.cache
def _letters(column: int) -> str:
    from xlsxwriter.utility import xl_col_to_name

    return str(xl_col_to_name(column))


_library = XMLwriter()


@functools.lru_cache(maxsize=4096)
def _escaped(text: str) -> str:
    """A text as it stands in a file: marks and control characters written in words."""
    return str(_library._escape_control_characters(_library._escape_data(text)))


class _SharedStrings(SharedStrings):  # type: ignore[misc]
    """The shared texts: most of them stand in every workbook."""

    def _write_si(self, string: str) -> None:
        self.fh.write(_shared(string) if len(string) <= LONG else _shared.__wrapped__(string))


@functools.lru_cache(maxsize=4096)
def _shared(string: str) -> str:
    """A shared text, as the library writes it."""
    writer = SharedStrings()
    writer._set_filehandle(io.StringIO())
    writer._write_si(string)
    return str(writer.fh.getvalue())


class _Format(Format):  # type: ignore[misc]
    """A format that stays as it was made, so that what it looks like has to be put into words only once."""

    font_key = border_key = fill_key = ""

    def _get_font_key(self) -> str:
        return self.font_key or str(super()._get_font_key())

    def _get_border_key(self) -> str:
        return self.border_key or str(super()._get_border_key())

    def _get_fill_key(self) -> str:
        return self.fill_key or str(super()._get_fill_key())


@functools.lru_cache(maxsize=1024)
def _pattern(properties: tuple[tuple[str, Any], ...]) -> dict[str, Any]:
    """What a format with some properties is made of, of no workbook yet."""
    made = _Format(dict(properties))
    made.font_key, made.border_key, made.fill_key = made._get_font_key(), made._get_border_key(), made._get_fill_key()
    made._get_format_key()
    return dict(vars(made))


#: Fonts of texts in several formats, as the file has them, by what they look like.
_fonts: dict[str, str] = {}

#: So many lists of formats are remembered.
_MOST_STYLES = 64

#: Parts that list the formats of a workbook, by these formats.
_style_parts: dict[tuple[str, ...], str] = {}


class _Parts(Packager):  # type: ignore[misc]
    """Makes the parts of a workbook in memory and hands them over, to be packed by us."""

    def __init__(self) -> None:
        super().__init__()
        self.made: list[tuple[str, bytes]] = []

    def _write_styles_file(self) -> None:
        """The part that lists the formats: remembered where they are what it says, and nothing else."""
        book = self.workbook
        if book.dxf_formats or book.custom_colors or book.has_comments or any(style.hyperlink for style in book.xf_formats):
            super()._write_styles_file()
            return
        key = tuple(style._get_format_key() for style in book.xf_formats)
        if key in _style_parts:
            self._filename("xl/styles.xml").write(_style_parts[key])
            return
        super()._write_styles_file()
        if len(_style_parts) >= _MOST_STYLES:
            _style_parts.clear()
        _style_parts[key] = self.filenames[-1][0].getvalue()

    def _write_shared_strings_file(self) -> None:
        """The part that lists the shared texts."""
        table = self.workbook.str_table
        if table.count:
            writer = _SharedStrings()
            writer.string_table = table
            writer._set_xml_writer(self._filename("xl/sharedStrings.xml"))
            writer._assemble_xml_file()

    def _create_package(self) -> list[Any]:
        for content, name, _ in super()._create_package():
            data = content.getvalue()
            self.made.append((name, data if isinstance(data, bytes) else data.encode()))
        return []


class PlainWorkbook(xlsxwriter.Workbook):  # type: ignore[misc]
    """A workbook of such worksheets.

    >>> import io
    >>> with PlainWorkbook(io.BytesIO()) as book:
    ...     isinstance(book.add_worksheet("Lines"), PlainWorksheet)
    True
    """

    worksheet_class = PlainWorksheet

    def add_format(self, properties: Mapping[str, Any] | None = None) -> Format:
        """A new format; one that looks the same in another workbook is its pattern."""
        wanted = tuple({**self.default_format_properties, **(properties or {})}.items())
        made = _Format.__new__(_Format)
        made.__dict__.update(_pattern(wanted))
        made.xf_format_indices, made.dxf_format_indices = self.xf_format_indices, self.dxf_format_indices
        self.formats.append(made)
        return made

    def _get_packager(self) -> Packager:
        self.packager = _Parts() if self.in_memory else Packager()
        return self.packager

    def _store_workbook(self) -> None:
        """Write the file: by the library, or out of parts made in memory."""
        if not self.in_memory:
            super()._store_workbook()
            return
        target: Any = self.filename
        self.filename: Any = io.BytesIO()  # the library's own file, with nothing in it
        super()._store_workbook()
        self.filename = target
        parts = self.packager.made
        packed = pack(parts, remembered=lambda name: not name.startswith(_OWN))
        if hasattr(target, "write"):
            target.write(packed)
            return
        with open(target, "wb") as file:
            file.write(packed)


def new_workbook(path: Any, options: Mapping[str, Any]) -> Any:
    """A new workbook.

    Parameters
    ----------
    path : where it goes: a path, or a file in memory
    options : of the library
    """
    return PlainWorkbook(path, {name: copy.copy(value) for name, value in options.items()})  # the library notes things in them
