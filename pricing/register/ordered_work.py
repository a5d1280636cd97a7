"""The work of quotes that are ordered and not yet done, as the register beside a price book has it."""

from __future__ import annotations

import datetime

import numpy as np

from pricing.book.price_book import OrderedWork, PriceBook
from pricing.costing.engine.evaluation import evaluate
from pricing.register.register import Register, RegisterError
from pricing.text import fold

#: An order that was noted longer ago is taken as done, also where nobody wrote what it took into Actuals [days]; common practice,
#: no source.
OPEN_FOR = 180


def ordered_work(book: PriceBook, day: datetime.date) -> tuple[OrderedWork, ...]:
    """The ordered quotes of the register that are not yet made and have no rows in Actuals, in the order in which they were ordered.

    Parameters
    ----------
    day : on which they are not yet done

    None where there is no register, or where it cannot be read or told from others: who opens it to write is told.
    """
    found: list[OrderedWork] = []
    try:
        with Register.open(book.path, to_read=True) as register:
            ordered = register.quotes(state="ordered", brief=True)
            done = _done(book) if ordered else set()
            for recorded in ordered:
                if fold(recorded.number) in done or recorded.since < day - datetime.timedelta(days=OPEN_FOR):
                    continue
                model = register.model(recorded)
                if model is not None:
                    values = evaluate(model)
                    hours = float(np.sum(values.value("lines", "labour_hours") * values.value("lines", "quantity")))
                    found.append(OrderedWork(recorded.number, recorded.since, hours))
    except RegisterError:
        return ()
    return tuple(sorted(found, key=lambda each: (each.since, each.quote)))


def _done(book: PriceBook) -> set[str]:
    from pricing.costing.jobs.finished_jobs import finished_quotes

    return {fold(quote) for quote in finished_quotes(book)}
