"""Figures in texts: as people of different countries write them, and how exactly each says what it says."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

_PLAIN = re.compile(r"(?<![^\W\d_])\d+(?:[.,]\d+)*")
_GROUPED = re.compile(r"(?<![\w.,])\d{1,3}(?:[\u00a0\u202f' ]\d{3})+(?:[.,]\d+)?(?!\d)")
_IN_FORMULA = re.compile(r"(?<![\w$.:])\d+(?:\.\d+)?(?:[eE][+-]?\d+)?")
_PERCENT = re.compile(r"[\s\u00a0\u202f]?%")

#: Fewer significant digits than these are met by chance: in whole numbers, in numbers with decimals or percent.
_WHOLE_DIGITS, _DIGITS = 4, 3


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure as it stands in a text, read one way.

    Parameters
    ----------
    text : as it stands there
    value : what it says
    half : half of its last decimal: what a more exact figure may differ from it by; next to nothing for a whole number
    """

    text: str
    value: float
    half: float


def figures_in(text: str, formula: bool = False) -> list[str]:
    """Every figure of a text, as it stands there.

    >>> figures_in("1 1/2, 12,50 and 1 234.50"), figures_in("ROUND(H12*1.25,2)", formula=True)
    (['1', '1', '2', '12,50', '1', '234.50', '1 234.50'], ['1.25', '2'])
    """
    if formula:
        return _IN_FORMULA.findall(text)
    return [*_PLAIN.findall(text), *_GROUPED.findall(text)]


def telling_figures(text: str, formula: bool = False) -> Iterator[Figure]:
    """The figures of a text that say enough to give something away, each in every way in which it may be read.

    >>> [figure.value for figure in telling_figures("1,234 for 43.21 at 28.4 %, or 25 kg")]
    [1234.0, 1.234, 43.21, 28.4, 0.284]
    """
    pattern = (_IN_FORMULA,) if formula else (_PLAIN, _GROUPED)
    for match in (each for one in pattern for each in one.finditer(text)):
        percent = bool(_PERCENT.match(text, match.end()))
        for number in _readings(match.group(), formula):
            yield from _figure(match.group(), number, percent)


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
        yield from _figure(text, abs(number), False)


def _figure(text: str, number: Decimal, percent: bool) -> Iterator[Figure]:
    exponent = number.as_tuple().exponent
    decimals = max(-exponent, 0) if isinstance(exponent, int) else 0
    digits = len(str(number).split("E")[0].replace(".", "").lstrip("0"))
    if digits >= (_DIGITS if decimals or percent else _WHOLE_DIGITS):
        yield _of(text, float(number), decimals)
        if percent:
            yield _of(text, float(number) / 100, decimals + 2)


def _of(text: str, value: float, decimals: int) -> Figure:
    noise = 1e-12 * abs(value)
    return Figure(text, value, max(0.5 * 10.0**-decimals * (1 + 1e-9), noise) if decimals else noise)


def _readings(text: str, formula: bool) -> list[Decimal]:
    """The numbers that a figure may stand for, in either use of point and comma."""
    if formula:
        return [Decimal(text)]
    bare = re.sub("[\u00a0\u202f' ]", "", text)
    marks = [letter for letter in bare if letter in ".,"]
    whole = Decimal(re.sub("[.,]", "", bare))
    if not marks:
        return [whole]
    head, tail = bare[: bare.rfind(marks[-1])], bare[bare.rfind(marks[-1]) + 1 :]
    decimal = Decimal(f"{re.sub('[.,]', '', head)}.{tail}")
    if len(marks) > 1 and len(set(marks)) == 1:
        return [whole]
    return [whole, decimal] if len(marks) == 1 and len(tail) == 3 else [decimal]
