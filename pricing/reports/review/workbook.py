"""Writes the review workbook: finished jobs against what they were allowed, better standards, and what ordered quotes take.

Every variance is the live formula of its rule; totals follow, and the checks take each figure by a second way.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

from pricing.book.price_book import PriceBook
from pricing.costing.jobs.capacity import Capacity
from pricing.costing.jobs.proposals import Proposal
from pricing.costing.jobs.review import Review
from pricing.files.atomic import written_beside
from pricing.reports.review.book import CAPACITY, ITEMS, JOBS, LOADS, STANDARDS, SUMMARY, ReviewBook
from pricing.reports.review.capacity import write_capacity
from pricing.reports.review.summary import write_summary
from pricing.reports.review.tables import checks_of, place_tables, write_items, write_jobs, write_standards
from pricing.reports.shared.checks import CHECKS, write_checks

#: Room between the figures of neighbouring columns [characters].
ROOM = 2.2


def write_review(book: PriceBook, path: Path, review: Review | None, proposals: Sequence[Proposal], capacity: Capacity | None) -> None:
    """Write the review workbook; the first of its sheets opens on the sentence that matters.

    Parameters
    ----------
    book : the price book
    path : where it goes; it is written beside and moved into place
    review, proposals, capacity : what there is to show; a sheet is left out where there is nothing

    Problems raised: OSError where the folder cannot be written.
    """
    with written_beside(path) as beside:
        made = ReviewBook(book, beside, review, proposals, capacity)
        names = [SUMMARY, JOBS, ITEMS] if review else []
        names += [STANDARDS] if proposals else []
        names += [CAPACITY, LOADS] if capacity else []
        made.add_sheets([*names, CHECKS])
        place_tables(made)
        if review:
            write_jobs(made)
            write_items(made)
        if proposals:
            write_standards(made)
        if review:
            write_summary(made)
        if capacity:
            write_capacity(made)
        write_checks(made, checks_of(made))
        made.blocks.widths = {place: width + ROOM for place, width in made.blocks.widths.items()}
        made.blocks.settle_widths(made.sheets)
        for name in set(names) - {SUMMARY}:
            widths = {letter: round(width * 7 + 5) for (sheet, letter), width in made.blocks.widths.items() if sheet == name}
            made.fit(made.sheets[name], [widths[letter] for letter in sorted(widths, key=lambda each: (len(each), each))])
        made.protect()
        made.close("Review", _last_day(review, capacity))


def _last_day(review: Review | None, capacity: Capacity | None) -> datetime.date | None:
    days = [job.promise.day.astype("datetime64[D]").astype(object) for job in review.jobs] if review else []
    days += [order.ordered for order in capacity.orders] if capacity else []
    return max(days, default=None)
