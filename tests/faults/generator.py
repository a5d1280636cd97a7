"""Writes the odd and hostile workbooks that the reader must read right or refuse in one sentence.

Run it with a folder to look at them: ``python tests/faults/generator.py some/folder``.
"""

from __future__ import annotations

import importlib
import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from packages import PLAIN, Parts, zipped

from pricing.xlsx.reading.workbook import Workbook

Made = bytes | Parts | None
Check = Callable[[Workbook], object]


@dataclass(frozen=True)
class Fault:
    """One file and what must come of it.

    Parameters
    ----------
    name : of the file
    make : gives its bytes, or its parts, or writes it to the path given
    codes : the codes of all problems and warnings that are reported, no more and no less
    cells : what must stand in some cells, by place; None where the file is refused
    words : words that the reported sentences contain
    checks : further claims about the workbook, each true
    """

    name: str
    make: Callable[[Path], Made]
    codes: frozenset[str] = frozenset()
    cells: Mapping[str, object] | None = None
    words: tuple[str, ...] = ()
    checks: tuple[Check, ...] = field(default=())

    def write(self, folder: Path) -> Path:
        """Write the file into a folder."""
        path = folder / self.name
        made = self.make(path)
        if made is not None:
            path.write_bytes(made if isinstance(made, bytes) else zipped(made))
        return path


FAULTS: list[Fault] = []
Maker = Callable[[], Made] | Callable[[Path], Made]


def _add(fault: Fault) -> None:
    if any(one.name == fault.name for one in FAULTS):
        raise ValueError(f"two files are named {fault.name}")
    FAULTS.append(fault)


def read(
    name: str, make: Callable[[], Made] | Parts | bytes, cells: Mapping[str, object] = PLAIN, *codes: str,
    words: tuple[str, ...] = (), checks: tuple[Check, ...] = (),
) -> None:
    """Add a file that is read, with what must stand in its cells and the problems that are reported beside."""
    _add(Fault(_named(name), _maker(make), frozenset(codes), cells, words, checks))


def refused(name: str, make: Callable[[], Made] | Parts | bytes, codes: str, *words: str) -> None:
    """Add a file that is refused, with the code of the reason, or several in a row with spaces between."""
    _add(Fault(_named(name), _maker(make), frozenset(codes.split()), None, words))


def refused_path(name: str, make: Callable[[Path], None], code: str, *words: str) -> None:
    """Add something that is refused and that is no ordinary file."""
    _add(Fault(_named(name), make, frozenset((code,)), None, words))


def _named(name: str) -> str:
    return name if "." in name else f"{name}.xlsx"


def _maker(make: Callable[[], Made] | Parts | bytes) -> Callable[[Path], Made]:
    def made(_: Path) -> Made:
        return make() if callable(make) else make

    return made


def all_faults() -> list[Fault]:
    """Every file, the odd ones first."""
    if not FAULTS:
        for name in ("odd_cells", "odd_places", "odd_packages", "hostile_parts", "hostile_archives", "other_files"):
            importlib.import_module(name)
    return FAULTS


def main(folder: Path) -> None:
    """Write all files and a list of what is expected of each."""
    folder.mkdir(parents=True, exist_ok=True)
    expected = {}
    for fault in all_faults():
        fault.write(folder)
        expected[fault.name] = {"codes": sorted(fault.codes), "read": fault.cells is not None}
    (folder / "expected.json").write_text(json.dumps(expected, indent=1))


if __name__ == "__main__":
    import generator  # the one instance that the lists of files add to

    generator.main(Path(sys.argv[1]))
