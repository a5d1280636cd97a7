"""What a shape is: a small table of rules from its dimensions to its take-off and its mould.

Adding a shape is adding one module: its rules, its panels, its limits and its drawing (see DEVELOPERS.md).
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Mapping
from dataclasses import field
from string import Formatter
from typing import Any

import numpy as np

from pricing.algebra.expressions import Value, evaluate
from pricing.dataclass import dataclass
from pricing.rules.geometry.drawing import Drawing

#: What every shape yields for one piece, in this order; the rest of the engine knows no more of a shape than this.
TAKE_OFF: tuple[str, ...] = (
    "volume", "face_area", "underside_area", "arris_length", "open_side_area", "mould_area", "joint_length", "release_area",
)


@dataclass(frozen=True, slots=True)
class Panel:
    """A board of the mould, cut to a rectangle.

    Parameters
    ----------
    name : ``base``, ``lip side``
    length, width : names of a dimension or a rule of the shape [m]
    count : how many of it a mould has: a number, or the name of a dimension or rule
    note : a cut inside the rectangle that the cut list has to mention, such as the step of an end; names of the shape
        stand in braces, ``{step_distance}``, and are filled in with figures
    noted_where : the dimension or rule that is more than zero where the note applies; empty where it always does
    """

    name: str
    length: str
    width: str
    count: str | int = 1
    note: str = ""
    noted_where: str = ""


@dataclass(frozen=True, slots=True)
class Cut:
    """A panel with its figures: a line of the cut list of one mould.

    Parameters
    ----------
    name : ``base``, ``lip side``
    length, width : of the rectangle to cut [m]
    count : how many of it one mould has
    note : what else to cut, with figures; empty where nothing is
    """

    name: str
    length: float
    width: float
    count: int
    note: str = ""

    @property
    def area(self) -> float:
        """Of all panels of this line [m2]."""
        return self.length * self.width * self.count


@dataclass(frozen=True, slots=True)
class Limit:
    """A condition on the dimensions, without which the piece cannot exist.

    Parameters
    ----------
    room : a function of dimensions and results that is zero or more where the piece is possible [m, or a number]
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
    together : dimensions of which a blank one is 0 as soon as another of them is typed
    measured : figures that it takes from elsewhere than its own columns, such as from an outline [SI]
    rules : each a function whose name is its result; together they yield every name of TAKE_OFF except mould_area
    panels : the boards of its mould; mould_area is the sum of their areas. Empty where mould_area is a dimension
    limits : conditions on the dimensions
    drawn_by : sizes over all by which it is drawn where they are typed, of a shape that has no drawing of its own
    drawing : from dimensions and results [SI] to plan and section; None where there is nothing to draw
    """

    name: str
    meaning: str
    dimensions: tuple[str, ...]
    rules: tuple[Callable[..., Value], ...]
    panels: tuple[Panel, ...] = ()
    limits: tuple[Limit, ...] = ()
    defaults: Mapping[str, float] = field(default_factory=dict, hash=False)
    measured: tuple[str, ...] = ()
    together: tuple[str, ...] = ()
    drawn_by: tuple[str, ...] = ()
    drawing: Callable[[Mapping[str, float]], Drawing] | None = None

    def filled(self, given: Mapping[str, Any], blank: float = float("nan")) -> dict[str, Any]:
        """The dimensions of the shape with every blank replaced by what it stands for.

        Parameters
        ----------
        given : by name, arrays in which a blank is not a number
        blank : what stands for a dimension that has no value of its own in the shape

        Of those that are given together, a blank one is 0 as soon as another is typed.

        >>> from pricing.rules.shapes import SHAPES
        >>> lips = {"long_lips": np.array([np.nan, np.nan]), "short_lips": np.array([np.nan, 2.0])}
        >>> [SHAPES["slab with a lip"].filled(lips)[name].tolist() for name in ("long_lips", "short_lips")]
        [[1.0, 0.0], [0.0, 2.0]]
        """
        others = {name: [each for each in self.together if each != name and each in given] for name in self.together}
        found = {}
        for name, values in given.items():
            typed = [~np.isnan(given[each]) for each in others.get(name, [])]
            default = self.defaults.get(name, blank)
            found[name] = np.where(np.isnan(values), np.where(np.any(typed, axis=0), 0.0, default) if typed else default, values)
        return found

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

    def refusals(self, dimensions: Mapping[str, Value], board: Value = 0.018) -> list[tuple[Limit, Any]]:
        """The limits that the dimensions break, each with True where it is broken (an array where they are arrays).

        Parameters
        ----------
        dimensions : values by name [m unless the glossary says otherwise], numbers or arrays of one shape
        board : thickness of the mould's board [m]

        >>> from pricing.rules.shapes import SHAPES
        >>> lip = {"length": 1.0, "width": 0.03, "thickness": 0.03, "drop": 0.04}
        >>> [limit.sentence for limit, _ in SHAPES["slab with a lip"].refusals(lip)]
        ['the lips take up the width; make Lip thickness less or Width more']
        """
        with np.errstate(all="ignore"):
            values = self.take_off(dimensions, board)
            rooms = [np.asarray(evaluate(limit.room, values)) for limit in self.limits]
        # What is no number is refused too; sizes within a thousandth of a millimetre are equal.
        kept = [room > 1e-6 if limit.strict else room >= -1e-6 for limit, room in zip(self.limits, rooms, strict=True)]
        return [(limit, ~held) for limit, held in zip(self.limits, kept, strict=True) if not np.all(held)]

    def cuts(self, values: Mapping[str, float], figure: Callable[[float], str] | None = None) -> list[Cut]:
        """The cut list of one mould.

        Parameters
        ----------
        values : what :meth:`take_off` returned for one piece [SI]
        figure : from a length [m] to its text in a note; whole millimetres where none is given

        >>> from pricing.rules.shapes import SHAPES
        >>> slab = SHAPES["slab with a lip"].take_off({"length": 1, "width": 0.2, "thickness": 0.025, "drop": 0.04})
        >>> [cut.note for cut in SHAPES["slab with a lip"].cuts(slab) if cut.note]
        ["stepped from 83 mm to 43 mm at 43 mm from the outer face of the lip's board"]
        """
        shown = figure or _millimetres
        made = []
        for panel in self.panels:
            count = round(float(values[panel.count])) if isinstance(panel.count, str) else panel.count
            length, width = float(values[panel.length]), float(values[panel.width])
            if count > 0 and length > 0 and width > 0:
                noted = not panel.noted_where or values[panel.noted_where] > 0
                text = {name: shown(float(values[name])) for name in _names_in(panel.note)} if noted else {}
                made.append(Cut(panel.name, length, width, count, panel.note.format_map(text) if noted else ""))
        return made

    def drawn(self, dimensions: Mapping[str, float]) -> Drawing | None:
        """Plan and section of one piece, from its dimensions [SI]; None where the shape has no drawing.

        >>> from pricing.rules.shapes import SHAPES
        >>> [view.letter for view in SHAPES["disc"].drawn({"diameter": 0.8, "thickness": 0.04}).views]
        ['', 'A']
        """
        if self.drawing is None:
            return None
        return self.drawing({name: float(value) for name, value in self.take_off(dimensions).items()})


def more_than_zero(*names: str) -> tuple[Limit, ...]:
    """A limit for each of the dimensions: it must be more than zero.

    >>> more_than_zero("lip_thickness")[0].sentence
    'lip thickness must be more than zero; type it with its unit'
    """
    return tuple(
        Limit(_itself(name), f"{name.replace('_', ' ')} must be more than zero; type it with its unit", name)
        for name in names
    )


def whole_number(*names: str) -> tuple[Limit, ...]:
    """A limit for each of the dimensions: it counts something, so it must be 0, 1, 2 and so on.

    >>> whole_number("holes")[0].sentence
    'holes are counted; type a whole number, 0 or more'
    """
    sentence = "{} are counted; type a whole number, 0 or more"
    return tuple(
        Limit(room, sentence.format(name.replace("_", " ")), name, strict=False)
        for name in names
        for room in (_itself(name), _itself(name, less_its_fraction=True))
    )


def _itself(name: str, less_its_fraction: bool = False) -> Callable[..., Value]:
    """A function of the one dimension: the dimension, or nought less what it has behind the point."""

    def room(**values: Value) -> Value:
        value = values[name]
        return np.floor(value) - value if less_its_fraction else value

    room.__signature__ = inspect.Signature([inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY)])  # type: ignore[attr-defined]
    return room


def _names_in(note: str) -> list[str]:
    return [name for _, name, _, _ in Formatter().parse(note) if name]


def _millimetres(length: float) -> str:
    return f"{length * 1000:.0f} mm"


@functools.cache
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
