"""Hidden folders in which workbooks are finished before they are moved to their places, and which no stopped run leaves for long.

>>> from tempfile import TemporaryDirectory
>>> with TemporaryDirectory() as place:
...     with hidden_folder(Path(place), "finishing") as folder:
...         folder.name.startswith(".finishing-"), folder.is_dir()
...     folder.exists()
(True, True)
False
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from pricing.files.left_behind import remove, remove_left_behind, unfinished

#: Where this process looked for what was left behind: once is enough.
_looked_at: set[tuple[str, str]] = set()


@contextlib.contextmanager
def hidden_folder(parent: Path, purpose: str) -> Iterator[Path]:
    """A new hidden folder in another, which is removed in the end; those that stopped runs left there are removed too.

    Parameters
    ----------
    parent : made where it is not there
    purpose : a word of its name
    """
    folder = hidden_name(parent, purpose)
    folder.mkdir()
    try:
        yield folder
    finally:
        remove(folder)


def hidden_name(parent: Path, purpose: str, suffix: str = "") -> Path:
    """A new hidden name in a folder; what stopped runs left there under such names is removed.

    Parameters
    ----------
    parent : made where it is not there
    purpose : a word of the name
    suffix : the end of the name
    """
    parent.mkdir(parents=True, exist_ok=True)
    key = os.path.realpath(parent), purpose
    if key not in _looked_at:
        _looked_at.add(key)
        remove_left_behind(parent, f".{purpose}-")
    return parent / unfinished(f".{purpose}-", suffix)
