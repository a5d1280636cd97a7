"""A tiny reader of spreadsheet formulas, written from the rules of the spreadsheet and not from the algebra under test.

Precedence, from loose to tight: comparisons; + and -; * and /; ^; a leading minus (tighter than ^: -2^2 is 4). Operators of
one level are read from the left, ^ among them. Source: OpenFormula 1.2 (OASIS), part 4, section 5.5, table 1.
"""

from __future__ import annotations

import decimal
import math
import operator
import re
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

_TOKEN = re.compile(r"\s*(?:(?P<number>\d+\.?\d*(?:[eE][+-]?\d+)?)|(?P<word>\$?[A-Z]+\$?\d*)|(?P<sign><=|>=|<>|[-+*/^<>=(),]))")

_LEVELS: tuple[dict[str, Callable[[Any, Any], Any]], ...] = (
    {"<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge, "=": operator.eq, "<>": operator.ne},
    {"+": operator.add, "-": operator.sub},
    {"*": operator.mul, "/": operator.truediv},
    {"^": operator.pow},
)


def _round(value: float, places: float, how: str) -> float:
    """Rounding of the 15 significant digits that a spreadsheet shows."""
    shown = decimal.Decimal(f"{value:.15g}")
    return float(shown.quantize(decimal.Decimal(1).scaleb(-int(places)), rounding=how))


#: The functions that are read, besides IF.
FUNCTIONS: dict[str, Callable[..., Any]] = {
    "ROUND": lambda value, places: _round(value, places, decimal.ROUND_HALF_UP),
    "ROUNDUP": lambda value, places: _round(value, places, decimal.ROUND_UP),
    "ROUNDDOWN": lambda value, places: _round(value, places, decimal.ROUND_DOWN),
    "MAX": max, "MIN": min, "ABS": abs, "LN": math.log, "EXP": math.exp, "ATAN": math.atan, "SQRT": math.sqrt, "PI": lambda: math.pi,
}


class Formula:
    """A formula while it is read from left to right."""

    def __init__(self, text: str, cells: Mapping[str, float]) -> None:
        self.cells = cells
        self.tokens: list[tuple[str, str]] = []
        at = 0
        while at < len(text):
            found = _TOKEN.match(text, at)
            if found is None:
                raise ValueError(f"{text[at:]!r} is no part of a formula")
            self.tokens.append((str(found.lastgroup), found.group().strip()))
            at = found.end()
        self.at = 0

    def value(self) -> float:
        """What the whole formula comes to."""
        result = self._level(0)
        if self.at != len(self.tokens):
            raise ValueError(f"{self.tokens[self.at:]} is left over")
        return float(result)

    def _next(self) -> tuple[str, str]:
        return self.tokens[self.at] if self.at < len(self.tokens) else ("end", "")

    def _take(self, wanted: str) -> None:
        if self._next()[1] != wanted:
            raise ValueError(f"{wanted!r} is wanted, not {self._next()}")
        self.at += 1

    def _level(self, number: int) -> Any:
        if number == len(_LEVELS):
            return self._signed()
        left = self._level(number + 1)
        while self._next()[1] in _LEVELS[number]:
            sign = self._next()[1]
            self.at += 1
            left = _LEVELS[number][sign](left, self._level(number + 1))
        return left

    def _signed(self) -> Any:
        if self._next()[1] == "-":
            self.at += 1
            return -self._signed()
        kind, text = self._next()
        self.at += 1
        if kind == "number":
            return np.float64(text)
        if text == "(":
            inner = self._level(0)
            self._take(")")
            return inner
        if kind == "word" and self._next()[1] == "(":
            return self._call(text)
        if kind == "word":
            return np.float64(self.cells[text])
        raise ValueError(f"{text!r} does not begin a value")

    def _call(self, name: str) -> Any:
        self._take("(")
        arguments = []
        while self._next()[1] != ")":
            if arguments:
                self._take(",")
            arguments.append(self._level(0))
        self._take(")")
        if name == "IF":
            return arguments[1] if arguments[0] != 0 else arguments[2]
        return np.float64(FUNCTIONS[name](*arguments))


def formula_value(text: str, cells: Mapping[str, float]) -> float:
    """What a formula comes to with these values in its cells.

    >>> formula_value("A1+2*B1^2", {"A1": 1.0, "B1": 3.0}), formula_value("-2^2", {})
    (19.0, 4.0)
    """
    with np.errstate(all="ignore"):  # both ways of an IF are read, the one not taken may divide by nothing
        return Formula(text, cells).value()
