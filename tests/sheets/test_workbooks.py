"""Workbooks written in fewer steps hold what the writing library's own workbooks hold, part by part."""

from __future__ import annotations

import datetime
import io
import re
import zipfile
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st
from xlsxwriter.exceptions import OverlappingRange

from pricing.reports.shared.flowing_page import Page, page_options
from pricing.reports.shared.report_book import TEXT_STAYS_TEXT
from pricing.reports.shared.styles import Styles, set_page
from pricing.xlsx.writing.packing import pack
from pricing.xlsx.writing.workbook import PlainWorkbook, new_workbook

PICTURE = (
    b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1\x08\0\0\0\0:~\x9bU\0\0\0\nIDATx\x9cc\xf8\x0f\0\1\1\1\0\x1b\xb6\xeeV\0\0\0\0IEND\xaeB`\x82"
)
ODD = ["plain", " led by a space", "a < b & c > d", '"quoted"', "two\nlines", "_x0041_", "bell\x07", "½ × Ø — ü", "\ufffe", "=1+1", "tab\t"]


def options() -> dict[str, Any]:
    """How the library is told to write our pages."""
    return {**TEXT_STAYS_TEXT, **page_options()}


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
        page.picture(PICTURE, 1, "a sketch", 0.5)
        page.next_row()
    page.finish()
    page.sheet.write_boolean(page.row, 0, True, styles.get("text"))
    page.sheet.write_formula(page.row, 1, '="a"', styles.get("text"), "a")
    page.sheet.write_string(page.row, 2, "without a format")


def parts_of(kind: Any, **more: Any) -> dict[str, str | bytes]:
    """The parts of the page written by one kind of workbook."""
    file = io.BytesIO()
    with kind(file, {**options(), **more}) as book:
        set_a_page(book)
    with zipfile.ZipFile(file) as made:
        assert made.testzip() is None
        return {name: made.read(name) if name.endswith(".png") else made.read(name).decode() for name in made.namelist()}


@pytest.mark.parametrize("in_memory", [True, False])
def test_every_part_is_what_the_library_writes(in_memory: bool) -> None:
    """Texts, formats, pictures and relations are the library's to the letter; of the cells only hints and unseen blanks are left out."""
    ours, theirs = parts_of(new_workbook, in_memory=in_memory), parts_of(xlsxwriter.Workbook, in_memory=in_memory)
    assert list(ours) == list(theirs)
    sheet = "xl/worksheets/sheet1.xml"
    for name, content in theirs.items():
        if name != sheet:
            assert ours[name] == content, name
    written, expected = (re.sub(r' spans="\d+:\d+"', "", str(parts[sheet])) for parts in (ours, theirs))
    cells, all_cells = (re.findall(r"<c .*?(?:/>|</c>)", text) for text in (written, expected))
    left_out = [cell for cell in all_cells if cell not in set(cells)]
    assert [cell for cell in all_cells if cell in set(cells)] == cells
    assert left_out
    assert all(cell.endswith("/>") for cell in left_out)
    assert re.sub(r"<c .*?(?:/>|</c>)", "", written) == re.sub(r"<c .*?(?:/>|</c>)", "", expected)


def test_a_workbook_written_row_by_row_is_what_the_library_writes() -> None:
    """Where rows are not kept in memory, every part is the library's to the letter."""
    ours, theirs = (parts_of(kind, in_memory=False, constant_memory=True) for kind in (new_workbook, xlsxwriter.Workbook))
    assert ours == theirs


def test_a_cell_left_out_is_one_that_a_joined_cell_covers() -> None:
    """A blank that is left out lies within joined cells, behind the first, and has no rule of its own to draw."""
    ours, theirs = (str(parts_of(kind)["xl/worksheets/sheet1.xml"]) for kind in (new_workbook, xlsxwriter.Workbook))
    merged = re.findall(r'<mergeCell ref="([A-Z])(\d+):([A-Z])\d+"/>', ours)
    covered = {f"{chr(letter)}{row}" for first, row, last in merged for letter in range(ord(first) + 1, ord(last) + 1)}
    kept, expected = (set(re.findall(r'<c r="([A-Z]+\d+)"', text)) for text in (ours, theirs))
    assert expected - kept <= covered


def test_the_second_workbook_is_what_the_first_was() -> None:
    """What is remembered from one workbook changes nothing in the next, whatever was written between."""
    first = parts_of(new_workbook)
    with PlainWorkbook(io.BytesIO(), options()) as other:
        styles = Styles(other)
        for size in range(6, 20):
            other.add_worksheet().write_string(0, 0, "other", styles.get("text", font_size=size))
    assert parts_of(new_workbook) == first


def test_joining_a_cell_twice_is_refused() -> None:
    """Joined cells that overlap would spoil the file."""
    with PlainWorkbook(io.BytesIO(), options()) as book:
        sheet, style = book.add_worksheet(), Styles(book).get("text")
        sheet.merge_range(0, 0, 0, 3, "", style)
        with pytest.raises(OverlappingRange):
            sheet.merge_range(0, 2, 0, 5, "", style)


def test_a_file_on_disk_is_the_file_in_memory(tmp_path: Path) -> None:
    """Where a workbook is written to makes no difference to its bytes."""
    file = io.BytesIO()
    for target in (tmp_path / "page.xlsx", file):
        with new_workbook(target if target is file else str(target), options()) as book:
            set_a_page(book)
    assert (tmp_path / "page.xlsx").read_bytes() == file.getvalue()


NAMES = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1, max_size=20)


@given(st.dictionaries(NAMES, st.binary(max_size=500)))
def test_a_zip_holds_its_parts(parts: dict[str, bytes]) -> None:
    """The standard library's reader finds every part of a packed file under its name, whole, and nothing else."""
    packed = pack(list(parts.items()), remembered=lambda name: len(name) % 2 == 0)
    with zipfile.ZipFile(io.BytesIO(packed)) as made:
        assert made.testzip() is None
        assert made.namelist() == [zipfile.ZipInfo(name).filename for name in parts]
        assert [made.read(info) for info in made.infolist()] == list(parts.values())
        assert {info.date_time for info in made.infolist()} <= {(1980, 1, 1, 0, 0, 0)}
    assert packed == pack(list(parts.items()))


def test_a_picture_is_not_packed_twice() -> None:
    """A picture, packed in itself, is stored as it is."""
    with zipfile.ZipFile(io.BytesIO(pack([("a.png", PICTURE), ("a.xml", b"<a/>" * 50)]))) as made:
        assert [info.compress_type for info in made.infolist()] == [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED]
