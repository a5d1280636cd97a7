"""Published cutting instances as test parameters, and the solver that some of them need."""

from __future__ import annotations

import os
from collections.abc import Container
from importlib.util import find_spec
from typing import Any

import pytest
from data_sets import data_file, read_json


def records(name: str, quick: Container[str] | None = None) -> list[Any]:
    """The records of a data set as test parameters, or one that stands for a data set that is not there.

    Where `quick` is given, records with other identities are marked slow.
    """
    try:
        found = read_json(name)
    except (pytest.skip.Exception, pytest.fail.Exception):
        return [pytest.param({"missing": name}, id="the data set is not there")]
    marks = [() if quick is None or record["id"] in quick else (pytest.mark.slow,) for record in found]
    return [pytest.param(record, id=record["id"], marks=mark) for record, mark in zip(found, marks, strict=True)]


def need(record: dict[str, Any]) -> None:
    """Skip, or fail where tests run for everybody, when the record's data set is not there."""
    if "missing" in record:
        data_file(record["missing"])


def need_solver() -> None:
    """Skip, or fail where tests run for everybody (CI=true), when the optional solver is not installed."""
    if find_spec("ortools") is None:
        reason = "the optional package ortools is not installed: install pricing with its nesting extra"
        if os.environ.get("CI", "").lower() == "true":
            pytest.fail(reason)
        pytest.skip(reason)
