"""The customer's workbook: one sheet that reads as a letter and adds up by itself.

It is written from scratch out of what a quote says (``quote_facts``), with every amount below the lines as the live
formula of its rule over cells of the same page, and searched for leaks, whole as it will be, before it is written to the disk at all.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.files.atomic import written_beside
from pricing.reports.leaks.gate import LeakError
from pricing.reports.quote.facts import QuoteFacts, index_of, quote_facts
from pricing.reports.quote.secrets import secrets_of_facts
from pricing.xlsx.writing.safe_text import safe_file_name

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing
    from pricing.reports.quote.sketch import Sketch

__all__ = ["LeakError", "quote_file_name", "write_quote", "write_quotes"]


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
    breaks : for a table of prices by quantity, ``at_quantities(costing, quantities)``

    Problems raised: KeyError where the costing has no such quote; LeakError where the finished file holds what the
    customer must not see, and nothing is delivered; OSError where the folder cannot be written.
    """
    for refusal in write_quotes(costing, [(quote, path)], breaks=breaks):
        if refusal is not None:
            raise refusal


def write_quotes(
    costing: Costing, quotes: Sequence[tuple[str, Path]], *, breaks: Costing | None = None
) -> Iterator[LeakError | None]:
    """Write the workbooks of some quotes, each step for all of them, which is quicker than all steps for each.

    Parameters
    ----------
    costing, breaks : as for :func:`write_quote`
    quotes : number of each, and where it goes; a few dozen at most, for their pages are in memory together

    Returns
    -------
    for each, as soon as it stands in its place, nothing; or why it is not delivered

    Problems raised: KeyError before any is written; OSError when the turn of one comes that cannot be written.
    """
    from pricing.reports.quote.page import sketches_of
    from pricing.reports.quote.skeleton import leaks_of

    index = index_of(costing)
    said = [quote_facts(costing, quote, breaks) for quote, _ in quotes]
    secrets = [
        secrets_of_facts(costing, facts, index.lines[quote], index.number[quote])
        for facts, (quote, _) in zip(said, quotes, strict=True)
    ]
    sketches = [sketches_of(facts) for facts in said]
    pages = [io.BytesIO() for _ in quotes]
    for facts, drawn, page in zip(said, sketches, pages, strict=True):
        write_facts(facts, page, drawn)
    found = [leaks_of(page, own) for page, own in zip(pages, secrets, strict=True)]
    for facts, (_, path), page, leaks in zip(said, quotes, pages, found, strict=True):
        if not leaks:
            with written_beside(path) as beside:
                beside.write_bytes(page.getbuffer())
        yield LeakError(facts.quote, leaks) if leaks else None


def write_facts(facts: QuoteFacts, target: Path | io.BytesIO, sketches: Sequence[Sketch | None] | None = None) -> None:
    """Write the page of a quote, not yet searched, into a file or into memory.

    Parameters
    ----------
    sketches : of its lines, where they are drawn already
    """
    from pricing.reports.quote.page import QuotePage, page_widths
    from pricing.reports.quote.wording import LABELS
    from pricing.reports.shared.flowing_page import Page, set_properties, workbook_options
    from pricing.reports.shared.styles import Styles
    from pricing.xlsx.writing.safe_text import one_line
    from pricing.xlsx.writing.workbook import new_workbook

    with new_workbook(target, workbook_options()) as book:
        title = f"{LABELS['quote']} {one_line(facts.quote, 100)}"
        set_properties(book, title, one_line(facts.business, 100), facts.day)
        QuotePage(facts, Page(book.add_worksheet(LABELS["quote"]), Styles(book), page_widths(facts)), sketches).write()
