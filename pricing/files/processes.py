"""Several processes of one run: how many, and that none of them outlives the one that began it."""

from __future__ import annotations

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
