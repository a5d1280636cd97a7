"""Backups of the register: as it was before the first change of a day, kept beside it, as the price book's are.

``price book.register.sqlite`` has ``price book.register backup 2026-03-02 081500.sqlite``: the newest ten, and the first of each
month. One takes the place of a damaged register when it is given its name.
"""

from __future__ import annotations

import contextlib
import datetime
import functools
import re
import shutil
import sqlite3
from pathlib import Path

from pricing.files.atomic import written_beside

#: So many of the newest are kept, besides the first of each month.
NEWEST = 10


def backups_of(path: Path) -> list[Path]:
    """The backups of a register, the oldest first.

    Parameters
    ----------
    path : of the register
    """
    pattern = re.compile(re.escape(f"{path.stem} backup ") + r"\d{4}-\d{2}-\d{2} \d{6}" + re.escape(path.suffix))
    try:
        return sorted((each for each in path.parent.iterdir() if pattern.fullmatch(each.name)), key=lambda each: each.name)
    except OSError:
        return []


def newest_backup(path: Path) -> Path | None:
    """The newest backup of a register that is whole, where there is one."""
    return next((each for each in reversed(backups_of(path)) if _is_whole(each, each.stat().st_mtime_ns)), None)


@functools.lru_cache(maxsize=64)
def _is_whole(backup: Path, changed: int) -> bool:
    """Whether a backup can be read from end to end; asked once as long as it is not *changed*."""
    name = f"{backup.absolute().as_uri()}?mode=ro&immutable=1"
    with contextlib.suppress(sqlite3.Error), contextlib.closing(sqlite3.connect(name, uri=True)) as held:
        return bool(held.execute("PRAGMA quick_check(1)").fetchone()[0] == "ok" and held.execute("SELECT count(*) FROM quotes").fetchone())
    return False


def keep_backup(path: Path, connection: sqlite3.Connection, now: datetime.datetime, *, again: bool = False) -> Path | None:
    """Keep the register as it is, unless it holds no quote or that was done on this day; older ones are thinned out.

    Parameters
    ----------
    path : of the register
    connection : to it, outside a transaction
    now : the time of the backup's name
    again : True to keep it although that was done on this day

    A backup that cannot be written stops nothing.
    """
    found, of_day = backups_of(path), f"{path.stem} backup {now:%Y-%m-%d} "
    name = f"{of_day}{now:%H%M%S}{path.suffix}"
    if not again and any(each.name.startswith(of_day) for each in found):
        return None
    with contextlib.suppress(OSError, sqlite3.Error):
        if connection.execute("SELECT 1 FROM quotes LIMIT 1").fetchone() is None:
            return None
        with written_beside(path.with_name(name)) as beside, contextlib.closing(sqlite3.connect(beside)) as target:
            connection.backup(target)
        shutil.copymode(path, path.with_name(name))
        _thin_out([*found, path.with_name(name)], path)
        return path.with_name(name)
    return None


def _thin_out(found: list[Path], path: Path) -> None:
    months: set[str] = set()
    for each in found[:-NEWEST]:
        month = each.name[len(f"{path.stem} backup ") :][:7]
        if month in months:
            each.unlink(missing_ok=True)
        months.add(month)
