"""Figures in other units and to fifteen digits, and texts without stray spaces."""

from __future__ import annotations

import re
from typing import Any

from pricing import units
from pricing.book.typed.figures import Figure, figure_from_text
from pricing.text import INVISIBLE


def fifteen_digits(value: float) -> float:
    """The number to 15 significant digits, as a spreadsheet shows and keeps it.

    >>> fifteen_digits(0.1 + 0.2)
    0.3
    """
    return float(f"{value:.15g}")


def converted(value: float, given: units.Unit, declared: units.Unit) -> float:
    """A figure in another unit of the same dimension, to 15 significant digits.

    Whole ratios are multiplied or divided by, so that 83 mm is 0.083 m exactly.

    >>> converted(83.0, units.Unit("mm", units.LENGTH, 0.001), units.Unit("m", units.LENGTH, 1.0))
    0.083
    """
    return fifteen_digits(scaled(value, given.factor, declared.factor))


def scaled(value: Any, given: float, declared: float) -> Any:
    """A figure, or an array of them, times the ratio of two factors, by a whole number where the ratio is one."""
    ratio, inverse = given / declared, declared / given
    if abs(ratio - round(ratio)) <= 1e-12 * ratio:
        return value * round(ratio)
    if abs(inverse - round(inverse)) <= 1e-12 * inverse:
        return value / round(inverse)
    return value * ratio


def tidy(text: str, lines: bool = False) -> str:
    """A text without spaces at its ends and doubled inside; with its lines where they matter.

    >>> tidy("  White\u00a0 cement ")
    'White cement'
    """
    if not text.isascii() and not INVISIBLE.sub("", text).strip():
        return ""  # invisible characters alone
    if lines and "\n" in text:
        return "\n".join(" ".join(line.split()) for line in text.strip().splitlines())
    return " ".join(text.split())


_LONGEST = 40  # characters; longer texts are no length in feet and inches

_FEET = re.compile(
    r"^(\S.*?)\s*(?:ft|feet|foot|'|′|’)\.?(?:\s*-?\s*(\d.*?)\s*(?:in|inch|inches|\"|″|”|'')\.?)?$", re.IGNORECASE
)
_INCHES = re.compile(r"^(\S.*?)\s*(?:\"|″|”|'')$")


def feet_and_inches(text: str) -> Figure | None:
    """A length typed in feet and inches, or with their signs; None where it is not one.

    >>> feet_and_inches("3 ft 4 1/2 in"), feet_and_inches('40"'), feet_and_inches("40 mm")
    (Figure(value=40.5, unit='in'), Figure(value=40.0, unit='in'), None)
    """
    if len(text) > _LONGEST:
        return None
    plain = tidy(text)
    if match := _INCHES.match(plain):
        inches = figure_from_text(match[1])
        if isinstance(inches, Figure) and not inches.unit:
            return Figure(inches.value, "in")
    if match := _FEET.match(plain):
        feet, more = figure_from_text(match[1]), figure_from_text(match[2] or "0")
        if isinstance(feet, Figure) and isinstance(more, Figure) and not feet.unit and not more.unit:
            return Figure(fifteen_digits(feet.value * 12 + more.value), "in")
    return None
