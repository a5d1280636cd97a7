"""The customer's workbook: one sheet that reads as a letter and adds up by itself.

It is written from scratch out of what a quote says (``quote_facts``), with every amount below the lines as the live
formula of its rule over cells of the same page, and searched for leaks, whole as it will be, before it is written to the disk at all.
"""

from __future__ import annotations

import io
from pathlib import Path

from pricing.costing.method.costing import Costing
from pricing.files.atomic import written_beside
from pricing.reports.leaks.gate import LeakError
from pricing.reports.quote.facts import QuoteFacts, index_of, quote_facts
from pricing.reports.quote.layout import write_page
from pricing.reports.quote.secrets import secrets_of_facts
from pricing.reports.quote.skeleton import leaks_of
from pricing.reports.quote.wording import LABELS
from pricing.reports.shared.report_book import House, ReportBook
from pricing.xlsx.writing.safe_text import one_line

__all__ = ["LeakError", "search_quote", "searched_quote", "write_quote"]


def write_quote(
    costing: Costing, quote: str, path: Path, *, breaks: Costing | None = None, mark: str = "", label: str = ""
) -> None:
    """Write the workbook of a quote for its customer.

    Parameters
    ----------
    costing : a costing without errors that holds the quote
    quote : its number
    path : where it goes; it is written beside and moved into place
    breaks : for a table of prices by quantity, ``at_quantities(costing, quantities)``
    mark : that stands on every page, such as that of a draft
    label : what it is called on its page; its number where empty

    Problems raised: KeyError where the costing has no such quote; LeakError where the finished file holds what the
    customer must not see, and nothing is delivered; OSError where the folder cannot be written.
    """
    page = searched_quote(costing, quote, breaks=breaks, mark=mark, label=label)
    with written_beside(path) as beside:
        beside.write_bytes(page)


def searched_quote(costing: Costing, quote: str, *, breaks: Costing | None = None, mark: str = "", label: str = "") -> bytes:
    """The same in memory."""
    facts = quote_facts(costing, quote, breaks, mark, label=label)
    page = io.BytesIO()
    write_facts(facts, page)
    _search(costing, quote, facts, page)
    return page.getvalue()


def search_quote(costing: Costing, quote: str) -> None:
    """Search the page of a quote as it would be written, but for its drawings, which show no words.

    Problems raised: LeakError where it would hold what the customer must not see.
    """
    facts = quote_facts(costing, quote)
    page = io.BytesIO()
    write_facts(facts, page, pictures=False)
    _search(costing, quote, facts, page)


def _search(costing: Costing, quote: str, facts: QuoteFacts, page: io.BytesIO) -> None:
    index = index_of(costing)
    leaks = leaks_of(page, secrets_of_facts(costing, facts, index.lines[quote], index.number[quote]))
    if leaks:
        raise LeakError(facts.quote, leaks)


def write_facts(facts: QuoteFacts, target: Path | io.BytesIO, *, pictures: bool = True) -> None:
    """Write the page of a quote, not yet searched, into a file or into memory; its drawings are left out where *pictures* is False."""
    sheet = facts.words.say(LABELS["quote"])
    with ReportBook(target, House(facts.business, facts.paper, facts.currency), in_memory=True) as book:
        book.add_sheets([sheet])
        write_page(facts, book.sheets[sheet], book.styles, pictures=pictures)
        book.close(facts.words.say(LABELS["titled"], quote=one_line(facts.quote, 100)), facts.day)
