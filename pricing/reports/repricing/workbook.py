"""Writes the repricing workbook: what moved, by how much, and why; every difference, share and sum a live formula."""

from __future__ import annotations

from pathlib import Path

from pricing.files.atomic import written_beside
from pricing.reports.repricing.book import FRONT, HISTORY, LIST, ORDERED, QUOTED, WHY_COST, WHY_PRICE, RepricingBook
from pricing.reports.repricing.front import write_front
from pricing.reports.repricing.history import write_history
from pricing.reports.repricing.tables import write_list, write_ordered, write_quotes
from pricing.reports.repricing.why import checks_of, write_why
from pricing.reports.shared.checks import CHECKS, write_checks
from pricing.repricing.changes import Repricing
from pricing.repricing.history import price_history


def write_repricing(repricing: Repricing, path: Path) -> None:
    """Write the repricing workbook.

    Parameters
    ----------
    path : where it goes; it is written beside and moved into place

    Problems raised: OSError where the folder cannot be written.
    """
    with written_beside(path) as beside:
        book = RepricingBook(repricing, beside)
        ordered = [ORDERED] if repricing.ordered else []
        history = price_history(repricing.unchanged or repricing.book, repricing.day)
        book.add_sheets([FRONT, LIST, QUOTED, *ordered, WHY_COST, WHY_PRICE, *([HISTORY] if history else []), CHECKS])
        write_list(book)
        write_quotes(book)
        if ordered:
            write_ordered(book)
        blocks = write_why(book)
        write_front(book, blocks)
        if history is not None:
            write_history(book, history)
        write_checks(book, checks_of(blocks))
        book.close("Repricing", repricing.day)
