"""The command line as it is started: ``pricing``, or ``python -m pricing`` where the command itself is not on the path."""

from __future__ import annotations

import os
import signal
import sys
from typing import Any, NoReturn

#: What ends a run from outside: Ctrl-C, and how other programs ask for it.
_STOPPING = (signal.SIGINT, signal.SIGTERM)

#: The process that was started; those that it forks are none of them.
_STARTED = os.getpid()


class _Stopped(BaseException):
    """Raised where the run is when it is stopped, so that whatever it has begun is removed on the way out.

    Parameters
    ----------
    number : of the signal
    """

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


def _stop(number: int, _: Any) -> None:
    """Stop; who asks again ends the process at once, and a process that works for another ends without a word."""
    for each in _STOPPING:
        signal.signal(each, signal.SIG_DFL)
    if os.getpid() != _STARTED:
        os.kill(os.getpid(), number)
    raise _Stopped(number)


def run() -> NoReturn:
    """Run the command line; when it is stopped, it says so in a sentence and leaves with the exit code of the signal."""
    for each in _STOPPING:
        if signal.getsignal(each) != signal.SIG_IGN:  # as it is for what a shell runs in the background
            signal.signal(each, _stop)
    try:
        from pricing.cli import main

        main(prog_name="pricing")
    except _Stopped as stopped:
        sys.stderr.write("\nstopped: nothing is half-written; run the command again to do the rest\n")
        sys.exit(128 + stopped.number)
    sys.exit(0)


if __name__ == "__main__":
    run()
