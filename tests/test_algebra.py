"""The algebra of rules: one body, read with arrays, with quantities, and with symbols that become formulas and words."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pint
import pytest
import xlsxwriter
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from referee import recalculated
from spreadsheet_formula import formula_value

from pricing.algebra import expressions
from pricing.algebra.expressions import (
    FUNCTIONS,
    AlgebraError,
    Name,
    absolute,
    arc_tangent,
    choose,
    evaluate,
    exponential,
    expression,
    expression_of,
    inputs_of,
    larger,
    natural_log,
    positive_part,
    round_down_to,
    round_to,
    smaller,
    square_root,
    whole_down,
    whole_nearest,
    whole_up,
)
from pricing.units import registry

CELLS = {"a": "A1", "b": "B1", "c": "C1", "d": "D1"}
Rule = Callable[..., Any]


def formula(rule: Rule) -> str:
    return expression_of(rule).formula(CELLS)


def words(rule: Rule) -> str:
    return expression_of(rule).worded(lambda name: f"the {name}")


# what the readings say

ORDER_AND_BRACKETS: list[tuple[Rule, str, str]] = [
    (lambda a, b: a + b, "A1+B1", "the a + the b"),
    (lambda a, b: b + a, "B1+A1", "the b + the a"),
    (lambda a: 1 + a, "1+A1", "1 + the a"),
    (lambda a: a - 1, "A1-1", "the a − 1"),
    (lambda a: 1 - a, "1-A1", "1 − the a"),
    (lambda a, b, c: a - b - c, "A1-B1-C1", "the a − the b − the c"),
    (lambda a, b, c: a - (b - c), "A1-(B1-C1)", "the a − (the b − the c)"),
    (lambda a, b, c: a + (b + c), "A1+(B1+C1)", "the a + (the b + the c)"),
    (lambda a, b, c: a * (1 + b) * c, "A1*(1+B1)*C1", "the a × (1 + the b) × the c"),
    (lambda a, b, c: a / b / c, "A1/B1/C1", "the a ÷ the b ÷ the c"),
    (lambda a, b, c: a / (b / c), "A1/(B1/C1)", "the a ÷ (the b ÷ the c)"),
    (lambda a, b, c: a / (b * c), "A1/(B1*C1)", "the a ÷ (the b × the c)"),
    (lambda a, b, c: a + b * c, "A1+B1*C1", "the a + the b × the c"),
    (lambda a: a**2, "A1^2", "the a ^ 2"),
    (lambda a, b: (a + b) ** 2, "(A1+B1)^2", "(the a + the b) ^ 2"),
    (lambda a, b: (a * b) ** 2, "(A1*B1)^2", "(the a × the b) ^ 2"),
    (lambda a, b, c: (a**b) ** c, "(A1^B1)^C1", "(the a ^ the b) ^ the c"),
    (lambda a, b, c: a ** (b**c), "A1^(B1^C1)", "the a ^ (the b ^ the c)"),
    (lambda a: 2**a, "2^A1", "2 ^ the a"),
    (lambda a: -a, "-A1", "−the a"),
    (lambda a: +a, "A1", "the a"),
    (lambda a: -(a**2), "-(A1^2)", "−the a ^ 2"),
    (lambda a: (-a) ** 2, "(-A1)^2", "(−the a) ^ 2"),
    (lambda a, b: a * -b, "A1*(-B1)", "the a × (−the b)"),
    (lambda a, b: a - -b, "A1-(-B1)", "the a − (−the b)"),
    (lambda a, pi: pi / 4 * a**2, "PI()/4*A1^2", "π ÷ 4 × the a ^ 2"),
    (lambda a, minutes_per_hour: a / minutes_per_hour, "A1/60", "the a ÷ 60"),
    (lambda a: a * 0.1, "A1*0.1", "the a × 0.1"),
    (lambda a, b: np.maximum(a, b), "MAX(A1,B1)", "the larger of the a and the b"),
    (lambda a, b: np.where(a > b, a, b), "IF(A1>B1,A1,B1)", "if the a is more than the b then the a, otherwise the b"),
    (lambda a, b: np.multiply(2.0, np.negative(a)) - np.sqrt(b), "2*(-A1)-SQRT(B1)", "2 × (−the a) − (square root of the b)"),
    (lambda a: whole_up(a * 2), "ROUNDUP(ROUND(A1*2,6),0)", "the a × 2, up to a whole number"),
    (lambda a: whole_down(a), "ROUNDDOWN(ROUND(A1,6),0)", "the a, down to a whole number"),
    (lambda a, b: round_to(a * b, 2), "ROUND(A1*B1,2)", "the a × the b, rounded to 2 places"),
    (lambda a, b: choose(a <= b, 1, 0) + choose(a >= b, 1, 0), "IF(A1<=B1,1,0)+IF(A1>=B1,1,0)",
     "(if the a is at most the b then 1, otherwise 0) + (if the a is at least the b then 1, otherwise 0)"),
    (lambda a, b: choose(a < b, 0, 1), "IF(A1<B1,0,1)", "if the a is less than the b then 0, otherwise 1"),
]


@pytest.mark.parametrize(("rule", "as_formula", "in_words"), ORDER_AND_BRACKETS)
def test_a_formula_keeps_the_authors_order_and_has_the_brackets_it_needs(rule: Rule, as_formula: str, in_words: str) -> None:
    """Terms stand as written; a bracket stands where leaving it out would change the meaning, and nowhere else."""
    assert formula(rule) == as_formula
    assert words(rule) == in_words


UNAMBIGUOUS: list[tuple[Rule, str]] = [
    (lambda a, b, c: larger(a, b) * c, "(the larger of the a and the b) × the c"),
    (lambda a, b, c: larger(a, b * c), "the larger of the a and (the b × the c)"),
    (lambda a, b, c: c * smaller(a, b), "the c × (the smaller of the a and the b)"),
    (lambda a, b, c: larger(larger(a, b), c), "the larger of (the larger of the a and the b) and the c"),
    (lambda a, b: round_to(a, 2) + b, "(the a, rounded to 2 places) + the b"),
    (lambda a, b: round_to(a + b, 2), "the a + the b, rounded to 2 places"),
    (lambda a, b: a / whole_nearest(b), "the a ÷ (the b, to the nearest whole number)"),
    (lambda a, b: square_root(a + b), "square root of (the a + the b)"),
    (lambda a, b: square_root(a) + b, "(square root of the a) + the b"),
    (lambda a, b: absolute(a - b), "the size of (the a − the b)"),
    (lambda a: -absolute(a), "−(the size of the a)"),
    (lambda a, b: round_to(positive_part(a - b), 2), "(the a − the b, but not below zero), rounded to 2 places"),
    (lambda a, b: choose(a > 0, larger(a, b), b), "if the a is more than 0 then (the larger of the a and the b), otherwise the b"),
]


@pytest.mark.parametrize(("rule", "in_words"), UNAMBIGUOUS)
def test_words_can_be_read_in_one_way_only(rule: Rule, in_words: str) -> None:
    """A function in words under another operator, or inside another function, stands in brackets."""
    assert words(rule) == in_words


def test_an_expression_knows_the_names_that_it_rests_on() -> None:
    """Each name once, in the order of the formula and not of the parameters; constants are no names."""

    def volume(height: Any, radius: Any, pi: Any) -> Any:
        return pi * radius**2 * height + radius * 0

    assert expression_of(volume).names() == ["radius", "height"]
    assert inputs_of(volume) == ("height", "radius")


def test_constants_are_given_by_name_in_every_reading() -> None:
    """A rule asks for a universal constant as a parameter; nobody has to pass it."""

    def area(radius: Any, pi: Any) -> Any:
        return pi * radius**2

    assert evaluate(area, {"radius": np.array([1.0, 2.0])}).tolist() == [math.pi, 4 * math.pi]
    assert formula_value(expression_of(area).formula({"radius": "A1"}), {"A1": 2.0}) == 4 * math.pi


# arrays

WHOLE_COLUMNS: list[tuple[Rule, list[list[float]], list[float]]] = [
    (lambda a, b: choose(a > b, a, b), [[1.0, 5.0], [3.0, 3.0]], [3.0, 5.0]),
    (lambda a: choose(a, 10, 20), [[1.0, 0.0]], [10.0, 20.0]),
    (lambda a, b: larger(a, b) - smaller(a, b), [[1.0, 5.0], [3.0, 3.0]], [2.0, 2.0]),
    (lambda a: round_to(a, 2), [[2.675, -365.125, 1.005]], [2.68, -365.13, 1.01]),
    (lambda a: round_down_to(a, 2), [[2.679, 0.29]], [2.67, 0.29]),
    (lambda a: whole_up(a), [[57 / 0.57, 0.3 / 0.1, 1.2]], [100.0, 3.0, 2.0]),
    (lambda a: whole_down(a), [[0.3 / 0.1, 1.8]], [3.0, 1.0]),
    (lambda a: whole_nearest(a), [[2.5, 3.49]], [3.0, 3.0]),
    (lambda a: positive_part(a), [[-1.0, 2.0]], [0.0, 2.0]),
    (lambda a: abs(a), [[-1.0, 2.0]], [1.0, 2.0]),
    (lambda a: natural_log(exponential(a)), [[0.0, 2.0]], [0.0, 2.0]),
    (lambda a: square_root(a), [[9.0, 0.25]], [3.0, 0.5]),
]


@pytest.mark.parametrize(("rule", "columns", "expected"), WHOLE_COLUMNS)
def test_a_rule_computes_whole_columns_at_once(rule: Rule, columns: list[list[float]], expected: list[float]) -> None:
    """The reading over arrays, figure by figure; where a rule chooses, each row goes its own way."""
    result = evaluate(rule, dict(zip(inputs_of(rule), (np.array(column) for column in columns), strict=True)))
    assert np.asarray(result).tolist() == expected
    formulas = [formula_value(formula(rule), dict(zip(("A1", "B1"), row, strict=False))) for row in zip(*columns, strict=True)]
    assert formulas == expected


# quantities


def quantity(value: float, unit: str) -> Any:
    return registry().Quantity(value, unit)


WITH_UNITS: list[tuple[Rule, list[Any], Any]] = [
    (lambda a, b: a * b, [quantity(2, "metre"), quantity(3, "metre")], quantity(6, "metre**2")),
    (lambda a, b: a * (1 + b), [quantity(2, "kilogram"), quantity(0.5, "dimensionless")], quantity(3, "kilogram")),
    (lambda a, b: larger(a, b), [quantity(1, "metre"), quantity(1500, "millimetre")], quantity(1.5, "metre")),
    (lambda a, b: choose(a > b, a, b), [quantity(1, "hour"), quantity(90, "minute")], quantity(1.5, "hour")),
    (lambda a: choose(a > 0, a, 0), [quantity(2, "currency")], quantity(2, "currency")),
    (lambda a: round_to(a, 1), [quantity(2.25, "currency")], quantity(2.3, "currency")),
    (lambda a: whole_up(a), [quantity(2.25, "batch")], quantity(3, "batch")),
    (lambda a: square_root(a), [quantity(9, "metre**2")], quantity(3, "metre")),
    (lambda a: natural_log(a), [quantity(1, "dimensionless")], quantity(0, "dimensionless")),
]


@pytest.mark.parametrize(("rule", "given_quantities", "expected"), WITH_UNITS)
def test_a_rule_carries_units(rule: Rule, given_quantities: list[Any], expected: Any) -> None:
    """Read with quantities, the same body gives a quantity whose unit follows from its inputs'."""
    result = evaluate(rule, dict(zip(inputs_of(rule), given_quantities, strict=True)))
    assert result.dimensionality == expected.dimensionality
    assert result.to(expected.units).magnitude == pytest.approx(expected.magnitude, rel=1e-12)


UNITS_THAT_DO_NOT_FIT: list[tuple[Rule, list[Any]]] = [
    (lambda a, b: a + b, [quantity(1, "currency"), quantity(1, "currency/piece")]),
    (lambda a, b: larger(a, b), [quantity(1, "metre"), quantity(1, "kilogram")]),
    (lambda a, b: choose(a, b, a), [quantity(1, "dimensionless"), quantity(1, "kilogram")]),
    (lambda a: natural_log(a), [quantity(1, "metre")]),
    (lambda a: exponential(a), [quantity(1, "hour")]),
    (lambda a, b: round_to(a, b), [quantity(1, "currency"), quantity(2, "metre")]),
]


@pytest.mark.parametrize(("rule", "given_quantities"), UNITS_THAT_DO_NOT_FIT)
def test_units_that_do_not_fit_are_refused(rule: Rule, given_quantities: list[Any]) -> None:
    """A price per piece is no price; a length has no logarithm."""
    with pytest.raises(pint.DimensionalityError):
        evaluate(rule, dict(zip(inputs_of(rule), given_quantities, strict=True)))


# refusals


def _branch(a: Any, b: Any) -> Any:
    return a if a > b else b


def _loop(a: Any) -> Any:
    return sum(each for each in a)


REFUSED: list[tuple[Rule, str]] = [
    (lambda a: np.sin(a), r"numpy\.sin"),
    (lambda a: np.floor(a), r"numpy\.floor"),
    (lambda a: np.add.reduce(a), r"numpy\.add"),
    (lambda a: np.add(a, 1, where=True), r"numpy\.add"),
    (lambda a: np.sum(a), r"numpy\.sum"),
    (lambda a: np.clip(a, 0, 1), r"numpy\.clip"),
    (lambda a, b: np.stack([a, b]), r"numpy\.stack"),
    (_branch, "branch"),
    (_loop, "loop"),
    (lambda a: float(a), "plain numbers"),
    (lambda a: a + "1", "'1' .str."),
    (lambda a: a * True, "True"),
    (lambda a: choose(a > 0, None, a), "None"),
]


@pytest.mark.parametrize(("rule", "named"), REFUSED)
def test_what_no_spreadsheet_can_say_is_refused_by_name(rule: Rule, named: str) -> None:
    """The sentence names the operation, so that the author of a rule knows what to write otherwise."""
    with pytest.raises(AlgebraError, match=named):
        expression_of(rule)


def test_the_refusal_lists_what_can_be_said() -> None:
    """Where a numpy function has no reading, those that have one are named."""
    with pytest.raises(AlgebraError, match=r"absolute.*maximum.*sqrt"):
        expression_of(lambda a: np.cbrt(a))


# any expression

_BINARY: dict[str, Rule] = {
    "+": lambda x, y: x + y, "-": lambda x, y: x - y, "*": lambda x, y: x * y, "/": lambda x, y: x / y, "larger": larger,
    "smaller": smaller, "2^": lambda x, y: x**2 - y**2, "round": lambda x, y: round_to(x, 2) + round_down_to(y, 1),
}
_UNARY: dict[str, Rule] = {
    "-": lambda x: -x, "whole_nearest": whole_nearest, "positive": positive_part,
    "absolute": absolute, "root": lambda x: square_root(absolute(x)), "log": lambda x: natural_log(absolute(x) + 1),
    "exp": lambda x: exponential(-absolute(x)), "square of minus": lambda x: (-x) ** 2, "minus square": lambda x: -(x**2),
    "power": lambda x: 2 ** smaller(absolute(x), 3), "reciprocal": lambda x: 1 / x, "arc tangent": arc_tangent,
}
#: Whole numbers at or above, at or below: of counts, which are never negative (below zero ROUNDUP goes the other way).
_UNARY |= {"whole_up": lambda x: whole_up(absolute(x)), "whole_down": lambda x: whole_down(positive_part(x))}
_COMPARED: dict[str, Rule] = {
    "<": lambda x, y: x < y, "<=": lambda x, y: x <= y, ">": lambda x, y: x > y, ">=": lambda x, y: x >= y,
}

FIGURES = st.integers(1, 40).map(lambda quarters: quarters / 4)
TREES = st.recursive(
    st.sampled_from("abcd") | FIGURES,
    lambda below: (
        st.tuples(st.sampled_from(sorted(_BINARY)), below, below)
        | st.tuples(st.sampled_from(sorted(_UNARY)), below)
        | st.tuples(st.sampled_from(sorted(_COMPARED)), below, below, below, below)
    ),
    max_leaves=14,
)
VALUES = st.fixed_dictionaries({name: FIGURES | FIGURES.map(lambda x: -x) for name in "abcd"})


def read(tree: Any, values: dict[str, Any]) -> Any:
    """What a tree says of its names, as the body of a rule would: with numbers a number, with symbols an expression."""
    match tree:
        case str():
            return values[tree]
        case float():
            return tree
        case (sign, left, right):
            return _BINARY[sign](read(left, values), read(right, values))
        case (sign, inner):
            return _UNARY[sign](read(inner, values))
        case (sign, left, right, when_true, when_false):
            condition = _COMPARED[sign](values["a"] * read(left, values), read(right, values))
            return choose(condition, read(when_true, values), read(when_false, values))
    raise AssertionError(tree)


def number_of(tree: Any, values: dict[str, float]) -> float:
    """The tree as Python; examples in which a figure has no bounds are passed over."""
    try:
        with np.errstate(divide="raise", invalid="raise", over="raise", under="ignore"):
            result = float(read(tree, {name: np.float64(value) for name, value in values.items()}))
    except (FloatingPointError, ZeroDivisionError, OverflowError):
        assume(False)
    assume(abs(result) < 1e12)
    return result


def formula_of(tree: Any) -> str:
    return expression(read(tree, {name: Name(name) for name in "abcd"})).formula(CELLS)


@given(TREES, VALUES)
@settings(max_examples=200, deadline=None)
def test_any_expression_is_the_same_as_a_formula(tree: Any, values: dict[str, float]) -> None:
    """Whatever is built of the closed list, Python's own reading and a spreadsheet's reading of its formula agree."""
    expected = number_of(tree, values)
    found = formula_value(formula_of(tree), {CELLS[name]: value for name, value in values.items()})
    assert found == pytest.approx(expected, rel=1e-12, abs=1e-12)


@pytest.mark.usefixtures("requires_office")
def test_a_spreadsheet_program_reads_the_formulas_as_python_does(tmp_path: Path) -> None:
    """A few hundred random formulas, computed by LibreOffice in one batch, come to what Python makes of them."""
    cases: list[tuple[Any, dict[str, float], float]] = []

    @settings(max_examples=250, derandomize=True, database=None, deadline=None, phases=[Phase.generate])
    @given(TREES, VALUES)
    def collect(tree: Any, values: dict[str, float]) -> None:
        cases.append((tree, values, number_of(tree, values)))

    collect()
    path = tmp_path / "formulas.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("Formulas")
        for row, (tree, values, _) in enumerate(cases, 1):
            for column, name in enumerate("abcd"):
                sheet.write_number(row - 1, column, values[name])
            own = {name: f"{letter}{row}" for name, letter in zip("abcd", "ABCD", strict=True)}
            sheet.write_formula(row - 1, 4, "=" + expression(read(tree, {name: Name(name) for name in "abcd"})).formula(own))
    found = [cells[4].value for cells in recalculated(path)["Formulas"].iter_rows(max_row=len(cases))]
    assert len(cases) >= 200
    wrong = [(formula_of(tree), values, expected, got) for (tree, values, expected), got in zip(cases, found, strict=True)
             if got != pytest.approx(expected, rel=1e-12, abs=1e-12)]
    assert wrong == []


def test_every_function_of_the_closed_list_is_in_these_trees() -> None:
    """A function added to the list is missed here until the trees use it."""
    used: set[str] = set()

    def note(symbol: expressions.Expression) -> None:
        match symbol:
            case expressions.Call(function, arguments):
                used.add(function.name)
                for argument in arguments:
                    note(argument)
            case expressions.Operation(_, left, right):
                note(left)
                note(right)

    symbols = {name: Name(name) for name in "abcd"}
    for tree in [*((sign, "a", "b") for sign in _BINARY), *((sign, "a") for sign in _UNARY), ("<", "a", "b", "c", "d")]:
        note(expression(read(tree, symbols)))
    assert used == {function.name for function in FUNCTIONS}
