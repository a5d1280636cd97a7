"""Our workbooks hold what the writing library's own hold, to the letter, and lose nothing beyond the sheet."""

from __future__ import annotations

import datetime
import errno
import gc
import io
import re
import tempfile
import weakref
import zipfile
import zlib
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st
from xlsxwriter.exceptions import FileCreateError, OverlappingRange

from pricing.reports.shared.flowing_page import Page
from pricing.reports.shared.report_book import OPTIONS, TYPE, House, ReportBook
from pricing.reports.shared.styles import Styles, set_page
from pricing.xlsx.writing.workbook import new_workbook
from pricing.xlsx.writing.zip_file import parts_in, zip_file

PICTURE = (
    b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1\x08\0\0\0\0:~\x9bU\0\0\0\nIDATx\x9cc\xf8\x0f\0\1\1\1\0\x1b\xb6\xeeV\0\0\0\0IEND\xaeB`\x82"
)
ODD = ["plain", " led by a space", "a < b & c > d", '"quoted"', "two\nlines", "_x0041_", "bell\x07", "½ × Ø — ü", "\ufffe", "=1+1", "tab\t"]


def set_a_page(book: Any) -> None:
    """A page with every kind of cell, of text and of format that our pages have."""
    styles = Styles(book)
    page = Page(book.add_worksheet("Page"), styles)
    book.set_properties({"title": "title & all", "author": "author <1>", "created": datetime.datetime(2025, 7, 1)})
    set_page(page.sheet, paper="A4", business="Stone & Sons", repeat_row=1)
    for number, text in enumerate(ODD):
        page.text(text, 0, number % 3, "text wrapped", indent=number % 2)
        page.number(number / 7, 5, "row", "#,##0.00")
        page.formula(f"=F{page.row + 1}*2", number / 7 * 2, 7, "total", "#,##0.00", first=6)
        page.next_row()
        page.rich([(text, {"bold": True}), (f" and {text}", {"font_color": "#123456"})], 0, 3, "text wrapped", 30.0)
        page.next_row()
    page.day(datetime.date(2025, 7, 1), 0, 1, "d mmm yyyy")
    page.empty(2, 4, "heading")
    page.next_row()
    for _ in range(2):
        page.picture(lambda: PICTURE, 1, "a sketch", 0.5)
        page.next_row()
    page.finish()
    page.sheet.write_boolean(page.row, 0, True, styles.get("text"))
    page.sheet.write_formula(page.row, 1, '="a"', styles.get("text"), "a")
    page.sheet.write_string(page.row, 2, "without a format")
    for column, number in enumerate((0, -1.5e-9, 1e21, 12345678.9)):
        page.sheet.write_number(page.row + 1, column, number, styles.get("text"))
    page.sheet.merge_range(page.row + 2, 0, page.row + 3, 2, "", styles.get("total"))
    page.sheet.merge_range(page.row + 4, 0, page.row + 4, 2, "in one", styles.get("text"))
    page.sheet.merge_range(f"A{page.row + 6}:C{page.row + 7}", "", None)


def parts_of(kind: Any, **more: Any) -> dict[str, str | bytes]:
    """The parts of the page written by one kind of workbook."""
    file = io.BytesIO()
    with kind(file, {**OPTIONS, "in_memory": True, "default_format_properties": dict(TYPE), **more}) as book:
        set_a_page(book)
    with zipfile.ZipFile(file) as made:
        assert made.testzip() is None
        return {name: made.read(name) if name.endswith(".png") else made.read(name).decode() for name in made.namelist()}


@pytest.mark.parametrize("options", [{"in_memory": True}, {"in_memory": False}, {"in_memory": False, "constant_memory": True}])
def test_every_part_is_what_the_library_writes(options: dict[str, bool]) -> None:
    """Cells, texts, formats, pictures and relations are the library's to the letter, whatever way it writes; the program's name is ours."""
    ours, theirs = parts_of(new_workbook, **options), parts_of(xlsxwriter.Workbook, **options)
    named = {"docProps/app.xml", "xl/workbook.xml"}
    assert {name: part for name, part in ours.items() if name not in named} == {
        name: part for name, part in theirs.items() if name not in named}
    version = re.compile("<fileVersion[^>]*>")
    assert version.sub("", str(ours["xl/workbook.xml"])) == version.sub("", str(theirs["xl/workbook.xml"]))
    assert version.findall(str(ours["xl/workbook.xml"])) == ['<fileVersion appName="cast-pricing"/>']
    assert re.findall("<Application>(.*?)</Application>", str(ours["docProps/app.xml"])) == ["cast-pricing"]


def test_the_same_page_makes_the_same_bytes() -> None:
    """No clock and no folder gets into a workbook: what is written twice is the same file."""
    made = []
    for _ in range(2):
        file = io.BytesIO()
        with new_workbook(file, {**OPTIONS, "in_memory": True, "default_format_properties": dict(TYPE)}) as book:
            set_a_page(book)
        made.append(file.getvalue())
    assert made[0] == made[1]


def test_joined_cells_are_there_only_where_they_show_something() -> None:
    """Besides the first, cells that are joined have an entry of their own only where their format draws a rule or a tint."""
    file = io.BytesIO()
    with new_workbook(file, {**OPTIONS, "in_memory": True, "default_format_properties": dict(TYPE)}) as book:
        page = Page(book.add_worksheet("Page"), Styles(book))
        for role in ("text", "row", "input"):
            page.text(role, 0, 2, role)
            page.next_row()
    with zipfile.ZipFile(file) as made:
        sheet = made.read("xl/worksheets/sheet1.xml").decode()
    assert re.findall('<mergeCell ref="(.*?)"', sheet) == ["A1:C1", "A2:C2", "A3:C3"]
    assert re.findall('<c r="(.*?)"', sheet) == ["A1", "A2", "B2", "C2", "A3", "B3", "C3"]


def test_no_cell_is_joined_twice() -> None:
    """What a spreadsheet takes for damage is refused, as by the library."""
    with new_workbook(io.BytesIO(), {"in_memory": True}) as book:
        sheet = book.add_worksheet("Page")
        sheet.merge_range(0, 0, 1, 2, "", None)
        with pytest.raises(OverlappingRange, match="A1:C2"):
            sheet.merge_range(1, 2, 3, 4, "", None)


def test_a_workbook_that_is_written_takes_no_memory() -> None:
    """Nothing of it holds itself: a run over many quotes keeps none of their workbooks until memory is looked through."""
    gc.collect()
    gc.disable()
    try:
        with new_workbook(io.BytesIO(), {**OPTIONS, "in_memory": True}) as book:
            set_a_page(book)
        written = weakref.ref(book)
        del book
        assert written() is None
    finally:
        gc.enable()


@given(st.lists(st.tuples(st.text("abc/.", min_size=1, max_size=9), st.binary(max_size=40)), unique_by=lambda each: each[0], max_size=4),
       st.data())
@settings(max_examples=25, deadline=None)
def test_a_file_holds_its_parts_and_not_a_byte_more(parts: list[tuple[str, bytes]], data: st.DataObject) -> None:
    """Any reader finds what was put in; with a byte more, less or otherwise anywhere it is damaged, or no file of ours."""
    whole = zip_file(parts)
    assert parts_in(whole) == parts
    with zipfile.ZipFile(io.BytesIO(whole)) as made:
        assert [(each.filename, made.read(each)) for each in made.infolist()] == parts
    at = data.draw(st.integers(0, len(whole) - 1))
    other = bytes([data.draw(st.integers(0, 255).filter(lambda byte: byte != whole[at]))])
    for changed in (whole[:at] + other + whole[at + 1 :], whole[:at] + whole[at + 1 :], whole[:at] + other + whole[at:]):
        try:
            found = parts_in(changed)
        except zlib.error:
            continue
        assert found is None


@pytest.mark.parametrize(("row", "column"), [(1_048_576, 0), (0, 16_384)])
def test_a_cell_beyond_the_sheet_is_not_lost_in_silence(row: int, column: int) -> None:
    """The library leaves such a cell out without a word; ours says which sheet would need it."""
    with new_workbook(io.BytesIO(), {**OPTIONS, "in_memory": True, "default_format_properties": dict(TYPE)}) as book:
        sheet = book.add_worksheet("Lines")
        with pytest.raises(ValueError, match='"Lines" has no cell'):
            sheet.write_number(row, column, 1.0)


@pytest.mark.parametrize("options", [{}, {"constant_memory": True}])
def test_a_workbook_that_cannot_be_written_leaves_nothing(
    options: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its parts lie hidden beside it until it is whole, none among the system's temporary files, and go when the disk is full."""
    for name in ("temporary", "out"):
        (tmp_path / name).mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(zipfile.ZipFile, "write", full)
    house, place = House("Us", "A4", "EUR"), str(tmp_path / "out" / "book.xlsx")
    book = ReportBook(place, house, **options)
    book.open_sheet("Page", "Title")
    assert [path.name.partition("-")[0] for path in (tmp_path / "out").iterdir()] == [".writing.unfinished"]
    with pytest.raises(FileCreateError, match="No space left"), book:
        book.close("Title", None)
    assert [path.name for path in (tmp_path / "out").iterdir() if path.name != "book.xlsx"] == []
    assert list((tmp_path / "temporary").iterdir()) == []
