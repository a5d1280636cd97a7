"""The workshop's workbook: what is made, cut, mixed, done, when, and what to buy for it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pricing.costing.method.mould_boards import kerf_of
from pricing.costing.workshop.shopping import ShoppingList
from pricing.costing.workshop.work import Work, prepare
from pricing.files.atomic import written_beside
from pricing.reports.drawing.strokes import Figures, figure
from pricing.reports.quote.facts import QuoteFacts, quote_facts
from pricing.reports.shared.styles import Styles, page_size
from pricing.xlsx.writing.safe_text import one_line, safe_file_name

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing

#: The name of the list of everything that several quotes take.
SHOPPING_FILE = "shopping list.xlsx"


def workshop_file_name(quote: str) -> str:
    """The name of a quote's workshop workbook, made safe for every file system.

    >>> workshop_file_name("Q-1041")
    'Q-1041 workshop.xlsx'
    """
    return safe_file_name(quote, " workshop.xlsx")


def write_workshop(costing: Costing, quote: str, path: Path) -> Work:
    """Write the workshop workbook of a quote; returns what it says.

    Parameters
    ----------
    costing : a costing without errors that holds the quote
    quote : its number
    path : where it goes; it is written beside and moved into place

    Problems raised: KeyError where the costing has no such quote; CalendarError for an order of more than a hundred years;
    OSError where the folder cannot be written.
    """
    work = prepared(costing, quote)
    write_work_of(work, path)
    return work


def prepared(costing: Costing, quote: str) -> Work:
    """Everything that the workshop needs to make a quote, its notes in the maker's measures.

    Parameters
    ----------
    costing : a costing without errors that holds the quote
    quote : its number

    Problems raised: KeyError where the costing has no such quote; CalendarError for an order of more than a hundred years.
    """
    figures = _figures(quote_facts(costing, quote))
    return prepare(costing, quote, figure=lambda length: figure(length, figures) + (" mm" if figures == "mm" else ""))


def _figures(facts: QuoteFacts) -> Figures:
    """How lengths are written: in inches where those of every piece are."""
    return "in" if facts.lines and all(line.figures == "in" for line in facts.lines) else "mm"


def write_work_of(work: Work, path: Path) -> None:
    """Write the workshop workbook of a quote that is prepared.

    Parameters
    ----------
    path : where it goes; it is written beside and moved into place

    Problems raised: OSError where the folder cannot be written.
    """
    from pricing.reports.workshop import batches, calendar, cut_list, overview, steps
    from pricing.reports.workshop import shopping as workshop_shopping
    from pricing.reports.workshop.page import WorkPage

    facts = quote_facts(work.costing, work.quote)
    figures = _figures(facts)
    with _book(path, f"Work for quote {one_line(work.quote, 100)}", facts.business, facts.day) as book:
        styles = Styles(book)

        def page(name: str, widths: Sequence[int], landscape: bool) -> WorkPage:
            return WorkPage(book, styles, name, widths, paper=facts.paper, business=facts.business, landscape=landscape)

        pages = [
            page("Work", overview.WIDTHS, True), page("Cut list", cut_list.WIDTHS, False),
            page("Batches", batches.widths(facts.mass_unit), True), page("Steps", steps.WIDTHS, True),
            page("Calendar", calendar.WIDTHS, True), page("Shopping", workshop_shopping.WIDTHS, True),
            page("Lead time", calendar.CHOICES_WIDTHS, False),
        ]
        overview.write_work(pages[0], work, facts)
        cut_list.write_cuts(pages[1], work, figures, kerf_of(work.costing.book))
        batches.write_batches(pages[2], work, work.costing.book.number("scale_step"), facts.mass_unit)
        steps.write_steps(pages[3], work, facts)
        calendar.write_calendar(pages[4], work)
        told = [problem.message for problem in work.problems]
        workshop_shopping.write_shopping(pages[5], work.shopping, work.costing.currency, told, facts.mass_unit)
        calendar.write_choices(pages[6], work)
        for each in pages:
            each.finish()


def write_shopping_list(shopping: ShoppingList, costing: Costing, path: Path, told: Sequence[str] = ()) -> None:
    """Write the shopping list of several quotes.

    Parameters
    ----------
    shopping : what to buy
    costing : of one of the quotes, for the business and the currency
    path : where it goes; it is written beside and moved into place
    told : sentences on what is left out

    Problems raised: OSError where the folder cannot be written.
    """
    from pricing.reports.workshop import shopping as workshop_shopping
    from pricing.reports.workshop.page import WorkPage

    facts: QuoteFacts = quote_facts(costing, costing.quotes[0])
    paper = page_size(costing.currency, costing.book.word("page_size"))
    with _book(path, "Shopping list", facts.business, shopping.day) as book:
        page = WorkPage(book, Styles(book), "Shopping", workshop_shopping.WIDTHS, paper=paper, business=facts.business, landscape=True)
        workshop_shopping.write_shopping(page, shopping, costing.currency, told, facts.mass_unit)
        page.finish()


@contextmanager
def _book(path: Path, title: str, author: str, day: datetime.date) -> Iterator[Any]:
    """A workbook that takes its place only when it is whole."""
    from pricing.reports.shared.flowing_page import set_properties, workbook_options
    from pricing.xlsx.writing.workbook import new_workbook

    with written_beside(path) as beside, new_workbook(str(beside), workbook_options()) as book:
        set_properties(book, title, author, day)
        yield book
