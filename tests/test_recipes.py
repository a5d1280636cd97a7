"""The recipes of the contributors' page, each followed to the letter in a copy of the package."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

_STEP = re.compile(
    r"^(?:New file `(?P<new>[^`]+)`|In `(?P<file>[^`]+)`, (?P<how>above|instead of) `(?P<what>[^`]+)`|(?P<then>Then)):\n\n"
    r"```python\n(?P<code>.*?)```$", re.MULTILINE | re.DOTALL)

RECIPES: dict[str, str] = {}
for _part in re.split(r"^### Recipe: ", PAGE, flags=re.MULTILINE)[1:]:
    _title, _, _text = _part.partition("\n")
    RECIPES[_title] = _text


def test_there_is_a_recipe_for_everything_that_is_often_added() -> None:
    """A shape, a driver, a cost element, a sheet of the price book, a report."""
    assert list(RECIPES) == ["a shape", "a driver", "a cost element", "a sheet of the price book", "a report"]


@pytest.mark.parametrize("title", RECIPES)
def test_a_recipe_followed_to_the_letter(title: str, tmp_path: Path) -> None:
    """Every step finds its place, and what it says holds then."""
    shutil.copytree(ROOT / "pricing", tmp_path / "pricing", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "workbooks", tmp_path / "workbooks", ignore=shutil.ignore_patterns("pictures", "demo", "demo imperial"))
    text = RECIPES[title].partition("\n## ")[0]
    steps = list(_STEP.finditer(text))
    assert len(steps) == text.count("```python") >= 2
    for step in steps:
        if step["new"]:
            assert not (tmp_path / step["new"]).exists()
            (tmp_path / step["new"]).write_text(step["code"], encoding="utf-8")
        elif step["file"]:
            path = tmp_path / step["file"]
            content, old = path.read_text(encoding="utf-8"), step["what"]
            assert content.count(old) >= 1, f"{step['file']} has no {old}"
            code = step["code"] + old if step["how"] == "above" else step["code"].removesuffix("\n")
            path.write_text(content.replace(old, code, 1), encoding="utf-8")
        else:
            done = subprocess.run(
                [sys.executable, "-c", step["code"]], cwd=tmp_path, env=os.environ | {"PYTHONPATH": str(tmp_path)}, capture_output=True,
                text=True, check=False)
            assert done.returncode == 0, done.stderr
    assert steps[-1]["then"]
