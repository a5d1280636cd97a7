"""Figures in texts: as people of different countries write them, and how exactly each says what it says."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from typing import Literal

from pricing.dataclass import dataclass
from pricing.reports.leaks.marks import BEHIND, as_typed, is_day, is_margin, is_measure, is_money, is_percent

#: A figure, and one with its pence right behind a word or a cross: cost202.50, 4x202.50.
_PLAIN = re.compile(rf"(?=\d)(?:{BEHIND}\d+(?:[.,]\d+)*|(?<=[^\W\d_])\d{{2,}}[.,]\d\d(?![\d.,]\d|\d))", re.IGNORECASE)
_GROUPED = re.compile(rf"(?=\d)(?<![\d_.,]){BEHIND}\d{{1,3}}(?:[\u00a0' \t`]\d{{3}})+(?:[.,]\d+)?(?!\d)", re.IGNORECASE)
_IN_FORMULA = re.compile(r"(?<![\w$.:])\d+(?:\.\d+)?(?:[eE][+-]?\d+)?")

#: Thousands set apart by the same mark as the pence.
_POINT_FOR_BOTH = re.compile(r"\d{1,3}(?:[.,]\d{3})+[.,]\d{1,2}")

#: Fewer significant digits than these are met by chance: in whole numbers, in numbers with decimals.
_WHOLE_DIGITS, _DIGITS = 4, 3

#: As few are enough of a whole amount: where it is marked as one, and where it is not.
_MARKED_DIGITS, _BARE_DIGITS = 2, 3

#: What a figure is compared with: every secret; those of the quote itself and the prices that somebody typed; the costs of the quote
#: alone; the prices alone; or shares.
Sort = Literal["any", "near", "cost", "price", "share"]


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure as it stands in a text, read one way.

    Parameters
    ----------
    text : as it stands there
    value : what it says
    half : half of its last decimal: what a more exact figure may differ from it by; next to nothing for a whole number
    sort : what it is compared with
    marked : True where something beside it says that it is money, or percent
    """

    text: str
    value: float
    half: float
    sort: Sort = "any"
    marked: bool = False


def figures_in(text: str, formula: bool = False) -> list[str]:
    """Every figure of a text, as it stands there.

    >>> figures_in("1 1/2, 12,50 and 1 234.50"), figures_in("ROUND(H12*1.25,2)", formula=True)
    (['1', '1', '2', '12,50', '1', '234.50', '1 234.50'], ['1.25', '2'])
    """
    if formula:
        return _IN_FORMULA.findall(text)
    text = as_typed(text)
    return [*_PLAIN.findall(text), *_GROUPED.findall(text)]


def telling_figures(text: str, formula: bool = False) -> Iterator[Figure]:
    """The figures of a text that say enough to give something away, each in every way in which it may be read.

    >>> [(figure.value, figure.sort) for figure in telling_figures("1,234 for 43.21 at 28 %, or 25 kg, £83, 831 in all")]
    ... # doctest: +NORMALIZE_WHITESPACE
    [(1234.0, 'any'), (1234.0, 'cost'), (1.234, 'any'), (43.21, 'any'), (0.28, 'share'), (83.0, 'cost'), (83.0, 'price'),
     (831.0, 'cost')]
    """
    if formula:
        for match in _IN_FORMULA.finditer(text):
            yield from _figure(match.group(), Decimal(match.group()))
        return
    text = as_typed(text)
    for pattern in (_PLAIN, _GROUPED):
        for match in pattern.finditer(text):
            yield from _typed(text, match)


def _typed(text: str, match: re.Match[str]) -> Iterator[Figure]:
    """A figure of a text that a person typed, as what stands beside it tells it to be read."""
    start, end, written = match.start(), match.end(), match.group()
    if is_day(text, start):
        return
    readings = _readings(written)
    if is_percent(text, end):
        for each in readings:
            half = _half(each) if _decimals(each) else 0.5
            yield Figure(written, float(each) / 100, half / 100, "share", marked=True)
        return
    margin = is_margin(text, start)
    marked = margin or is_money(text, start, end)
    whole = written.isdigit()
    if (margin or not marked) and is_measure(text, start, end, whole, whole or len(re.sub("[.,]", "", written)) <= _DIGITS):
        return
    for each in readings:
        yield from _figure(written, each, marked, "near")
        if margin:
            yield from _margin(written, each)
        if each == each.to_integral_value() and each > 0:
            yield from _whole(written, each, marked)


def _margin(written: str, number: Decimal) -> Iterator[Figure]:
    """A margin without its sign: of a hundred, or a part of one."""
    decimals = _decimals(number)
    if 1 <= number < 100:
        yield Figure(written, float(number) / 100, (_half(number) if decimals else 0.5) / 100, "share", marked=True)
    elif decimals > 1:
        yield Figure(written, float(number), _half(number), "share", marked=True)


def _whole(written: str, number: Decimal, marked: bool) -> Iterator[Figure]:
    """An amount without its pence: rounded, or cut off where it has digits enough."""
    digits = len(str(int(number)))
    half = 1.0 - 1e-9 if digits >= _BARE_DIGITS else 0.5
    if digits >= (_MARKED_DIGITS if marked else _BARE_DIGITS):
        yield Figure(written, float(number), half, "cost", marked)
    if marked and digits >= _MARKED_DIGITS:
        yield Figure(written, float(number), 0.5 if digits >= _BARE_DIGITS else 1e-9, "price", marked)


def whole_text(text: str) -> Iterator[Figure]:
    """The figure that a text is as a whole, as a cell's value is stored.

    >>> [figure.value for figure in whole_text("43.210000000000001")]
    [43.21]
    """
    try:
        number = Decimal(text)
    except InvalidOperation:
        return
    if number.is_finite():
        yield from _figure(text, abs(number))


def unmarked_figures(text: str) -> list[str]:
    """The figures of a name of a thing that say no more than which: those of three digits or whole, that nothing marks as money.

    >>> unmarked_figures("Worktop 1800, bench 2.40 or 830.85, cost 831")
    ['1800', '2.40']
    """
    found, text = [], as_typed(text)
    for match in _PLAIN.finditer(text):
        written = match.group()
        short = len(re.sub("[.,]", "", written)) <= _DIGITS or written.isdigit()
        if short and not is_money(text, match.start(), match.end()) and not is_percent(text, match.end()):
            found.append(written)
    return found


def shares_in(text: str) -> list[float]:
    """The percentages of a text, as parts of one.

    >>> shares_in("30 % now, the rest of 19.5 % later")
    [0.3, 0.195]
    """
    return [figure.value for figure in telling_figures(text) if figure.sort == "share"]


def _figure(text: str, number: Decimal, marked: bool = False, short: Sort = "any") -> Iterator[Figure]:
    """A figure that has digits enough; one of as few as may be is of the sort *short*."""
    digits = len(str(number).split("E")[0].replace(".", "").lstrip("0"))
    if digits >= (_DIGITS if _decimals(number) else _WHOLE_DIGITS):
        yield Figure(text, float(number), _half(number), short if digits == _DIGITS else "any", marked)


def _decimals(number: Decimal) -> int:
    exponent = number.as_tuple().exponent
    return max(-exponent, 0) if isinstance(exponent, int) else 0


def _half(number: Decimal) -> float:
    """Half of the last decimal; of a whole share too."""
    noise = 1e-12 * abs(float(number))
    decimals = _decimals(number)
    return max(0.5 * 10.0**-decimals * (1 + 1e-9), noise) if decimals else noise


def _readings(text: str) -> list[Decimal]:
    """The numbers that a figure may stand for, in either use of point and comma."""
    bare = re.sub("[\u00a0' \t`]", "", text)
    marks = [letter for letter in bare if letter in ".,"]
    whole = Decimal(re.sub("[.,]", "", bare))
    if not marks:
        return [whole]
    head, tail = bare[: bare.rfind(marks[-1])], bare[bare.rfind(marks[-1]) + 1 :]
    decimal = Decimal(f"{re.sub('[.,]', '', head)}.{tail}")
    if len(marks) > 1 and len(set(marks)) == 1 and not _POINT_FOR_BOTH.fullmatch(bare):
        return [whole]
    return [whole, decimal] if len(marks) == 1 and len(tail) == 3 else [decimal]
