"""Values written into a workbook: those cells change, all else stays, and nothing stale is shown."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from writeback_workbooks import (
    STALE,
    codes,
    differing,
    loaded,
    parts,
    read_members,
    recalculated,
    rich_workbook,
    values,
    with_macros,
    worksheet,
    zipped,
)

from pricing.problems import Problems
from pricing.xlsx.editing.write_cells import CellWrite, file_fingerprint, write_cells
from pricing.xlsx.editing.xml_source import spliced, stored_text, tag_at, with_attribute
from pricing.xlsx.package.markup import unescaped

PRICES = [
    CellWrite("Products", "D5", 31.25),
    CellWrite("Products", "D7", 47.1),
    CellWrite("Old prices", "C9", "kept <for> the & record"),
    CellWrite("Products", "J40", 0.1 + 0.2),
]
# what reads Products!D5 or D7, directly or through others, in the rich workbook
READERS = {f"Products!{cell}" for cell in ("E5", "E7", "F5", "F6", "F7", "F8")}
READERS |= {f"Summary!B{row}" for row in range(1, 9)}


def written(path: Path, *writes: CellWrite, **options: Any) -> Path:
    """The path that the write gave, which must not have been refused."""
    problems = Problems(path.name)
    done = write_cells(path, writes, problems, **options)
    assert done is not None, [str(problem) for problem in problems]
    return done


@pytest.fixture(scope="module")
def rich(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return rich_workbook(tmp_path_factory.mktemp("rich") / "book.xlsx")


@pytest.fixture(params=["xlsx", "xlsm"])
def book(request: pytest.FixtureRequest, rich: Path, tmp_path: Path) -> Path:
    copy = tmp_path / f"book.{request.param}"
    if request.param == "xlsm":
        return with_macros(copy, rich)
    copy.write_bytes(rich.read_bytes())
    return copy


def small(path: Path, cells: str, **sheet: str) -> Path:
    """A workbook with one sheet called Prices."""
    path.write_bytes(zipped(parts({"Prices": worksheet(cells, **sheet)})))
    return path


def part(path: Path, name: str = "xl/worksheets/sheet1.xml") -> str:
    return read_members(path)[name].decode()


class TestOnlyTheCellsChange:
    def test_every_other_member_keeps_its_bytes(self, book: Path) -> None:
        """Charts, comments, pictures, macros, styles, strings, names: what is packed in the file is the same, in the same order."""
        before = read_members(book)
        written(book, *PRICES)
        after = read_members(book)
        assert list(before) == list(after)
        changed = {name for name in after if after[name] != before[name]}
        assert changed == {f"xl/worksheets/sheet{number}.xml" for number in (1, 2, 4)}
        assert len(after) >= 25

    def test_the_values_are_there_and_no_other_value_differs(self, book: Path) -> None:
        """openpyxl reads the new values; what else differs is results of formulas that read them, now empty."""
        before = values(book)
        written(book, *PRICES)
        after = values(book)
        for write in PRICES:
            stored = round(write.value, 15) if isinstance(write.value, float) else write.value
            assert after[f"{write.sheet}!{write.cell}"] == stored
        targets = {f"{write.sheet}!{write.cell}" for write in PRICES}
        assert differing(before, after) == targets | READERS
        assert all(cell not in after for cell in READERS)
        assert after["Apart!B4"] == after["Old prices!A1"] == STALE

    def test_the_formulas_are_the_same(self, book: Path) -> None:
        """Only stored results are taken out; every formula keeps its text."""
        before = values(book, formulas=True)
        written(book, *PRICES)
        assert differing(before, values(book, formulas=True)) == {f"{write.sheet}!{write.cell}" for write in PRICES}

    def test_outside_the_changed_cells_the_sheet_has_the_same_bytes(self, book: Path) -> None:
        """With every cell and the size of the sheet cut out, the two worksheet parts are byte for byte the same."""
        cells = re.compile(r"<c [^>]*?(?:/>|>.*?</c>)|<dimension[^>]*>")
        before = cells.sub("", part(book))
        written(book, *PRICES)
        assert cells.sub("", part(book)).replace('<row r="40"></row>', "") == before
        assert len(before) > 3000

    def test_formats_stay_and_new_cells_take_the_column_format(self, book: Path) -> None:
        """A written cell keeps its number format; a new one below in column D has that of the column."""
        written(book, CellWrite("Products", "D6", 1.5), CellWrite("Products", "D30", 2))
        sheet = loaded(book)["Products"]
        assert sheet["D6"].number_format == sheet["D30"].number_format == "#,##0.00"
        assert sheet["D6"].fill.fgColor.rgb == sheet["D30"].fill.fgColor.rgb == "FFFFF2CC"

    def test_the_macros_and_the_kind_of_file_stay(self, rich: Path, tmp_path: Path) -> None:
        """A workbook with macros is still one: the project, the content type and the calculation chain are the same."""
        book = with_macros(tmp_path / "book.xlsm", rich)
        before = read_members(book)
        written(book, *PRICES)
        after = read_members(book)
        for name in ("xl/vbaProject.bin", "[Content_Types].xml", "xl/calcChain.xml"):
            assert after[name] == before[name]
        assert b"macroEnabled" in after["[Content_Types].xml"]

    def test_a_second_identical_write_touches_nothing(self, book: Path) -> None:
        """Where every cell holds its value already, the file keeps its bytes and its time, and no backup is made."""
        written(book, *PRICES, backup=False)
        state, data = book.stat(), book.read_bytes()
        assert written(book, *PRICES) == book
        assert (book.stat().st_mtime_ns, book.read_bytes()) == (state.st_mtime_ns, data)
        assert not list(book.parent.glob("*backup*"))

    def test_no_writes_change_nothing(self, book: Path) -> None:
        """An empty list of writes is done at once."""
        data = book.read_bytes()
        assert written(book) == book
        assert book.read_bytes() == data


class TestNothingStaleIsShown:
    @pytest.mark.parametrize("book", ["xlsx"], indirect=True)
    def test_libreoffice_shows_the_same_with_and_without_computing_afresh(self, book: Path, tmp_path: Path) -> None:
        """Opened with stored results trusted, every reader of a new value shows what a fresh computation gives.

        The margins carry true stored results. The planted ones (999) of formulas that do not read the new values are
        still shown, which proves that this opening does trust what is stored.
        """
        written(book, *PRICES)
        (trusting,) = recalculated(book, always=False)
        (afresh,) = recalculated(book)
        assert {cell: trusting[cell] for cell in READERS} == pytest.approx({cell: afresh[cell] for cell in READERS})
        assert afresh["Summary!B1"] == pytest.approx(31.25 + 160 + 47.1 + 90)
        assert afresh["Summary!B6"] == 160
        assert trusting["Apart!B4"] == STALE != afresh["Apart!B4"]

    @pytest.mark.parametrize("book", ["xlsm"], indirect=True)
    def test_the_result_equals_a_workbook_made_anew_with_these_values(self, book: Path, tmp_path: Path) -> None:
        """LibreOffice computes the same from the written workbook as from one in which openpyxl set the values."""
        other = tmp_path / "other.xlsx"
        twin = loaded(book, data_only=False)
        for write in PRICES:
            twin[write.sheet][write.cell] = write.value
        twin.save(other)
        written(book, *PRICES)
        mine, anew = recalculated(book, other)
        assert differing(mine, anew) == set()
        assert len(mine) > 50

    def test_the_workbook_asks_to_be_computed(self, tmp_path: Path) -> None:
        """The flag is set whether the workbook has calculation settings or not, and the settings stay."""
        for calculation, expected in [
            ('<calcPr calcId="191029" iterate="1"/>', '<calcPr calcId="191029" iterate="1" fullCalcOnLoad="1"/>'),
            ('<calcPr fullCalcOnLoad="0" calcId="1"></calcPr>', '<calcPr fullCalcOnLoad="1" calcId="1"></calcPr>'),
            ("", '</definedNames><calcPr fullCalcOnLoad="1"/></workbook>'),
            ('<calcPr refMode="a>b"/>', '<calcPr refMode="a>b" fullCalcOnLoad="1"/>'),
        ]:
            path = tmp_path / "book.xlsx"
            names = '<definedNames><definedName name="One">1</definedName></definedNames>'
            sheet = worksheet('<row r="1"><c r="A1"><v>1</v></c></row>')
            path.write_bytes(zipped(parts({"Prices": sheet}, workbook=names, calculation=calculation)))
            written(path, CellWrite("Prices", "A1", 2), backup=False)
            assert expected in part(path, "xl/workbook.xml")


# what stands in the sheet, what is written, what shall stand there
SPLICES: dict[str, tuple[str, dict[str, float | str | None], str]] = {
    "a value in place of a value": (
        '<row r="2"><c r="B2" s="1"><v>1</v></c></row>',
        {"B2": 2.5},
        '<row r="2"><c r="B2" s="1"><v>2.5</v></c></row>',
    ),
    "a number in place of a shared string": (
        '<row r="2"><c r="B2" s="1" t="s"><v>0</v></c></row>',
        {"B2": 2},
        '<row r="2"><c r="B2" s="1"><v>2</v></c></row>',
    ),
    "a text in place of an error": (
        '<row r="2"><c r="B2" t="e"><v>#N/A</v></c></row>',
        {"B2": "a"},
        '<row r="2"><c r="B2" t="inlineStr"><is><t>a</t></is></c></row>',
    ),
    "spaces at the ends are kept": (
        '<row r="2"><c r="B2"/></row>',
        {"B2": " a\n"},
        '<row r="2"><c r="B2" t="inlineStr"><is><t xml:space="preserve"> a\n</t></is></c></row>',
    ),
    "a value in an empty cell with a format": (
        '<row r="2"><c r="A2"><v>1</v></c><c r="B2" s="1"/><c r="C2"><v>3</v></c></row>',
        {"B2": 2},
        '<row r="2"><c r="A2"><v>1</v></c><c r="B2" s="1"><v>2</v></c><c r="C2"><v>3</v></c></row>',
    ),
    "an emptied cell keeps its format": (
        '<row r="2"><c r="B2" s="1" t="s"><v>0</v></c></row>',
        {"B2": None},
        '<row r="2"><c r="B2" s="1"></c></row>',
    ),
    "cells between, before and behind others": (
        '<row r="2"><c r="B2"><v>1</v></c><c r="E2"><v>1</v></c></row>',
        {"A2": 5, "C2": 6, "D2": 7, "F2": 8},
        '<row r="2"><c r="A2"><v>5</v></c><c r="B2"><v>1</v></c><c r="C2"><v>6</v></c><c r="D2"><v>7</v></c>'
        '<c r="E2"><v>1</v></c><c r="F2"><v>8</v></c></row>',
    ),
    "a new cell before a changed one": (
        '<row r="2"><c r="B2"><v>1</v></c></row>',
        {"A2": 5, "B2": 6},
        '<row r="2"><c r="A2"><v>5</v></c><c r="B2"><v>6</v></c></row>',
    ),
    "rows before, between and behind": (
        '<row r="2"><c r="B2"><v>1</v></c></row><row r="5"/>',
        {"A1": 1, "A3": 3, "B3": 3.5, "A6": 6},
        '<row r="1"><c r="A1"><v>1</v></c></row><row r="2"><c r="B2"><v>1</v></c></row>'
        '<row r="3"><c r="A3"><v>3</v></c><c r="B3"><v>3.5</v></c></row><row r="5"/>'
        '<row r="6"><c r="A6"><v>6</v></c></row>',
    ),
    "a row without cells": ('<row r="2" ht="30"/>', {"B2": 1}, '<row r="2" ht="30"><c r="B2"><v>1</v></c></row>'),
    "the format of the row": (
        '<row r="2" s="1" customFormat="1"/>',
        {"B2": 1},
        '<row r="2" s="1" customFormat="1"><c r="B2" s="1"><v>1</v></c></row>',
    ),
    "a row format that is not applied": (
        '<row r="2" s="1"></row>',
        {"B2": 1},
        '<row r="2" s="1"><c r="B2"><v>1</v></c></row>',
    ),
    "spans grow": (
        '<row r="2" spans="2:3"><c r="B2"><v>1</v></c></row>',
        {"E2": 1},
        '<row r="2" spans="2:5"><c r="B2"><v>1</v></c><c r="E2"><v>1</v></c></row>',
    ),
    "spans stay where they are wide enough": (
        '<row r="2" spans="1:9"><c r="B2"><v>1</v></c></row>',
        {"E2": 1},
        '<row r="2" spans="1:9"><c r="B2"><v>1</v></c><c r="E2"><v>1</v></c></row>',
    ),
    "a value goes, so spans need not grow": (
        '<row r="2" spans="1:2"><c r="B2"><v>1</v></c></row>',
        {"B2": None, "E2": None},
        '<row r="2" spans="1:2"><c r="B2"></c></row>',
    ),
    "rows and cells without references": (
        "<row><c><v>1</v></c><c><v>2</v></c></row><row><c><v>3</v></c></row>",
        {"B1": 5, "C1": 6, "A2": 7, "A3": 8},
        '<row><c><v>1</v></c><c><v>5</v></c><c r="C1"><v>6</v></c></row><row><c><v>7</v></c></row>'
        '<row r="3"><c r="A3"><v>8</v></c></row>',
    ),
    "single quotes, line breaks and > in attributes": (
        "<row\n r=\"2\"\tht='3>0' ><c  s='1'\n r='B2' q=\"/>\" ><v>1</v  ></c ></row >",
        {"B2": 5, "C2": 6},
        "<row\n r=\"2\"\tht='3>0' ><c  s='1'\n r='B2' q=\"/>\" ><v>5</v></c ><c r=\"C2\"><v>6</v></c></row >",
    ),
    "comments and other children stay": (
        '<row r="2"><!-- <c r="B2"> --><c r="B2"><v>1</v><extLst><ext uri="x"/></extLst></c></row>',
        {"B2": 5},
        '<row r="2"><!-- <c r="B2"> --><c r="B2"><v>5</v><extLst><ext uri="x"/></extLst></c></row>',
    ),
}


@pytest.mark.parametrize("name", SPLICES)
def test_the_bytes_of_the_cells(name: str, tmp_path: Path) -> None:
    """Each case of the table: these rows, these values, exactly these rows afterwards."""
    rows, writes, expected = SPLICES[name]
    path = small(tmp_path / "book.xlsx", rows)
    written(path, *(CellWrite("Prices", cell, value) for cell, value in writes.items()))
    assert part(path) == worksheet(expected)


@pytest.mark.parametrize(
    ("given_size", "cell", "expected"),
    [("A1", "F14", "A1:F14"), ("B2:C9", "A5", "A2:C9"), ("A1:F20", "F14", "A1:F20"), ("C5:D6", "A1", "A1:D6")],
)
def test_the_size_of_the_sheet_grows(given_size: str, cell: str, expected: str, tmp_path: Path) -> None:
    """The stated size takes in a new cell, and stays where it does already."""
    path = small(tmp_path / "book.xlsx", "", before=f'<dimension ref="{given_size}"/>')
    written(path, CellWrite("Prices", cell, 1))
    assert f'<dimension ref="{expected}"/>' in part(path)


def test_an_empty_sheet_takes_values(tmp_path: Path) -> None:
    """A sheet whose cells are one empty element is opened up."""
    path = tmp_path / "book.xlsx"
    empty = worksheet("").replace("<sheetData></sheetData>", "<sheetData />")
    path.write_bytes(zipped(parts({"Prices": empty})))
    written(path, CellWrite("Prices", "B2", 1))
    assert '<sheetData><row r="2"><c r="B2"><v>1</v></c></row></sheetData>' in part(path)


def test_prefixed_names_are_kept(tmp_path: Path) -> None:
    """Where the sheet writes its elements with a prefix, the new ones have it too, and openpyxl reads them."""
    rows = '<x:row r="1"><x:c r="A1"><x:v>1</x:v></x:c></x:row>'
    text = worksheet(rows).replace("<worksheet xmlns=", "<x:worksheet xmlns:x=").replace("</worksheet", "</x:worksheet")
    path = tmp_path / "book.xlsx"
    path.write_bytes(zipped(parts({"Prices": text.replace("sheetData>", "x:sheetData>").replace("</x:x:", "</x:")})))
    assert "<x:sheetData>" in part(path)
    written(path, CellWrite("Prices", "A1", 2), CellWrite("Prices", "B1", "b"), CellWrite("Prices", "A3", 3))
    assert values(path) == {"Prices!A1": 2, "Prices!B1": "b", "Prices!A3": 3}
    assert '<x:c r="B1" t="inlineStr"><x:is><x:t>b</x:t></x:is></x:c>' in part(path)


def test_a_byte_order_mark_and_a_large_part_do_not_shift_the_places(tmp_path: Path) -> None:
    """A worksheet of more than a megabyte, with a byte order mark and letters of several bytes, is changed in place."""
    rows = "".join(
        f'<row r="{row}"><c r="A{row}" t="inlineStr"><is><t>Größe – 花 {"x" * 40}</t></is></c>'
        f'<c r="B{row}"><v>{row}</v></c></row>'
        for row in range(1, 12_001)
    )
    text = b"\xef\xbb\xbf" + worksheet(rows).encode()
    path = tmp_path / "book.xlsx"
    path.write_bytes(zipped(parts({"Prices": text})))
    assert len(text) > 1_000_000
    written(path, CellWrite("Prices", "B11999", -1), CellWrite("Prices", "C12000", "neu"))
    expected = text.replace(b"<v>11999</v>", b"<v>-1</v>").replace(
        b"<v>12000</v></c>", b'<v>12000</v></c><c r="C12000" t="inlineStr"><is><t>neu</t></is></c>'
    )
    assert read_members(path)["xl/worksheets/sheet1.xml"] == expected


class Stream(io.BytesIO):
    """A file that cannot tell its place, as a pipe cannot."""

    def tell(self) -> int:
        raise io.UnsupportedOperation


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
@pytest.mark.parametrize("wide", ["no", "headers", "directory"])
@pytest.mark.parametrize("streamed", [False, True])
def test_kinds_of_zip(method: int, wide: str, streamed: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stored, packed, streamed (sizes behind the data) and zip64 members are kept or changed, and can be read.

    zip64 is met in the headers of members, and with a small limit in the directory and its end as well.
    """
    if wide == "directory":
        monkeypatch.setattr(zipfile, "ZIP64_LIMIT", 400)
    members = parts({"Prices": worksheet('<row r="1"><c r="A1"><v>1</v></c></row>')}, extra={"notes.txt": "x" * 5000})
    path, target = tmp_path / "book.xlsx", Stream() if streamed else io.BytesIO()
    with zipfile.ZipFile(target, "w", method) as package:
        package.comment = b"a comment"
        for name, data in members.items():
            described = zipfile.ZipInfo(name)
            described.compress_type = method
            with package.open(described, "w", force_zip64=wide != "no") as member:
                member.write(data)
            assert bool(described.flag_bits & 8) == streamed
    monkeypatch.undo()
    path.write_bytes(target.getvalue())
    before = read_members(path)
    written(path, CellWrite("Prices", "A1", 2))
    after = read_members(path)
    assert {name for name in after if after[name] != before[name]} == {"xl/worksheets/sheet1.xml", "xl/workbook.xml"}
    with zipfile.ZipFile(path) as package:
        assert package.testzip() is None
        assert package.comment == b"a comment"
        rewritten = package.getinfo("xl/worksheets/sheet1.xml")
        header = path.read_bytes()[rewritten.header_offset :][:30]
        assert (rewritten.flag_bits, rewritten.extra) == (0, b"")
        assert int.from_bytes(header[6:8], "little") == int.from_bytes(header[28:30], "little") == 0
    assert values(path) == {"Prices!A1": 2}


def test_a_strict_workbook_is_written(tmp_path: Path) -> None:
    """The strict kind of file has other namespaces and is changed in the same way."""
    members = parts({"Prices": worksheet('<row r="1"><c r="A1"><v>1</v></c></row>')})
    main = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    relations = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    for name, data in members.items():
        data = data.replace(main, b"http://purl.oclc.org/ooxml/spreadsheetml/main")
        members[name] = data.replace(relations, b"http://purl.oclc.org/ooxml/officeDocument/relationships")
    path = tmp_path / "book.xlsx"
    path.write_bytes(zipped(members))
    written(path, CellWrite("Prices", "A1", 2))
    assert '<c r="A1"><v>2</v></c>' in part(path)


@pytest.mark.parametrize(
    ("value", "stored"),
    [
        (0.1 + 0.2, "0.3"),
        (1 / 3, "0.333333333333333"),
        (42.0, "42"),
        (7, "7"),
        (-0.0, "0"),
        (1e21, "1e+21"),
        (12345678901234567, "1.23456789012346e+16"),
        (5e-324, "4.94065645841247e-324"),
    ],
)
def test_numbers_have_fifteen_digits_at_most(value: float, stored: str, tmp_path: Path) -> None:
    """A number is stored with 15 significant digits, as spreadsheets do, and no more figures than it needs."""
    path = small(tmp_path / "book.xlsx", "")
    written(path, CellWrite("Prices", "A1", value))
    assert f"<v>{stored}</v>" in part(path)


def test_texts_arrive_as_they_are(tmp_path: Path) -> None:
    """Any text is stored as text: what looks like a formula or an escape, control characters, spaces at the ends.

    LibreOffice, which turns the escapes back, shows them as they were written.
    """
    texts = ["=1+1", "_x0041_", "_x0041_x0042_", "a\rb", "_x0041\r", "<&>\"'", "  x ", "a\nb\tc", "花", "@SUM(A1)"]
    path = small(tmp_path / "book.xlsx", "")
    cells = {f"Prices!A{row}": text for row, text in enumerate(texts, start=1)}
    written(path, *(CellWrite("Prices", place[7:], text) for place, text in cells.items()))
    assert {cell.data_type for (cell,) in loaded(path)["Prices"].iter_rows()} <= {"s", "inlineStr"}
    (shown,) = recalculated(path)
    assert shown == cells


@given(st.text(st.sampled_from("_x0041F\x01\r a")))
def test_the_escape_of_texts_turns_back(text: str) -> None:
    """Whatever a text is made of, what is stored stands for the same text."""
    assert unescaped(stored_text(text)) == text


@settings(deadline=None)
@given(st.dictionaries(st.sampled_from("abcdt"), st.text(st.characters(codec="ascii", exclude_categories=["C"]))))
def test_an_attribute_is_set_without_touching_the_others(given_attributes: dict[str, str]) -> None:
    """Setting and removing one attribute leaves all others, whatever their values hold, such as ``>`` or a quote."""

    def shown(value: str) -> str:
        value = value.replace("&", "&amp;").replace("<", "&lt;")
        return "'" + value.replace("'", "&apos;") + "'" if '"' in value else f'"{value}"'

    def tag(attributes: dict[str, str]) -> bytes:
        return ("<c" + "".join(f" {name}={shown(value)}" for name, value in attributes.items()) + "/>").encode()

    before = tag(given_attributes)
    assert tag_at(before + b' x="1">', 0) == before
    assert with_attribute(before, "z", "1") == before[:-2] + b' z="1"/>'
    rest = {name: value for name, value in given_attributes.items() if name != "t"}
    assert with_attribute(before, "t", None) == tag(rest)


def test_overlapping_edits_are_an_error() -> None:
    """Two edits of the same bytes are a mistake in the program, never a guess."""
    with pytest.raises(ValueError, match="overlap"):
        spliced(b"abcdef", [(1, 4, b""), (3, 5, b"")])


def test_the_backup_holds_the_old_file_under_the_time_given(book: Path) -> None:
    """The backup is named by date and time; where that name is taken, it gets a number and nothing is overwritten."""
    old, now = book.read_bytes(), datetime(2031, 5, 4, 9, 30)
    first = written(book, CellWrite("Products", "D5", 1), now=now)
    middle = book.read_bytes()
    second = written(book, CellWrite("Products", "D5", 2), now=now)
    assert first.name == f"book backup 2031-05-04 093000{book.suffix}"
    assert second.name == f"book backup 2031-05-04 093000 2{book.suffix}"
    assert (first.read_bytes(), second.read_bytes()) == (old, middle)
    assert {path.name for path in book.parent.iterdir()} == {book.name, first.name, second.name}


def test_a_backup_under_a_clock_that_goes_backwards_overwrites_nothing(book: Path) -> None:
    """Each backup keeps its contents whatever the clock says."""
    contents = []
    for number, day in enumerate([3, 1, 3, 1, 2], start=1):
        contents.append(book.read_bytes())
        written(book, CellWrite("Products", "D5", number), now=datetime(2031, 5, day))
    kept = {path.read_bytes() for path in book.parent.glob("*backup*")}
    assert kept == set(contents)
    assert len(kept) == 5


def test_the_fingerprint_of_what_was_read_guards_the_write(book: Path) -> None:
    """With the fingerprint taken when the book was read, a write goes through once and is refused after a change."""
    taken = file_fingerprint(book)
    written(book, CellWrite("Products", "D5", 1), fingerprint=taken)
    data, problems = book.read_bytes(), Problems(book.name)
    assert write_cells(book, [CellWrite("Products", "D5", 2)], problems, fingerprint=taken) is None
    assert codes(problems.errors) == ["changed"]
    assert book.read_bytes() == data


def test_a_link_to_the_workbook_stays_a_link(book: Path, tmp_path: Path) -> None:
    """Given by a link, the file itself is rewritten, with the backup beside it, and the link still leads to it."""
    folder = tmp_path / "links"
    folder.mkdir()
    link = folder / book.name
    link.symlink_to(book)
    backup = written(link, CellWrite("Products", "D5", 1))
    assert link.is_symlink()
    assert backup.parent == book.parent
    assert values(link)["Products!D5"] == 1


def test_the_permissions_of_the_file_stay(book: Path) -> None:
    """The new file is as readable to others as the old one was."""
    book.chmod(0o640)
    backup = written(book, CellWrite("Products", "D5", 1))
    assert book.stat().st_mode & 0o777 == backup.stat().st_mode & 0o777 == 0o640
