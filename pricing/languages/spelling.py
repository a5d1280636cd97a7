"""Our British words as they are spelled in America, and days as they are written there."""

from __future__ import annotations

import datetime
import re

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)

#: What is spelled otherwise there; the name of a sheet of the price book, and of its columns, stays what it is.
_SPELLED = tuple((re.compile(pattern), word) for pattern, word in (
    (r"\bmould", "mold"), (r"\bMould(?!s!)", "Mold"), (r"colour", "color"), (r"Colour", "Color"), (r"\bfibre", "fiber"),
    (r"\bFibre", "Fiber"), (r"\bgrey\b", "gray"), (r"\bGrey\b", "Gray"), (r"\blabour\b", "labor"),
    (r"(?<!sheet )\bLabour\b(?!!| plan)", "Labor"), (r"\b(\d{1,2}) (" + "|".join(MONTHS) + r") (\d{4})\b", r"\2 \1, \3"),
))

#: Number formats of days, each with the one that is used there.
_DAYS = {"d mmm yyyy": "mmm d, yyyy", "ddd d mmm yyyy": "ddd mmm d, yyyy", "ddd d mmm": "ddd mmm d", "d mmm": "mmm d"}


def in_american(text: str) -> str:
    """A text of ours as it is spelled in America.

    >>> in_american("in the mould"), in_american("Moulds!B5"), in_american("Grey fibre"), in_american("Labour of Labour!D5")
    ('in the mold', 'Moulds!B5', 'Gray fiber', 'Labor of Labour!D5')
    >>> in_american("ready on 28 December 2026")
    'ready on December 28, 2026'
    """
    for pattern, word in _SPELLED:
        text = pattern.sub(word, text)
    return text


def days_in_american(number: str) -> str:
    """The number format of a day as it is used in America; any other as it is.

    >>> days_in_american("d mmm yyyy"), days_in_american("#,##0")
    ('mmm d, yyyy', '#,##0')
    """
    return _DAYS.get(number, number)


def written_date(day: datetime.date) -> str:
    """A date as a letter writes it, the same on every machine.

    >>> written_date(datetime.date(2025, 4, 9))
    '9 April 2025'
    """
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"
