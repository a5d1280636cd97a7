"""Several processes of one run: how many, and that none of them outlives the one that began it."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

T = TypeVar("T")

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
        wanted = processors() if things > WORTH_WHILE else 1
    return max(1, min(wanted, things))


def processors() -> int:
    """How many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextlib.contextmanager
def done_beside(work: Callable[[], T]) -> Iterator[Callable[[], T]]:
    """Have some work done by a copy of this process while this one goes on, where the system makes copies and has a processor for it.

    Parameters
    ----------
    work : what it returns, or raises, is taken to this process

    Returns
    -------
    what waits for the work and returns its result, or raises what it raised; where the copy was ended from outside, or there is
    none, it does the work. The copy ends with the block, and with this process.

    >>> with done_beside(lambda: 40 + 2) as result:
    ...     result()
    42
    """
    if not _makes_copies():
        yield work
        return
    from multiprocessing import get_context

    context = get_context("fork")
    told, telling = context.Pipe(duplex=False)
    process = context.Process(target=_do_and_tell, args=(work, telling), daemon=True)
    try:
        with warnings.catch_warnings():  # threads of libraries are idle while a process is copied, and the copy never uses them
            warnings.simplefilter("ignore", DeprecationWarning)
            process.start()
    except OSError:  # no process more, or no memory for one
        yield work
        return
    telling.close()
    try:
        yield lambda: _told(told, work)
    finally:
        process.kill()
        process.join()
        told.close()


def _makes_copies() -> bool:
    """Whether a copy of this process is sure to work, may be made, and has a processor of its own."""
    if sys.platform != "linux" or processors() < 2:
        return False
    from multiprocessing import current_process

    return not current_process().daemon


def _do_and_tell(work: Callable[[], T], telling: Connection) -> None:
    work_for_another()
    try:
        telling.send((work(), None))
    except Exception as error:
        telling.send((None, error))


def _told(told: Connection, work: Callable[[], T]) -> T:
    try:
        result, error = told.recv()
    except (EOFError, OSError):  # the process was ended from outside: what it had to do is done here
        return work()
    if error is not None:
        raise error
    return result  # type: ignore[no-any-return]


def work_for_another() -> None:
    """Leave it to the process that began this one to be stopped from the keyboard, and end when it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    end_with_parent()


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
