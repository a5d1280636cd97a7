"""Every rule of the costing method is read with quantities: its units work out, or it fails by name."""

from __future__ import annotations

import inspect
import pkgutil
from collections.abc import Callable
from importlib import import_module
from typing import Any

import pint
import pytest

import pricing.rules
from pricing.algebra.expressions import CONSTANTS, expression_of, inputs_of
from pricing.glossary import GLOSSARY
from pricing.rules.geometry import measures, seen_edges
from pricing.rules.shapes import SHAPES
from pricing.rules.shapes.slab_by_outline import SLAB_BY_OUTLINE
from pricing.units import registry

MODULES = [import_module(f"pricing.rules.{found.name}") for found in pkgutil.iter_modules(pricing.rules.__path__) if not found.ispkg]
RULES: list[Callable[..., Any]] = [
    rule
    for module in MODULES
    for _, rule in inspect.getmembers(module, inspect.isfunction)
    if rule.__module__ == module.__name__ and rule.__name__ in GLOSSARY and rule.__name__ != "learning_exponent"
]
SHAPE_RULES = [(shape.name, rule) for shape in (*SHAPES.values(), SLAB_BY_OUTLINE) for rule in shape.all_rules]
SHAPE_RULES += [(shape, rule) for asked in (measures.RULES, seen_edges.RULES) for shape, rules in asked.items() for rule in rules]


def quantities(rule: Callable[..., Any]) -> dict[str, Any]:
    """Each input as a quantity in the unit of the glossary, universal constants in their own."""
    units = registry()
    given = {name: units.Quantity(0.6, GLOSSARY[name].unit) for name in inputs_of(rule)}
    for name in inspect.signature(rule).parameters:
        if name in CONSTANTS:
            given[name] = units.Quantity(CONSTANTS[name].value, CONSTANTS[name].unit)
    return given


def unit_fault(rule: Callable[..., Any]) -> str:
    """What is wrong with a rule's units; empty where they work out."""
    units = registry()
    try:
        result = units.Quantity(rule(**quantities(rule)))
    except pint.DimensionalityError as error:
        return str(error)
    wanted = units.Quantity(1.0, GLOSSARY[rule.__name__].unit)
    return "" if result.check(wanted.dimensionality) else f"{result.units} is no {wanted.units}"


def test_the_whole_method_is_there() -> None:
    """The modules of rules hold more than a hundred rules, and every shape adds its own."""
    assert len(RULES) > 100
    assert len(SHAPE_RULES) > 30


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: f"{rule.__module__.rpartition('.')[2]}.{rule.__name__}")
def test_units_of_a_rule_work_out(rule: Callable[..., Any]) -> None:
    """A rule read with quantities yields the unit that the glossary gives its name."""
    assert unit_fault(rule) == ""


@pytest.mark.parametrize(("shape", "rule"), SHAPE_RULES, ids=lambda part: part if isinstance(part, str) else part.__name__)
def test_units_of_a_shape_work_out(shape: str, rule: Callable[..., Any]) -> None:
    """A shape's rule read with metres yields metres, square metres or cubic metres as the glossary says."""
    assert unit_fault(rule) == "", shape


def test_a_wrong_unit_is_found() -> None:
    """The check can fail: a price added to a mass, and a result of another unit than its name's, are both noticed."""

    def mix_price(ingredient_cost: Any, ingredient_mass: Any) -> Any:
        return ingredient_cost + ingredient_mass

    def unit_cost(hourly_cost: Any) -> Any:
        return hourly_cost * 2

    assert "Cannot convert" in unit_fault(mix_price)
    assert "is no" in unit_fault(unit_cost)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: f"{rule.__module__.rpartition('.')[2]}.{rule.__name__}")
def test_every_rule_reads_as_a_short_formula(rule: Callable[..., Any]) -> None:
    """A rule's formula is short, has universal constants only, and nests no IF."""
    formula = expression_of(rule).formula(dict.fromkeys(inputs_of(rule), "A1"))
    assert len(formula) <= 120
    assert formula.count("IF(") <= 1
