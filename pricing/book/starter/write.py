"""Writing a price book: the sheets and columns that are asked for, filled with the rows of an invented workshop."""

from __future__ import annotations

import contextlib
import dataclasses
import datetime
import math
import sys
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pricing import units
from pricing.book.declared.choices import WORDS, with_twins
from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.declared.options import is_column_wanted, is_wanted
from pricing.book.declared.settings import SETTINGS
from pricing.book.declared.sheets import SHEETS
from pricing.book.paper import paper_of
from pricing.book.starter.data import BookData, Row
from pricing.book.starter.styles import ACCENT, FONT, Styles, column_width
from pricing.book.typed.conversion import converted
from pricing.files.atomic import written_beside
from pricing.languages.spelling import days_in_american
from pricing.languages.tags import AMERICAN, usual_language
from pricing.money import minor_units
from pricing.rules.shapes import SHAPES
from pricing.xlsx.addresses import column_letters

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

#: Rows, counted from 0: title, purpose, a gap, headings, then data.
TITLE_ROW, PURPOSE_ROW, HEADING_ROW = 0, 1, 3
FIRST_ROW = HEADING_ROW + 1
#: Rows to which drop-down lists reach, and blank rows that are tinted and printed below the data.
LISTED_ROWS, SPARE_ROWS = 500, 6
#: Names that a hidden list holds, and the column of the sheet of words from which such lists stand.
_MOST_NAMES, _NAMES_FROM = 60, 5
#: Settings after which the Workshop sheet leaves a little room.
GROUP_ENDS = ("tax_number", "tax_rate", "lowest_margin", "productive_hours_per_year", "smallest_order", "deposit",
              "electricity_price", "refit_trade", "cash_step", "mould_places", "scale_step")
#: How days are shown, where they are not written as in America.
DAY = "d mmm yyyy"
#: The day that the file says it was made on, the same in every copy so that two of them are equal.
_CREATED = datetime.datetime(2025, 1, 1)


def write_demo(path: Path) -> None:
    """Write the price book of the invented demo workshop, over an older copy where there is one."""
    from pricing.book.starter.demo import DEMO

    write_book(path, DEMO, overwrite=True)


def write_book(
    path: Path, data: BookData, *, overwrite: bool = False, measures: Mapping[str, str] | None = None, chosen: Collection[str] = (),
    shapes: Collection[str] = (), remark: str = "",
) -> None:
    """Write a price book with the rows given and the columns that they fill in; it appears whole or not at all.

    Parameters
    ----------
    path : of the new file
    data : its rows
    overwrite : True where an older file may be replaced
    measures : units that stand in the headings instead of the usual ones, such as ``{"mm": "in"}``
    chosen : options whose sheets and columns it has besides
    shapes : whose dimensions it has besides those of its products
    remark : a sentence that the sheets with prices begin with besides

    Raises
    ------
    FileExistsError : where there is a file of this name already
    """
    path = Path(path)
    if path.exists() and not overwrite:
        raise FileExistsError(path)
    path.parent.stat()  # a folder that is not there is a slip of the pen: none is made
    with written_beside(path, replacing=overwrite) as beside:
        made = {str(row["Shape"]) for row in data.get("Products", [])}
        wanted = tuple(shape for shape in SHAPES if shape in made or shape in shapes)
        _write(beside, data, [_asked_for(each, data.get(each.name, []), measures or {}, chosen, wanted) for each in SHEETS
                              if is_wanted(each, chosen) or data.get(each.name)], measures or {}, remark)


def _write(path: Path, data: BookData, written: Sequence[SheetDeclaration], measures: Mapping[str, str], remark: str) -> None:
    from pricing.xlsx.writing.workbook import new_workbook

    settings = data["Workshop"][0]
    currency = str(settings["Currency"])
    day = days_in_american(DAY) if usual_language(currency) == AMERICAN else DAY
    with contextlib.closing(new_workbook(str(path), {"default_date_format": day})) as workbook:
        workbook.set_properties({"title": "Price book", "created": _CREATED})
        workbook.set_size(24_000, 14_000)
        styles = Styles(workbook, minor_units(currency), day)
        writer = _BookWriter(styles, settings, currency, data, tuple(_in(measures, setting) for setting in SETTINGS), remark)
        sheets = {declared.name: workbook.add_worksheet(declared.name) for declared in written}
        words = workbook.add_worksheet("Words")
        writer.words(words, written)
        writer.workshop(sheets["Workshop"], written[0])
        for declared in written[1:]:
            writer.sheet(sheets[declared.name], declared, data.get(declared.name, []))
        sheets["Workshop"].activate()


class _BookWriter:
    """Writes the sheets of one workbook.

    Parameters
    ----------
    styles : its formats
    settings : of the Workshop sheet
    currency : ISO 4217 code
    data : rows of all sheets
    declared : the settings of the Workshop sheet
    remark : a sentence that the sheets with prices begin with besides
    """

    def __init__(
        self, styles: Styles, settings: Row, currency: str, data: BookData, declared: tuple[Column, ...] = SETTINGS, remark: str = "",
    ) -> None:
        self.remark = remark
        self.declared = declared
        self.styles = styles
        self.settings = settings
        self.currency = currency
        self.data = data
        #: Where the fixed words stand, by their heading, and the names of each sheet.
        self.lists: dict[str, str] = {}
        self.names: dict[str, str] = {}

    def _page(
        self,
        sheet: Worksheet,
        title: str,
        purpose: str,
        widths: list[float],
        last_row: int,
        last_column: int,
        one_page: int = 0,
        *,
        priced: bool = False,
    ) -> None:
        """Title, purpose, widths, and how it prints."""
        purpose = f"{purpose} {self.remark}" if self.remark and priced else purpose
        styles = self.styles
        sheet.hide_gridlines(2)
        sheet.set_row(TITLE_ROW, 26)
        sheet.write_string(TITLE_ROW, 0, title, styles.title)
        sheet.write_string(PURPOSE_ROW, 0, purpose, styles.quiet)
        sheet.set_row(PURPOSE_ROW + 1, 8)
        total = sum(widths)
        sheet.set_paper(9 if paper_of(self.currency, str(self.settings.get("Page size") or "")) == "A4" else 1)
        if total > 135:
            sheet.set_landscape()
        pages = max(1, -(-int(total) // 240))
        sheet.fit_to_pages(pages, one_page)
        sheet.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.7)
        if pages > 1:  # beside one another, each with its title and the names of the rows
            sheet.repeat_columns(0)
            sheet.set_margins(left=0.5, right=0.5, top=1.0, bottom=0.7)
            sheet.set_header(f'&L&"{FONT}"&16&K{ACCENT[1:]}{title}')
            sheet.print_area(HEADING_ROW, 0, last_row, last_column)
        else:
            room = len(purpose) - total
            while room > 0:  # the line under the title is printed whole on a narrow sheet
                last_column, room = last_column + 1, room - 9
            sheet.print_area(0, 0, last_row, last_column)
        business = str(self.settings["Business name"]).replace("&", "&&")
        sheet.set_footer(f'&L&"Arial"&8{business}&C&"Arial"&8Price book · {title}&R&"Arial"&8page &P of &N')

    def _headings(self, sheet: Worksheet, columns: tuple[Column, ...], widths: list[float], filtered: bool = True) -> None:
        # A line of room under the words, where the buttons of the filter stand.
        lines = max(_lines(column.headed(), width) for column, width in zip(columns, widths, strict=True))
        sheet.set_row(HEADING_ROW, 14 * lines + filtered * 12 + 4)
        for place, column in enumerate(columns):
            style = self.styles.heading_of_figures if _right(column) else self.styles.heading
            sheet.write_string(HEADING_ROW, place, column.headed(), style)
            note = _note(column)
            size = {"width": 260, "height": 22 + 15 * (len(note) // 40 + 1)}
            sheet.write_comment(HEADING_ROW, place, note, {"font_name": FONT, "font_size": 9, "color": "#FFFFFF", **size})
        sheet.repeat_rows(HEADING_ROW)

    def workshop(self, sheet: Worksheet, declared: SheetDeclaration) -> None:
        """The settings, in groups."""
        columns, later = declared.starter_columns, self.data["Workshop"][1:]
        beside = sum(column.width for column in columns if column.heading == "From")  # the note gives the day its room
        widths = [column.width - beside * (column.heading == "Note") for column in columns]
        rows = len(SETTINGS) + len(GROUP_ENDS) + len(later)
        sentence = declared.purpose + " Tinted cells are yours to fill in."
        self._page(sheet, declared.name, sentence, widths, FIRST_ROW + rows, len(columns) - 1, 1, priced=True)
        for place, width in enumerate(widths):
            sheet.set_column(place, place, width, self.styles.text)
        self._headings(sheet, columns, widths, filtered=False)
        sheet.freeze_panes(FIRST_ROW, 1)
        row = FIRST_ROW
        for setting in self.declared:
            self._setting(sheet, row, columns, setting, self.settings.get(setting.heading, _default(setting)), setting.meaning)
            row += 1
            for each in (each for each in later if each["Setting"] == setting.heading):
                self._setting(sheet, row, columns, setting, each["Value"], str(each.get("Note") or ""), each["From"])
                row += 1
            if setting.name in GROUP_ENDS:
                sheet.set_row(row, 8)
                row += 1

    def _setting(
        self, sheet: Worksheet, row: int, columns: Sequence[Column], setting: Column, value: object, note: str, since: object = None
    ) -> None:
        """A row of the settings."""
        place = {column.heading: number for number, column in enumerate(columns)}
        sheet.write_string(row, 0, setting.headed(), self.styles.text)
        self._cell(sheet, row, 1, setting, value, left=True)
        if setting.dated and "From" in place:
            self._cell(sheet, row, place["From"], columns[place["From"]], since)
        sheet.write_string(row, place["Note"], note, self.styles.quiet_wrapped)
        value_lines = sum(-(-max(len(line), 1) // 36) for line in str(value or "").split("\n"))
        lines = max(value_lines, -(-len(note) // (66 if "From" in place else 80)))
        sheet.set_row(row, 17 if lines == 1 else 14 * lines + 3)
        self._list(sheet, setting, 1, row, row)

    def sheet(self, sheet: Worksheet, declared: SheetDeclaration, rows: list[Row]) -> None:
        """A sheet of rows: headings, data, a few tinted rows below, drop-down lists further down."""
        columns = declared.starter_columns
        widths = [column_width(column, [row.get(column.heading) for row in rows]) for column in columns]
        last = FIRST_ROW + len(rows) + SPARE_ROWS - 1
        self._page(sheet, declared.name, declared.purpose, widths, last, len(columns) - 1, priced=declared.name == "Materials")
        for place, (column, width) in enumerate(zip(columns, widths, strict=True)):
            sheet.set_column(place, place, width, self.styles.beyond(column))
        self._headings(sheet, columns, widths)
        sheet.freeze_panes(FIRST_ROW, declared.frozen)
        for offset in range(len(rows) + SPARE_ROWS):
            data = rows[offset] if offset < len(rows) else {}
            share = str(data.get("Basis", "")).startswith("%")
            for place, column in enumerate(columns):
                self._cell(sheet, FIRST_ROW + offset, place, column, data.get(column.heading), share=share)
        for place, column in enumerate(columns):
            self._list(sheet, column, place, FIRST_ROW, HEADING_ROW + LISTED_ROWS)
        sheet.autofilter(HEADING_ROW, 0, last, len(columns) - 1)

    def _cell(
        self,
        sheet: Worksheet,
        row: int,
        place: int,
        column: Column,
        value: object,
        *,
        left: bool = False,
        share: bool = False,
    ) -> None:
        style = self.styles.input(column, left)
        if value is None or value == "":
            sheet.write_blank(row, place, None, style)
        elif isinstance(value, bool):
            sheet.write_string(row, place, "yes" if value else "no", style)
        elif isinstance(value, datetime.date):
            sheet.write_datetime(row, place, datetime.datetime.combine(value, datetime.time()), style)
        elif isinstance(value, int | float):
            sheet.write_number(row, place, value, self.styles.figure(column, share, left))
        else:
            sheet.write_string(row, place, str(value), style)

    def _list(self, sheet: Worksheet, column: Column, place: int, first: int, last: int) -> None:
        """The drop-down list of a column: fixed words, or the names on another sheet."""
        options: dict[str, Any]
        if column.refers_to:
            options = {
                "validate": "list", "source": self.names[column.refers_to], "error_type": "information", "error_title": "Not there yet",
                "error_message": f"This name is not on the sheet {column.refers_to} yet. Add it there too.",
            }
        elif column.choices or column.kind == "yes_no":
            words = list(column.choices) or ["yes", "no"]
            listed: Any = words if len(",".join(words)) <= 255 else self.lists[column.heading]
            options = {
                "validate": "list", "source": listed, "error_title": column.heading,
                "error_message": "Please choose one of the words in the list.",
            }
            if column.heading == "Shape":  # others may be typed: the list offers those that this book has columns for
                options |= {"error_type": "information", "error_message": "The sheet Words has all shapes, and what each is."}
        else:
            return
        sheet.data_validation(first, place, last, place, options)

    def words(self, sheet: Worksheet, written: Sequence[SheetDeclaration]) -> None:
        """The sheet that says what the fixed words mean; long drop-down lists are taken from it."""
        twins = any(column.heading == "Per" and set(column.twins) <= set(column.choices) for each in written for column in each.columns)
        said = {heading: with_twins(words) if twins and heading == "Per" else words for heading, words in WORDS.items()}
        count = sum(len(words) + 1 for words in said.values())
        purpose = "The words that can stand under a heading, and what they mean. Nothing to fill in."
        self._page(sheet, "Words", purpose, [18, 24, 70], FIRST_ROW + count, 2, one_page=1)
        for place, width in enumerate((18, 24, 70)):
            sheet.set_column(place, place, width, self.styles.text)
        for place, heading in enumerate(("Heading", "Word", "Meaning")):
            sheet.write_string(HEADING_ROW, place, heading, self.styles.heading)
        sheet.repeat_rows(HEADING_ROW)
        sheet.freeze_panes(FIRST_ROW, 0)
        row = FIRST_ROW
        for heading, words in said.items():
            self.lists[heading] = f"=Words!$B${row + 1}:$B${row + len(words)}"
            sheet.write_string(row, 0, heading, self.styles.strong)
            for word, meaning in words.items():
                sheet.write_string(row, 1, word, self.styles.text)
                sheet.write_string(row, 2, meaning, self.styles.quiet)
                row += 1
            sheet.set_row(row, 8)
            row += 1
        self._names(sheet, written)

    def _names(self, sheet: Worksheet, written: Sequence[SheetDeclaration]) -> None:
        """Where each drop-down list takes its names: a sheet's own, or, where they are repeated there, a hidden list of each once."""
        place = _NAMES_FROM
        there = {declared.name: declared for declared in written}
        for name in dict.fromkeys(column.refers_to for declared in written for column in declared.columns if column.refers_to):
            cells = f"'{name}'!$A${FIRST_ROW + 1}:$A${HEADING_ROW + LISTED_ROWS + 1}"
            if name not in there:
                self.names[name] = '=""'
                continue
            if there[name].key == (there[name].columns[0].name,):
                self.names[name] = f"=OFFSET('{name}'!$A${FIRST_ROW + 1},0,0,MAX(1,COUNTA({cells})),1)"
                continue
            used = list(dict.fromkeys(str(row[there[name].columns[0].heading]) for row in self.data.get(name, [])))
            letters = column_letters(place + 1)
            sheet.write_string(HEADING_ROW, place, name, self.styles.quiet)
            for number in range(_MOST_NAMES):
                row = FIRST_ROW + number
                above = f"${letters}${HEADING_ROW + 1}:{letters}{row}"
                formula = f'=IFERROR(INDEX({cells},MATCH(0,COUNTIF({above},{cells})+({cells}=""),0)),"")'
                sheet.write_array_formula(row, place, row, place, formula, self.styles.quiet, used[number] if number < len(used) else "")
            own = f"$A${FIRST_ROW + 1}".replace("A", letters)
            until = f"{own}:{own.replace(str(FIRST_ROW + 1), str(FIRST_ROW + _MOST_NAMES))}"
            self.names[name] = f'=OFFSET(Words!{own},0,0,MAX(1,COUNTIF(Words!{until},"?*")),1)'
            place += 1
        sheet.set_column(_NAMES_FROM, place, 20, self.styles.quiet, {"hidden": True})


def _asked_for(
    declared: SheetDeclaration, rows: Sequence[Row], measures: Mapping[str, str], chosen: Collection[str], shapes: tuple[str, ...]
) -> SheetDeclaration:
    """A sheet as it is written: with the columns that every book has, that its rows fill in, or that an option or a shape brings."""
    filled = {heading for row in rows for heading, value in row.items() if value not in (None, "")}
    columns = (
        dataclasses.replace(column, in_starter=column.heading in filled or is_column_wanted(declared, column, chosen, shapes))
        for column in declared.columns
    )
    offered = (dataclasses.replace(column, choices=shapes) if column.heading == "Shape" else column for column in columns)
    if measures:
        offered = (dataclasses.replace(column, choices=(*column.choices, *column.twins)) for column in offered)
    return dataclasses.replace(declared, columns=tuple(_in(measures, column) for column in offered))


def _in(measures: Mapping[str, str], column: Column) -> Column:
    """The column with its figures in another unit, whose decimals are left as typed."""
    unit = measures.get(column.plain_unit)
    return dataclasses.replace(column, shown=unit, decimals=None) if unit and column.unit else column


def _default(setting: Column) -> object:
    """What a setting stands for where it is blank, in the unit that is shown; None where it is nothing."""
    if not isinstance(setting.default, float) or setting.kind != "number":
        return setting.default or None if setting.default == setting.default else None
    given, shown = units.unit_of(setting.unit or "each"), units.unit_of(setting.plain_unit or "each")
    if setting.default == 0 or math.isnan(setting.default):
        return None
    if isinstance(given, str) or isinstance(shown, str) or not setting.unit:
        return setting.default
    return converted(setting.default, given, shown)


def _right(column: Column) -> bool:
    return column.kind in ("number", "percent", "date")


def _lines(heading: str, width: float) -> int:
    """Lines that a heading takes: its words, broken where its column ends."""
    lines, length = 1, 0.0
    for word in heading.split():
        wide = len(word) * 1.15  # bold letters are wider than the digits that widths are counted in
        if length and length + 1 + wide > width - 1:
            lines, length = lines + 1, wide
        else:
            length += (1 if length else 0) + wide
    return lines


def _note(column: Column) -> str:
    """What the note on a heading says: the meaning, and what a blank cell means."""
    parts = [column.meaning]
    if column.needed:
        parts.append("Needed in every row.")
    elif column.kind in ("number", "percent") and column.default == 0.0:
        parts.append("Blank means 0.")
    elif isinstance(column.default, str) and column.default:
        parts.append(f"Blank means {column.default}.")
    elif column.kind == "number" and column.default == 1.0:
        parts.append("Blank means 1.")
    return " ".join(parts)


if __name__ == "__main__":
    write_demo(Path(sys.argv[1]))
