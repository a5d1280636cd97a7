"""Nothing stands in the package that only tests know: every function and class is reached from a command or from the public
interface."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]

#: Where use begins: the command line, and what a program imports.
OPENINGS = ("pricing", "pricing.api", "pricing.cli")

#: Modules that are written ahead of the price book's columns that will ask for them.
AHEAD = frozenset({
    "pricing.book.model_file", "pricing.book.uses", "pricing.rules.cut_outs", "pricing.rules.layers",
    "pricing.rules.outlines", "pricing.rules.pieces",
    *(f"pricing.rules.geometry.{name}" for name in ("cut_out", "measures", "outline", "plan", "seen_edges")),
    "pricing.rules.shapes.slab_by_outline",
})

#: A definition: its module, and its name there.
Name = tuple[str, str]


class Package:
    """The modules of the package, read and not run.

    Parameters
    ----------
    texts : of each module, by its full name
    """

    def __init__(self, texts: dict[str, str]) -> None:
        self.trees = {module: ast.parse(text) for module, text in texts.items()}
        self.definitions: dict[Name, ast.stmt] = {}
        self.imported: dict[str, dict[str, Name]] = {}
        for module, tree in self.trees.items():
            otherwise = (each for node in tree.body if isinstance(node, ast.If) for each in node.orelse)
            for node in (*tree.body, *otherwise):
                for name in _defined(node):
                    self.definitions[module, name] = node
            self.imported[module] = dict(self._imports(tree))

    def _imports(self, tree: ast.Module) -> Iterator[tuple[str, Name]]:
        """What each imported name means; a module has an empty name."""
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module:
                for alias in node.names:
                    full = f"{node.module}.{alias.name}"
                    yield alias.asname or alias.name, (full, "") if full in self.trees else (node.module, alias.name)
            elif isinstance(node, ast.Import):
                for alias in node.names:
                    yield alias.asname or alias.name.partition(".")[0], (alias.name if alias.asname else alias.name.partition(".")[0], "")

    def meant(self, module: str, name: str) -> Name | None:
        """Where a name of a module is defined, followed through imports; None where that is outside the package."""
        if (module, name) in self.definitions:
            return module, name
        known = self.imported.get(module, {}).get(name)
        if known is None or known[0] not in self.trees:
            return None
        return self.meant(*known) if known[1] else known

    def uses(self, module: str, node: ast.AST) -> Iterator[Name]:
        """The definitions that some code names, also in annotations in quotes."""
        for each in ast.walk(node):
            if isinstance(each, ast.Name):
                names = [each.id]
            elif isinstance(each, ast.Constant) and isinstance(each.value, str) and re.fullmatch(r"[\w.\[\], |]+", each.value):
                names = [word for word in re.findall(r"\w+", each.value) if word in self.imported[module]]
            elif isinstance(each, ast.Attribute):
                names = []
                owner = self.meant(module, each.value.id) if isinstance(each.value, ast.Name) else self._module(module, each.value)
                if owner is not None and not owner[1] and (found := self.meant(owner[0], each.attr)) is not None:
                    yield found
            else:
                continue
            yield from (found for name in names if (found := self.meant(module, name)) is not None)

    def _module(self, module: str, node: ast.AST) -> Name | None:
        """The module that ``pricing.costing.run`` names."""
        dotted = ast.unparse(node) if isinstance(node, ast.Attribute) else ""
        return (dotted, "") if dotted in self.trees and dotted.partition(".")[0] in self.imported[module] else None

    def reached(self, openings: Iterable[str]) -> set[Name]:
        """Every definition that is used by what some modules define, however far away."""
        reached: set[Name] = set()
        waiting = [name for name in self.definitions if name[0] in openings]
        waiting += [(module, "") for module in openings]
        waiting += [found for module in openings for name in self.imported[module] if (found := self.meant(module, name)) is not None]
        while waiting:
            name = waiting.pop()
            if name in reached:
                continue
            reached.add(name)
            module = name[0]
            code = [self.definitions[name]] if name[1] else [node for node in self.trees[module].body if not _defined(node)]
            waiting += [used for node in code for used in self.uses(module, node)]
            waiting.append((module, ""))
        return reached


def _defined(node: ast.stmt) -> list[str]:
    """The names that a statement of a module defines."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return [node.name]
    if isinstance(node, ast.Assign | ast.AnnAssign):
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        return [each.id for target in targets for each in ast.walk(target) if isinstance(each, ast.Name)]
    return []


def package() -> Package:
    texts = {}
    for path in sorted((ROOT / "pricing").rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        texts[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path.read_text(encoding="utf-8")
    return Package(texts)


def unused(read: Package, openings: Iterable[str]) -> list[str]:
    """The functions and classes that nothing reaches."""
    reached = read.reached(openings)
    return [
        f"{module}.{name}" for (module, name), node in read.definitions.items()
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and (module, name) not in reached
    ]


def openings_of(read: Package) -> list[str]:
    """The modules of the openings, and those that are run by their name."""
    def is_run(tree: ast.Module) -> bool:
        return any(isinstance(node, ast.If) and "__main__" in ast.unparse(node.test) for node in tree.body)

    return [
        module for module, tree in read.trees.items()
        if module in OPENINGS or module.startswith(("pricing.api.", "pricing.cli.")) or is_run(tree)
    ]


def test_every_function_is_used() -> None:
    """Each function and class of the package is reached from a command, from the public interface, or from a module that is run."""
    read = package()
    assert [name for name in unused(read, openings_of(read)) if name.rpartition(".")[0] not in AHEAD] == []


def test_what_only_calls_itself_is_found() -> None:
    """The search is not empty: a function that nothing reaches, and what only it calls, are both found."""
    read = Package({
        "pricing": "from pricing.rules import used\n",
        "pricing.rules": "def used(): return _helper()\ndef _helper(): return 1\n"
                         "def alone(): return lonely()\ndef lonely(): return alone()\n",
    })
    assert unused(read, ["pricing"]) == ["pricing.rules.alone", "pricing.rules.lonely"]
