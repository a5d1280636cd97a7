"""Lines costed: the model built and evaluated, the numbers of moulds chosen, and the maker warned."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from pricing.book.price_book import PriceBook
from pricing.costing import warnings
from pricing.costing.lines.order_lines import BREAKS, OrderLines, enquired, list_lines, with_set_quantities
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.costed import costed
from pricing.costing.moulds.numbers import with_mould_numbers
from pricing.problems import BookError, Problems


def cost_lines(book: PriceBook, lines: OrderLines, problems: Problems | None = None) -> Costing:
    """Cost and price some lines.

    Parameters
    ----------
    problems : collects what the maker has to know; errors mean that the figures must not be used
    """
    problems = problems if problems is not None else Problems(book.file)
    costing = costed(book, lines, problems)
    if not problems.errors:
        costing = with_mould_numbers(costing)
        warnings.report(costing)
    return costing


def cost_quotes(book: PriceBook, quotes: Sequence[str] | None = None, day: datetime.date | None = None) -> Costing:
    """Cost and price the quotes of a price book, or those named.

    Parameters
    ----------
    quotes : numbers of quotes; all where None
    day : the day whose prices hold; each quote's own date where None

    Problems raised: BookError where something cannot be priced.
    """
    return _sound(cost_lines(book, enquired(book, quotes, day)))


def cost_catalogue(book: PriceBook, day: datetime.date, quantities: Sequence[float] | None = None) -> Costing:
    """Cost and price every product, at its usual run or at each of the quantities.

    Problems raised: BookError where something cannot be priced.
    """
    return _sound(cost_lines(book, list_lines(book, day, quantities)))


def at_quantities(costing: Costing, quantities: Sequence[float] = BREAKS, *, calculated: bool = False) -> Costing:
    """The same lines at other quantities, each as an order of its own, the parts of a set as one.

    Parameters
    ----------
    quantities : good pieces, or sets [pieces]
    calculated : with list prices and typed prices aside
    """
    return cost_lines(costing.book, with_set_quantities(costing.lines, quantities, calculated=calculated))


def _sound(costing: Costing) -> Costing:
    if costing.problems.errors:
        raise BookError(costing.problems.errors)
    return costing
