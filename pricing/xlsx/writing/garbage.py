"""When the interpreter looks for objects that nothing uses any more: not while many are made that all stay.

Every object refers to what it needs, and hardly any to one that refers back, so that memory is given up without such a
search; but the search goes through all that stands, again and again, the more often the more is made.
"""

from __future__ import annotations

import contextlib
import gc
from collections.abc import Iterator


@contextlib.contextmanager
def uncollected() -> Iterator[None]:
    """No search in this block: for one workbook, however large."""
    searched = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searched:
            gc.enable()


@contextlib.contextmanager
def settled() -> Iterator[None]:
    """What stands when the block begins is left out of the search: for many small workbooks made of it."""
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()
