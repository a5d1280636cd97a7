"""Odd and hostile workbooks: each is read right, or refused in one sentence that says what to do."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest
from generator import Fault, all_faults

from pricing.problems import Problems
from pricing.xlsx.reading.workbook import Workbook, read_workbook

KINDS = {float: "number", str: ("text", "error"), bool: "bool", datetime.datetime: "date", type(None): "blank"}


def value_at(workbook: Workbook, place: str) -> object:
    """What stands at a place such as ``Prices!B2``."""
    name, _, address = place.rpartition("!")
    sheet = next(one for one in workbook.sheets if one.name == name)
    found = [one for one in sheet.cells.values() if one.address == address]
    assert found, f"nothing stands at {place}"
    assert found[0].kind in KINDS[type(found[0].value)]
    return found[0].value


@pytest.mark.parametrize("fault", all_faults(), ids=lambda fault: fault.name)
def test_each_file_is_read_right_or_refused_with_its_reason(fault: Fault, tmp_path: Path) -> None:
    """The problems are exactly those expected, and the cells hold exactly what was written."""
    path = fault.write(tmp_path)
    problems = Problems()
    workbook = read_workbook(path, problems)
    assert {problem.code for problem in problems} == fault.codes
    sentences = "\n".join(map(str, problems))
    for word in fault.words:
        assert word in sentences
    for problem in problems:
        assert problem.file == fault.name
        assert len(problem.message) < 400
        assert re.fullmatch(r"[^\x00-\x1f\x7f\u202a-\u202e\u2066-\u2069]+", str(problem))
    if fault.cells is None:
        assert workbook is None
        assert problems.errors
        return
    assert workbook is not None
    for place, expected in fault.cells.items():
        found = value_at(workbook, place)
        assert type(found) is type(expected)
        assert found == expected
    for check in fault.checks:
        assert check(workbook)


def test_there_are_many_faults() -> None:
    """At least 120 files, both honest and hostile."""
    faults = all_faults()
    assert len(faults) >= 120
    assert sum(fault.cells is None for fault in faults) >= 60
    assert sum(fault.cells is not None for fault in faults) >= 60
