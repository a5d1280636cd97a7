"""Ending a command with a sentence instead of a traceback."""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Iterator

from pricing.cli.common import leave, print_problems
from pricing.problems import PricingError


@contextlib.contextmanager
def sentences(file: str = "") -> Iterator[None]:
    """Print why something was refused, and leave with the code 1.

    Parameters
    ----------
    file : stands before a sentence that names none
    """
    try:
        yield
    except PricingError as error:
        print_problems([dataclasses.replace(problem, file=problem.file or file) for problem in error.problems])
        leave(1)
