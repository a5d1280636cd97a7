"""The day that a typed text states; one that can be read as two days is reported, not guessed."""

from __future__ import annotations

import datetime
import functools
import re

from pricing.text import fold

DATE_REASONS = {
    "empty": "is empty",
    "ambiguous-date": "can be read as two different days; type the date as 2025-02-01",
    "not-a-date": "is not a date; type the date as 2025-02-01",
    "no-such-day": "is a day that does not exist",
}

_LONGEST = 100  # characters; longer texts are prose, not dates
_MONTHS = {
    name: number
    for number, names in enumerate(
        ("january jan", "february feb", "march mar", "april apr", "may", "june jun", "july jul", "august aug",
         "september sep sept", "october oct", "november nov", "december dec"), 1,
    )
    for name in names.split()
}
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[t ](?:[01]?\d|2[0-3]):[0-5]\d(?::[0-5]\d(?:\.\d{1,9})?)?z?)?", re.ASCII)
_YEAR_FIRST = re.compile(r"(\d{4})[./](\d{1,2})[./](\d{1,2})", re.ASCII)
_NUMBERED = re.compile(r"(\d{1,2})([-./ ])(\d{1,2})\2(\d{4}|\d{2})\.?", re.ASCII)
_WEEKDAY = re.compile(r"(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|satur|sat|sun)(?:day)?\.?,? +")
_DAY_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.?(?: of)?[ -]*([a-z]{3,9})\.?,?[ -]*(\d{4})", re.ASCII)
_NAMED_DAY = re.compile(r"([a-z]{3,9})\.? *(\d{1,2})(?:st|nd|rd|th)?,? +(\d{4})", re.ASCII)


def date_from_text(text: str) -> datetime.date | str:
    """The day that a text states, or the code of ``DATE_REASONS`` that says why it states none.

    Parameters
    ----------
    text : as typed: 2025-02-01, 1 February 2025, Feb 1, 2025, or 13/02/2025, where only one reading is a day

    >>> date_from_text("1 Feb 2025"), date_from_text("01/02/2025")
    (datetime.date(2025, 2, 1), 'ambiguous-date')
    """
    return _read(text[:_LONGEST])


@functools.lru_cache(maxsize=4096)
def _read(text: str) -> datetime.date | str:
    """The same for a text that is not too long; a book says the same days again and again."""
    plain = fold(text).replace("−", "-").replace("‐", "-").replace("–", "-")
    plain = _WEEKDAY.sub("", plain, count=1) if plain[:1].isalpha() else plain
    if not plain:
        return "empty"
    if match := _ISO.fullmatch(plain) or _YEAR_FIRST.fullmatch(plain):
        return _day(int(match[1]), int(match[2]), int(match[3]))
    if match := _DAY_NAMED.fullmatch(plain):
        return _day(int(match[3]), _MONTHS[match[2]], int(match[1])) if match[2] in _MONTHS else "not-a-date"
    if match := _NAMED_DAY.fullmatch(plain):
        return _day(int(match[3]), _MONTHS[match[1]], int(match[2])) if match[1] in _MONTHS else "not-a-date"
    if match := _NUMBERED.fullmatch(plain):
        one, two = int(match[1]), int(match[3])
        if len(match[4]) == 2:
            return "ambiguous-date"
        year = int(match[4])
        if one > 12 or one == two:
            return _day(year, two, one)
        return _day(year, one, two) if two > 12 else "ambiguous-date"
    return "not-a-date"


def _day(year: int, month: int, day: int) -> datetime.date | str:
    try:
        return datetime.date(year, month, day)
    except ValueError:
        return "no-such-day"
