"""Records that cannot be read: each a sentence that names it; everything else goes on, and nothing is deleted.

A record may hold nonsense after a disk fault, a stopped copy, or an edit by another program.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

from pricing.problems import Problem
from pricing.register.backups import newest_backup
from pricing.register.database import RegisterError
from pricing.register.kept.nonsense import NonsenseError

#: What reading nonsense raises.
_RAISED = (ValueError, TypeError, LookupError, AttributeError, ArithmeticError)


def damaged(called: str, path: Path, error: Exception) -> Problem:
    """What is said of a record that cannot be read.

    Parameters
    ----------
    called : the record, in words: ``quote Q-1041 revision 2``
    path : of the register
    error : what reading it raised
    """
    why = str(error) if isinstance(error, NonsenseError) else "what it holds cannot be read"
    backup = newest_backup(path)
    remedy = f"the register as it was stands in {backup.name}" if backup is not None else "look for a backup of the register"
    message = f"{called} in the register {path.name} is damaged, because {why}; it is left as it is; {remedy}"
    return Problem("damaged-record", message, warning=True)


@contextlib.contextmanager
def of_record(called: str, path: Path) -> Iterator[None]:
    """Raise what reading a record raises as a RegisterError with the sentence about it.

    Parameters
    ----------
    called : the record, in words
    path : of the register
    """
    try:
        yield
    except _RAISED as error:
        raise RegisterError("damaged-record", damaged(called, path, error).message) from None
