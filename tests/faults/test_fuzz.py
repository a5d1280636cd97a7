"""Mutated workbooks: whatever happens to the bytes, the reader gives a workbook or problems, never an error."""

from __future__ import annotations

import zipfile
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from packages import ROWS, cell, plain, relations, sheet, strings, styles, with_sheet, zipped

from pricing.problems import Problems
from pricing.xlsx.reading.workbook import Workbook, read_workbook

RICH = plain(
    {
        "xl/styles.xml": styles("dd/mm/yyyy", '0.0" kg"', "0%"),
        "xl/sharedStrings.xml": strings(raw="<si><r><t>a</t></r><rPh><t>b</t></rPh></si>"),
        "xl/worksheets/_rels/sheet1.xml.rels": relations(("rId1", "table", "../tables/table1.xml")),
        "xl/tables/table1.xml": '<table xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" ref="A1:B3" totalsRowCount="1"/>',
        "xl/worksheets/sheet1.xml": sheet(
            ROWS + '<row r="4" hidden="1"><c r="A4" s="1"><v>45658</v></c><c r="B4" t="b"><v>1</v></c>'
            '<c r="C4" t="e"><v>#N/A</v></c><c r="D4" t="str"><f>A1&amp;"x"</f><v>_x0041_</v></c>'
            '<c r="E4" t="inlineStr"><is><t>in</t></is></c><c r="F4" t="d"><v>2025-01-01</v></c></row>',
            after='<mergeCells><mergeCell ref="A6:B7"/></mergeCells>',
        ),
    }
)
ARCHIVE = zipped(RICH)
STORED = zipped(RICH, zipfile.ZIP_STORED)
NAMES = sorted(RICH)
SNIPPETS = [
    b"<", b">", b"/>", b'"', b"&", b"&lt;", b"&#0;", b"<!--", b"-->", b"<![CDATA[", b"]]>", b"<!DOCTYPE a>",
    b"<row>", b"</row>", b'<row r="2">', b"<c>", b"</c>", b'<c r="B2">', b"<v>", b"</v>", b"<f>", b"</f>",
    b"<is><t>x</t></is>", b"<sheetData>", b"</sheetData>", b' r="A1"', b' t="s"', b' t="d"', b' s="1"', b' s="99"',
    b"-1", b"1e999", b"NaN", b"99999999999", b"\x00", b"\xff", b"\xc3", b" ", b"\n", b"_x0000_", b"_xD800_",
    b' xmlns="urn:x"', b"<x:a/>", b' TargetMode="External"', b"../", b"%00", b"rId1", b"rId99",
    b"\xef\xbb\xbf", b'<?xml version="1.0" encoding="utf-16"?>',
]

FUZZ = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


def outcome(data: bytes) -> tuple[Workbook | None, Problems]:
    """What comes of some bytes; every sheet of a workbook is looked at whole."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "book.xlsx"
        path.write_bytes(data)
        problems = Problems()
        workbook = read_workbook(path, problems)
    if workbook is None:
        assert problems.errors
        assert all(problem.message and problem.code for problem in problems)
    else:
        for one in workbook.sheets:
            found = [entry for row in one.rows() for entry in one.row(row)]
            assert len(found) == len(one.cells)
            assert all(one.cells[entry.row, entry.column] == entry for entry in found)
    return workbook, problems


@st.composite
def mutations(draw: st.DrawFn, original: bytes) -> bytes:
    """Bytes with a few pieces changed, put in, doubled or cut out."""
    data = bytearray(original)
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(data)))
        end = min(len(data), start + draw(st.integers(0, 40)))
        piece = draw(st.sampled_from(SNIPPETS) | st.binary(max_size=4) | st.just(bytes(data[start:end]) * 2))
        data[start : draw(st.sampled_from([start, end]))] = piece
    return bytes(data)


@FUZZ
@given(mutations(ARCHIVE))
def test_mutated_archives_never_make_the_reading_fail(data: bytes) -> None:
    """Bytes of a packed workbook may change in any place."""
    outcome(data)


@FUZZ
@given(mutations(STORED))
def test_mutated_stored_archives_never_make_the_reading_fail(data: bytes) -> None:
    """Bytes of an unpacked workbook may change in any place; a changed part fails its check sum."""
    outcome(data)


@FUZZ
@given(st.data(), st.sampled_from(NAMES))
def test_mutated_parts_never_make_the_reading_fail(data: st.DataObject, name: str) -> None:
    """The XML of any part may change in any place, with a check sum that fits."""
    part = RICH[name]
    raw = part if isinstance(part, bytes) else part.encode()
    outcome(zipped({**RICH, name: data.draw(mutations(raw))}))


@FUZZ
@given(st.binary(max_size=400))
def test_any_bytes_are_refused_or_read(data: bytes) -> None:
    """Nothing but a workbook is a workbook."""
    workbook, _ = outcome(data)
    assert workbook is None


@FUZZ
@given(st.text(max_size=30), st.sampled_from(["n", "s", "b", "e", "d", "str", "inlineStr", "", "x"]), st.booleans())
def test_any_stored_text_of_any_kind_of_cell_is_a_value_or_a_problem(text: str, kind: str, formula: bool) -> None:
    """Whatever a cell stores, the cells around it are read."""
    escaped = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    inner = f"<is><t>{escaped}</t></is>" if kind == "inlineStr" else f"<v>{escaped}</v>"
    made = cell(f'<c r="B2" t="{kind}">{"<f>1+1</f>" if formula else ""}{inner}</c>')
    try:
        data = zipped(made)
    except UnicodeEncodeError:
        return
    workbook, problems = outcome(data)
    if workbook is not None:
        assert workbook.sheets[0].cells[3, 2].value == 8.0
    else:
        assert {problem.code for problem in problems} == {"damaged-file"}


def as_for_the_parser(part: bytes) -> bytes:
    """The same sheet, written so that no row has the plain form."""
    return part.replace(b"<sheetData>", b"<sheetData >").replace(b"</row>", b"</row >")


@FUZZ
@given(mutations(str(RICH["xl/worksheets/sheet1.xml"]).encode()))
def test_a_sheet_reads_the_same_by_pattern_and_by_parser(part: bytes) -> None:
    """Rows taken by pattern give what the parser gives; a space in the tags sends every row to the parser."""
    by_pattern, problems = outcome(zipped({**RICH, "xl/worksheets/sheet1.xml": part}))
    by_parser, others = outcome(zipped({**RICH, "xl/worksheets/sheet1.xml": as_for_the_parser(part)}))
    if any(mark in part[5:] for mark in (b"<!--", b"CDATA", b"<?")):
        return  # the spaces may have changed what these hold
    assert (by_pattern is None) == (by_parser is None)
    assert {problem.code for problem in problems} == {problem.code for problem in others}
    if by_pattern is not None and by_parser is not None:
        for one, two in zip(by_pattern.sheets, by_parser.sheets, strict=True):
            assert dict(one.cells) == dict(two.cells)
            assert (one.hidden_rows, one.merged) == (two.hidden_rows, two.merged)


def test_the_workbook_that_is_mutated_is_itself_read() -> None:
    """The fuzzing starts from a workbook that is read whole, so that it reaches every part of the reader."""
    workbook, problems = outcome(ARCHIVE)
    assert workbook is not None
    assert not problems
    assert len(workbook.sheets[0].cells) == 12
    assert workbook.sheets[0].totals_rows == {3}
    assert workbook.sheets[0].hidden_rows == {4}
    assert workbook.sheets[0].merged == [(6, 1, 7, 2)]


@pytest.mark.slow
@settings(FUZZ, max_examples=5000)
@given(st.data(), st.sampled_from(["archive", *NAMES]))
def test_many_mutations_never_make_the_reading_fail(data: st.DataObject, name: str) -> None:
    """The same for longer."""
    if name == "archive":
        outcome(data.draw(mutations(ARCHIVE)))
        return
    part = RICH[name]
    outcome(zipped({**RICH, name: data.draw(mutations(part if isinstance(part, bytes) else part.encode()))}))


def test_every_prefix_of_a_workbook_is_refused() -> None:
    """A download that stopped anywhere is refused, never half read."""
    for length in range(0, len(ARCHIVE), 37):
        workbook, _ = outcome(ARCHIVE[:length])
        assert workbook is None


def test_every_prefix_of_a_sheet_is_refused() -> None:
    """A sheet part that stops anywhere is refused, never half read."""
    whole = with_sheet(ROWS)["xl/worksheets/sheet1.xml"]
    assert isinstance(whole, str)
    for length in range(0, len(whole), 11):
        workbook, problems = outcome(zipped(plain({"xl/worksheets/sheet1.xml": whole[:length]})))
        assert workbook is None
        assert [problem.code for problem in problems] == ["damaged-file"]
