"""Finished jobs held against what they were allowed, and a look ahead at ordered quotes: the whole of ``pricing review``."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pricing.api.faults import told
from pricing.files.left_behind import remove_left_behind
from pricing.register.review_jobs import Reviewed, look_back

REVIEW_FILE = "review.xlsx"


def review(
    path: Path | str, *, quotes: Sequence[str] | None = None, accept: Sequence[str] = (), out: Path | str | None = None
) -> Reviewed:
    """Look back at finished jobs and ahead at ordered quotes, and write ``review.xlsx`` where a folder is named.

    Parameters
    ----------
    path : the price book; the register beside it is read where there is one
    quotes : only these: those with rows in Actuals as finished, the others as ordered; all finished ones, and the ordered
        ones of the register, where None
    accept : better standards to write into the price book, by cell (``Labour!D7``) or by name
    out : folder for the workbook; none is written where None
    """
    if out is not None:
        remove_left_behind(Path(out))  # also where nothing is written, because a run that was stopped accepted the standards already
    found = look_back(Path(path), quotes=quotes, accept=accept)
    if found.book is not None and out is not None and (found.review or found.capacity):
        from pricing.reports.review.workbook import write_review
        from pricing.reports.shared.owner import refuse_others

        target = Path(out) / REVIEW_FILE
        refuse_others([target], Path(path), found.problems)
        with told(found.problems, target):
            if found.problems.errors:
                return found
            write_review(found.book, target, found.review, found.proposals, found.capacity)
            found.written.append(target)
    return found
