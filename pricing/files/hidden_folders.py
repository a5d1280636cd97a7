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
import hashlib
import os
import platform
import secrets
import shutil
import time
from collections.abc import Iterator
from pathlib import Path

#: Age from which one whose process cannot be asked for is taken for left behind [s].
LEFT_BEHIND = 86_400.0

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
    parent.mkdir(parents=True, exist_ok=True)
    key = os.path.realpath(parent), purpose
    if key not in _looked_at:
        _looked_at.add(key)
        remove_left_behind(parent, purpose)
    folder = parent / f".{purpose}-{_machine()}-{os.getpid()}-{secrets.token_hex(4)}"
    folder.mkdir()
    try:
        yield folder
    finally:
        remove(folder)


def remove(folder: Path) -> None:
    """Remove a folder with all that is in it, as far as that can be done."""
    shutil.rmtree(folder, ignore_errors=True)


def remove_left_behind(parent: Path, purpose: str) -> None:
    """Remove the hidden folders of runs that were stopped."""
    for entry in parent.glob(f".{purpose}-*"):
        with contextlib.suppress(OSError, ValueError):
            machine, process, _ = entry.name.removeprefix(f".{purpose}-").split("-")
            stopped = machine == _machine() and not _alive(int(process))
            if stopped or time.time() - entry.stat().st_mtime > LEFT_BEHIND:
                remove(entry)


def _machine() -> str:
    return hashlib.blake2b(platform.node().encode(), digest_size=4).hexdigest()


def _alive(process: int) -> bool:
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
