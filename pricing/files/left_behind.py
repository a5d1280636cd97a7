"""Names of what is not finished yet, which say whose it is: what no living process holds is removed by the next run.

>>> name = unfinished(".writing-", ".xlsx")
>>> name.startswith(".writing-") and name.endswith(".xlsx"), is_left_behind(Path(name), ".writing-")
(True, False)
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

#: Age from which something whose process cannot be asked for is taken for left behind [s].
LEFT_BEHIND = 86_400.0


def unfinished(prefix: str, suffix: str = "") -> str:
    """A name that no other has, with the machine and the process in it."""
    return f"{prefix}{_machine()}-{os.getpid()}-{secrets.token_hex(4)}{suffix}"


def is_left_behind(path: Path, prefix: str, age: float = LEFT_BEHIND) -> bool:
    """Whether a file or folder of such a name belongs to a process that has ended, or is of an age that says so.

    Parameters
    ----------
    age : from which it is taken for left behind where its process cannot be asked for [s]
    """
    with contextlib.suppress(OSError, ValueError):
        machine, process, _ = path.name.removeprefix(prefix).split("-", 2)
        if machine == _machine() and os.name == "posix":
            return not _alive(int(process)) or _older(path, LEFT_BEHIND)
    with contextlib.suppress(OSError):
        return _older(path, age)
    return False


def remove_left_behind(folder: Path, prefix: str, suffix: str = "", age: float = LEFT_BEHIND) -> None:
    """Remove what runs that were stopped left in a folder: files and folders whose names begin and end so."""
    for path in _named(folder, prefix, suffix):
        if is_left_behind(path, prefix, age):
            remove(path)


def remove(path: Path) -> None:
    """Remove a file, or a folder with all that is in it, as far as that can be done."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        with contextlib.suppress(OSError):
            path.unlink()


def _named(folder: Path, prefix: str, suffix: str) -> Iterator[Path]:
    with contextlib.suppress(OSError):
        for path in folder.iterdir():
            if path.name.startswith(prefix) and path.name.endswith(suffix):
                yield path


def _older(path: Path, age: float) -> bool:
    return time.time() - path.stat().st_mtime > age


def _machine() -> str:
    return hashlib.blake2b(platform.node().encode(), digest_size=4).hexdigest()


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
