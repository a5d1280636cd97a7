"""Two states of the same lines compared: which inputs changed, and what each change does to a cost or a price.

The lines are those of a catalogue or of a quote; the two states are two models: of two days, of two price books, of a
quote as it was recorded and as it would be made today. Changed cells are gathered into causes as a maker names them: a
material, a trade of labour, a recipe. What cannot be expressed as changed cells, such as a step that was added to a
labour plan, is one cause of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import field
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pricing.costing.comparison.attribution import Scenarios, split_change
from pricing.costing.comparison.matching import Numbering, alike, identities_of
from pricing.costing.engine.columns import Input, Lookup, TableSpec, said
from pricing.costing.engine.evaluation import Evaluation, evaluate
from pricing.costing.engine.model import Model, Rows
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.method.measures import measures_each
from pricing.costing.method.shown_measures import unit_words
from pricing.dataclass import dataclass
from pricing.glossary import GLOSSARY

#: A figure of all lines or quotes at once, shape (..., figures).
Figure: TypeAlias = Callable[[Evaluation], Floats]

MAKE_UP = "Recipes, plans and pieces"

#: Figures that one evaluation holds in a column, at most: scenarios times rows.
_NUMBERS_AT_ONCE = 1_000_000


@dataclass(frozen=True, slots=True)
class ChangedCell:
    """One input that is not what it was.

    Parameters
    ----------
    quantity : its name in the glossary
    old, new : the figures, in the unit of the glossary
    place : where it stands, ``Materials!E7``; empty where it was resolved from other cells
    words : those of its row that say in what it is counted, by their columns
    """

    quantity: str
    old: float
    new: float
    place: str
    words: tuple[tuple[str, str], ...] = ()

    @property
    def label(self) -> str:
        """What it is called."""
        return GLOSSARY[self.quantity].label


@dataclass
class Cause:
    """Changed inputs that belong together.

    Parameters
    ----------
    name : as the maker knows it: ``White cement``, ``Maker``, ``Overhead``
    kind : ``material``, ``wage``, ``recipe``, ``setting`` and so on; ``make-up`` for what no changed cell can say
    cells : what changed, each cell once
    remarks : what was added or taken away, for the make-up
    """

    name: str
    kind: str
    cells: list[ChangedCell] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    _where: dict[tuple[str, str], list[tuple[int, int]]] = field(default_factory=dict, repr=False)


@dataclass(frozen=True)
class Split:
    """The change of a figure and its parts.

    Parameters
    ----------
    old, new : the figures before and after, shape (figures,)
    parts : what each cause contributes, shape (causes, figures); they add up to new less old
    """

    old: Floats
    new: Floats
    parts: Floats


def _cause_of(column: Input, rows: Rows, row: int) -> tuple[str, str]:
    """Kind and name of the cause that a changed cell belongs to."""
    kind, name = rows.spec.cause
    return kind, column.cause or said(name, rows.text, row, label=GLOSSARY[column.name].label)


def _looked_up(model: Model) -> frozenset[str]:
    """Tables of the workshop in which rows are looked up: one that nothing points at changes nothing, any other is seen there."""
    columns = [column for rows in model.tables.values() for column in rows.spec.columns]
    return frozenset(
        table for column in columns if isinstance(column, Lookup)
        for table in model.members(column.table) if model.tables[table].spec.scope == "workshop"
    )


class Comparison:
    """Two models of the same lines, and the causes that lead from one to the other.

    Parameters
    ----------
    old, new : models whose lines and quotes stand in the same order
    """

    def __init__(self, old: Model, new: Model) -> None:
        self.old = old
        self.new = new
        self._numbering = Numbering(old, new)
        self._looked_up = _looked_up(old) | _looked_up(new)
        self._make_up: list[str] = []
        self._found: dict[tuple[str, str], Cause] = {}
        for table in dict.fromkeys([*old.tables, *new.tables]):
            self._compare(table)
        causes = sorted(self._found.values(), key=lambda cause: (cause.kind, cause.name))
        if self._make_up:
            causes.append(Cause(MAKE_UP, "make-up", remarks=list(dict.fromkeys(self._make_up))))
        self.causes: tuple[Cause, ...] = tuple(causes)

    def _compare(self, table: str) -> None:
        if table not in self.old.tables or table not in self.new.tables:
            side, model = ("new", self.new) if table in self.new.tables else ("gone", self.old)
            self._make_up.append(f"{_called(model.tables[table].spec)}: {side}")
            return
        before, after = self.old.tables[table], self.new.tables[table]
        if alike(self.old, self.new, table, self._numbering):
            self._cells(table, before, after, np.repeat(np.arange(before.count, dtype=np.intp), 2).reshape(-1, 2))
            return
        where = {identity: row for row, identity in enumerate(identities_of(self.old, table, self._numbering))}
        pairs = []
        for row, identity in enumerate(identities_of(self.new, table, self._numbering)):
            if identity in where:
                pairs.append((where.pop(identity), row))
            else:
                self._unmatched(before.spec, identity, "new")
        for identity in where:
            self._unmatched(before.spec, identity, "gone")
        if [column.name for column in before.spec.columns] != [column.name for column in after.spec.columns]:
            self._make_up.append(f"{_called(after.spec)}: costed in another way")
        self._cells(table, before, after, np.array(pairs, dtype=np.intp).reshape(-1, 2))

    def _unmatched(self, spec: TableSpec, identity: tuple[Any, ...], side: str) -> None:
        if spec.name not in self._looked_up:
            self._make_up.append(f"{_called(spec)}: {_spoken(identity)}, {side}")

    def _cells(self, table: str, before: Rows, after: Rows, pairs: NDArray[np.intp]) -> None:
        for column in after.spec.columns:
            name = column.name
            if not isinstance(column, Input) or name in self._numbering or name not in before.given:
                continue
            old, new = before.given[name][pairs[:, 0]], after.given[name][pairs[:, 1]]
            for number in np.flatnonzero(~((old == new) | (np.isnan(old) & np.isnan(new)))).tolist():
                row, other = int(pairs[number, 1]), int(pairs[number, 0])
                kind, called = _cause_of(column, after, row)
                cause = self._found.setdefault((kind, called), Cause(called, kind))
                cause._where.setdefault((table, name), []).append((other, row))
                place = after.place(name, row) or before.place(name, other)
                cell = ChangedCell(name, float(old[number]), float(new[number]), place, tuple(unit_words(after, row).items()))
                if cell not in cause.cells:
                    cause.cells.append(cell)

    def split(self, figures: Mapping[str, Figure]) -> dict[str, Split]:
        """The change of each figure, split between the causes by :func:`pricing.costing.comparison.attribution.split_change`.

        Parameters
        ----------
        figures : by name; all are taken from the same evaluations

        Returns
        -------
        by name; the parts of a figure add up to its change, and a cause that it does not hang on has zero
        """
        count = len(self.causes)
        widths: dict[str, int] = {}

        def value(scenarios: Scenarios) -> Floats:
            blocks, places = [], []
            for chosen, evaluation in self._evaluations(scenarios):
                found = {name: figure(evaluation) for name, figure in figures.items()}
                widths.update({name: each.shape[-1] for name, each in found.items()})
                blocks.append(np.concatenate([np.broadcast_to(each, (len(chosen), each.shape[-1])) for each in found.values()], axis=1))
                places.append(chosen)
            made: Floats = np.concatenate(blocks)[np.argsort(np.concatenate(places))]
            return made

        old, new = value(np.array([[False] * count, [True] * count], dtype=np.bool_))
        rows = max((rows.count for model in (self.old, self.new) for rows in model.tables.values()), default=1)
        parts = (new - old)[None, :] if count == 1 else split_change(value, count, max(1, min(1024, _NUMBERS_AT_ONCE // max(rows, 1))))
        ends = np.cumsum([0, *widths.values()])
        return {
            name: Split(old[start:end], new[start:end], parts[:, start:end])
            for name, start, end in zip(figures, ends[:-1], ends[1:], strict=True)
        }

    def _evaluations(self, scenarios: Scenarios) -> Iterator[tuple[NDArray[np.intp], Evaluation]]:
        """The scenarios in one evaluation of the old model, or, where the make-up has changed, in one of each model."""
        if not self._make_up:
            yield np.arange(len(scenarios), dtype=np.intp), self._evaluation(scenarios, self.old, new=False)
            return
        for new in (False, True):
            chosen = np.flatnonzero(scenarios[:, -1] == new)
            if len(chosen):
                yield chosen, self._evaluation(scenarios[chosen], self.new if new else self.old, new=new)

    def _evaluation(self, scenarios: Scenarios, model: Model, *, new: bool) -> Evaluation:
        """A model in which each scenario has the new figures of the causes at work, and the old ones of the others."""
        changes: dict[tuple[str, str], Floats] = {}
        for number, cause in enumerate(self.causes):
            turned = np.flatnonzero(scenarios[:, number] != new)
            for (table, column), pairs in cause._where.items():
                if (table, column) not in changes:
                    base = np.asarray(model.tables[table].given[column], dtype=np.float64)
                    changes[table, column] = np.tile(base, (len(scenarios), 1))
                here, there = np.array(pairs, dtype=np.intp).T[:: -1 if new else 1]
                other = (self.old if new else self.new).tables[table].given[column][there]
                changes[table, column][np.ix_(turned, here)] = other
        return evaluate(model, changes)


def _called(spec: TableSpec) -> str:
    return spec.called[0] or spec.name


def _spoken(identity: tuple[Any, ...]) -> str:
    words: dict[str, None] = {}
    for word in identity:
        if isinstance(word, tuple):
            words.update(dict.fromkeys(_spoken(word).split(", ")))
        elif isinstance(word, str) and word and word != "none":
            words[word] = None
    return ", ".join(words)


def cost_of_lines(evaluation: Evaluation) -> Floats:
    """Unit cost of each line [currency/piece]."""
    return evaluation.value("lines", "unit_cost")


def price_of_lines(evaluation: Evaluation) -> Floats:
    """Unit price of each line before it is rounded to the price step [currency/piece]."""
    value = evaluation.value
    given = value("lines", "price_is_given") > 0
    return np.where(given, value("lines", "given_price") * measures_each(evaluation), value("lines", "target_price"))


def cost_of_quotes(evaluation: Evaluation) -> Floats:
    """Cost of each quote [currency]."""
    return evaluation.value("quotes", "quote_cost")


def net_of_quotes(evaluation: Evaluation) -> Floats:
    """Net of each quote with the prices of its lines not rounded, nor the amounts made of them [currency]."""
    value = evaluation.value
    lines = value("lines", "quantity") * price_of_lines(evaluation) * (1 - value("lines", "discount_rate"))
    link = evaluation.model.lookup("lines", "quote_number", "quotes")
    total = link.summed(lines, evaluation.model.tables["quotes"].count)
    return total + value("quotes", "small_order_charge") + value("quotes", "carriage")
