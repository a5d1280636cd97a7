"""The workshop's workbook: what is made, cut, mixed, done, when, and what to buy for it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from pricing.costing.method.costing import Costing
from pricing.costing.method.mould_boards import kerf_of
from pricing.costing.workshop.shopping import ShoppingList
from pricing.costing.workshop.work import Work, prepare
from pricing.files.atomic import written_beside
from pricing.languages.tags import usual_language
from pricing.reports.drawing.strokes import LengthUnit, figure
from pricing.reports.quote.facts import QuoteFacts, quote_facts
from pricing.reports.shared.report_book import House, ReportBook
from pricing.reports.workshop import batches, calendar, cut_list, overview, steel, steps
from pricing.reports.workshop import shopping as shopping_page
from pricing.reports.workshop.page import WorkPage
from pricing.xlsx.writing.safe_text import safe_file_name

#: The name of the list of everything that several quotes take.
SHOPPING_FILE = "shopping list.xlsx"


def workshop_file_name(quote: str) -> str:
    """The name of a quote's workshop workbook, made safe for every file system.

    >>> workshop_file_name("Q-1041")
    'Q-1041 workshop.xlsx'
    """
    return safe_file_name(quote, " workshop.xlsx")


def prepared(costing: Costing, quote: str) -> Work:
    """Everything that the workshop needs to make a quote, its notes in the maker's measures.

    Parameters
    ----------
    costing : a costing without errors that holds the quote
    quote : its number

    Problems raised: KeyError where the costing has no such quote; CalendarError for an order of more than a hundred years.
    """
    figures = _figures(_facts(costing, quote))
    return prepare(costing, quote, figure=lambda length: figure(length, figures) + (" mm" if figures == "mm" else ""))


def _facts(costing: Costing, quote: str) -> QuoteFacts:
    """What the quote says, in the language in which the pack is written, whatever the customer's is."""
    return quote_facts(costing, quote, language=usual_language(costing.currency))


def _house(costing: Costing) -> House:
    """Whose pack it is; an American workshop's is spelled as that country spells."""
    return House.of(costing.book, spelled=True)


def _figures(facts: QuoteFacts) -> LengthUnit:
    """How lengths are written: in inches where those of every piece are."""
    return "in" if facts.lines and all(line.figures == "in" for line in facts.lines) else "mm"


def write_work_of(work: Work, path: Path) -> None:
    """Write the workshop workbook of a quote that is prepared.

    Parameters
    ----------
    path : where it goes; it is written beside and moved into place

    Problems raised: OSError where the folder cannot be written.
    """
    facts = _facts(work.costing, work.quote)
    figures, unit, currency = _figures(facts), facts.mass_unit, work.costing.currency
    scale = work.costing.book.number("scale_step")
    house = _house(work.costing)
    with _book(path, house, f"Work for quote {work.quote}", facts.day) as book:
        pages = [
            WorkPage(book, "Work", overview.columns(unit), landscape=True), WorkPage(book, "Cut list", cut_list.columns(figures)),
            WorkPage(book, "Batches", list(batches.columns(scale, unit).values()), landscape=True),
            WorkPage(book, "Steps", steps.COLUMNS, landscape=True),
            WorkPage(book, "Calendar", calendar.COLUMNS, *calendar.BARS, landscape=True),
            WorkPage(book, "Shopping", shopping_page.columns(currency), landscape=True),
            WorkPage(book, "Lead time", calendar.choices_columns(currency)),
        ]
        if work.steel.rows:
            page = WorkPage(book, "Steel", steel.columns(figures, unit), landscape=True)
            steel.write_steel(page, work.quote, work.steel, figures, unit)
            pages.append(page)
        overview.write_work(pages[0], work, facts)
        cut_list.write_cuts(pages[1], work, figures, kerf_of(work.costing.book))
        batches.write_batches(pages[2], work, scale, unit)
        steps.write_steps(pages[3], work, facts)
        calendar.write_calendar(pages[4], work)
        shopping_page.write_shopping(pages[5], work.shopping, [problem.message for problem in work.problems], unit)
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
    facts = _facts(costing, costing.lines.quotes[0])
    with _book(path, _house(costing), "Shopping list", shopping.day) as book:
        page = WorkPage(book, "Shopping", shopping_page.columns(costing.currency), landscape=True)
        shopping_page.write_shopping(page, shopping, told, facts.mass_unit)
        page.finish()


@contextmanager
def _book(path: Path, house: House, title: str, day: datetime.date) -> Iterator[ReportBook]:
    """A workbook that takes its place only when it is whole."""
    with written_beside(path) as beside:
        book = ReportBook(str(beside), house, in_memory=True)
        yield book
        book.close(title, day)
