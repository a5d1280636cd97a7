"""Faults of the disk while a workbook is written, however the library that writes it passes them on."""

from __future__ import annotations

import errno
import sys
import traceback
from pathlib import Path

#: What the system says of a disk that is full, of a file or of a share that may grow no further.
FULL = frozenset({errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC)})


def disk_fault(error: Exception) -> OSError | None:
    """The fault of the disk behind an exception, or None where it is something else.

    The writing library wraps what the system raises and leaves its file half open; that file is let go of here, without
    a word on standard error.

    >>> disk_fault(OSError(28, "No space left on device")).strerror, disk_fault(ValueError("else"))
    ('No space left on device', None)
    """
    if isinstance(error, OSError):
        return error
    cause = error.args[0] if error.args else None
    if not isinstance(cause, OSError):
        return None
    told = sys.unraisablehook
    sys.unraisablehook = lambda _: None
    try:
        for each in (error, error.__context__):
            if each is not None:
                traceback.clear_frames(each.__traceback__)
    finally:
        sys.unraisablehook = told
    return cause


def fault_sentence(error: Exception, place: Path | str) -> str | None:
    """A fault of the disk as a sentence with the remedy, or None where the exception is something else.

    Parameters
    ----------
    place : named where the fault names no file

    >>> print(fault_sentence(PermissionError(13, "Permission denied", "out/Q-1.xlsx"), "out"))
    out/Q-1.xlsx: Permission denied; close the file where it is open, or choose another folder with --out
    """
    fault = disk_fault(error)
    if fault is None:
        return None
    reason = fault.strerror or type(fault).__name__
    long = "give the price book or the quote a shorter name" if fault.errno == errno.ENAMETOOLONG else ""
    remedy = long or ("free some space" if fault.errno in FULL else "close the file where it is open")
    return f"{fault.filename2 or fault.filename or place}: {reason}; {remedy}, or choose another folder with --out"
