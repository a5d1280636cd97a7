"""Where the published data sets lie: outside the project, never copied into it."""

from __future__ import annotations

import csv
import json
import os
from pathlib import Path
from typing import Any

import pytest


def data_file(name: str) -> Path:
    """The path of a data set; the test is skipped where there is none, and fails where it runs for everybody (CI=true)."""
    folder = Path(os.environ.get("PRICING_TEST_DATA") or Path(__file__).parents[2] / "shared" / "data")
    path = folder / name
    if not path.exists():
        reason = f"the data set {name} is not there: set PRICING_TEST_DATA to the folder that holds it"
        if os.environ.get("CI", "").lower() == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return path


def read_json(name: str) -> Any:
    """A data set in JSON."""
    return json.loads(data_file(name).read_text(encoding="utf-8"))


def read_rows(name: str) -> list[dict[str, str]]:
    """A data set in CSV, a dictionary a row."""
    with data_file(name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
