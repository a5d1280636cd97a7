"""Reading workbooks that independent writers made, and the claims about cells, sheets and bounds."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.problems import Problems
from pricing.xlsx.addresses import Area, area_of, column_letters, column_number
from pricing.xlsx.cells import Cell, date_from_serial
from pricing.xlsx.package import limits
from pricing.xlsx.package.markup import unescaped
from pricing.xlsx.package.parts import Tab
from pricing.xlsx.reading import stored_cells
from pricing.xlsx.reading.cell_table import CellTable, Sheet
from pricing.xlsx.reading.plain_rows import take_plain_rows
from pricing.xlsx.reading.shared_strings import Strings
from pricing.xlsx.reading.stored_cells import StoredCells
from pricing.xlsx.reading.workbook import Workbook, read_workbook

Value = str | float | bool | datetime.datetime | None
ONCE = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

texts = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"], exclude_characters="\ufffe\uffff\ufffd"),
    min_size=1,
    max_size=20,
)
numbers = st.floats(-1e12, 1e12, allow_nan=False) | st.integers(-(10**9), 10**9).map(float)
days = st.datetimes(datetime.datetime(1900, 3, 1), datetime.datetime(9999, 12, 31)).map(lambda day: day.replace(microsecond=0))
values: st.SearchStrategy[Value] = texts | numbers | st.booleans() | days
grids = st.dictionaries(st.tuples(st.integers(1, 40), st.integers(1, 30)), values, max_size=30)


def read(path: Path) -> Workbook:
    """A workbook that reads without an error."""
    problems = Problems()
    workbook = read_workbook(path, problems)
    assert workbook is not None, [str(problem) for problem in problems]
    assert not problems.errors
    return workbook


def written_by_xlsxwriter(path: Path, grid: dict[tuple[int, int], Value]) -> None:
    """A sheet as one library writes it: shared texts, styles for days."""
    book = xlsxwriter.Workbook(str(path))
    page = book.add_worksheet("Prices")
    day = book.add_format({"num_format": "yyyy-mm-dd hh:mm:ss"})
    for (row, column), value in grid.items():
        if isinstance(value, bool):
            page.write_boolean(row - 1, column - 1, value)
        elif isinstance(value, str):
            page.write_string(row - 1, column - 1, value)
        elif isinstance(value, datetime.datetime):
            page.write_datetime(row - 1, column - 1, value, day)
        else:
            page.write_number(row - 1, column - 1, value or 0.0)
    book.close()


def written_by_openpyxl(path: Path, grid: dict[tuple[int, int], Value]) -> None:
    """A sheet as another library writes it."""
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = "Prices"
    for (row, column), value in grid.items():
        cell = page.cell(row, column)
        cell.value = value
        if isinstance(value, str):
            cell.data_type = "s"
    book.save(path)


def written_in_place(path: Path, grid: dict[tuple[int, int], Value]) -> None:
    """A sheet as the writing half of the same library writes it: texts stand in the cells."""
    book = openpyxl.Workbook(write_only=True)
    page = book.create_sheet("Prices")
    for row in range(1, max((row for row, _ in grid), default=0) + 1):
        line = []
        for column in range(1, 31):
            cell: Any = openpyxl.cell.WriteOnlyCell(page, grid.get((row, column)))
            if isinstance(cell.value, str):
                cell.data_type = "inlineStr" if column % 2 else "s"
            line.append(cell)
        page.append(line)
    book.save(path)


@pytest.mark.parametrize("write", [written_by_xlsxwriter, written_by_openpyxl])
@ONCE
@given(grid=grids)
def test_what_libraries_write_is_read_back(
    tmp_path: Path, write: Callable[[Path, dict[tuple[int, int], Value]], None], grid: dict[tuple[int, int], Value]
) -> None:
    """Texts, numbers to 15 digits, days to the second, yes and no come back from the place they were written to."""
    path = tmp_path / "book.xlsx"
    # One of the libraries writes text that looks like an escape as it is, so such text cannot come back unchanged.
    grid = {place: value for place, value in grid.items() if not (isinstance(value, str) and "_x" in value)}
    write(path, grid)
    sheet = read(path).sheets[0]
    assert set(sheet.cells) == set(grid)
    for place, value in grid.items():
        found = sheet.cells[place]
        assert (found.row, found.column) == place
        if isinstance(value, float):
            assert found.kind == "number"
            assert isinstance(found.value, float)
            # The libraries write 16 digits, which moves the last of 15 by one now and then.
            assert math.isclose(found.value, value, rel_tol=1e-14)
            assert found.value == float(f"{found.value:.15g}")
        else:
            assert found.value == value


@ONCE
@given(grid=grids)
def test_the_reader_agrees_with_an_independent_one(tmp_path: Path, grid: dict[tuple[int, int], Value]) -> None:
    """Every cell that another reader finds in a workbook is found here with the same value, and no other."""
    path = tmp_path / "book.xlsx"
    written_by_xlsxwriter(path, {place: value for place, value in grid.items() if not isinstance(value, datetime.datetime)})
    sheet = read(path).sheets[0]
    page = openpyxl.load_workbook(path)["Prices"]
    others = {(cell.row, cell.column): cell.value for line in page.iter_rows() for cell in line if cell.value is not None}
    assert set(others) == set(sheet.cells)
    for place, value in others.items():
        found = sheet.cells[place].value
        same = isinstance(value, int | float) and not isinstance(value, bool) and isinstance(found, float)
        assert math.isclose(found, value, rel_tol=1e-14) if same else found == value  # type: ignore[arg-type]


def test_the_example_of_the_contract_reads_as_promised(tmp_path: Path) -> None:
    """Places, kinds, formats, formulas and stored results of a small price book."""
    path = tmp_path / "price-book.xlsx"
    book = xlsxwriter.Workbook(str(path))
    page = book.add_worksheet("Products")
    page.write_string("A1", "Product")
    page.write_number("F14", 25, book.add_format({"num_format": '0.0" kg"'}))
    page.write_formula("G14", "=F14*2", None, 50)
    page.write_formula("H14", "=1/0", None, "#DIV/0!")
    page.set_row(13, None, None, {"hidden": True})
    page.merge_range("A3:C3", "", None)
    book.add_worksheet("Old").very_hidden()
    book.close()
    found = read(path)
    assert [(sheet.name, sheet.state) for sheet in found.sheets] == [("Products", "visible"), ("Old", "veryHidden")]
    sheet = found.sheets[0]
    assert sheet.rows() == [1, 14]
    assert [cell.address for cell in sheet.row(14)] == ["F14", "G14", "H14"]
    assert sheet.cells[14, 6] == Cell(14, 6, 25.0, "number", '0.0" kg"')
    assert sheet.cells[14, 7] == Cell(14, 7, 50.0, "number", "General", "F14*2")
    assert sheet.cells[14, 8] == Cell(14, 8, "#DIV/0!", "error", "General", "1/0")
    assert sheet.hidden_rows == {14}
    assert sheet.merged == [(3, 1, 3, 3)]
    assert found.results_doubtful
    assert not found.date_1904
    assert sheet.row(2) == []
    assert (2, 2) not in sheet.cells


def test_only_the_wanted_sheets_are_read(tmp_path: Path) -> None:
    """A damaged sheet that nobody wants does not stop the others; names are compared folded."""
    path = tmp_path / "book.xlsx"
    book = xlsxwriter.Workbook(str(path))
    for name in ("Products", "Notes", "MATERIALS"):
        book.add_worksheet(name).write_string(0, 0, name)
    book.close()
    problems = Problems()
    found = read_workbook(path, problems, wanted={"products", "materials"})
    assert found is not None
    assert [sheet.name for sheet in found.sheets] == ["Products", "MATERIALS"]


def test_a_problem_names_its_file_sheet_and_cell(tmp_path: Path) -> None:
    """The file is named even where the list of problems was made without it."""
    problems = Problems()
    assert read_workbook(tmp_path / "none.xlsx", problems) is None
    assert str(problems.errors[0]).startswith("none.xlsx  there is no such file")


PLAIN_ROWS = [
    '<row r="1"><c r="A1"><v>1</v></c></row>',
    '<row r="1" spans="1:12" s="2" customFormat="1" ht="15.75" customHeight="1"><c r="A1" s="1" t="s"><v>0</v></c></row>',
    '<row r="7"/>',
    '<row r="1" customFormat="false" ht="12.8" hidden="false" customHeight="false" outlineLevel="0" collapsed="false"><c r="A1"/></row>',
    '<row r="1" spans="1:3" ht="15.75" customHeight="1" x14ac:dyDescent="0.25"><c r="A1"><v>1</v></c></row>',
    '<row r="1"><c r="A1" s="1"/><c r="B1" t="b"><v>1</v></c><c r="C1" t="e"><f>1/0</f><v>#DIV/0!</v></c></row>',
    '<row r="1"><c r="A1" t="str"><f aca="false">B1&amp;"x"</f><v>a &lt; b</v></c><c r="B1"><f>2</f><v></v></c></row>',
    '<row r="1"><c r="A1"><f t="shared" ref="A1:A9" si="0">B1</f><v>1</v></c><c r="B1"><f t="shared" si="0"/><v>2</v></c></row>',
    '<row r="1"><c r="A1" t="inlineStr"><is><t xml:space="preserve"> bøk &amp; </t></is></c></row>',
]
OTHER_ROWS = [
    '<row r="1" hidden="1"><c r="A1"><v>1</v></c></row>',
    '<row r="1" ht="0"><c r="A1"><v>1</v></c></row>',
    '<row><c r="A1"><v>1</v></c></row>',
    '<row r="1"><c><v>1</v></c></row>',
    '<row r="1"> <c r="A1"><v>1</v></c></row>',
    '<row r="1"><c r="A1"><v>1</v></c>',
    '<row r="1"><c r="A1" t="str"><v>&nbsp;</v></c></row>',
    '<row r="1"><c r="A1" t="str"><v>a]]></v></c></row>',
    '<row r="1"><c r="A1" t="str"><v>\x01</v></c></row>',
    '<row r="1"><c r="A1" t="str"><v>\uffff</v></c></row>',
    '<row r="1"><c r="A1" r="A2"><v>1</v></c></row>',
    '<row r="1" x14ac:dyDescent="0.25"><c r="A1"><v>1</v></c></row>',
    '<row r="1"><c r="A1"><is><r><t>a</t></r></is></c></row>',
    '<row r="1"><c r="A1"><v>1</v><v>2</v></c></row>',
]


def gather() -> StoredCells:
    """A reader of one sheet with one shared text and two styles."""
    strings = Strings()
    strings.add("shared")
    return StoredCells(Tab(0, "Prices", "visible", "worksheet", "s"), ["General", "0.00"], strings, False, limits.Budget(1000), Problems())


@pytest.mark.parametrize("row", PLAIN_ROWS)
def test_the_rows_that_programs_write_are_taken_by_pattern(row: str) -> None:
    """Each is taken from its first byte to its last, and what follows is left."""
    data = (row + "</sheetData>").encode()
    assert take_plain_rows(gather(), data, 0, {"x14ac"}) == len(row.encode())


def test_a_text_that_comes_again_is_read_as_it_was_the_first_time() -> None:
    """Escapes, entities and spaces in texts that stand in their cells are what they are, however often they come."""
    texts = ["a", "_x005F_x0041_", "_x0041_", "A", "a &amp; b", "a &amp;amp; b"]
    cells = [f'<is><t>{text}</t></is>' for text in texts] + ['<is><t xml:space="preserve"> a</t></is>', "<is><t>a</t></is>"]
    placed = list(zip("ABCDEFGH", cells, strict=True))
    rows = "".join(
        f'<row r="{row}">{"".join(f"""<c r="{letter}{row}" t="inlineStr">{cell}</c>""" for letter, cell in placed)}</row>'
        for row in (1, 2, 3)
    )
    reader = gather()
    take_plain_rows(reader, rows.encode(), 0)
    sheet = reader.finish(set())
    found = [[sheet.cells[row, column].value for column in range(1, 9)] for row in (1, 2, 3)]
    assert found == [["a", "_x0041_", "A", "A", "a & b", "a &amp; b", " a", "a"]] * 3


@pytest.mark.parametrize("row", OTHER_ROWS)
def test_any_other_row_is_left_to_the_parser(row: str) -> None:
    """Each is odd or wrong somewhere, and is left whole."""
    reader = gather()
    assert take_plain_rows(reader, row.encode("utf-8"), 0) == 0
    assert len(reader.table) == 0


def test_dates_in_both_systems_are_those_of_the_standard() -> None:
    """Days of the 1900 and the 1904 system, ECMA-376 part 1, section 18.17.4.1, and the day that never was."""
    day = datetime.datetime
    table_1900 = {
        1: day(1900, 1, 1),
        59: day(1900, 2, 28),
        61: day(1900, 3, 1),
        45658.5: day(2025, 1, 1, 12),
        2958465: day(9999, 12, 31),
    }
    table_1904 = {0: day(1904, 1, 1), 1: day(1904, 1, 2), 2957003: day(9999, 12, 31)}
    assert {serial: date_from_serial(serial, False) for serial in table_1900} == table_1900
    assert {serial: date_from_serial(serial, True) for serial in table_1904} == table_1904
    assert [date_from_serial(serial, False) for serial in (-1, 0, 0.5, 60, 60.9, 2958466, 2958465.9999999999, 1e300)] == [None] * 8
    assert [date_from_serial(serial, True) for serial in (-0.1, 2957004)] == [None] * 2


@given(st.datetimes(datetime.datetime(1900, 3, 1), datetime.datetime(2200, 1, 1)), st.booleans())
def test_a_day_and_its_number_are_one(moment: datetime.datetime, date_1904: bool) -> None:
    """A moment written as a date number is read back to the millisecond."""
    moment = moment.replace(microsecond=moment.microsecond // 1000 * 1000)
    epoch = datetime.datetime(1904, 1, 1) if date_1904 else datetime.datetime(1899, 12, 30)
    if moment < epoch:
        return
    assert date_from_serial((moment - epoch) / datetime.timedelta(days=1), date_1904) == moment


@given(st.integers(1, 16384))
def test_columns_have_one_name(column: int) -> None:
    """Letters and number of a column belong together."""
    assert column_number(column_letters(column)) == column


AREAS = [("B2:C5", (2, 2, 5, 3)), ("$B$2", (2, 2, 2, 2)), ("C5:B2", (2, 2, 5, 3)), ("A1:XFD1048576", (1, 1, 1048576, 16384)),
         ("A1:XFE1", None), ("A0", None), ("A1:", None), ("", None), ("A1048577", None), ("1:2", (1, 1, 2, 16384)),
         ("B:C", (1, 2, 1048576, 3)), ("b2", (2, 2, 2, 2)), ("B2:C", None)]


@pytest.mark.parametrize(("text", "found"), AREAS)
def test_areas_are_read_within_the_grid(text: str, found: Area | None) -> None:
    """An area beyond the grid is none."""
    assert area_of(text) == found


def test_escapes_are_resolved_once() -> None:
    """An escaped underscore protects what follows it."""
    assert unescaped("_x005F_x0041_") == "_x0041_"
    assert unescaped("_x0041__x0042_") == "AB"
    assert unescaped("_xD83D__xDE00_") == "\U0001f600"
    assert unescaped("_x41_ _X0041_") == "_x41_ _X0041_"


cells = st.builds(
    Cell, st.integers(1, 9), st.integers(1, 9), st.just(1.0), st.just("number"), st.sampled_from(["General", "0.00"]),
    st.none() | st.just("A1"), st.just(True),
)


@given(st.lists(cells, max_size=30))
def test_a_table_of_cells_is_a_dictionary_in_the_order_of_the_sheet(many: list[Cell]) -> None:
    """Cells made elsewhere are kept, found by place, and come in order."""
    expected = {(cell.row, cell.column): cell for cell in many}
    table = CellTable.of(many)
    assert dict(table) == expected
    assert list(table) == sorted(expected)
    sheet = Sheet("Prices", cells=expected)
    assert sheet.rows() == sorted({row for row, _ in expected})
    assert [cell for row in sheet.rows() for cell in sheet.row(row)] == [expected[place] for place in sorted(expected)]


@given(st.lists(st.tuples(st.integers(1, 6), st.lists(st.integers(1, 5), max_size=6)), max_size=8))
def test_cells_in_any_order_are_put_in_order_and_doubles_are_told(rows: list[tuple[int, list[int]]]) -> None:
    """Of two cells in one place the first stays and the place is told, wherever the second came."""
    table = CellTable()
    first: dict[tuple[int, int], float] = {}
    doubled: list[tuple[int, int]] = []
    count = 0.0
    for row, columns in rows:
        table.open_row(row)
        for column in columns:
            count += 1
            table.append(column, 0, 0, count)
            if (row, column) in first:
                doubled.append((row, column))
            first.setdefault((row, column), count)
    assert sorted(table.close()) == sorted(doubled)
    assert {place: cell.value for place, cell in table.items()} == first
    assert list(table) == sorted(first)


BOUNDS = [
    {"limits.MOST_CELLS": 400}, {"limits.MOST_INFLATED": 400}, {"limits.MOST_MEMORY": 400}, {"stored_cells.MOST_ROWS": 50},
    {"limits.MOST_IDLE": 5, "limits.IDLE_PER_CELL": 0},
]


@pytest.mark.parametrize("bounds", BOUNDS, ids=lambda bounds: next(iter(bounds)))
def test_a_workbook_beyond_a_bound_is_refused_in_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bounds: dict[str, int]
) -> None:
    """Each bound is kept, whichever is reached first."""
    path = tmp_path / "book.xlsx"
    written_by_xlsxwriter(path, {(row, column): float(row) for row in range(1, 60) for column in range(1, 9)})
    assert len(read(path).sheets[0].cells) == 472
    modules = {"limits": limits, "stored_cells": stored_cells}
    for place, bound in bounds.items():
        module, _, name = place.partition(".")
        monkeypatch.setattr(modules[module], name, bound)
    problems = Problems()
    assert read_workbook(path, problems) is None
    assert [problem.code for problem in problems] == ["file-too-large"]


def test_a_table_that_is_wider_than_what_is_typed_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Formatted cells that hold nothing count less than what has to be looked at: 40 of them beside five values are no refusal."""
    monkeypatch.setattr(limits, "MOST_IDLE", 1000)
    book = xlsxwriter.Workbook(str(tmp_path / "wide.xlsx"))
    sheet, shown = book.add_worksheet(), book.add_format({"bold": True})
    for row in range(100):
        for column in range(45):
            sheet.write(row, column, row if column < 5 else None, shown)
    book.close()
    found = read_workbook(tmp_path / "wide.xlsx", Problems("wide.xlsx"))
    assert found is not None
