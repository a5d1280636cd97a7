"""Hidden folders in which workbooks are finished before they are moved to their places, and which no stopped run leaves for long.

>>> from tempfile import TemporaryDirectory
>>> with TemporaryDirectory() as place:
...     with hidden_folder(Path(place), "finishing") as folder:
...         folder.name.startswith(".finishing."), folder.is_dir()
...     folder.exists()
(True, True)
False
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

from pricing.files.left_behind import remove, remove_left_behind, unfinished_name


@contextlib.contextmanager
def hidden_folder(parent: Path, purpose: str) -> Iterator[Path]:
    """A new hidden folder in another, which is removed in the end; what stopped runs left there is removed too.

    Parameters
    ----------
    parent : made where it is not there
    purpose : a word of its name
    """
    parent.mkdir(parents=True, exist_ok=True)
    remove_left_behind(parent, again=False)
    folder = parent / unfinished_name(purpose)
    folder.mkdir()
    try:
        yield folder
    finally:
        remove(folder)
