"""A recorded quote as a costing: its own figures, from the inputs that were recorded with it."""

from __future__ import annotations

import datetime
from dataclasses import replace

from pricing.book.price_book import PriceBook
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines
from pricing.problems import BookError, Problems
from pricing.register.book_rows import book_of_record
from pricing.register.recorded_quote import RecordedQuote
from pricing.register.register import Register


def costing_of_record(book: PriceBook, register: Register, quote: RecordedQuote) -> Costing:
    """The costing of a recorded quote, figure by figure as it was made.

    Where an earlier version made it in a way that this one no longer has, its lines are costed anew, at the prices that were promised.

    Parameters
    ----------
    book : as it is today, for whatever the record does not hold: addresses, settings of the page

    Problems raised: RegisterError where the record is damaged, or a product is gone that it does not hold; BookError where it has to be
    costed anew, and that cannot be done.
    """
    model, problems = register.model(quote), Problems(book.file)
    number = quote.number if model is None else str(model.tables["quotes"].text["quote"][0])
    own = book_of_record(book, register, quote, number)
    if own.word("currency") != quote.currency:
        own = replace(own, settings={**own.settings, "currency": quote.currency})
    lines = enquired(own)
    if model is not None:
        return Costing(own, lines, problems, model, evaluate(model))
    costing = cost_lines(own, lines, problems)
    if problems.errors:
        raise BookError(problems.errors)
    return costing


def work_of_record(
    book: PriceBook, register: Register, quote: RecordedQuote, problems: Problems, day: datetime.date | None = None
) -> Costing:
    """The costing by which an ordered quote is made: its own lines and products, by the workshop's way of working of today.

    Parameters
    ----------
    problems : takes what stands against it, and what the maker has to look at
    day : whose prices hold; the quote's own where None

    Problems raised: RegisterError where the record is damaged, or a product is gone that it does not hold.
    """
    own = book_of_record(book, register, quote)
    return cost_lines(own, enquired(own, day=day), problems)
