"""The examples run as they are written."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
EXAMPLES = sorted((ROOT / "examples").glob("*.py"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_an_example_runs(path: Path) -> None:
    """Each example prints a table of figures from the demo price book, and complains of nothing."""
    done = subprocess.run([sys.executable, "-W", "error", str(path)], capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.splitlines()) > 2


def test_there_are_examples() -> None:
    """The folder of examples holds at least two."""
    assert len(EXAMPLES) >= 2
