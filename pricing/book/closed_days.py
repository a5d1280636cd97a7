"""The days on which the workshop is closed: its own, and the public holidays of where it is."""

from __future__ import annotations

import datetime
import functools
from typing import Any

import numpy as np

from pricing.book.price_book import PriceBook

#: Public holidays are looked up from so many years before the first quote to so many after the last [years].
BEFORE, AFTER = 1, 5


def closed_days(book: PriceBook) -> tuple[datetime.date, ...]:
    """Every day on which the workshop is closed besides its free days of the week, in order."""
    return tuple(sorted({*own_days(book), *_public(book)}))


def own_days(book: PriceBook) -> list[datetime.date]:
    """The days of the sheet Closed."""
    table = book.tables["Closed"]
    found: list[datetime.date] = []
    for first, last in zip(table["from"], table["to"], strict=True):
        if not np.isnat(first):
            end = first if np.isnat(last) else last
            found += np.arange(first, end + np.timedelta64(1, "D"), dtype="datetime64[D]").tolist()
    return found


def _public(book: PriceBook) -> tuple[datetime.date, ...]:
    code = book.word("holidays")
    if not code:
        return ()
    days = book.tables["Enquiries"]["date"]
    known = days[~np.isnat(days)].astype("datetime64[Y]").astype(int) + 1970
    years = (int(known.min()), int(known.max())) if len(known) else (datetime.date.today().year,) * 2
    return public_holidays(code.upper(), years[0] - BEFORE, years[1] + AFTER)


@functools.lru_cache(maxsize=8)
def public_holidays(code: str, first: int, last: int) -> tuple[datetime.date, ...]:
    """The public holidays of a country or a part of one.

    Parameters
    ----------
    code : ISO 3166 code: ``GB``, ``GB-ENG``
    first, last : years

    Problems raised: ImportError where the library of holidays is not installed, KeyError where it does not know the code.

    >>> datetime.date(2026, 12, 25) in public_holidays("GB-ENG", 2026, 2026)
    True
    """
    import holidays

    country, _, part = code.partition("-")
    more: dict[str, Any] = {"subdiv": part} if part else {}
    try:
        found = holidays.country_holidays(country, years=range(first, last + 1), **more)
    except NotImplementedError:
        raise KeyError(code) from None
    return tuple(sorted(found))
