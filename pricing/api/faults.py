"""What stops a run or a question: one place for faults of the price book, the register and the disk."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

from pricing.files.disk_faults import fault_sentence
from pricing.problems import PricingError, Problems


class DiskError(PricingError):
    """Raised where a file or a folder cannot be read or written; its text is a sentence with the remedy."""

    code = "cannot-write"


@contextlib.contextmanager
def refused(place: Path | str) -> Iterator[None]:
    """Raise the faults of the disk as DiskError; everything else as it is.

    Parameters
    ----------
    place : named where a fault names no file
    """
    try:
        yield
    except PricingError:
        raise
    except Exception as error:
        sentence = fault_sentence(error, place)
        if sentence is None:
            raise
        raise DiskError(sentence) from error


@contextlib.contextmanager
def told(problems: Problems, place: Path | str) -> Iterator[None]:
    """Take what is refused within as problems of a run; what is no fault of the data or the disk is raised on.

    Parameters
    ----------
    problems : takes what stopped the block
    place : named where a fault of the disk names no file
    """
    try:
        with refused(place):
            yield
    except PricingError as error:
        problems.take(error.problems)
