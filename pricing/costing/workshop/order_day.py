"""The calendar of a quote from the day of the order on, at the prices of the quote.

What was promised stays: prices, the number of moulds, and what is bought are those of the quote's own date. Only the days move.
"""

from __future__ import annotations

import copy
import dataclasses
import datetime

import numpy as np

from pricing.costing.moulds.numbers import price_against_lead_time
from pricing.costing.workshop.steps import work_calendar
from pricing.costing.workshop.work import Work


def begun_after_order(work: Work, day: datetime.date) -> Work:
    """A quote that is prepared, its calendar and its lead times counted from the day of the order.

    Parameters
    ----------
    work : everything that the workshop needs; it is not altered
    day : of the order; work begins so many working days after it as the price book says

    Problems raised: CalendarError for an order of more than a hundred years.
    """
    moved = copy.copy(work.costing)
    moved.lines = dataclasses.replace(moved.lines, day=np.full(len(moved.lines), np.datetime64(day, "D")))
    choices = tuple(price_against_lead_time(moved, line) for line in range(len(moved.lines)))
    return dataclasses.replace(work, calendar=work_calendar(moved, work.steps), choices=choices)
