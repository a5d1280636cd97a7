"""Names of the machine and of the person at it, which no file of ours has to carry."""

from __future__ import annotations

import contextlib
import getpass
import os
import socket
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

#: Names that say nothing about anybody.
_NOBODY = frozenset({"localhost", "localdomain", "root", "user", "home", "admin", "administrator", "none", "unknown"})
_SHORTEST = 3


@lru_cache(maxsize=1)
def _user_and_machine() -> tuple[tuple[str, str], ...]:
    found: dict[str, str] = {}
    for name in (os.environ.get("USERNAME"), os.environ.get("USER"), os.environ.get("LOGNAME")):
        found.setdefault(name or "", "the user of this machine")
    with contextlib.suppress(KeyError, OSError, ImportError):  # a user whom the system's list does not name has nothing to give away
        found.setdefault(getpass.getuser(), "the user of this machine")
    try:
        host = socket.gethostname()
    except OSError:
        host = ""
    for name in (host, host.split(".")[0], os.environ.get("COMPUTERNAME", "")):
        found.setdefault(name, "the name of this machine")
    return tuple((name, kind) for name, kind in found.items() if len(name) >= _SHORTEST and name.casefold() not in _NOBODY)


def machine_names(file: Path) -> Iterable[tuple[str, str]]:
    """Names of user and machine, and the folders in which a file lies, each with what it is."""
    yield from _user_and_machine()
    folder = str(file.resolve().parent)
    if len(folder) > _SHORTEST:
        yield folder, "a folder of this machine"
    try:
        home = str(Path.home())
    except RuntimeError:
        return
    if len(home) > _SHORTEST and home != os.sep:
        yield home, "a folder of this machine"
