"""Checks of the days on which the workshop is closed."""

from __future__ import annotations

import numpy as np

from pricing.book.checking.sheet_view import SheetView
from pricing.book.closed_days import public_holidays
from pricing.book.price_book import PriceBook
from pricing.book.wording.reporter import Reporter
from pricing.problems import Problems


def check_closed_days(book: PriceBook, problems: Problems) -> None:
    """Report closures that end before they begin, and a code of public holidays that nobody knows."""
    at = SheetView(book, problems, "Closed")
    for row, (first, last) in enumerate(zip(at.table["from"], at.table["to"], strict=True)):
        if not (np.isnat(first) or np.isnat(last)) and last < first:
            at.report("closed-backwards", "to", row, first=str(first), last=str(last))
    code = book.word("holidays")
    if not code:
        return
    report = Reporter(problems, book.tables["Workshop"].sheet_as_written).report
    try:
        public_holidays(code.upper(), 2025, 2025)
    except ImportError:
        report("no-holidays", book.setting_cells.get("holidays", ""), found=code)
    except KeyError:
        report("unknown-holidays", book.setting_cells.get("holidays", ""), found=code)
