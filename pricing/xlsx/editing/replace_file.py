"""A file that gets new contents whole or not at all: locks, a copy beside it, a comparison, a backup, one last move."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import stat
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

from pricing.files.atomic import make_durable, make_names_durable, move_into_empty_place, reserved
from pricing.files.disk_faults import FULL
from pricing.files.left_behind import remove
from pricing.xlsx.package.archive import LARGEST_FILE
from pricing.xlsx.refused import RefusedError

STEP = 2**20  # how much is handed to the system at once [bytes]

_DENIED = {errno.EACCES, errno.EPERM, errno.EROFS}


def fingerprint(data: bytes) -> str:
    """The SHA-256 fingerprint of a file's contents, in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def lock_beside(path: Path) -> Path | None:
    """The lock file that a spreadsheet program keeps beside a workbook while it is open, or None."""
    for name in (f"~${path.name}", f".~lock.{path.name}#"):
        if os.path.lexists(path.with_name(name)):
            return path.with_name(name)
    return None


def refuse_open_file(*paths: Path) -> None:
    """Refuse a workbook that is open in a spreadsheet program. Problems raised: ``open-elsewhere``."""
    for path in paths:
        if lock := lock_beside(path):
            text = f"the workbook is open in a spreadsheet program (there is a lock file {lock.name})"
            raise RefusedError("open-elsewhere", f"{text}; close it, or delete that file if no program has it open")


def read_whole(path: Path) -> bytes:
    """The contents of a workbook.

    Problems raised: ``file-missing``, ``not-a-file``, ``file-too-large``, ``read-only`` and ``not-allowed``.
    """
    with disk_faults(f"the file {path.name} cannot be read"):
        try:
            state = path.stat()
        except FileNotFoundError:
            raise RefusedError("file-missing", f"there is no file {path}; check its name and folder") from None
        if not stat.S_ISREG(state.st_mode):
            raise RefusedError("not-a-file", f"{path} is not a file; give the name of a workbook")
        if state.st_size > LARGEST_FILE:
            text = f"the file has more than {LARGEST_FILE // 2**20} MiB"
            raise RefusedError(
                "file-too-large", f"{text}; move what does not belong to the price book into another file"
            )
        if not os.access(path, os.W_OK):
            raise RefusedError("read-only", "the file is marked read-only; allow changes to it, and repeat")
        return path.read_bytes()


def replace_contents(
    path: Path, old: bytes, new: bytes, check: Callable[[bytes], None], now: datetime | None
) -> Path | None:
    """Give a file new contents; at every moment the name leads to the old or to the new contents, whole.

    The new contents are written beside the file, made durable, read back and checked; a backup of the old contents is
    made in the same way; then the new file takes the old one's name in one step.

    Parameters
    ----------
    path : the file itself, not a link to it
    old : what it held when it was read; the file is left alone if it holds anything else by now
    new : what it shall hold
    check : raises a refusal if what was read back is not as intended
    now : date and time in the backup's name, or None for no backup

    Returns the backup's path, or None without one.

    Problems raised: ``open-elsewhere``, ``changed``, ``disk-full``, ``not-allowed``, ``not-written`` and those of the
    check.
    """
    backup: Path | None = None
    with disk_faults(f"the file {path.name} cannot be written"), contextlib.ExitStack() as undo:
        copy = undo.enter_context(reserved(path))
        _fill(copy, new, path)
        check(copy.read_bytes())
        if now is not None:
            spare = undo.enter_context(reserved(path))
            _fill(spare, old, path)
            backup = _kept_as_backup(spare, path, now)
        try:
            with _alone_in(path.parent):
                refuse_open_file(path)
                if path.read_bytes() != old:
                    raise changed_since()
                os.replace(copy, path)
        except BaseException as stopped:
            if backup is not None and (isinstance(stopped, RefusedError) or not _holds(path, new)):
                remove(backup)
            raise
        make_names_durable(path.parent)
    return backup


def _holds(path: Path, content: bytes) -> bool:
    """Whether a file holds this already; a run may be stopped right behind the step by which it does."""
    with contextlib.suppress(OSError):
        return path.read_bytes() == content
    return False


def changed_since() -> RefusedError:
    """The refusal of a file that is no longer what was read."""
    text = "the workbook was changed after it was read"
    return RefusedError("changed", f"{text}; repeat, so that the values fit what it holds now")


def _fill(copy: Path, data: bytes, like: Path) -> None:
    """Write a file's contents, durably, and give it the owner and the rights of another where that is allowed."""
    with copy.open("rb+") as file:
        _write(file.fileno(), data)
    make_durable(copy)
    with contextlib.suppress(OSError):
        _keep_owner(like, copy)


def _write(handle: int, data: bytes) -> None:
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(handle, rest[:STEP]) :]


def _keep_owner(path: Path, copy: Path) -> None:
    state = path.stat()
    os.chmod(copy, stat.S_IMODE(state.st_mode))
    if hasattr(os, "chown"):
        os.chown(copy, state.st_uid, state.st_gid)


@contextlib.contextmanager
def _alone_in(folder: Path) -> Iterator[None]:
    """Keep other runs of this program from moving a file in the folder; the lock ends with the process in any case.

    Where the system has no such lock, what is left is the comparison with the old contents just before the move.
    """
    handle = None
    with contextlib.suppress(ImportError, OSError):
        import fcntl

        handle = os.open(folder, os.O_RDONLY)
        fcntl.flock(handle, fcntl.LOCK_EX)
    try:
        yield
    finally:
        if handle is not None:
            os.close(handle)


def _kept_as_backup(spare: Path, path: Path, now: datetime) -> Path:
    """``Book backup 2031-05-04 093000.xlsx``; with a number behind where that name is taken, by whomever."""
    stem, number = f"{path.stem} backup {now:%Y-%m-%d %H%M%S}", 1
    while True:
        backup = path.with_name(f"{stem}{f' {number}' if number > 1 else ''}{path.suffix}")
        if not os.path.lexists(backup):
            with contextlib.suppress(FileExistsError):
                move_into_empty_place(spare, backup)
                return backup
        number += 1


@contextlib.contextmanager
def disk_faults(what: str) -> Iterator[None]:
    """Turn the faults of the disk into sentences."""
    try:
        yield
    except OSError as error:
        if error.errno in FULL:
            raise RefusedError("disk-full", f"{what}: the disk is full; free some space, and repeat") from None
        if error.errno in _DENIED:
            text = f"{what}: the folder is read-only, or another program has the file open"
            text = f"{text}; close it there, or allow changes to the folder, and repeat"
            raise RefusedError("not-allowed", text) from None
        remedy = "give it a shorter name" if error.errno == errno.ENAMETOOLONG else "check the disk and the folder, and repeat"
        text = f"{what} ({error.strerror or error}); {remedy}"
        raise RefusedError("not-written", text) from None
