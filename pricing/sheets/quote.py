"""The customer's workbook: one sheet that reads as a letter and adds up by itself.

It is written from scratch out of what a quote says (``quote_facts``), with every amount below the lines as the live
formula of its rule over cells of the same page, and searched for leaks, whole as it will be, before it is written to the disk at all.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.sheets.leak_secrets import secrets_of_facts
from pricing.sheets.leaks import LeakError, find_leaks
from pricing.sheets.quote_facts import QuoteFacts, index_of, quote_facts
from pricing.sheets.safe_text import safe_file_name
from pricing.sheets.saving import written_beside

if TYPE_CHECKING:
    from pricing.costing.costing import Costing

__all__ = ["LeakError", "quote_file_name", "write_quote"]


def quote_file_name(quote: str) -> str:
    """The name of a quote's workbook, made safe for every file system.

    >>> quote_file_name("Q-1041")
    'Q-1041 quote.xlsx'
    """
    return safe_file_name(quote, " quote.xlsx")


def write_quote(costing: Costing, quote: str, path: Path, *, breaks: Costing | None = None) -> None:
    """Write the workbook of a quote for its customer.

    Parameters
    ----------
    costing : a costing without errors that holds the quote
    quote : its number
    path : where it goes; it is written beside and moved into place
    breaks : for a table of prices by quantity, ``costing.breaks(quantities)``

    Problems raised: KeyError where the costing has no such quote; LeakError where the finished file holds what the
    customer must not see, and nothing is delivered; OSError where the folder cannot be written.
    """
    facts = quote_facts(costing, quote, breaks)
    index = index_of(costing)
    secrets = secrets_of_facts(costing, facts, index.lines[quote], index.number[quote])
    page = io.BytesIO()
    write_facts(facts, page)
    leaks = find_leaks(page, secrets)
    if leaks:
        raise LeakError(facts.quote, leaks)
    with written_beside(path) as beside:
        beside.write_bytes(page.getbuffer())


def write_facts(facts: QuoteFacts, target: Path | io.BytesIO) -> None:
    """Write the page of a quote, not yet searched, into a file or into memory."""
    from pricing.sheets.quote_layout import Page, set_properties, workbook_options
    from pricing.sheets.quote_page import QuotePage, page_widths
    from pricing.sheets.quote_words import LABELS
    from pricing.sheets.safe_text import one_line
    from pricing.sheets.styles import Styles
    from pricing.sheets.workbooks import new_workbook

    with new_workbook(target, workbook_options()) as book:
        title = f"{LABELS['quote']} {one_line(facts.quote, 100)}"
        set_properties(book, title, one_line(facts.business, 100), facts.day)
        QuotePage(facts, Page(book.add_worksheet(LABELS["quote"]), Styles(book), page_widths(facts))).write()
