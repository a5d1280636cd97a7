"""Names for what a run has not finished yet, by which a later run knows what no living process will ever finish.

>>> unfinished_name("issuing").rpartition("-")[0] == f".issuing.unfinished-{_machine()}-{os.getpid()}"
True
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import platform
import secrets
import shutil
import time
from pathlib import Path

#: Age from which one whose process cannot be asked for, or began so much later, is taken for left behind [s].
LEFT_BEHIND = 86_400.0

_MARK = ".unfinished-"
_LONGEST = 100  # bytes of the purpose that get into the name

#: Folders where this process looked for what was left behind: once is enough.
_looked_at: set[str] = set()


def unfinished_name(purpose: str, ending: str = "") -> str:
    """A hidden name that nothing has yet, with the process that holds it.

    Parameters
    ----------
    purpose : what it is for, such as the name of the file that it becomes
    ending : of the name, such as ``".xlsx"``
    """
    short = purpose.encode()[:_LONGEST].decode(errors="ignore")
    return f".{short}{_MARK}{_machine()}-{os.getpid()}-{secrets.token_hex(4)}{ending}"


def remove(path: Path) -> None:
    """Remove a file, or a folder with all that is in it, as far as that can be done."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
        return
    with contextlib.suppress(OSError):
        path.unlink()


def remove_left_behind(folder: Path, *, again: bool = True) -> None:
    """Remove the unfinished files and folders of runs that were stopped.

    Parameters
    ----------
    again : False where it is enough that this process has looked there once
    """
    key = os.path.realpath(folder)
    if key in _looked_at and not again:
        return
    _looked_at.add(key)
    with contextlib.suppress(OSError):
        for entry in folder.iterdir():
            if entry.name.startswith(".") and _MARK in entry.name and _is_left_behind(entry):
                remove(entry)


def _is_left_behind(entry: Path) -> bool:
    machine, _, rest = entry.name.rpartition(_MARK)[2].partition("-")
    process = rest.partition("-")[0]
    asked = machine == _machine() and process.isascii() and process.isdigit()
    if asked and not _alive(int(process)):
        return True
    since = _started(int(process)) if asked else time.time()
    with contextlib.suppress(OSError):
        return since is not None and since - entry.stat().st_mtime > LEFT_BEHIND
    return False


def _machine() -> str:
    return hashlib.blake2b(platform.node().encode(), digest_size=4).hexdigest()


def _alive(process: int) -> bool:
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True


def _started(process: int) -> float | None:
    """When a living process began [s since 1970]; None where the system does not tell. A number is given to a later process again."""
    try:
        boot = next(line for line in Path("/proc/stat").read_text().splitlines() if line.startswith("btime "))
        ticks = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[19]
        return float(boot.split()[1]) + int(ticks) / os.sysconf("SC_CLK_TCK")
    except (OSError, ValueError, StopIteration, IndexError, AttributeError):
        return None
