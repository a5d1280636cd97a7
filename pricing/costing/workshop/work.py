"""Everything that the workshop needs to make a quote: cut list, batch sheets, steps, calendar, shopping list.

Pure: it computes and writes nothing. The workbook is written from it by the workbook writer.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable

from pricing.book.services import service_rows
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.numbers import MouldChoice, price_against_lead_time, wanted_days
from pricing.costing.run import cost_lines
from pricing.costing.workshop.batch_sheets import BatchSheet, batch_sheets
from pricing.costing.workshop.cut_list import SECONDS, CutList, cut_list
from pricing.costing.workshop.shopping import ShoppingList, shopping_list
from pricing.costing.workshop.steel import SteelList, steel_list
from pricing.costing.workshop.steps import WorkCalendar, WorkStep, work_calendar, work_steps
from pricing.dataclass import dataclass
from pricing.problems import Problems


@dataclass(frozen=True)
class Work:
    """A quote, ready to be made.

    Parameters
    ----------
    costing : of this quote alone
    quote : its number
    cuts : panels, and how they nest
    steel : what is cast into the pieces besides concrete
    batches : a sheet for each mix
    steps : of all lines, in order
    calendar : the days
    wanted : the last day that will do, for each line
    choices : for each line, price against lead time by the number of moulds
    shopping : what to buy for this quote alone
    problems : what the maker has to look at before buying
    """

    costing: Costing
    quote: str
    cuts: CutList
    steel: SteelList
    batches: tuple[BatchSheet, ...]
    steps: tuple[WorkStep, ...]
    calendar: WorkCalendar
    wanted: tuple[datetime.date | None, ...]
    choices: tuple[tuple[MouldChoice, ...], ...]
    shopping: ShoppingList
    problems: Problems


def alone(costing: Costing, quote: str) -> Costing:
    """A costing of one quote at the prices of its day.

    Problems raised: KeyError where the costing has no such quote.
    """
    lines = costing.lines_of(quote)
    if not lines:
        raise KeyError(quote)
    if costing.lines.quotes == (quote,):
        return costing
    day = costing.lines.day[lines[0]].astype("datetime64[D]").astype(object)
    return cost_lines(costing.book, enquired(costing.book, [quote], day))


def _is_cast(costing: Costing) -> list[bool]:
    """Which lines are cast; the others are services."""
    cast: list[bool] = (service_rows(costing.book, costing.lines.product) == 0).tolist()
    return cast


def prepare(costing: Costing, quote: str, seconds: float = SECONDS, figure: Callable[[float], str] | None = None) -> Work:
    """Everything that the workshop needs to make a quote.

    Parameters
    ----------
    costing : a costing without errors that holds the quote
    quote : its number
    seconds : effort that the search for fewer sheets may spend on each board [s]
    figure : from a length [m] to its text in a note of the cut list; whole millimetres where none is given

    Problems raised: KeyError where the costing has no such quote; CalendarError for an order of more than a hundred years.
    """
    own = alone(costing, quote)
    cuts, steps = cut_list(own, seconds, figure), work_steps(own)
    problems = Problems(own.book.file)
    return Work(
        own, quote, cuts, steel_list(own), batch_sheets(own), steps, work_calendar(own, steps), tuple(wanted_days(own)),
        tuple(price_against_lead_time(own, line) if cast else () for line, cast in enumerate(_is_cast(own))),
        shopping_list([own], [cuts.sheets()], problems), problems,
    )


def shopping_for(works: list[Work], problems: Problems, day: datetime.date | None = None) -> ShoppingList:
    """What to buy for several quotes together.

    Parameters
    ----------
    works : each of one quote, all of one price book
    problems : collects what the maker has to look at before buying
    day : whose prices hold; the latest day of the quotes where None
    """
    return shopping_list([work.costing for work in works], [work.cuts.sheets() for work in works], problems, day)
