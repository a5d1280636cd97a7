"""The direction of the layers, and what may be imported when: a drawing of the architecture that can fail."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "pricing"

#: What each layer may rest on, besides itself; a layer is a module or a folder of the package.
_GROUND = {"problems", "money", "glossary", "text", "files", "units", "quantities", "frames", "algebra", "rules"}

MAY_IMPORT: dict[str, set[str]] = {
    "problems": set(),
    "money": set(),
    "glossary": set(),
    "text": set(),
    "files": set(),
    "units": {"money"},
    "quantities": {"units"},
    "frames": set(),
    "algebra": {"money"},
    "rules": {"algebra", "glossary", "money"},
    "xlsx": {"files", "problems", "text"},
    "book": {*_GROUND, "xlsx"},
    "costing": {*_GROUND, "xlsx", "book"},
    "register": {*_GROUND, "xlsx", "book", "costing"},
    "repricing": {*_GROUND, "xlsx", "book", "costing", "register"},
    "reports": {*_GROUND, "xlsx", "book", "costing", "register", "repricing"},
    "api": {*_GROUND, "xlsx", "book", "costing", "register", "repricing", "reports"},
    "cli": {"problems", "money", "api"},
    "__init__": {"problems", "api"},
}

#: Heavy libraries, and the layers that may import them at all. Writing into a workbook is the business of sheets and of the
#: starter book; the core knows no spreadsheet library and no command line.
HEAVY: dict[str, set[str]] = {
    "openpyxl": {"reports"},
    "xlsxwriter": {"xlsx", "reports", "book"},
    "click": {"cli"},
    "pandas": {"costing", "api", "frames"},
    "pint": {"units", "quantities"},
    "ortools": {"costing"},
    "PIL": {"reports", "xlsx"},
    "pyarrow": {"costing"},
    "dask": {"costing"},
    "distributed": {"costing"},
    "trimesh": {"book"},
}


def modules() -> list[Path]:
    return sorted(path for path in PACKAGE.rglob("*.py"))


def layer_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return parts[0]


def imports_of(path: Path) -> list[tuple[str, bool]]:
    """Every imported module by its full name, and whether it is imported as soon as this one is."""
    found = []
    tree = ast.parse(path.read_text(encoding="utf-8"))
    late = {id(node) for outer in ast.walk(tree) if isinstance(outer, ast.FunctionDef) for node in ast.walk(outer)}
    for outer in ast.walk(tree):
        if isinstance(outer, ast.If) and "TYPE_CHECKING" in ast.dump(outer.test):
            late |= {id(node) for node in ast.walk(outer)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [(alias.name, id(node) not in late) for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found += [(f"{node.module}.{alias.name}", id(node) not in late) for alias in node.names]
    return found


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_layers_point_one_way(path: Path) -> None:
    """A module imports only from its own layer and from those below it, early or late."""
    layer = layer_of(path)
    allowed = MAY_IMPORT[layer]
    for name, _ in imports_of(path):
        if name.startswith("pricing.") and name.split(".")[1] != layer:
            target = name.split(".")[1]
            assert target in allowed or any(name.startswith(f"pricing.{each}") for each in allowed) or name in {
                "pricing.BookError", "pricing.Problem", "pricing.Problems"}, f"{layer} must not import {name}"


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_heavy_libraries_stay_in_their_layers(path: Path) -> None:
    """Spreadsheet libraries, the command line, data frames and units are imported only where they belong."""
    layer = layer_of(path)
    for name, _ in imports_of(path):
        top = name.split(".")[0]
        assert top not in HEAVY or layer in HEAVY[top], f"{layer} must not import {name}"


def loaded_by(code: str) -> set[str]:
    """The modules that a fresh interpreter holds after running some code."""
    script = f"{code}\nimport sys\nprint(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    return set(done.stdout.split())


@pytest.mark.parametrize(
    ("code", "absent"),
    [
        ("import pricing", ("numpy", "pandas", "openpyxl", "xlsxwriter", "click", "pint")),
        ("import pricing.cli", ("numpy", "pandas", "openpyxl", "xlsxwriter", "pint")),
        ("import pricing.costing.method.costing", ("pandas", "openpyxl", "xlsxwriter", "click", "pint")),
        ("import pricing.api", ("pandas", "openpyxl", "xlsxwriter", "click", "pint")),
    ],
)
def test_what_is_not_used_is_not_loaded(code: str, absent: tuple[str, ...]) -> None:
    """Importing a part of the package loads none of the heavy libraries that it does not need at once."""
    assert loaded_by(code).isdisjoint(absent)


def test_every_layer_is_drawn() -> None:
    """No folder or module of the package is missing from the drawing."""
    assert {layer_of(path) for path in modules()} <= set(MAY_IMPORT)
