"""The referee of every workbook: LibreOffice computes it afresh, from no stored results, and the tests compare.

A private profile sets OOXMLRecalcMode to 0 (always): the default keeps stored results, and would agree with anything.
LibreOffice writes numbers with 15 significant digits, so a figure agrees exactly or to about 1e-14 relative.
"""

from __future__ import annotations

import math
import os
import re
import shutil
import subprocess
import tempfile
import warnings
import zipfile
from collections.abc import Sequence
from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook import Workbook

#: Always compute on loading, never trust stored results.
PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>"""

_STORED = re.compile(r"(<f\b[^>]*?(?:/>|>[^<]*</f>))\s*<v(?:/>|>[^<]*</v>)")
_SHEET = re.compile(r"xl/worksheets/[^/]+\.xml")

MISSING = "soffice is not installed (Debian package libreoffice-calc-nogui): workbooks cannot be recalculated"


def need_office() -> str:
    """The path of soffice; the test is skipped where there is none, and fails where it runs for everybody (CI=true)."""
    found = shutil.which("soffice")
    if found is None:
        if os.environ.get("CI", "").lower() == "true":
            pytest.fail(MISSING)
        pytest.skip(MISSING)
    return found


@pytest.fixture
def requires_office() -> str:
    """For tests that recalculate: ``pytest.mark.usefixtures("requires_office")``."""
    return need_office()


def without_results(path: Path, out: Path) -> int:
    """Write to *out* a copy of a workbook whose formulas have no stored result; returns how many were taken away."""
    taken = 0
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for member in source.infolist():
            content = source.read(member)
            if _SHEET.fullmatch(member.filename):
                text, count = _STORED.subn(r"\1", content.decode("utf-8"))
                content, taken = text.encode("utf-8"), taken + count
            target.writestr(member, content)
    return taken


def with_stored_result(path: Path, out: Path, sheet_part: str, cell: str, value: float) -> None:
    """Write to *out* a copy in which one formula cell carries another stored result: a planted fault."""
    stored = re.compile(rf'(<c r="{cell}"[^>]*><f\b[^>]*?(?:/>|>[^<]*</f>))<v>[^<]*</v>')
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for member in source.infolist():
            content = source.read(member)
            if member.filename == sheet_part:
                text, count = stored.subn(rf"\g<1><v>{value!r}</v>", content.decode("utf-8"))
                assert count == 1, f"{sheet_part} has no formula with a stored result in {cell}"
                content = text.encode("utf-8")
            target.writestr(member, content)


def recalculated_all(paths: Sequence[Path]) -> list[Workbook]:
    """The workbooks with every formula computed afresh by LibreOffice, in one call, as openpyxl reads their values."""
    office = need_office()
    with tempfile.TemporaryDirectory() as scratch:
        profile = Path(scratch, "profile")
        profile.joinpath("user").mkdir(parents=True)
        profile.joinpath("user", "registrymodifications.xcu").write_text(PROFILE, encoding="utf-8")
        blank, computed = Path(scratch, "blank"), Path(scratch, "computed")
        blank.mkdir()
        copies = [blank / f"{number}.xlsx" for number in range(len(paths))]
        for path, copy in zip(paths, copies, strict=True):
            without_results(path, copy)
        done = subprocess.run(
            [office, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", "xlsx:Calc MS Excel 2007 XML",
             "--outdir", str(computed), *map(str, copies)],
            capture_output=True, text=True, timeout=600, check=False,
        )
        made = [computed / copy.name for copy in copies]
        for path, result in zip(paths, made, strict=True):
            assert result.exists(), f"LibreOffice wrote nothing for {path}: {done.stderr.strip()}"
        with warnings.catch_warnings():  # the program's own copy writes the days of a chart as text, which openpyxl does not read
            warnings.filterwarnings("ignore", "Unable to read chart")
            return [openpyxl.load_workbook(result, data_only=True) for result in made]


def recalculated(path: Path) -> Workbook:
    """The workbook with every formula computed afresh by LibreOffice, as openpyxl reads its values."""
    return recalculated_all([path])[0]


def stored(path: Path) -> Workbook:
    """The workbook with the results that are stored in it."""
    return openpyxl.load_workbook(path, data_only=True)


def formulas_of(path: Path) -> dict[tuple[str, str], str]:
    """Every formula of a workbook by sheet and cell."""
    book = openpyxl.load_workbook(path)
    return {
        (sheet.title, cell.coordinate): str(cell.value)
        for sheet in book.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    }


def differences(one: Workbook, other: Workbook, slack: float = 1e-15) -> list[str]:
    """Cells in which two workbooks differ: text at all, figures beyond 1e-12 relative.

    Parameters
    ----------
    slack : absolute, for figures that are differences of equal amounts
    """
    found = []
    for sheet in one.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                mine, theirs = cell.value, other[sheet.title][cell.coordinate].value
                if isinstance(mine, int | float) and isinstance(theirs, int | float):
                    same = math.isclose(mine, theirs, rel_tol=1e-12, abs_tol=slack)
                else:
                    same = (mine or None) == (theirs or None)
                if not same:
                    found.append(f"{sheet.title}!{cell.coordinate}: {mine!r} is not {theirs!r}")
    return found
