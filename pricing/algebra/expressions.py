"""The third reading of a rule: its own algebra, as symbols.

A rule is a plain function whose name is its result, whose parameters are its inputs and whose body is the algebra.
Called with arrays it computes; called with quantities it checks its units; called with the symbols of this module it
yields an :class:`Expression`, from which come the spreadsheet formula, the explanation in words and the names that the
figure rests on. Only what a spreadsheet can say is implemented; anything else is refused by name.

>>> def concrete_cost(volume, mix_allowance, mix_price):
...     return volume * (1 + mix_allowance) * mix_price
>>> expression_of(concrete_cost).formula({"volume": "C7", "mix_allowance": "$B$4", "mix_price": "F7"})
'C7*(1+$B$4)*F7'
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeAlias

import numpy as np

from pricing import money
from pricing.dataclass import dataclass

#: A number, an array of numbers, a quantity with a unit, or a symbol: whatever a rule is read with.
Value: TypeAlias = Any


class AlgebraError(TypeError):
    """Raised when a rule uses an operation that has no spreadsheet reading."""


@dataclass(frozen=True, slots=True)
class Constant:
    """A universal constant that a rule asks for by the name of a parameter."""

    value: float
    unit: str
    formula: str
    words: str


#: Universal constants, the only ones that stand inside formulas.
CONSTANTS: dict[str, Constant] = {
    "pi": Constant(float(np.pi), "dimensionless", "PI()", "π"),
    "minutes_per_hour": Constant(60.0, "minute/hour", "60", "60"),
    "litres_per_cubic_metre": Constant(1000.0, "litre/metre**3", "1000", "1000"),
    "hours_per_day": Constant(24.0, "hour/day", "24", "24"),
}

#: Constants that are other numbers where lengths and volumes are counted otherwise.
BY_MEASURES = frozenset({"litres_per_cubic_metre"})

_COMPARISON, _SUM, _PRODUCT, _POWER, _ATOM = range(5)
_LEVELS = {"+": _SUM, "-": _SUM, "*": _PRODUCT, "/": _PRODUCT, "^": _POWER} | dict.fromkeys(("<", "<=", ">", ">=", "=", "<>"), _COMPARISON)

#: Operators as a person reads them.
_SPOKEN = {
    "*": "×", "/": "÷", "-": "−", "<": "is less than", "<=": "is at most", ">": "is more than", ">=": "is at least", "=": "is",
    "<>": "is not",
}


#: A formula as literal text and one-tuples of names, in order.
Pieces: TypeAlias = list[str | tuple[str]]


def in_cells(pieces: Pieces, cells: Mapping[str, str]) -> str:
    """A formula with the cell of each of its names.

    >>> in_cells(["2*", ("length",)], {"length": "C7"})
    '2*C7'
    """
    return "".join([piece if isinstance(piece, str) else cells[piece[0]] for piece in pieces])


class Expression:
    """A symbolic value: an operand of a rule, or what a rule made of its operands."""

    @property
    def level(self) -> int:
        """How tightly the outermost operator binds."""
        return _ATOM

    def pieces(self) -> Pieces:
        """The formula as literal text and one-tuples of names, in order."""
        raise NotImplementedError

    def worded(self, labels: Callable[[str], str]) -> str:
        """The formula in words, each name shown by its label."""
        raise NotImplementedError

    def names(self) -> list[str]:
        """The names that the expression rests on, in the author's order, each once."""
        return list(dict.fromkeys(piece[0] for piece in self.pieces() if isinstance(piece, tuple)))

    def formula(self, cells: Mapping[str, str]) -> str:
        """The spreadsheet formula, each name replaced by its cell."""
        return in_cells(self.pieces(), cells)

    # arithmetic, in the author's order
    def __add__(self, other: object) -> Expression: return Operation("+", self, expression(other))
    def __radd__(self, other: object) -> Expression: return Operation("+", expression(other), self)
    def __sub__(self, other: object) -> Expression: return Operation("-", self, expression(other))
    def __rsub__(self, other: object) -> Expression: return Operation("-", expression(other), self)
    def __mul__(self, other: object) -> Expression: return Operation("*", self, expression(other))
    def __rmul__(self, other: object) -> Expression: return Operation("*", expression(other), self)
    def __truediv__(self, other: object) -> Expression: return Operation("/", self, expression(other))
    def __rtruediv__(self, other: object) -> Expression: return Operation("/", expression(other), self)
    def __pow__(self, other: object) -> Expression: return Operation("^", self, expression(other))
    def __rpow__(self, other: object) -> Expression: return Operation("^", expression(other), self)
    def __pos__(self) -> Expression: return self
    def __neg__(self) -> Expression: return Operation("-", Number(0), self)
    def __lt__(self, other: object) -> Expression: return Operation("<", self, expression(other))
    def __le__(self, other: object) -> Expression: return Operation("<=", self, expression(other))
    def __gt__(self, other: object) -> Expression: return Operation(">", self, expression(other))
    def __ge__(self, other: object) -> Expression: return Operation(">=", self, expression(other))
    def __abs__(self) -> Expression: return absolute(self)  # type: ignore[no-any-return]

    def __bool__(self) -> bool:
        raise AlgebraError("a rule must not branch on data; use choose(condition, when_true, when_false)")

    def __iter__(self) -> Any:
        raise AlgebraError("a rule must not loop over a value")

    def __float__(self) -> float:
        raise AlgebraError("a rule must not turn its inputs into plain numbers")

    def __array_ufunc__(self, ufunc: np.ufunc, method: str, *inputs: object, **options: object) -> Expression:
        known = _UFUNCS.get(ufunc)
        if known is None or method != "__call__" or options:
            raise AlgebraError(f"numpy.{ufunc.__name__} has no spreadsheet reading; the list is {sorted(_UFUNC_NAMES)}")
        return known(*inputs)

    def __array_function__(self, function: Any, kinds: object, inputs: tuple[object, ...], options: object) -> Expression:
        if function is np.where and len(inputs) == 3:
            return choose(*inputs)  # type: ignore[no-any-return]
        raise AlgebraError(f"numpy.{function.__name__} has no spreadsheet reading; numpy.where has")


@dataclass(frozen=True, eq=False, slots=True)
class Name(Expression):
    """An input of a rule."""

    name: str

    def pieces(self) -> Pieces:
        return [(self.name,)]

    def worded(self, labels: Callable[[str], str]) -> str:
        return labels(self.name)


@dataclass(frozen=True, eq=False, slots=True)
class Number(Expression):
    """A number written in a rule, or a universal constant."""

    value: float
    constant: Constant | None = None

    def pieces(self) -> Pieces:
        return [self.constant.formula if self.constant else f"{self.value:.15g}"]

    def worded(self, labels: Callable[[str], str]) -> str:
        return self.constant.words if self.constant else f"{self.value:.15g}"


@dataclass(frozen=True, eq=False, slots=True)
class Operation(Expression):
    """Two values joined by an operator."""

    sign: str
    left: Expression
    right: Expression

    @property
    def level(self) -> int:
        return _LEVELS[self.sign]

    def pieces(self) -> Pieces:
        if self.sign == "-" and isinstance(self.left, Number) and self.left.value == 0:
            return ["-", *_bracketed(self.right, self.right.level < _ATOM)]
        left = _bracketed(self.left, self.left.level < self.level or (self.level == _POWER and self.left.level < _ATOM))
        right = _bracketed(self.right, self.right.level <= self.level)
        return [*left, self.sign, *right]

    def worded(self, labels: Callable[[str], str]) -> str:
        left, right = self.left.worded(labels), self.right.worded(labels)
        if isinstance(self.left, Call) or self.left.level < self.level or self.left.level == self.level == _POWER:
            left = f"({left})"
        if isinstance(self.right, Call) or self.right.level <= self.level:
            right = f"({right})"
        sign = _SPOKEN.get(self.sign, self.sign)
        if self.sign == "-" and isinstance(self.left, Number) and self.left.value == 0:
            return f"−{right}"
        return f"{left} {sign} {right}"


@dataclass(frozen=True, eq=False, slots=True)
class Call(Expression):
    """A function of the closed list applied to its arguments."""

    function: Function
    arguments: tuple[Expression, ...]

    def pieces(self) -> Pieces:
        made: Pieces = []
        for part in self.function.template:
            if isinstance(part, int):
                argument = self.arguments[part]
                alone = self.function.loose
                made.extend(_bracketed(argument, not alone and argument.level < _ATOM))
            else:
                made.append(part)
        return made

    def worded(self, labels: Callable[[str], str]) -> str:
        return self.function.words.format(*(self._told(argument, labels) for argument in self.arguments))

    def _told(self, argument: Expression, labels: Callable[[str], str]) -> str:
        """An argument in words: in brackets where it could be read together with what stands beside it."""
        alone = isinstance(argument, Call) or (not self.function.apart and argument.level < _ATOM)
        return f"({argument.worded(labels)})" if alone else argument.worded(labels)


def _bracketed(value: Expression, needed: bool) -> Pieces:
    return ["(", *value.pieces(), ")"] if needed else value.pieces()


def expression(value: object) -> Expression:
    """The symbol for *value*: itself if it is one, a number if it is one.

    >>> expression(2).formula({})
    '2'
    """
    if isinstance(value, Expression):
        return value
    if isinstance(value, (bool, np.bool_)):
        raise AlgebraError("use 0 and 1 in rules, not True and False")
    if isinstance(value, (int, float, np.integer, np.floating)):
        return Number(float(value))
    raise AlgebraError(f"{value!r} ({type(value).__name__}) has no spreadsheet reading")


@dataclass(frozen=True, eq=False)
class Function:
    """A function of the closed list, with its three readings.

    Parameters
    ----------
    name : as a rule calls it
    numeric : the reading over arrays
    template : the reading in cells: text and argument numbers, in order
    words : the reading in words, a format string
    loose : True where the template sets each argument apart by itself, so that it needs no brackets
    apart : True where the words set each argument apart, so that an operation needs no brackets in them
    result : how units pass: ``"same"`` (as the first argument; all alike), ``"second"`` (as the second argument),
        ``"one"`` (from dimensionless to dimensionless)
    """

    name: str
    numeric: Callable[..., Any]
    template: tuple[str | int, ...]
    words: str
    loose: bool = True
    result: str = "same"
    apart: bool = True

    def __call__(self, *arguments: Value) -> Value:
        if any(isinstance(argument, Expression) for argument in arguments):
            return Call(self, tuple(expression(argument) for argument in arguments))
        if any(hasattr(argument, "_REGISTRY") for argument in arguments):
            return self._with_units(*arguments)
        return self.numeric(*arguments)

    def _with_units(self, *arguments: Value) -> Value:
        registry = next(argument._REGISTRY for argument in arguments if hasattr(argument, "_REGISTRY"))
        given = [each if hasattr(each, "_REGISTRY") else registry.Quantity(float(each)) for each in arguments]
        if self.result == "one":
            return registry.Quantity(self.numeric(*(each.to("dimensionless").magnitude for each in given)))
        if self.name == "choose":
            unit = given[1].units
            other = 0.0 if given[2].unitless and given[2].magnitude == 0 else given[2].to(unit).magnitude
            return registry.Quantity(self.numeric(given[0].magnitude, given[1].magnitude, other), unit)
        unit = given[0].units
        rest = [each.to("dimensionless" if self.name.startswith("round_") else unit).magnitude for each in given[1:]]
        return registry.Quantity(self.numeric(given[0].magnitude, *rest), unit)


def _choose(condition: Any, when_true: Any, when_false: Any) -> Any:
    return np.where(np.asarray(condition) != 0, when_true, when_false)


choose = Function("choose", _choose, ("IF(", 0, ",", 1, ",", 2, ")"), "if {0} then {1}, otherwise {2}")
round_to = Function("round_to", money.round_half_away, ("ROUND(", 0, ",", 1, ")"), "{0}, rounded to {1} places")
whole_up = Function("whole_up", money.whole_up, ("ROUNDUP(ROUND(", 0, ",6),0)"), "{0}, up to a whole number")
whole_down = Function("whole_down", money.whole_down, ("ROUNDDOWN(ROUND(", 0, ",6),0)"), "{0}, down to a whole number")
whole_nearest = Function("whole_nearest", money.whole_nearest, ("ROUND(ROUND(", 0, ",6),0)"), "{0}, to the nearest whole number")
round_down_to = Function(
    "round_down_to", money.round_down, ("ROUNDDOWN(ROUND(", 0, ",6),", 1, ")"), "{0}, rounded down to {1} places"
)
larger = Function("larger", np.maximum, ("MAX(", 0, ",", 1, ")"), "the larger of {0} and {1}", apart=False)
smaller = Function("smaller", np.minimum, ("MIN(", 0, ",", 1, ")"), "the smaller of {0} and {1}", apart=False)
positive_part = Function("positive_part", lambda x: np.maximum(x, 0.0), ("MAX(0,", 0, ")"), "{0}, but not below zero")
absolute = Function("absolute", np.abs, ("ABS(", 0, ")"), "the size of {0}", apart=False)
natural_log = Function("natural_log", np.log, ("LN(", 0, ")"), "natural logarithm of {0}", result="one", apart=False)
exponential = Function("exponential", np.exp, ("EXP(", 0, ")"), "e to the power of {0}", result="one", apart=False)
arc_tangent = Function("arc_tangent", np.arctan, ("ATAN(", 0, ")"), "the angle whose tangent is {0}", result="one", apart=False)


class _SquareRoot(Function):
    def _with_units(self, *arguments: Value) -> Value:
        return arguments[0] ** 0.5


square_root = _SquareRoot("square_root", np.sqrt, ("SQRT(", 0, ")"), "square root of {0}", apart=False)

#: Every function that a rule may call besides the arithmetic operators and comparisons.
FUNCTIONS: tuple[Function, ...] = (
    choose, round_to, round_down_to, whole_up, whole_down, whole_nearest, larger, smaller, positive_part, absolute, natural_log,
    exponential, arc_tangent, square_root,
)

_UFUNCS: dict[np.ufunc, Callable[..., Expression]] = {
    np.add: lambda a, b: expression(a) + b, np.subtract: lambda a, b: expression(a) - b,
    np.multiply: lambda a, b: expression(a) * b, np.divide: lambda a, b: expression(a) / b,
    np.power: lambda a, b: expression(a) ** b, np.negative: lambda a: -expression(a),
    np.less: lambda a, b: expression(a) < b, np.less_equal: lambda a, b: expression(a) <= b,
    np.greater: lambda a, b: expression(a) > b, np.greater_equal: lambda a, b: expression(a) >= b,
    np.maximum: larger, np.minimum: smaller, np.absolute: absolute, np.sqrt: square_root, np.log: natural_log,
    np.exp: exponential, np.arctan: arc_tangent,
}
_UFUNC_NAMES = [ufunc.__name__ for ufunc in _UFUNCS]


@functools.cache
def inputs_of(rule: Callable[..., Any]) -> tuple[str, ...]:
    """The names of a rule's inputs, universal constants left out.

    >>> inputs_of(lambda diameter, pi: pi * diameter)
    ('diameter',)
    """
    return tuple(name for name in _parameters_of(rule) if name not in CONSTANTS)


@functools.cache
def _constants_of(rule: Callable[..., Any]) -> dict[str, float]:
    return {name: CONSTANTS[name].value for name in _parameters_of(rule) if name in CONSTANTS}


def _parameters_of(rule: Callable[..., Any]) -> Iterable[str]:
    """The names that a rule's code has for its parameters, or those that it says it has."""
    code = rule.__code__
    told = getattr(rule, "__signature__", None)
    return code.co_varnames[:code.co_argcount + code.co_kwonlyargcount] if told is None else told.parameters


@functools.cache
def expression_of(rule: Callable[..., Any], named: bool = False) -> Expression:
    """The algebra of a rule: what its body makes of symbols named after its parameters.

    Parameters
    ----------
    named : True where constants that depend on the measures are left as names, see :data:`BY_MEASURES`

    Problems raised: AlgebraError, naming the operation, where the body does something no spreadsheet can say.
    """
    symbols: dict[str, Expression] = {name: Name(name) for name in inputs_of(rule)}
    for name in _constants_of(rule):
        symbols[name] = Name(name) if named and name in BY_MEASURES else Number(CONSTANTS[name].value, CONSTANTS[name])
    return expression(rule(**symbols))


def evaluate(rule: Callable[..., Any], values: Mapping[str, Value]) -> Value:
    """Read a rule with numbers: its inputs are taken by name from *values*, its constants from this module.

    >>> round(float(evaluate(lambda diameter, pi: pi * diameter, {"diameter": 1.0})), 6)
    3.141593
    """
    return applied(rule, {name: values[name] for name in inputs_of(rule)})


def applied(rule: Callable[..., Any], inputs: Mapping[str, Value]) -> Value:
    """The same where the values are its inputs and nothing else.

    >>> applied(lambda length, width: length * width, {"length": 2.0, "width": 0.5})
    1.0
    """
    return rule(**inputs, **_constants_of(rule))
