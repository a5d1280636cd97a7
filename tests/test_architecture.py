"""What may rest on what, folder by folder, and what may be imported when: a drawing of the architecture that can fail.

An import counts wherever it stands: at the head of a module, late in a function, or for the types alone.
"""

from __future__ import annotations

import ast
import functools
import subprocess
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "pricing"

#: What each layer may rest on, besides itself; a layer is a module or a folder of the package.
_GROUND = {
    "dataclass", "problems", "money", "glossary", "text", "languages", "files", "units", "quantities", "frames", "algebra", "rules",
    "arrays",
}

MAY_IMPORT: dict[str, set[str]] = {
    "dataclass": set(),
    "problems": {"dataclass"},
    "money": set(),
    "glossary": {"dataclass"},
    "text": set(),
    "files": set(),
    "languages": set(),
    "units": {"dataclass", "money"},
    "quantities": {"units"},
    "frames": set(),
    "arrays": {"dataclass"},
    "algebra": {"dataclass", "money"},
    "rules": {"algebra", "dataclass", "glossary", "money"},
    "xlsx": {"dataclass", "files", "problems", "text"},
    "book": {*_GROUND, "xlsx"},
    "costing": {*_GROUND, "xlsx", "book"},
    "register": {*_GROUND, "xlsx", "book", "costing"},
    "repricing": {*_GROUND, "xlsx", "book", "costing", "register"},
    "reports": {*_GROUND, "xlsx", "book", "costing", "register", "repricing"},
    "api": {*_GROUND, "xlsx", "book", "costing", "register", "repricing", "reports"},
    "cli": {"problems", "money", "api"},
    "__init__": {"problems", "api"},
    "__main__": {"cli"},
}

#: The folders of a layer, floor by floor from the ground: a folder rests on those of the floors below it, and on none beside
#: it. The full stop stands for the modules of the layer's own folder.
FLOORS: dict[str, tuple[str, ...]] = {
    "rules": (".", "geometry", "shapes"),
    "xlsx": (".", "package", "reading editing writing"),
    "book": ("declared typed", "wording", ".", "checking starter", "reading"),
    "costing": (
        "engine nesting", "lines", "method", "time", "moulds", "analysis explain comparison catalogue", ".", "workshop", "jobs",
    ),
    "register": ("kept", "."),
    "reports": (".", "shared drawing leaks", "margin repricing", "quote", "workshop lists", "review"),
}

#: A folder with more modules than this is no longer seen at one glance.
MOST_MODULES = 22

#: Heavy libraries, and the layers that may import them at all. Writing into a workbook is the business of sheets and of the
#: starter book; the core knows no spreadsheet library and no command line.
HEAVY: dict[str, set[str]] = {
    "holidays": {"book"},
    "babel": {"languages"},
    "openpyxl": {"xlsx", "reports"},
    "xlsxwriter": {"xlsx", "reports", "book"},
    "click": {"cli"},
    "pandas": {"frames"},
    "pint": {"units"},
    "trimesh": {"book"},
    "ortools": {"costing"},
    "PIL": {"reports", "xlsx"},
    "pyarrow": {"costing"},
    "dask": {"costing"},
    "distributed": {"costing"},
}


def modules() -> dict[str, Path]:
    """Every module of the package by its full name; a folder is called as its ``__init__`` is."""
    paths = sorted(PACKAGE.rglob("*.py"))
    return {".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path for path in paths}


def layer_of(path: Path) -> str:
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def folder_of(path: Path) -> str:
    """The folder of a module below the package, ``costing/engine``; empty for the modules of the package itself."""
    return "/".join(path.relative_to(PACKAGE).parts[:-1])


@functools.cache
def imports_of(path: Path, *, types: bool = True) -> tuple[str, ...]:
    """The full name of everything that a module imports, early or late, and, unless *types* is False, for the types alone."""
    found = []
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for outer in ast.walk(tree):
        if isinstance(outer, ast.If) and "TYPE_CHECKING" in ast.dump(outer.test) and not types:
            outer.body = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return tuple(found)


@functools.cache
def rests_on() -> dict[str, set[str]]:
    """For each module of the package the others that it imports, or imports something from."""
    known = modules()
    found: dict[str, set[str]] = {}
    for name, path in known.items():
        wanted = {each if each in known else each.rpartition(".")[0] for each in imports_of(path)}
        found[name] = wanted & set(known) - {name}
    return found


def circle_in(arrows: Mapping[str, Iterable[str]]) -> list[str]:
    """What is left when whatever rests on nothing is taken away, again and again: empty where there is no circle.

    >>> circle_in({"a": ["b"], "b": ["a"], "c": ["a"], "d": []})
    ['a', 'b', 'c']
    """
    left = {name: set(targets) for name, targets in arrows.items()}
    while free := [name for name, targets in left.items() if not targets & set(left)]:
        for name in free:
            del left[name]
    return sorted(left)


def test_a_circle_is_found() -> None:
    """The search for circles finds one, and what rests on it."""
    assert circle_in({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}, "e": set()}) == ["a", "b", "c", "d"]
    assert circle_in({"a": {"b", "c"}, "b": {"c"}, "c": set()}) == []


def test_no_modules_import_each_other() -> None:
    """There is no circle of modules, however long."""
    assert circle_in(rests_on()) == []


def test_no_folders_rest_on_each_other() -> None:
    """There is no circle of folders; the modules of the package itself stand each for itself."""
    known = modules()
    arrows: dict[str, set[str]] = {folder_of(path) or name: set() for name, path in known.items()}
    for name, targets in rests_on().items():
        own = folder_of(known[name]) or name
        arrows[own] |= {folder_of(known[each]) or each for each in targets} - {own}
    assert circle_in(arrows) == []


def test_layers_point_one_way() -> None:
    """A module imports only from its own layer and from those below it."""
    known = modules()
    wrong = [
        f"{name} must not import {target}" for name, targets in rests_on().items() for target in sorted(targets)
        if (layer := layer_of(known[name])) != (below := layer_of(known[target])) and below not in MAY_IMPORT[layer]
        and not (below == "__init__" and layer == "cli")
    ]
    assert wrong == []
    assert circle_in(MAY_IMPORT) == []


def test_folders_point_downwards() -> None:
    """Within a layer a module imports only from its own folder and from those of the floors below."""
    known = modules()
    floor = {
        layer if folder == "." else f"{layer}/{folder}": number
        for layer, floors in FLOORS.items() for number, folders in enumerate(floors) for folder in folders.split()
    }
    wrong = []
    for name, targets in rests_on().items():
        own = folder_of(known[name])
        for target in sorted(targets):
            other = folder_of(known[target])
            if own != other and own.split("/")[0] == other.split("/")[0] and floor[other] >= floor[own]:
                wrong.append(f"{name} must not import {target}")
    assert wrong == []


def test_every_layer_and_folder_is_drawn() -> None:
    """No folder or module of the package is missing from the drawing, and nothing is drawn that is not there."""
    assert {layer_of(path) for path in modules().values()} == set(MAY_IMPORT)
    inside = {folder_of(path) for path in modules().values()} - {""}
    drawn = {layer if folder == "." else f"{layer}/{folder}" for layer in FLOORS for folder in " ".join(FLOORS[layer]).split()}
    assert {folder for folder in inside if "/" in folder or folder in FLOORS} == drawn


def test_no_folder_is_crowded() -> None:
    """A folder holds so few modules that one glance takes them in."""
    paths = [path for path in modules().values() if path.name != "__init__.py"]
    count = {folder: sum(folder_of(path) == folder for path in paths) for folder in {folder_of(path) for path in paths}}
    assert {folder for folder, number in count.items() if number > MOST_MODULES} == set()


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("__init__.py")), ids=lambda path: str(path.parent.relative_to(ROOT)))
def test_a_folder_says_what_it_is_for(path: Path) -> None:
    """The text at the head of each folder begins with one sentence on a line of its own."""
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    sentence = text.partition("\n\n")[0]
    assert sentence.endswith("."), path
    assert "\n" not in sentence, sentence
    assert ". " not in sentence, sentence


def test_every_folder_is_a_package() -> None:
    """Modules stand in no folder that says nothing of itself."""
    assert [path for path in modules().values() if not (path.parent / "__init__.py").exists()] == []


def test_heavy_libraries_stay_in_their_layers() -> None:
    """Spreadsheet libraries, the command line, data frames and units are imported only where they belong."""
    wrong = [
        f"{layer_of(path)} must not import {name}" for path in modules().values() for name in imports_of(path, types=False)
        if (top := name.split(".")[0]) in HEAVY and layer_of(path) not in HEAVY[top]
    ]
    assert wrong == []


def test_data_classes_are_made_quickly() -> None:
    """No module takes the decorator from the library, which takes several times as long to make a class."""
    assert [path for path in modules().values() if "dataclasses.dataclass" in imports_of(path, types=False)] == []


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
        ("import pricing.costing.run", ("pandas", "openpyxl", "xlsxwriter", "click", "pint")),
        ("import pricing.api", ("pandas", "openpyxl", "xlsxwriter", "click", "pint")),
    ],
)
def test_what_is_not_used_is_not_loaded(code: str, absent: tuple[str, ...]) -> None:
    """Importing a part of the package loads none of the heavy libraries that it does not need at once."""
    assert loaded_by(code).isdisjoint(absent)
