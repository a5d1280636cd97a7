"""The guard before the reader: what it lets through, what it says, and where relationships may lead."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.problems import Problems
from pricing.xlsx.package.archive import LARGEST_FILE, inspect, resolve
from pricing.xlsx.package.limits import MOST_CELLS, Budget
from pricing.xlsx.refused import RefusedError, shown


def archive(path: Path, parts: dict[str, str]) -> Path:
    """A zip archive."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for name, text in parts.items():
            target.writestr(name, text)
    return path


def test_an_archive_with_the_parts_of_a_workbook_passes_unparsed(tmp_path: Path) -> None:
    """The guard opens the archive and looks into no part: that is the reader's work."""
    path = archive(tmp_path / "book.xlsx", {"[Content_Types].xml": "<not even XML", "xl/Workbook.xml": "12.5"})
    problems = Problems()
    package = inspect(path, problems)
    assert package is not None
    assert not problems
    with package:
        assert "XL/workbook.XML" in package
        assert "xl/other.xml" not in package
        assert b"".join(package.blocks("xl/workbook.xml")) == b"12.5"


def test_a_part_is_given_in_blocks_and_no_larger_than_allowed(tmp_path: Path) -> None:
    """A part beyond the limit that a reader sets for it is refused before its first byte."""
    path = archive(tmp_path / "book.xlsx", {"[Content_Types].xml": "x", "part": "ab" * 500})
    package = inspect(path, Problems())
    assert package is not None
    with package:
        assert [len(block) for block in package.blocks("part", 1000, 300)] == [300, 300, 300, 100]
        with pytest.raises(RefusedError, match="more than"):
            next(package.blocks("part", 999))
        with pytest.raises(RefusedError, match="missing"):
            next(package.blocks("nothing"))


def test_the_file_is_closed_again_and_can_be_replaced(tmp_path: Path) -> None:
    """A refused file is not held open, nor is one that was read."""
    path = archive(tmp_path / "book.xlsx", {"[Content_Types].xml": "x"})
    package = inspect(path, Problems())
    assert package is not None
    with package:
        pass
    assert package.archive.fp is None
    assert package.stream.closed
    assert inspect(archive(path, {"mimetype": "application/vnd.oasis.opendocument.spreadsheet"}), Problems()) is None


def test_a_file_of_great_size_is_refused_without_reading_it(tmp_path: Path) -> None:
    """A sparse file of 300 MiB takes no time."""
    path = tmp_path / "book.xlsx"
    with path.open("wb") as stream:
        stream.truncate(LARGEST_FILE + 1)
    problems = Problems("book.xlsx")
    assert inspect(path, problems) is None
    assert [problem.code for problem in problems] == ["file-too-large"]
    assert "256 MiB" in str(problems.errors[0])


def test_a_name_that_no_file_can_have_is_a_sentence(tmp_path: Path) -> None:
    """A zero byte in a name is no traceback."""
    problems = Problems()
    assert inspect(tmp_path / "a\0b.xlsx", problems) is None
    assert [problem.code for problem in problems] == ["unreadable-file"]


def test_a_file_that_may_not_be_read_is_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file without the right to read it, or one that another program holds, says so."""
    path = archive(tmp_path / "book.xlsx", {"[Content_Types].xml": "x"})

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    problems = Problems()
    assert inspect(path, problems) is None
    assert "close it elsewhere" in str(problems.errors[0])


LEADS = [
    ("xl/workbook.xml", "worksheets/sheet1.xml", "xl/worksheets/sheet1.xml"),
    ("xl/workbook.xml", "/xl/worksheets/sheet1.xml", "xl/worksheets/sheet1.xml"),
    ("xl/worksheets/sheet1.xml", "../tables/table1.xml", "xl/tables/table1.xml"),
    ("xl/workbook.xml", "./a/../b%20c.xml", "xl/b c.xml"),
    ("xl/workbook.xml", "worksheets\\sheet1.xml", "xl/worksheets/sheet1.xml"),
    ("xl/workbook.xml", "sheet%C3%B8.xml#A1", "xl/sheetø.xml"),
    ("", "xl/workbook.xml", "xl/workbook.xml"),
]
LEADS_OUT = [
    "../../x",
    "/../x",
    "%2e%2e/%2e%2e/x",
    "..\\..\\x",
    "http://a/b",
    "file:///x",
    "//host/x",
    "\\\\host\\x",
    "c:\\x",
]


@pytest.mark.parametrize(("source", "target", "part"), LEADS)
def test_a_relationship_leads_to_a_part(source: str, target: str, part: str) -> None:
    """Relative and absolute targets, in code or with backslashes, name the same parts."""
    assert resolve(source, target) == part


@pytest.mark.parametrize("target", LEADS_OUT)
def test_a_relationship_that_leads_out_is_refused(target: str) -> None:
    """No target leads to the disk, the network, or above the archive."""
    with pytest.raises(RefusedError) as refused:
        resolve("xl/workbook.xml", target)
    assert refused.value.code == "suspicious-file"


@given(st.text(alphabet="./\\%2eE5cCab:#", max_size=24))
def test_no_relationship_leads_above_the_archive(target: str) -> None:
    """Whatever the target, the part is a plain path within the archive, or it is refused."""
    try:
        part = resolve("xl/workbook.xml", target)
    except RefusedError:
        return
    assert not part.startswith("/")
    assert ".." not in part.split("/")
    assert "\\" not in part


@given(st.text(max_size=200))
def test_what_is_shown_of_a_file_is_one_short_printable_line(text: str) -> None:
    """Control characters and marks of direction from a file never reach the terminal."""
    found = shown(text)
    assert len(found) <= 61
    assert all(character.isprintable() for character in found)


def test_the_budget_ends_in_a_sentence() -> None:
    """A large file may hold more than a small one, and either ends in a sentence."""
    assert Budget(100).memory < Budget(20_000_000).memory == Budget(200_000_000).memory
    assert Budget(100).cells < Budget(20_000_000).cells == Budget(200_000_000).cells == MOST_CELLS
    budget = Budget(100)
    budget.spend(cells=budget.cells)
    with pytest.raises(RefusedError, match="holds more than can be read"):
        budget.spend(cells=1)
