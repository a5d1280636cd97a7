"""The tree of a figure: what it is called, what it comes to, how it was made, and what it was made of.

A figure that several others rest on is one object in the tree, met several times; :func:`opened` shows what is below
it once and refers to it afterwards.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import cached_property
from typing import Any, Literal, NamedTuple, Protocol

from pricing.dataclass import dataclass

Kind = Literal["typed", "setting", "worked out", "fetched", "summed", "largest", "picked", "banded", "ranked"]


class Told(NamedTuple):
    """A figure as it is told; the fields are those of a :class:`Trace`."""

    of: str
    unit: str
    shown: str
    told: float


class Way(Protocol):
    """How a figure is made; what it has is what a :class:`Trace` has."""

    @property
    def words(self) -> str:
        """How it was made here, in words."""

    @property
    def numbers(self) -> str:
        """The same with figures."""

    @property
    def rule(self) -> str:
        """How every figure of its column is made, in words."""

    @property
    def children(self) -> tuple[Trace, ...]:
        """What it was made of."""

    @property
    def unused(self) -> frozenset[str]:
        """Names of the children that make no difference."""

    @property
    def hidden(self) -> frozenset[str]:
        """Names of the children that *words* does not speak of."""


class KnownWay(NamedTuple):
    """A way that is already in words."""

    words: str
    numbers: str = ""
    rule: str = ""
    children: tuple[Trace, ...] = ()
    unused: frozenset[str] = frozenset()
    hidden: frozenset[str] = frozenset()


@dataclass(frozen=True, eq=False)
class Trace:
    """A figure, and the figures that it was made of: each is looked for when it is asked for.

    Parameters
    ----------
    name : as rules write it, ``mix_price``
    label : as a heading shows it, ``Price of a m³``
    meaning : one sentence for a maker
    value : in the unit of the glossary: a share of 10 % is 0.1
    kind : how the model makes it
    place : where it stands in the price book, ``Materials!E7``; empty where it was made, or settled on reading
    table, row : its table of the model, and its row there counted from 0
    tell : gives what it is told by
    make : gives how it is made
    """

    name: str
    label: str
    meaning: str
    value: float
    kind: Kind
    place: str
    table: str
    row: int
    tell: Callable[[], Told]
    make: Callable[[], Way]

    @cached_property
    def _told(self) -> Told:
        return self.tell()

    @cached_property
    def _way(self) -> Way:
        return self.make()

    @property
    def of(self) -> str:
        """What it is a figure of: a product, a mix, a material, a step; empty for the workshop's settings."""
        return self._told.of

    @property
    def unit(self) -> str:
        """As shown, ``EUR per m³``; empty where there is none to show."""
        return self._told.unit

    @property
    def shown(self) -> str:
        """The value as it is shown, without its unit: ``180.35``; a share as ``10``."""
        return self._told.shown

    @property
    def told(self) -> float:
        """The value in its unit as shown."""
        return self._told.told

    @property
    def words(self) -> str:
        """How it was made here, in words: what is settled for its row is worked in."""
        return self._way.words

    @property
    def numbers(self) -> str:
        """The same with figures; empty for what was not made."""
        return self._way.numbers

    @property
    def rule(self) -> str:
        """How every figure of its column is made, in words; empty for what was not made."""
        return self._way.rule

    @property
    def children(self) -> tuple[Trace, ...]:
        """What it was made of, in the author's order, each once."""
        return self._way.children

    @property
    def unused(self) -> frozenset[str]:
        """Names of the children that make no difference at these figures: a way not taken, a factor of zero."""
        return self._way.unused

    @property
    def hidden(self) -> frozenset[str]:
        """Names of the children that *words* does not speak of, because they were settled on reading."""
        return self._way.hidden

    @property
    def key(self) -> tuple[str, int, str]:
        """What tells this figure from every other of the model: table, row and name."""
        return self.table, self.row, self.name

    @property
    def resolved(self) -> bool:
        """True where the figure neither stands in the price book nor is made of others: it was settled on reading."""
        return not self.place and (self.kind in ("typed", "setting") or not self.children)

    @property
    def amount(self) -> str:
        """The value with its unit: ``180.35 EUR per m³``."""
        return f"{self.shown} {self.unit}".rstrip()

    def all(self) -> Iterator[Trace]:
        """This figure and every figure below it, each once, from the top."""
        seen = {self.key}
        waiting = [self]
        while waiting:
            trace = waiting.pop()
            yield trace
            for child in reversed(trace.children):
                if child.key not in seen:
                    seen.add(child.key)
                    waiting.append(child)

    def as_json(self, depth: int | None = None) -> dict[str, Any]:
        """The tree for programs; what is below a figure stands where it is met first, then ``repeated`` is true.

        Parameters
        ----------
        depth : levels below this one; all where None
        """
        return _as_json(self, depth, set())


def _as_json(trace: Trace, depth: int | None, seen: set[tuple[str, int, str]]) -> dict[str, Any]:
    repeated = trace.key in seen and bool(trace.children)
    closed = repeated or depth == 0
    made: dict[str, Any] = {
        "figure": trace.name, "label": trace.label, "of": trace.of, "meaning": trace.meaning,
        "value": trace.told if math.isfinite(trace.told) else None, "unit": trace.unit, "shown": trace.amount,
        "formula": trace.words, "formula_with_numbers": trace.numbers, "rule": trace.rule, "kind": trace.kind, "place": trace.place,
        "table": trace.table, "row": trace.row + 1, "resolved": trace.resolved, "repeated": repeated,
        "unused": [c.name for c in trace.children if c.name in trace.unused],
    }
    if not closed:
        seen.add(trace.key)
    below = None if depth is None else depth - 1
    made["children"] = [] if closed else [_as_json(child, below, seen) for child in trace.children]
    return made


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a tree that is shown.

    Parameters
    ----------
    first : the figure as the line above calls it
    trace : the same figure where it is made: one that is only passed on is followed to its origin
    depth : how far it stands in
    note : why nothing stands below it although it was made of something; empty otherwise
    """

    first: Trace
    trace: Trace
    depth: int
    note: str = ""


def in_words(label: str) -> str:
    """A label within a sentence.

    >>> in_words("Price of a m³")
    'price of a m³'
    """
    return label[:1].lower() + label[1:]


#: How a figure came that stands in the price book, or that a cell left blank there means.
TYPED = "as the price book has it"

#: Why what is below a figure is not shown.
ABOVE, UNUSED, DEEPER = "as above", "no effect here", "goes deeper"


def origin(trace: Trace) -> Trace:
    """Where a figure that is only passed on was made: it follows links and rules that change nothing."""
    while trace.kind in ("fetched", "picked", "worked out"):
        told = [child for child in trace.children if child.name not in trace.hidden]
        if len(told) != 1 or told[0].value != trace.value or (trace.kind == "worked out" and trace.words != in_words(told[0].label)):
            break
        trace = told[0]
    return trace


def parts(trace: Trace) -> list[Trace]:
    """What is shown below a figure: the parts of a sum largest first, those of zero left out; otherwise the author's order."""
    if trace.kind != "summed":
        return [child for child in trace.children if child.name not in trace.hidden]
    return sorted((child for child in trace.children if child.value != 0), key=lambda child: -abs(child.value))


def opened(trace: Trace, depth: int | None = None, *, chained: bool = False) -> Iterator[Line]:
    """The lines of a tree from the top: each figure's parts are shown once, and not where they make no difference.

    Parameters
    ----------
    depth : levels below the top; all where None
    chained : True to let the chain at the top run straight down: as long as one part alone is made of others, it stands
        after its figure on the same level, not below it
    """
    yield from _opened(trace, 0, depth, {}, used=True, chained=chained)


def _opened(
    first: Trace, level: int, depth: int | None, seen: dict[tuple[str, int, str], int], *, used: bool, chained: bool
) -> Iterator[Line]:
    trace = origin(first)
    shown = parts(trace)
    note = ""
    if not used:
        note = UNUSED
    elif shown and trace.key in seen and (depth is None or seen[trace.key] <= level):
        note = ABOVE
    elif shown and depth is not None and level >= depth:
        note = DEEPER
    yield Line(first, trace, level, note)
    if note:
        return
    seen[trace.key] = level
    made = [child for child in shown if child.name not in trace.unused and parts(origin(child))]
    last = made[0] if chained and level == 0 and len(made) == 1 else None
    for child in shown:
        if child is not last:
            yield from _opened(child, level + 1, depth, seen, used=child.name not in trace.unused, chained=chained)
    if last is not None:
        yield from _opened(last, level, depth, seen, used=True, chained=chained)
