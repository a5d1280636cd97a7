"""A published index of prices, read from a CSV file: how much a price moved between two dates.

The file has one row a month: a column ``month`` with 2019-01, or two columns ``year`` and ``month``; every other column is
a series. A whole year stands for the mean of its twelve months, as publishers print it.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Sequence
from pathlib import Path

from pricing.book.wording.sentences import listed
from pricing.dataclass import dataclass
from pricing.problems import PricingError
from pricing.text import fold

#: No index is larger [bytes]; a larger file is something else.
LARGEST = 20_000_000

_MONTH = re.compile(r"(\d{4})-(\d{1,2})(?:-\d{1,2})?")
_DATE = re.compile(r"\d{4}(?:-(?:0[1-9]|1[0-2]))?")


class PriceIndexError(PricingError, ValueError):
    """Raised where an index cannot be read or does not hold what is asked for; its text is a sentence with the remedy."""

    code = "price-index"


@dataclass(frozen=True)
class PriceIndex:
    """The series of an index by month.

    Parameters
    ----------
    file : its name, without its folder
    series : by name, the figure of each month ``(2019, 1)``; a month without one is absent
    """

    file: str
    series: dict[str, dict[tuple[int, int], float]]

    def named(self, name: str) -> str:
        """The series that a name means: its heading in any letter case, or the start of one that no other has."""
        wanted = fold(name).replace(" ", "_")
        spelled = {fold(each).replace(" ", "_"): each for each in self.series}
        found = [each for key, each in spelled.items() if key == wanted] or [
            each for key, each in spelled.items() if wanted and key.startswith(wanted)
        ]
        if not name and len(self.series) == 1:
            found = list(self.series)
        if len(found) != 1:
            which = f'no series "{name}"' if name else "more than one series"
            raise PriceIndexError(f"{self.file}: there is {which}; name one of {listed(self.series)} with --series")
        return found[0]

    def at(self, series: str, date: str) -> float:
        """The figure of a month, ``2019-01``, or the mean of a whole year, ``2019``.

        Problems raised: PriceIndexError where the index has none for that date.
        """
        if not _DATE.fullmatch(date):
            raise PriceIndexError(f'"{date}" is no month; write it as 2024-03, or a whole year as 2024')
        months = self.series[series]
        year = int(date[:4])
        wanted = [(year, int(date[5:]))] if len(date) > 4 else [(year, month) for month in range(1, 13)]
        missing = [f"{y}-{m:02}" for y, m in wanted if (y, m) not in months]
        if missing:
            first, last = min(months), max(months)
            raise PriceIndexError(
                f"{self.file}: {series} has no figure for {missing[0]}; it runs from {first[0]}-{first[1]:02} to {last[0]}-{last[1]:02}"
            )
        return math.fsum(months[each] for each in wanted) / len(wanted)

    def ratio(self, series: str, start: str, end: str) -> float:
        """Price at the end over price at the start [1]."""
        return self.at(series, end) / self.at(series, start)


def read_price_index(path: Path) -> PriceIndex:
    """The index in a CSV file.

    Parameters
    ----------
    path : of the file, in UTF-8, columns separated by commas, semicolons or tabs

    Problems raised: PriceIndexError where it cannot be read, or a figure in it is none.
    """
    name = path.name
    try:
        if path.stat().st_size > LARGEST:
            raise PriceIndexError(f"{name}: the file is too large for an index of prices")
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise PriceIndexError(f"{name}: the file is not text in UTF-8; save it as CSV (UTF-8)") from None
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise PriceIndexError(f"{name}: cannot be read ({reason}); look at its name and folder") from None
    first = text.partition("\n")[0]
    separator = max(",;\t", key=first.count)
    try:
        rows = list(csv.reader(text.splitlines(), delimiter=separator, strict=True))
    except csv.Error as error:
        raise PriceIndexError(f"{name}: is no CSV file ({error})") from None
    if not rows:
        raise PriceIndexError(f"{name}: the file is empty")
    return _index(name, rows)


def _index(name: str, rows: Sequence[Sequence[str]]) -> PriceIndex:
    headings = [heading.strip() for heading in rows[0]]
    folded = [fold(heading) for heading in headings]
    if "month" not in folded and "year" not in folded:
        raise PriceIndexError(f"{name}: there is no column month or year; head one so, with 2024-03 or 2024 below it")
    dates: dict[str, int] = {word: folded.index(word) for word in ("year", "month") if word in folded}
    columns = [(number, heading) for number, heading in enumerate(headings) if number not in dates.values() and heading]
    series: dict[str, dict[tuple[int, int], float]] = {heading: {} for _, heading in columns}
    for line, row in enumerate(rows[1:], 2):
        if not any(cell.strip() for cell in row):
            continue
        months = _months(name, line, row, dates)
        for number, heading in columns:
            typed = row[number].strip() if number < len(row) else ""
            if typed:
                series[heading] |= dict.fromkeys(months, _figure(name, line, heading, typed))
    return PriceIndex(name, {heading: months for heading, months in series.items() if months})


def _months(name: str, line: int, row: Sequence[str], dates: dict[str, int]) -> list[tuple[int, int]]:
    """The months that a row is of: one, or all of a year where the index has years alone."""
    if "month" not in dates:
        typed = row[dates["year"]].strip() if dates["year"] < len(row) else ""
        if not (typed.isdecimal() and len(typed) == 4):
            raise PriceIndexError(f'{name} line {line}: "{typed}" is no year; write it as 2024')
        return [(int(typed), month) for month in range(1, 13)]
    return [_month(name, line, row, dates)]


def _month(name: str, line: int, row: Sequence[str], dates: dict[str, int]) -> tuple[int, int]:
    parts = [row[number].strip() if number < len(row) else "" for number in dates.values()]
    found = _MONTH.fullmatch("-".join(parts))
    if found is None or not 1 <= int(found[2]) <= 12:
        raise PriceIndexError(f'{name} line {line}: "{" ".join(parts)}" is no month; write it as 2024-03')
    return int(found[1]), int(found[2])


def _figure(name: str, line: int, heading: str, typed: str) -> float:
    try:
        figure = float(typed)
    except ValueError:
        figure = math.nan
    if not (math.isfinite(figure) and figure > 0):
        raise PriceIndexError(f'{name} line {line}: {heading} "{typed}" is no index; a figure above zero with a decimal point is needed')
    return figure
