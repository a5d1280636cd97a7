"""What is not written: each case is refused with its sentence, and the file keeps its bytes."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from writeback_workbooks import (
    MAIN,
    PACKAGE_RELATIONS,
    RELATIONS,
    TYPE,
    codes,
    loaded,
    parts,
    read_members,
    rich_workbook,
    worksheet,
    zipped,
)

from pricing.problems import Problem, Problems
from pricing.xlsx.editing.refusals import permits
from pricing.xlsx.editing.sheet import Validation
from pricing.xlsx.editing.write_cells import CellWrite, write_cells

ROW = '<row r="2"><c r="A2"><v>1</v></c><c r="B2"><v>2</v></c><c r="C2"><v>3</v></c></row>'


def refused(path: Path, *writes: CellWrite) -> list[Problem]:
    """The problems of a write that must be refused and must leave the file and its folder as they were."""
    before = {entry.name: entry.read_bytes() for entry in path.parent.iterdir() if entry.is_file()}
    problems = Problems(path.name)
    assert write_cells(path, writes, problems) is None
    assert problems.errors
    for problem in problems:
        assert len(problem.message) > 30, problem
        assert ";" in problem.message, f"no remedy: {problem}"
        assert problem.message[0].islower(), problem
    assert {entry.name: entry.read_bytes() for entry in path.parent.iterdir() if entry.is_file()} == before
    return problems.errors


def one(path: Path, members: Mapping[str, bytes], cell: str = "B2", value: float | str | None = 5) -> Problem:
    """The single problem of writing one cell of the sheet Prices."""
    path.write_bytes(zipped(members))
    (problem,) = refused(path, CellWrite("Prices", cell, value))
    return problem


def prices(rows: str = ROW, **sheet: str) -> dict[str, bytes]:
    return parts({"Prices": worksheet(rows, **sheet)})


def formula(attributes: str, text: str = "A2*2") -> str:
    return (
        f'<row r="2"><c r="A2"><v>1</v></c><c r="B2"><f{attributes}>{text}</f><v>2</v></c><c r="C2"><v>3</v></c></row>'
    )


TABLE = f"""<table xmlns="{MAIN}" id="1" name="tbl" displayName="tbl" ref="A1:C5" totalsRowCount="1">
<tableColumns count="3"><tableColumn id="1" name="a"/><tableColumn id="2" name="b"/><tableColumn id="3" name="c"/>
</tableColumns></table>"""
PIVOT = f"""<pivotTableDefinition xmlns="{MAIN}" name="p" cacheId="1">
<location ref="E5:G9" firstHeaderRow="1" firstDataRow="1" firstDataCol="1" rowPageCount="2" colPageCount="1"/>
</pivotTableDefinition>"""


def with_part(kind: str, name: str, text: str) -> dict[str, bytes]:
    return parts({"Prices": worksheet(ROW)}, extra={f"xl/{name}": text}, links={f"../{name}": kind})


# members, the cell, the code, words of the sentence
CELLS: dict[str, tuple[Callable[[], dict[str, bytes]], str, str, str]] = {
    "a formula": (lambda: prices(formula("")), "B2", "formula", "A2*2"),
    "a cell that shares a formula": (lambda: prices(formula(' t="shared" si="0"', "")), "B2", "formula", "shared"),
    "the master of a shared formula": (
        lambda: prices(formula(' t="shared" si="0" ref="B2:B9"')),
        "B2",
        "shared-formula",
        "B2:B9",
    ),
    "the first cell of an array": (lambda: prices(formula(' t="array" ref="B2:C2"')), "B2", "array", "B2:C2"),
    "a further cell of an array": (lambda: prices(formula(' t="array" ref="B2:C2"')), "C2", "array", "as a whole"),
    "an empty cell of an array": (lambda: prices(formula(' t="array" ref="B2:C9"')), "C9", "array", "B2:C9"),
    "a data table": (lambda: prices(formula(' t="dataTable" ref="B2:C4" r1="A1"', "")), "C4", "array", "data table"),
    "a picture in a cell": (
        lambda: prices('<row r="2"><c r="B2" t="e" vm="1"><v>#VALUE!</v></c></row>'),
        "B2",
        "rich-value",
        "picture",
    ),
    "a cell with metadata": (lambda: prices('<row r="2"><c r="B2" cm="1"/></row>'), "B2", "rich-value", "spilling"),
    "inside merged cells": (
        lambda: prices(after='<mergeCells count="1"><mergeCell ref="A2:B3"/></mergeCells>'),
        "B3",
        "merged",
        "write into A2",
    ),
    "a table's heading": (lambda: with_part("table", "tables/table1.xml", TABLE), "B1", "table-heading", "heading"),
    "a table's totals": (lambda: with_part("table", "tables/table1.xml", TABLE), "C5", "table-totals", "totals row"),
    "a pivot table": (lambda: with_part("pivotTable", "pivotTables/p.xml", PIVOT), "F7", "pivot-table", "E2:H9"),
    "a pivot table's filter": (lambda: with_part("pivotTable", "pivotTables/p.xml", PIVOT), "F2", "pivot-table", ""),
    "a protected sheet": (
        lambda: prices(after='<sheetProtection sheet="1" objects="1"/>'),
        "B2",
        "protected",
        "unprotect",
    ),
    "a protected sheet, new cell": (lambda: prices(after='<sheetProtection sheet="true"/>'), "Z99", "protected", ""),
    "beyond the grid": (prices, "XFE1", "bad-cell", "F14"),
    "no cell at all": (prices, "price", "bad-cell", "F14"),
    "an area": (prices, "A1:B2", "bad-cell", "F14"),
}


@pytest.mark.parametrize("name", CELLS)
def test_cells_that_are_not_written(name: str, tmp_path: Path) -> None:
    """Each case of the table is refused at its sheet and cell, with the code and the words given."""
    members, cell, code, words = CELLS[name]
    problem = one(tmp_path / "book.xlsx", members(), cell)
    assert (problem.code, problem.sheet, problem.cell, problem.file) == (code, "Prices", cell, "book.xlsx")
    assert words in problem.message


@pytest.mark.parametrize(
    ("name", "cell"),
    [
        ("the master of a shared formula", "C2"),
        ("the first cell of an array", "A2"),
        ("inside merged cells", "A2"),
        ("inside merged cells", "C2"),
        ("a table's heading", "B2"),
        ("a table's heading", "B4"),
        ("a table's heading", "B6"),
        ("a pivot table", "E10"),
        ("a pivot table", "D5"),
        ("a picture in a cell", "C2"),
    ],
)
def test_their_neighbours_are_written(name: str, cell: str, tmp_path: Path) -> None:
    """The cell beside a refused one takes its value: the refusals reach no further than they must."""
    path, problems = tmp_path / "book.xlsx", Problems()
    path.write_bytes(zipped(CELLS[name][0]()))
    assert write_cells(path, [CellWrite("Prices", cell, 5)], problems), list(problems)
    assert re.search(rf'<c r="{cell}"[^>]*><v>5</v></c>', read_members(path)[SHEET].decode())


def test_an_unlocked_cell_of_a_protected_sheet_is_written(tmp_path: Path) -> None:
    """Format 2 of the little workbook is unlocked: a cell that has it, or takes it from its column, may be written."""
    rows = '<row r="2"><c r="A2"/><c r="B2" s="2"/></row>'
    columns = '<cols><col min="4" max="5" style="2" width="9"/></cols>'
    path, problems = tmp_path / "book.xlsx", Problems()
    path.write_bytes(zipped(prices(rows, before=columns, after='<sheetProtection sheet="1"/>')))
    assert codes(refused(path, CellWrite("Prices", "A2", 1))) == ["protected"]
    assert write_cells(path, [CellWrite("Prices", "B2", 1), CellWrite("Prices", "D3", 2)], problems), list(problems)


@pytest.mark.parametrize(
    "value",
    [float("nan"), float("inf"), -float("inf"), True, 10**400, 1e308, "x" * 32_768, "half \ud800", b"bytes", [1]],
)
def test_values_that_no_cell_can_hold(value: object, tmp_path: Path) -> None:
    """What is neither a finite number nor a text that fits is refused."""
    problem = one(tmp_path / "book.xlsx", prices(), "B2", value)  # type: ignore[arg-type]
    assert (problem.code, problem.cell) == ("bad-value", "B2")


def test_all_refusals_come_in_one_pass(tmp_path: Path) -> None:
    """Several bad writes give several problems at once, in the order of the writes, and none is made."""
    path = tmp_path / "book.xlsx"
    path.write_bytes(zipped(prices(formula(""))))
    writes = [
        CellWrite("Missing", "A1", 1),
        CellWrite("Prices", "C2", 1),
        CellWrite("Prices", "B2", 1),
        CellWrite("prices", "C2", 2),
        CellWrite("Prices", "A0", 1),
    ]
    problems = refused(path, *writes)
    assert sorted(codes(problems)) == ["bad-cell", "formula", "sheet-missing", "written-twice"]
    assert "only Prices" in problems[0].message


def test_the_same_value_twice_is_written_once(tmp_path: Path) -> None:
    """A cell named twice with the same value is no mistake."""
    path, problems = tmp_path / "book.xlsx", Problems()
    path.write_bytes(zipped(prices()))
    assert write_cells(path, [CellWrite("Prices", "B2", 7), CellWrite("PRICES", "b2", 7.0)], problems)
    assert loaded(path)["Prices"]["B2"].value == 7


def edited(name: str, old: str, new: str, members: Mapping[str, bytes] | None = None) -> dict[str, bytes]:
    """The little workbook with one stretch of one member replaced."""
    changed = dict(members or prices())
    assert old.encode() in changed[name]
    changed[name] = changed[name].replace(old.encode(), new.encode())
    return changed


SHEET, BOOK = "xl/worksheets/sheet1.xml", "xl/workbook.xml"
DTD = '<!DOCTYPE worksheet [<!ENTITY a "b">]><worksheet '
ORIGIN = "http://schemas.openxmlformats.org/package/2006/relationships/digital-signature/origin"
SIGNATURE = f'<Relationship Id="rIdS" Type="{ORIGIN}" Target="_xmlsignatures/origin.sigs"/></Relationships>'

WORKBOOKS: dict[str, tuple[Callable[[], dict[str, bytes]], str, str]] = {
    "a signature": (lambda: edited("_rels/.rels", "</Relationships>", SIGNATURE), "signed", "signature"),
    "the parts of a signature": (lambda: prices() | {"_XMLSIGNATURES/sig1.xml": b"<s/>"}, "signed", "remove"),
    "a password to change": (
        lambda: edited(BOOK, "<sheets>", '<fileSharing reservationPassword="CC1A"/><sheets>'),
        "reserved",
        "password",
    ),
    "a chart sheet": (
        lambda: parts({"Prices": f'<chartsheet xmlns="{MAIN}"/>'}, kinds={"Prices": "chartsheet"}),
        "not-a-worksheet",
        "chart",
    ),
    "a DTD in the sheet": (lambda: edited(SHEET, "<worksheet ", DTD), "suspicious-file", SHEET),
    "a DTD in the workbook": (lambda: edited(BOOK, "<workbook ", DTD.replace("worksheet", "workbook")), "suspicious-file", BOOK),
    "UTF-16": (
        lambda: prices() | {SHEET: worksheet(ROW).replace("UTF-8", "UTF-16").encode("utf-16")},
        "not-utf-8",
        SHEET,
    ),
    "another encoding": (lambda: edited(SHEET, 'encoding="UTF-8"', 'encoding="ISO-8859-1"'), "not-utf-8", SHEET),
    "a cell twice": (lambda: prices('<row r="2"><c r="B2"/><c r="B2"/></row>'), "duplicate-cells", "twice"),
    "a row twice": (lambda: prices('<row r="2"/><row r="2"/>'), "duplicate-cells", "row 2"),
    "rows out of order": (lambda: prices('<row r="3"/><row r="2"/>'), "out-of-order", "row 2"),
    "cells out of order": (lambda: prices('<row r="2"><c r="C2"/><c r="B2"/></row>'), "out-of-order", "C2"),
    "a cell in another row": (lambda: prices('<row r="2"><c r="B3"/></row>'), "bad-reference", "B3"),
    "a row beyond the grid": (lambda: prices('<row r="1048577"/>'), "bad-reference", "1048577"),
    "a row without number": (lambda: prices('<row r="two"/>'), "bad-reference", "two"),
    "a cell beyond the grid": (lambda: prices('<row r="2"><c r="XFE2"/></row>'), "bad-reference", "XFE2"),
    "a merge of nothing": (
        lambda: prices(after='<mergeCells><mergeCell ref="here"/></mergeCells>'),
        "bad-reference",
        "here",
    ),
    "an array elsewhere": (lambda: prices(formula(' t="array" ref="D5:E6"')), "bad-reference", "covers"),
    "something between rows": (lambda: prices('<line r="2"/>'), "damaged-file", "not a row"),
    "cells twice": (lambda: prices(after="<sheetData/>"), "damaged-file", "two sets"),
    "no cells": (lambda: edited(SHEET, "sheetData", "sheetDate"), "not-a-worksheet", "no cells"),
    "another root": (lambda: edited(SHEET, "worksheet", "dialogsheet"), "not-a-worksheet", "not a worksheet"),
    "broken XML": (lambda: edited(SHEET, "</row>", "</rows>"), "damaged-file", "line 2"),
    "an unknown prefix": (lambda: edited(SHEET, "<row ", "<y:row "), "damaged-file", SHEET),
    "text in the wrong bytes": (lambda: prices() | {SHEET: worksheet(ROW).encode() + b"\xff"}, "damaged-file", SHEET),
    "a missing sheet part": (
        lambda: {name: data for name, data in prices().items() if name != SHEET},
        "damaged-file",
        SHEET,
    ),
    "a missing relation": (lambda: edited(BOOK, 'r:id="rId1"', 'r:id="rId9"'), "damaged-file", "not in the file"),
    "a sheet elsewhere": (
        lambda: edited(
            "xl/_rels/workbook.xml.rels",
            'Target="worksheets/sheet1.xml"',
            'Target="https://example.com/s.xml" TargetMode="External"',
        ),
        "suspicious-file",
        "outside",
    ),
    "a path out of the workbook": (
        lambda: edited("xl/_rels/workbook.xml.rels", 'Target="worksheets/sheet1.xml"', 'Target="../../../etc/passwd"'),
        "suspicious-file",
        "passwd",
    ),
    "a sheet member twice": (lambda: prices() | {"XL/Worksheets/Sheet1.xml": b"<x/>"}, "suspicious-file", "Sheet1"),
    "a member with other slashes": (lambda: prices() | {"xl\\styles.xml": b"<x/>"}, "suspicious-file", "styles"),
    "another kind of document": (
        lambda: edited(
            "[Content_Types].xml",
            TYPE + "sheet.main+xml",
            "application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml",
        ),
        "not-a-workbook",
        "xlsx",
    ),
    "the binary kind": (
        lambda: edited(
            "[Content_Types].xml", TYPE + "sheet.main+xml", "application/vnd.ms-excel.sheet.binary.macroEnabled.main"
        ),
        "not-a-workbook",
        "xlsx",
    ),
    "an open document": (lambda: {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet"}, "opendocument", ".ods"),
    "any other zip": (lambda: {"notes.txt": b"hello"}, "not-a-workbook", ""),
    "a broken formula elsewhere": (
        lambda: parts({"Prices": worksheet(ROW), "Other": worksheet('<row r="1"><c r="A1"><f>1</f></row>')}),
        "damaged-file",
        "sheet2.xml",
    ),
}


@pytest.mark.parametrize("name", WORKBOOKS)
def test_workbooks_that_are_not_written(name: str, tmp_path: Path) -> None:
    """Each case of the table is refused as a whole, with the code and the words given."""
    members, code, words = WORKBOOKS[name]
    problem = one(tmp_path / "book.xlsx", members())
    assert problem.code == code
    assert words in f"{problem.message} {problem.cell}"


def _patched(find: bytes, at: int, new: bytes, which: int = 0) -> bytes:
    """The little workbook with some bytes of its zip replaced, counted from a signature."""
    data = bytearray(zipped(prices()))
    place = -1
    for _ in range(which + 1):
        place = data.index(find, place + 1)
    data[place + at : place + at + len(new)] = new
    return bytes(data)


def _overlapping() -> bytes:
    """A zip of which two directory entries lead to the same bytes."""
    data = zipped(prices())
    entries = []
    place = data.index(b"PK\1\2")
    while data[place : place + 4] == b"PK\1\2":
        length = 46 + sum(int.from_bytes(data[place + at : place + at + 2], "little") for at in (28, 30, 32))
        entries.append(bytearray(data[place : place + length]))
        place += length
    entries[1][42:46] = entries[0][42:46]
    return data[: data.index(b"PK\1\2")] + b"".join(entries) + data[place:]


def _compound(stream: str) -> bytes:
    return b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600) + stream.encode("utf-16-le") + bytes(500)


def _bzip2() -> bytes:
    return zipped(prices(), zipfile.ZIP_BZIP2)


def _stored_bomb() -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in prices().items():
            package.writestr(name, data if name != BOOK else data + b" " * 70_000_000)
    return target.getvalue()


FILES: dict[str, tuple[Callable[[], bytes], str]] = {
    "an encrypted workbook": (lambda: _compound("EncryptedPackage"), "encrypted-workbook"),
    "an old workbook": (lambda: _compound("Workbook"), "old-workbook"),
    "an encrypted member": (lambda: _patched(b"PK\1\2", 8, b"\1\0"), "encrypted-workbook"),
    "a member of unknown encryption": (lambda: _patched(b"PK\1\2", 10, b"\x63\0"), "unusual-packing"),
    "a table of figures as text": (lambda: b"Product,Price\nBench,40\n", "text-file"),
    "nothing": (lambda: b"", "empty-file"),
    "a web page": (lambda: b"<html></html>", "web-page"),
    "half a zip": (lambda: zipped(prices())[:900], "damaged-file"),
    "something behind": (lambda: zipped(prices()) + b"more", "damaged-file"),
    "something before": (lambda: b"PK, more" + zipped(prices()), "damaged-file"),
    "a directory elsewhere": (lambda: _patched(b"PK\5\6", 16, b"\1\0\0\0"), "damaged-file"),
    "too few members": (lambda: _patched(b"PK\5\6", 8, b"\2\0\2\0"), "damaged-file"),
    "too many members": (lambda: _patched(b"PK\5\6", 8, b"\x63\0\x63\0"), "damaged-file"),
    "several disks": (lambda: _patched(b"PK\5\6", 4, b"\1\0"), "damaged-file"),
    "a wrong checksum": (lambda: _patched(b"PK\1\2", 16, b"\1\2\3\4", which=2), "damaged-file"),
    "a wrong size": (lambda: _patched(b"PK\1\2", 24, b"\1\0\0\0", which=2), "damaged-file"),
    "a missing wide size": (lambda: _patched(b"PK\1\2", 24, b"\xff\xff\xff\xff"), "file-too-large"),
    "a place beyond the file": (lambda: _patched(b"PK\1\2", 42, b"\xff\xff\xff\x7f"), "damaged-file"),
    "two names for a member": (lambda: _patched(b"PK\3\4", 30, b"{"), "damaged-file"),
    "packed bytes that are none": (lambda: _patched(b"PK\3\4", 30 + len("[Content_Types].xml"), b"\xff"), "damaged-file"),
    "overlapping members": (_overlapping, "suspicious-file"),
    "another way of packing": (_bzip2, "unusual-packing"),
    "a part that unpacks too large": (_stored_bomb, "file-too-large"),
}


@pytest.mark.parametrize("name", FILES)
def test_files_that_are_not_written(name: str, tmp_path: Path) -> None:
    """Each case of the table is refused by its bytes, and they stay."""
    make, code = FILES[name]
    path = tmp_path / "book.xlsx"
    path.write_bytes(make())
    assert codes(refused(path, CellWrite("Prices", "B2", 5))) == [code]


@pytest.mark.parametrize("every", [7, pytest.param(1, marks=pytest.mark.slow)])
def test_a_damaged_byte_gives_a_sentence_or_a_written_value(every: int, tmp_path: Path) -> None:
    """Whatever byte of a workbook is damaged: either a refusal, or the value is written; never a traceback."""
    whole = zipped(prices())
    path = tmp_path / "book.xlsx"
    done = 0
    for place in range(0, len(whole), every):
        damaged = bytearray(whole)
        damaged[place] ^= 0x55
        path.write_bytes(damaged)
        problems = Problems()
        if write_cells(path, [CellWrite("Prices", "B2", 5)], problems, backup=False) is None:
            assert len(problems.errors) == 1
            assert path.read_bytes() == bytes(damaged)
        else:
            done += 1
            with zipfile.ZipFile(path) as package:
                assert b"<v>5</v>" in package.read(SHEET)
            assert len(path.read_bytes()) > 0.9 * len(whole)
    assert 0 < done < len(whole) // every


def validation(kind: str, first: str = "", second: str = "", **attributes: str) -> str:
    given_attributes = "".join(f' {name}="{value}"' for name, value in attributes.items())
    formulas = f"<formula1>{first}</formula1>" + (f"<formula2>{second}</formula2>" if second else "")
    shown = "" if "showErrorMessage" in attributes else ' showErrorMessage="1"'
    start = f'<dataValidations count="1"><dataValidation type="{kind}"{shown}{given_attributes} sqref="A9 B2:B8">'
    return f"{start}{formulas}</dataValidation></dataValidations>"


@pytest.mark.parametrize(
    ("rule", "value", "allowed"),
    [
        (validation("decimal", "0", "100"), 100, True),
        (validation("decimal", "0", "100"), 100.5, False),
        (validation("decimal", "0", "100", operator="notBetween"), 100.5, True),
        (validation("decimal", "0", "100"), "text", False),
        (validation("decimal", "0", "100"), None, True),
        (validation("decimal", "1.5E2", operator="greaterThanOrEqual"), 150, True),
        (validation("decimal", "-3.5", operator="lessThan"), -3.5, False),
        (validation("decimal", "0", operator="greaterThan"), 0, False),
        (validation("decimal", "5", operator="equal"), 5, True),
        (validation("decimal", "5", operator="notEqual"), 5, False),
        (validation("decimal", "5", operator="lessThanOrEqual"), 5, True),
        (validation("decimal", "5", operator="strange"), 5, False),
        (validation("decimal", "A1", operator="greaterThan"), 5, False),
        (validation("decimal", "0", "A1"), 5, False),
        (validation("whole", "0", "100"), 5, True),
        (validation("whole", "0", "100"), 5.5, False),
        (validation("date", "45000", operator="greaterThan"), 46000, True),
        (validation("textLength", "3", operator="lessThanOrEqual"), "abc", True),
        (validation("textLength", "3", operator="lessThanOrEqual"), "abcd", False),
        (validation("textLength", "3", operator="lessThanOrEqual"), 1234, False),
        (validation("list", '"yes,no, 3"'), "no", True),
        (validation("list", '"yes,no, 3"'), "No", False),
        (validation("list", '"yes,no, 3"'), 3, True),
        (validation("list", '"yes,no, 3"'), 4, False),
        (validation("list", "$A$1:$A$9"), "yes", False),
        (validation("custom", "ISNUMBER(B2)"), 5, False),
        (validation("custom", "ISNUMBER(B2)"), None, True),
        (validation("custom", "FALSE", showErrorMessage="0"), 5, True),
        (validation("none"), 5, True),
        (validation("decimal", "0", "1").replace("A9 B2:B8", "A9 C2:C8"), 5, True),
    ],
)
def test_data_validation_is_obeyed(rule: str, value: float | str | None, allowed: bool, tmp_path: Path) -> None:
    """A value is written where the validation surely lets it in, and refused where not or where it cannot be told."""
    path = tmp_path / "book.xlsx"
    path.write_bytes(zipped(prices(after=rule)))
    if allowed:
        problems = Problems()
        assert write_cells(path, [CellWrite("Prices", "B2", value)], problems), list(problems)
        assert not problems
    else:
        (problem,) = refused(path, CellWrite("Prices", "B2", value))
        assert (problem.code, problem.cell) == ("validation", "B2")


def test_a_validation_that_only_warns_lets_the_value_in_with_a_warning(tmp_path: Path) -> None:
    """Where the program would ask and go on, the value is written and the maker is told."""
    path, problems = tmp_path / "book.xlsx", Problems()
    path.write_bytes(zipped(prices(after=validation("decimal", "0", "1", errorStyle="warning"))))
    assert write_cells(path, [CellWrite("Prices", "B2", 5)], problems)
    assert codes(problems.warnings) == ["validation-warns"]
    assert not problems.errors


def test_validations_of_the_newer_kind_are_obeyed(tmp_path: Path) -> None:
    """A validation in the sheet's extension, with its cells in an element of their own, counts too."""
    newer = """<extLst><ext uri="{CCE6A557-97BC-4b89-ADB6-D9C93CAAB3DF}" xmlns:y="urn:newer" xmlns:xm="urn:text">
    <y:dataValidations count="1"><y:dataValidation type="decimal" showErrorMessage="1" operator="between">
    <y:formula1><xm:f>0</xm:f></y:formula1><y:formula2><xm:f>10</xm:f></y:formula2><xm:sqref>B2:B8</xm:sqref>
    </y:dataValidation></y:dataValidations></ext></extLst>"""
    path, problems = tmp_path / "book.xlsx", Problems()
    path.write_bytes(zipped(prices(after=newer)))
    assert codes(refused(path, CellWrite("Prices", "B2", 11))) == ["validation"]
    assert write_cells(path, [CellWrite("Prices", "B2", 10)], problems), list(problems)


def test_an_unknown_kind_of_validation_lets_nothing_in() -> None:
    """What is not understood is not taken for permission."""
    assert not permits(Validation({"type": "colour"}, "1", "2"), 1.5)


def test_a_workbook_with_all_its_features_has_its_refusals(tmp_path: Path) -> None:
    """In the rich workbook the formulas, the heading, the merged cells, the chart sheet and the validation hold."""
    path = rich_workbook(tmp_path / "book.xlsx")
    cases = {
        CellWrite("Products", "E5", 1): "formula",
        CellWrite("Products", "D4", 1): "table-heading",
        CellWrite("Products", "B13", 1): "merged",
        CellWrite("Graph", "A1", 1): "not-a-worksheet",
        CellWrite("Products", "D5", -1): "validation",
        CellWrite("Products", "D6", "ask"): "validation",
        CellWrite("Price list", "D6", 1): "sheet-missing",
    }
    assert sorted(codes(refused(path, *cases))) == sorted(cases.values())
    for write, code in cases.items():
        assert codes(refused(path, write)) == [code]


def test_relations_are_read_in_every_spelling(tmp_path: Path) -> None:
    """Absolute, percent-escaped and differently cased targets of parts are found."""
    for target in (
        "/xl/worksheets/sheet1.xml",
        "WORKSHEETS/Sheet1.xml",
        "worksheets/./sheet%31.xml",
        "worksheets\\sheet1.xml",
    ):
        path, problems = tmp_path / "book.xlsx", Problems()
        members = edited("xl/_rels/workbook.xml.rels", "worksheets/sheet1.xml", target)
        path.write_bytes(zipped(members))
        assert write_cells(path, [CellWrite("Prices", "B2", 5)], problems), list(problems)
    assert PACKAGE_RELATIONS in members["_rels/.rels"].decode()
    assert RELATIONS in members[BOOK].decode()
