"""Files that a suite wrote: the workbook is read as it was meant, the other kinds get their sentence."""

from __future__ import annotations

import datetime
import subprocess
from pathlib import Path

import openpyxl
import pytest
from referee import need_office

from pricing.problems import Problems
from pricing.xlsx.reading.workbook import Workbook, read_workbook

VALUES: dict[str, object] = {
    "A1": "Item",
    "B1": "grey slab & “kerb”",
    "A2": 12.5,
    "B2": 0.3,
    "C2": True,
    "A3": datetime.datetime(2025, 1, 1),
    "B3": datetime.datetime(2025, 1, 1, 18, 30),
    "A4": "=A2*2",
    "B4": "=1/0",
    "C4": '=A1&"!"',
}
READ = VALUES | {"A4": 25.0, "B4": "#DIV/0!", "C4": "Item!"}


def converted(folder: Path, kind: str) -> Path:
    """A small workbook, written by a library and saved by the suite."""
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = "Prices"
    for place, value in VALUES.items():
        page[place] = value
    page["A2"].number_format = '0.0" kg"'
    page.row_dimensions[3].hidden = True
    page.merge_cells("A6:B7")
    book.create_sheet("Old").sheet_state = "hidden"
    source = folder / "source.xlsx"
    book.save(source)
    out = folder / "out"
    subprocess.run(
        [
            need_office(), f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--convert-to", kind, "--outdir",
            str(out), str(source),
        ],
        check=True, capture_output=True, timeout=120,
    )
    return out / f"source.{kind}"


def outcome(path: Path) -> tuple[Workbook | None, Problems]:
    """What comes of a file."""
    problems = Problems()
    return read_workbook(path, problems), problems


@pytest.mark.slow
def test_a_workbook_of_a_suite_is_read_as_it_was_meant(tmp_path: Path) -> None:
    """Values, results, formats, hidden rows and sheets survive the suite and are read."""
    found, problems = outcome(converted(tmp_path, "xlsx"))
    assert found is not None, [str(problem) for problem in problems]
    assert not problems
    assert [(sheet.name, sheet.state) for sheet in found.sheets] == [("Prices", "visible"), ("Old", "hidden")]
    sheet = found.sheets[0]
    cells = {cell.address: cell for cell in sheet.cells.values()}
    assert {place: cells[place].value for place in READ} == READ
    assert cells["A4"].formula == "A2*2"
    assert cells["A2"].number_format == '0.0" kg"'
    assert sheet.hidden_rows == {3}
    assert sheet.merged == [(6, 1, 7, 2)]
    assert not found.results_doubtful


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "code"),
    [("ods", "opendocument"), ("fods", "opendocument"), ("xls", "old-workbook"), ("csv", "text-file"), ("html", "web-page")],
)
def test_other_kinds_that_a_suite_saves_get_their_sentence(tmp_path: Path, kind: str, code: str) -> None:
    """Each is told to be saved as .xlsx, whatever its name says."""
    path = converted(tmp_path, kind)
    for name in (path.name, "renamed.xlsx"):
        path = path.rename(path.with_name(name))
        found, problems = outcome(path)
        assert found is None
        assert [problem.code for problem in problems] == [code]
        assert ".xlsx" in str(problems.errors[0])
