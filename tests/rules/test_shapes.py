"""Shapes: known moulds, refused dimensions, and tables of rules that hold together in all three readings."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pint
import pytest
from shape_order import check_order

from pricing.algebra.expressions import CONSTANTS, Call, Expression, Number, Operation, expression_of, inputs_of
from pricing.glossary import GLOSSARY
from pricing.rules.geometry.outline import outline_of
from pricing.rules.shapes import SHAPES, TAKE_OFF, Shape
from pricing.rules.shapes.slab_by_outline import outline_cuts

registry = pint.UnitRegistry()

SHELF = {"length": 1.0, "width": 0.2, "thickness": 0.025, "drop": 0.04}

#: A possible piece of every shape [m].
ISLAND = outline_of([(0, 0, 0), (1.8, 0, 0.4), (1.8, 0.9, 0.4), (0.7, 0.9, 0.06), (0.7, 0.7, 0), (0, 0.7, 0.03)])

EXAMPLES: dict[str, dict[str, float]] = {
    "slab by outline": {"thickness": 0.05, **{name: ISLAND.figures[name] for name in SHAPES["slab by outline"].measured}},
    "slab": {"length": 2.0, "width": 0.6, "thickness": 0.04},
    "slab with a lip": SHELF,
    "slab with openings": {
        "length": 2.0, "width": 0.6, "thickness": 0.04, "openings": 1, "opening_length": 0.5, "opening_width": 0.4,
        "holes": 2, "hole_diameter": 0.035,
    },
    "L-shaped slab": {"length": 2.0, "width": 0.6, "thickness": 0.04, "return_length": 1.5, "return_width": 0.5},
    "disc": {"diameter": 0.8, "thickness": 0.04},
    "ring": {"diameter": 1.2, "inner_diameter": 0.8, "thickness": 0.06},
    "step": {"length": 1.0, "width": 0.32, "thickness": 0.05, "drop": 0.13, "lip_thickness": 0.04, "nosing": 0.025},
    "coping": {
        "length": 1.0, "width": 0.3, "thickness": 0.06, "fall": 0.02, "groove_width": 0.01, "groove_depth": 0.008,
    },
    "sill": {"length": 1.2, "width": 0.2, "thickness": 0.06, "fall": 0.02, "groove_width": 0.01, "groove_depth": 0.008},
    "trough": {"length": 1.0, "width": 0.4, "height": 0.35, "wall": 0.03, "holes": 2, "hole_diameter": 0.02},
    "square planter": {
        "width": 0.5, "base_width": 0.35, "height": 0.45, "wall": 0.03, "holes": 1, "hole_diameter": 0.025,
    },
    "round planter": {
        "diameter": 0.5, "base_diameter": 0.35, "height": 0.45, "wall": 0.03, "holes": 1, "hole_diameter": 0.025,
    },
    "bench": {"length": 1.4, "width": 0.4, "height": 0.45, "thickness": 0.06, "leg_inset": 0.1},
    "solid": {"volume": 0.01, "face_area": 0.5},
}

RULES = [(shape, rule) for shape in SHAPES.values() for rule in shape.all_rules]
each_rule = pytest.mark.parametrize(
    ("shape", "rule"), RULES, ids=[f"{shape.name} {rule.__name__}".replace(" ", "_") for shape, rule in RULES]
)
each_shape = pytest.mark.parametrize("shape", SHAPES.values(), ids=lambda shape: shape.name.replace(" ", "_"))


def millimetres(shape: str, dimensions: dict[str, float], board: float = 0.018) -> dict[str, tuple[int, int, int]]:
    """The cut list: length, width and count by name."""
    values = SHAPES[shape].take_off(dimensions, board)
    return {
        cut.name: (round(cut.length * 1000), round(cut.width * 1000), cut.count) for cut in SHAPES[shape].cuts(values)
    }


# --- moulds -------------------------------------------------------------------------------------------------------


def test_boards_of_a_shelf_with_a_lip() -> None:
    """18 mm board, 25 mm concrete, 40 mm drop: 83 mm at the lip, 43 mm opposite, a 40 mm shutter.

    Source: common practice, no source.
    """
    cuts = millimetres("slab with a lip", SHELF)
    assert cuts["lip side"] == (1036, 83, 1)
    assert cuts["plain side"] == (1036, 43, 1)
    assert cuts["plain end"] == (200, 83, 2)
    assert cuts["shutter"] == (1000, 40, 1)
    assert cuts["base"] == (1000, 200, 1)


def test_ends_of_a_shelf_with_a_lip_are_stepped() -> None:
    """The ends go from 83 to 43 mm at 43 mm from the outer face of the lip's board; no other board is stepped.

    Source: common practice, no source.
    """
    shelf = SHAPES["slab with a lip"]
    notes = {cut.name: cut.note for cut in shelf.cuts(shelf.take_off(SHELF)) if cut.note}
    assert list(notes) == ["plain end"]
    assert re.findall(r"\d+", notes["plain end"]) == ["83", "43", "43"]
    inches = shelf.cuts(shelf.take_off(SHELF), lambda length: f"{length / 0.0254:.2f} in")
    assert "3.27 in" in "".join(cut.note for cut in inches)


#: Long lips, short lips; then boards by name: length, width and count [mm], for 1000 × 400 × 25 with a drop of 40.
LIPPED_MOULDS = [
    (1, 0, {
        "lip side": (1036, 83, 1), "plain side": (1036, 43, 1), "plain end": (400, 83, 2), "shutter": (1000, 40, 1),
    }),
    (0, 1, {
        "plain side": (1036, 83, 2), "lip end": (400, 83, 1), "plain end": (400, 43, 1), "end shutter": (400, 40, 1),
    }),
    (2, 0, {"lip side": (1036, 83, 2), "plain end": (400, 83, 2), "shutter": (1000, 40, 2)}),
    (1, 1, {
        "lip side": (1036, 83, 1), "plain side": (1036, 83, 1), "lip end": (400, 83, 1), "plain end": (400, 83, 1),
        "shutter": (975, 40, 1), "end shutter": (357, 40, 1),
    }),
    (2, 2, {
        "lip side": (1036, 83, 2), "lip end": (400, 83, 2), "shutter": (950, 40, 2), "end shutter": (314, 40, 2),
    }),
]


@pytest.mark.parametrize(("long_lips", "short_lips", "boards"), LIPPED_MOULDS)
def test_boards_of_lips_on_any_edges(long_lips: int, short_lips: int, boards: dict[str, tuple[int, int, int]]) -> None:
    """Every lip has its side and its shutter, and the boards across it are stepped (common practice, no source)."""
    sizes = {**SHELF, "width": 0.4, "long_lips": long_lips, "short_lips": short_lips}
    assert millimetres("slab with a lip", sizes) == {"base": (1000, 400, 1), **boards}


@each_shape
def test_mould_area_is_what_is_cut(shape: Shape) -> None:
    """The rule that prices the board and the cut list that it is cut by give the same area."""
    if not shape.panels and not shape.measured:
        assert "mould_area" in shape.dimensions
        return
    values = shape.take_off(EXAMPLES[shape.name])
    cuts = outline_cuts(ISLAND, values, str) if shape.measured else shape.cuts(values)
    cut = sum(each.length * each.width * each.count for each in cuts)
    assert float(values["mould_area"]) == pytest.approx(cut, rel=1e-12)


@each_shape
def test_boards_cover_what_the_concrete_touches(shape: Shape) -> None:
    """There is at least as much board in a mould as inner face, the solid's own figures apart."""
    values = shape.take_off(EXAMPLES[shape.name])
    assert float(values["mould_area"]) >= float(values["release_area"]) or shape.name == "solid"


def test_a_core_narrower_than_its_boards_is_a_block() -> None:
    """Where two boards' thickness fills a core, no board of negative length is cut."""
    narrow = {"length": 0.5, "width": 0.09, "height": 0.1, "wall": 0.03}
    assert "core end" not in millimetres("trough", narrow)
    assert all(cut.length > 0 for cut in SHAPES["trough"].cuts(SHAPES["trough"].take_off(narrow)))


# --- take-off -----------------------------------------------------------------------------------------------------

#: Shape, dimensions, figure, value: arithmetic done by hand.
BY_HAND: list[tuple[str, dict[str, float], str, float]] = [
    ("slab", {"length": 2, "width": 0.5, "thickness": 0.04}, "volume", 0.04),
    ("slab", {"length": 2, "width": 0.5, "thickness": 0.04}, "face_area", 1.2),
    ("slab", {"length": 2, "width": 0.5, "thickness": 0.04}, "arris_length", 5.16),
    ("slab with a lip", {**SHELF, "lip_thickness": 0.02}, "volume", 0.0058),
    ("slab with a lip", {**SHELF, "long_lips": 2, "short_lips": 2}, "lip_area", 0.0575),
    ("step", {**EXAMPLES["step"], "lip_thickness": 0.295}, "volume", 0.05435),
    ("step", {**EXAMPLES["step"], "lip_thickness": 0.295}, "underside_area", 0.425),
    ("coping", {"length": 1, "width": 0.3, "thickness": 0.06, "fall": 0.02}, "volume", 0.015),
    ("trough", {"length": 1, "width": 0.5, "height": 0.4, "wall": 0.05}, "volume", 0.074),
    ("square planter", {"width": 0.5, "height": 0.4, "wall": 0.05}, "volume", 0.044),
    ("bench", {"length": 1.5, "width": 0.4, "height": 0.45, "thickness": 0.05}, "volume", 0.046),
    ("solid", {"volume": 0.02, "face_area": 0.7}, "joint_length", 0.0),
]


@pytest.mark.parametrize(("shape", "dimensions", "figure", "value"), BY_HAND)
def test_take_off_by_hand(shape: str, dimensions: dict[str, float], figure: str, value: float) -> None:
    """Round sizes give the figures that a pencil gives."""
    assert not SHAPES[shape].refusals(dimensions)
    assert float(SHAPES[shape].take_off(dimensions)[figure]) == pytest.approx(value, rel=1e-12)


@each_shape
def test_many_pieces_at_once(shape: Shape) -> None:
    """Arrays give each piece what it would get alone."""
    sizes = {name: np.array([value, value]) for name, value in EXAMPLES[shape.name].items()}
    first = shape.dimensions[0]
    sizes[first] = sizes[first] * [1.0, 1.05]
    together = shape.take_off(sizes, np.array([0.018, 0.012]))
    for place, board in enumerate((0.018, 0.012)):
        alone = shape.take_off({name: float(values[place]) for name, values in sizes.items()}, board)
        for figure in TAKE_OFF:
            assert float(np.broadcast_to(together[figure], 2)[place]) == float(alone[figure]), figure


# --- limits -------------------------------------------------------------------------------------------------------

#: Shape, what is changed of its example, the dimension that is named, a word of the sentence.
REFUSED: list[tuple[str, dict[str, float], str, str]] = [
    ("slab", {"thickness": 0.0}, "thickness", "more than zero"),
    ("slab", {"length": -1.0}, "length", "more than zero"),
    ("slab", {"width": float("nan")}, "width", "more than zero"),
    ("slab with a lip", {"lip_thickness": 0.2}, "lip_thickness", "width"),
    ("slab with a lip", {"lip_thickness": 0.1, "long_lips": 2}, "lip_thickness", "width"),
    ("slab with a lip", {"width": 0.025}, "lip_thickness", "width"),
    ("slab with a lip", {"lip_thickness": 0.5, "long_lips": 0, "short_lips": 2}, "lip_thickness", "length"),
    ("slab with a lip", {"long_lips": 0}, "long_lips", "no lip"),
    ("slab with a lip", {"long_lips": 3}, "long_lips", "0, 1 or 2"),
    ("slab with a lip", {"short_lips": 0.5}, "short_lips", "whole number"),
    ("slab with a lip", {"drop": 0.0}, "drop", "more than zero"),
    ("slab with openings", {"opening_length": 2.0}, "opening_length", "as long as"),
    ("slab with openings", {"opening_width": 0.6}, "opening_width", "as wide as"),
    ("slab with openings", {"opening_length": 0.0}, "opening_length", "without a length"),
    ("slab with openings", {"opening_width": 0.0}, "opening_width", "without a width"),
    ("slab with openings", {"openings": 6}, "openings", "nothing"),
    ("slab with openings", {"openings": 1.5}, "openings", "whole number"),
    ("slab with openings", {"hole_diameter": 0.0}, "hole_diameter", "without a size"),
    ("slab with openings", {"hole_diameter": 0.6}, "hole_diameter", "as wide as"),
    ("L-shaped slab", {"return_length": 0.6}, "return_length", "within the width"),
    ("L-shaped slab", {"return_width": 2.0}, "return_width", "length"),
    ("disc", {"diameter": 0.0}, "diameter", "more than zero"),
    ("ring", {"inner_diameter": 1.2}, "inner_diameter", "as wide as"),
    ("step", {"nosing": 0.0}, "nosing", "more than zero"),
    ("step", {"nosing": 0.29}, "nosing", "wider than"),
    ("coping", {"fall": 0.06}, "fall", "whole thickness"),
    ("coping", {"fall": 0.0}, "fall", "holds water"),
    ("coping", {"groove_width": 0.15}, "groove_width", "whole width"),
    ("coping", {"groove_depth": 0.04}, "groove_depth", "deep"),
    ("coping", {"groove_width": 0.0}, "groove_width", "no width"),
    ("coping", {"groove_depth": 0.0}, "groove_depth", "no depth"),
    ("sill", {"fall": -0.01}, "fall", "negative"),
    ("sill", {"fall": 0.06}, "fall", "whole thickness"),
    ("trough", {"wall": 0.2}, "wall", "fill the inside"),
    ("trough", {"base_thickness": 0.35}, "base_thickness", "as thick as"),
    ("trough", {"hole_diameter": 0.34}, "hole_diameter", "as wide as"),
    ("trough", {"holes": 1, "hole_diameter": 0.0}, "hole_diameter", "without a size"),
    ("trough", {"holes": 1000, "hole_diameter": 0.03}, "holes", "nothing"),
    ("square planter", {"base_width": 0.51}, "base_width", "core cannot leave"),
    ("square planter", {"base_width": 0.05, "wall": 0.1}, "wall", "fill the inside"),
    ("square planter", {"hole_diameter": 0.31}, "hole_diameter", "as wide as"),
    ("round planter", {"base_diameter": 0.51}, "base_diameter", "core cannot leave"),
    ("round planter", {"wall": 0.25}, "wall", "fill the inside"),
    ("round planter", {"hole_diameter": 0.31}, "hole_diameter", "as wide as"),
    ("bench", {"thickness": 0.45}, "thickness", "as thick as"),
    ("bench", {"leg_thickness": 0.6}, "leg_thickness", "meet"),
    ("bench", {"leg_inset": -0.01}, "leg_inset", "outside"),
    ("solid", {"volume": 0.0}, "volume", "more than zero"),
]


@pytest.mark.parametrize(("shape", "changed", "about", "said"), REFUSED)
def test_impossible_pieces_are_refused(shape: str, changed: dict[str, float], about: str, said: str) -> None:
    """A piece that cannot exist is refused with a sentence at the dimension to mend, never costed as negative."""
    assert not SHAPES[shape].refusals(EXAMPLES[shape])
    found = [limit for limit, _ in SHAPES[shape].refusals({**EXAMPLES[shape], **changed}) if limit.about == about]
    assert found, "nothing was refused"
    assert said in found[0].sentence


def test_refusals_tell_which_of_many() -> None:
    """Over arrays, a limit says which of the pieces breaks it."""
    sizes = {**SHELF, "lip_thickness": np.array([0.02, 0.3, 0.199])}
    [(limit, where)] = SHAPES["slab with a lip"].refusals(sizes)
    assert limit.about == "lip_thickness"
    assert where.tolist() == [False, True, False]


@each_shape
def test_limits_name_a_dimension(shape: Shape) -> None:
    """A limit is about a dimension of its shape, because that is the cell that is shown."""
    assert {limit.about for limit in shape.limits} <= set(shape.dimensions)


# --- tables of rules ----------------------------------------------------------------------------------------------


def test_names_are_those_of_the_price_book() -> None:
    """Every shape stands under its own name, and the first three are there."""
    assert all(name == shape.name for name, shape in SHAPES.items())
    assert {"slab", "slab with a lip", "solid"} <= set(SHAPES)
    assert set(SHAPES) == set(EXAMPLES)


@each_shape
def test_rules_stand_in_order(shape: Shape) -> None:
    """Every rule comes after what it rests on, and every take-off is yielded."""
    assert check_order(shape) == []


def test_check_order_finds_what_is_wrong() -> None:
    """A rule before its inputs and a take-off without a rule are named."""
    slab = SHAPES["slab"]
    broken = Shape("broken", "", slab.dimensions, tuple(reversed(slab.rules[:-1])))
    found = check_order(broken)
    assert "release_area is missing" in found
    assert any(each.startswith("volume") or "perimeter, which is not known yet" in each for each in found)


@each_shape
def test_defaults_and_dimensions_are_known(shape: Shape) -> None:
    """Defaults are of dimensions, and dimensions, panels and notes name what the shape knows."""
    known = {*shape.dimensions, *shape.measured, *(rule.__name__ for rule in shape.all_rules), "board"}
    assert set(shape.defaults) <= set(shape.dimensions)
    for panel in shape.panels:
        named = {panel.length, panel.width, *re.findall(r"{(\w+)}", panel.note)}
        named |= {panel.count} if isinstance(panel.count, str) else set()
        assert named | ({panel.noted_where} - {""}) <= known, panel.name
    for limit in shape.limits:
        assert set(inputs_of(limit.room)) <= known, limit.sentence


def literals(value: Expression) -> set[float]:
    """Every number that is written in an expression."""
    if isinstance(value, Number):
        return set() if value.constant else {value.value}
    if isinstance(value, Operation):
        return literals(value.left) | literals(value.right)
    return set().union(*map(literals, value.arguments)) if isinstance(value, Call) else set()


def depth(value: Expression, function: str) -> int:
    """How deep calls of a function stand inside each other."""
    inner: list[Expression] = []
    if isinstance(value, Operation):
        inner = [value.left, value.right]
    if isinstance(value, Call):
        inner = list(value.arguments)
    here = isinstance(value, Call) and value.function.name == function
    return here + max((depth(each, function) for each in inner), default=0)


@each_rule
def test_a_rule_is_one_short_formula(shape: Shape, rule: Callable[..., Any]) -> None:
    """A rule becomes one formula of less than 120 characters, without nested IF, with universal numbers only."""
    found = expression_of(rule)
    formula = found.formula(dict.fromkeys(found.names(), "AB12"))
    assert 0 < len(formula) < 120
    assert depth(found, "choose") <= 1
    assert literals(found) <= {0, 1, 2, 3, 4, 5, 8, 12}, "a number that is not universal belongs in the price book"


@each_rule
def test_units_of_a_rule_work_out(shape: Shape, rule: Callable[..., Any]) -> None:
    """Read with quantities, a rule yields the unit that the glossary gives it."""
    values: dict[str, Any] = {name: registry.Quantity(1.5, GLOSSARY[name].unit) for name in inputs_of(rule)}
    if "pi" in rule.__code__.co_varnames:
        values["pi"] = registry.Quantity(CONSTANTS["pi"].value, CONSTANTS["pi"].unit)
    result = rule(**values)
    assert registry.Quantity(1, GLOSSARY[rule.__name__].unit).is_compatible_with(result), result.units


def test_a_wrong_unit_is_found() -> None:
    """The reading with quantities fails where an area is given for a length."""
    [rule] = [rule for rule in SHAPES["slab"].rules if rule.__name__ == "arris_length"]
    with pytest.raises(pint.DimensionalityError):
        rule(perimeter=registry.Quantity(1.0, "metre"), thickness=registry.Quantity(1.0, "metre**2"))


def test_quantities_in_the_glossary_have_words() -> None:
    """Labels are unique among a shape's names and every meaning is a sentence."""
    for shape in SHAPES.values():
        names = [*shape.dimensions, *(rule.__name__ for rule in shape.all_rules)]
        labels = [GLOSSARY[name].label for name in dict.fromkeys(names)]
        assert len(set(labels)) == len(labels), shape.name
        assert all(GLOSSARY[name].meaning.endswith(".") for name in names)


@each_shape
def test_examples_lie_within_what_is_plausible(shape: Shape) -> None:
    """Bounds of the glossary let ordinary pieces pass."""
    for name, value in {**shape.defaults, **EXAMPLES[shape.name]}.items():
        assert GLOSSARY[name].lower <= value <= GLOSSARY[name].upper, name
