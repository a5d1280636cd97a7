"""What a shape is: a small table of rules from its dimensions to its take-off and its mould.

Adding a shape is adding one module: its rules, its panels, its limits and its drawing (see DEVELOPERS.md).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from pricing.algebra import CONSTANTS, Value, evaluate, inputs_of

#: What every shape yields for one piece, in this order; the rest of the engine knows no more of a shape than this.
TAKE_OFF: tuple[str, ...] = (
    "volume", "face_area", "underside_area", "arris_length", "open_area", "mould_area", "joint_length", "release_area",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Panel:
    """A board of the mould, cut to a rectangle.

    Parameters
    ----------
    name : ``base``, ``lip side``
    length, width : names of a dimension or a rule of the shape [m]
    count : how many of it a mould has: a number, or the name of a dimension or rule
    note : a cut inside the rectangle that the cut list has to mention, such as the step of an end
    """

    name: str
    length: str
    width: str
    count: str | int = 1
    note: str = ""


@dataclass(frozen=True, slots=True)
class Limit:
    """A condition on the dimensions, without which the piece cannot exist.

    Parameters
    ----------
    room : a rule that is zero or more where the dimensions are possible [m]
    sentence : what is wrong and the remedy, for the maker, where it is not
    about : the dimension whose cell the problem is reported at
    strict : True where zero is not possible either
    """

    room: Callable[..., Value]
    sentence: str
    about: str
    strict: bool = True


@dataclass(frozen=True, slots=True)
class Shape:
    """A shape of piece.

    Parameters
    ----------
    name : as the price book's Shape column says it
    meaning : one sentence for a maker
    dimensions : names of its dimensions, in the order of the price book
    defaults : a value for each dimension that may be left blank [SI]
    rules : each a function whose name is its result; together they yield every name of TAKE_OFF except mould_area
    panels : the boards of its mould; mould_area is the sum of their areas. Empty where mould_area is a dimension
    limits : conditions on the dimensions
    drawing : from dimensions [SI] to a drawing of plan and section; None where there is nothing to draw
    """

    name: str
    meaning: str
    dimensions: tuple[str, ...]
    rules: tuple[Callable[..., Value], ...]
    panels: tuple[Panel, ...] = ()
    limits: tuple[Limit, ...] = ()
    defaults: Mapping[str, float] = field(default_factory=dict)
    drawing: Callable[[Mapping[str, float]], Any] | None = None

    @property
    def all_rules(self) -> tuple[Callable[..., Value], ...]:
        """The rules in an order in which each comes after those it rests on, the mould's area included."""
        if not self.panels:
            return self.rules
        return (*self.rules, _mould_area(self.panels))

    def take_off(self, dimensions: Mapping[str, Value], board: Value = 0.018) -> dict[str, Value]:
        """Every dimension and result of the shape, from its dimensions and the mould's board thickness [SI].

        Parameters
        ----------
        dimensions : values by name [m unless the glossary says otherwise], numbers or arrays of one shape
        board : thickness of the mould's board [m]

        >>> from pricing.rules.shapes import SHAPES
        >>> round(float(SHAPES["slab"].take_off({"length": 1.0, "width": 0.5, "thickness": 0.04})["volume"]), 6)
        0.02
        """
        values: dict[str, Value] = {**self.defaults, **dimensions, "board": board}
        for rule in self.all_rules:
            values[rule.__name__] = evaluate(rule, values)
        return values


def _mould_area(panels: tuple[Panel, ...]) -> Callable[..., Value]:
    """The rule that adds up the areas of the panels: written by the panel table itself, so that it stands once."""
    names: dict[str, None] = {}
    terms: list[str] = []
    for panel in panels:
        for name in (panel.length, panel.width, panel.count):
            if isinstance(name, str):
                names.setdefault(name)
        count = "" if panel.count == 1 else f"{panel.count} * "
        terms.append(f"{count}{panel.length} * {panel.width}")
    made: dict[str, Any] = {}
    source = f"def mould_area({', '.join(names)}):\n    return {' + '.join(terms)}\n"
    exec(source, made)  # noqa: S102 - the text is made of the identifiers of a shape table in this package
    rule: Callable[..., Value] = made["mould_area"]
    rule.__doc__ = "Area of the mould's panels, each cut to its rectangle [m²]."
    return rule


def check_order(shape: Shape) -> list[str]:
    """What is wrong with a shape's table: a rule that comes before what it rests on, or a missing result.

    >>> from pricing.rules.shapes import SHAPES
    >>> check_order(SHAPES["slab"])
    []
    """
    known = {*shape.dimensions, *CONSTANTS, "board"}
    wrong = []
    for rule in shape.all_rules:
        wrong += [f"{rule.__name__} rests on {name}, which is not known yet" for name in inputs_of(rule) if name not in known]
        known.add(rule.__name__)
    wrong += [f"{name} is missing" for name in TAKE_OFF if name not in known]
    return wrong
