"""Several processes of one run: how many, and that none of them outlives the one that began it."""

from __future__ import annotations

import contextlib
import os
import threading

#: With fewer things to do, starting processes takes longer than they save.
WORTH_WHILE = 20


def processes_for(things: int, wanted: int | None = None) -> int:
    """How many processes do so many things.

    Parameters
    ----------
    wanted : so many; where None all that the machine has, and one where there are few things

    >>> processes_for(5), processes_for(1000, 3)
    (1, 3)
    """
    if wanted is None:
        available = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
        wanted = available if things > WORTH_WHILE else 1
    return max(1, min(wanted, things))


def end_with_parent() -> None:
    """Make this process end, whatever it does, when the one that began it has ended, by whatever means.

    A process that was killed tells its own nothing: they would wait for work for ever.
    """
    from multiprocessing import parent_process

    parent = parent_process()
    if parent is not None:
        threading.Thread(target=_wait_and_end, args=(parent.sentinel,), daemon=True).start()


def _wait_and_end(sentinel: int) -> None:
    from multiprocessing.connection import wait

    wait([sentinel])
    os._exit(1)


#: How much freed memory a process keeps, and from which size on an array has memory of its own, which is given back at once [bytes].
_KEPT, _LARGE = 1 << 28, 1 << 25

#: What the C library of Linux calls these two.
_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3


def keep_memory() -> None:
    """Make this process keep the memory of an array that is gone for the next one, where the C library can be told so.

    By default it gives memory back to the system each time and is given it anew, page by page.
    """
    import ctypes

    for what, size in ((_TRIM_THRESHOLD, _KEPT), (_MMAP_THRESHOLD, _LARGE)):
        with contextlib.suppress(AttributeError, TypeError, OSError):  # another C library has nothing of that name
            ctypes.CDLL(None).mallopt(what, size)
