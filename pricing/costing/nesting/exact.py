"""Cutting plans with proof: fewest sheets, by exact search.

Every panel lies on at most one sheet, turned or not, and no two overlap. Plans found here may need cuts that stop
inside the sheet (a plunge saw), which buys sheets that through cuts alone cannot save. The search needs the optional
package `ortools`. Its time limit is counted in the solver's own measure of effort, worth about that time on an
ordinary machine, so that the same question gets the same answer on a busy machine and on an idle one.

Method: constraint programming over optional intervals with two-dimensional no-overlap (OR-tools CP-SAT),
strengthened by dual feasible functions; see `bounds`.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from itertools import combinations
from typing import Any

from pricing.costing.nesting.bounds import Measure, Size, Spot, measures, ways
from pricing.dataclass import dataclass

_EFFORT = 0.5  # the solver's own measure of effort per second: about what an ordinary machine does
_PATIENCE = 10.0  # times as long on the clock, after which even a very slow machine stops
_LARGEST = 2**60  # sums in a model stay below this, half of what the solver's whole numbers hold

MISSING = (
    "The exact cutting plan needs the optional package ortools, which is not installed; "
    "install pricing with its nesting extra, or choose the guillotine method."
)


class ExactSearchMissingError(RuntimeError):
    """The exact search was asked for and the optional package `ortools` is not installed."""

    def __init__(self) -> None:
        super().__init__(MISSING)


def solver() -> Any:
    """The constraint solver's module, imported only when needed; raises ExactSearchMissingError when it is absent."""
    try:
        return import_module("ortools.sat.python.cp_model")
    except ImportError as absent:
        raise ExactSearchMissingError from absent


@dataclass(frozen=True)
class Search:
    """What a search found: `spots` (None for a panel left out; empty when no plan was found), what they are worth,
    the bound that no plan can beat, whether the question is closed, and the time spent [s of effort]."""

    spots: tuple[Spot | None, ...]
    value: float
    bound: float
    closed: bool
    spent: float


class CuttingModel:
    """Panels that lie on at most one of some sheets without overlap."""

    def __init__(self, sizes: Sequence[Size], length: int, width: int, sheets: int, rows: Sequence[Measure]) -> None:
        module = solver()
        self.sizes, self.sheets, self.length, self.width = sizes, sheets, length, width
        self.model = module.CpModel()
        self.on: list[list[Any]] = []  # whether panel i lies on sheet k
        self.x: list[Any] = []
        self.y: list[Any] = []
        self.turned: list[Any] = []
        lying: list[list[tuple[Any, Any, int, int]]] = [[] for _ in range(sheets)]
        for index, size in enumerate(sizes):
            self._add_panel(index, ways(size, length, width), lying)
        for intervals in lying:
            along, across = [part[0] for part in intervals], [part[1] for part in intervals]
            self.model.add_no_overlap_2d(along, across)
            self.model.add_cumulative(along, [part[3] for part in intervals], width)
            self.model.add_cumulative(across, [part[2] for part in intervals], length)
        for row in rows:
            if sum(row.values) < _LARGEST and row.capacity < _LARGEST:
                for sheet in range(sheets):
                    terms = [value * on[sheet] for value, on in zip(row.values, self.on, strict=True) if value]
                    self.model.add(sum(terms) <= row.capacity)

    def _add_panel(
        self,
        index: int,
        fits: Sequence[tuple[int, int, bool]],
        lying: list[list[tuple[Any, Any, int, int]]],
    ) -> None:
        model = self.model
        on = [model.new_bool_var(f"on {index} {sheet}") for sheet in range(self.sheets)]
        turned = model.new_bool_var(f"turned {index}")
        x = model.new_int_var(0, self.length - min((way[0] for way in fits), default=self.length), f"x {index}")
        y = model.new_int_var(0, self.width - min((way[1] for way in fits), default=self.width), f"y {index}")
        if not fits:
            for here in on:
                model.add(here == 0)
        if len(fits) == 1:
            model.add(turned == int(fits[0][2]))
        for sheet, here in enumerate(on):
            literals = [here]
            if len(fits) == 2:
                literals = [model.new_bool_var(""), model.new_bool_var("")]
                model.add(sum(literals) == here)
                model.add_implication(literals[0], turned.negated())
                model.add_implication(literals[1], turned)
            for literal, (along, across, _) in zip(literals, fits, strict=bool(fits)):
                first = model.new_optional_interval_var(x, along, x + along, literal, "")
                second = model.new_optional_interval_var(y, across, y + across, literal, "")
                lying[sheet].append((first, second, along, across))
                model.add(x <= self.length - along).only_enforce_if(literal)
                model.add(y <= self.width - across).only_enforce_if(literal)
        self.on.append(on)
        self.x.append(x)
        self.y.append(y)
        self.turned.append(turned)

    def place_all(self) -> None:
        """Every panel lies on a sheet; sheets are numbered in the order in which the largest panels meet them."""
        model, sizes = self.model, self.sizes
        for on in self.on:
            model.add_exactly_one(on)
        order = sorted(range(len(sizes)), key=lambda i: (-sizes[i].length * sizes[i].width, sizes[i]))
        number = [sum(sheet * on[sheet] for sheet in range(1, self.sheets)) for on in self.on]
        for rank, index in enumerate(order):
            for sheet in range(rank + 1, self.sheets):
                model.add(self.on[index][sheet] == 0)
            if rank and sizes[order[rank - 1]] == sizes[index] and self.sheets > 1:
                model.add(number[order[rank - 1]] <= number[index])
        fits = [ways(size, self.length, self.width) for size in sizes]
        for one, two in combinations(range(len(sizes)), 2):
            if not any(a[0] + b[0] <= self.length or a[1] + b[1] <= self.width for a in fits[one] for b in fits[two]):
                for sheet in range(self.sheets):
                    model.add_at_most_one([self.on[one][sheet], self.on[two][sheet]])

    def solve(self, seconds: float, seed: int) -> Search:
        """Search until the question is closed or the time is spent, by one worker, so that runs repeat."""
        module = solver()
        found = module.CpSolver()
        found.parameters.num_workers = 1
        found.parameters.random_seed = seed
        found.parameters.max_deterministic_time = _EFFORT * seconds
        found.parameters.max_time_in_seconds = _PATIENCE * seconds
        status = found.solve(self.model)
        closed = status in (module.OPTIMAL, module.INFEASIBLE)
        spent = float(found.response_proto.deterministic_time) / _EFFORT
        if status not in (module.OPTIMAL, module.FEASIBLE):
            bound = float(found.best_objective_bound) if status == module.UNKNOWN else 0.0
            return Search((), 0.0, bound, closed, spent)
        spots: list[Spot | None] = []
        for index, on in enumerate(self.on):
            sheet = next((k for k, here in enumerate(on) if found.boolean_value(here)), None)
            place = found.value(self.x[index]), found.value(self.y[index]), found.boolean_value(self.turned[index])
            spots.append(None if sheet is None else Spot(sheet, *place))
        return Search(tuple(spots), float(found.objective_value), float(found.best_objective_bound), closed, spent)


def on_sheets(sizes: Sequence[Size], length: int, width: int, sheets: int, seconds: float = 5.0, seed: int = 0) -> Search:
    """A plan of all panels on so many sheets: found, shown impossible (closed without spots), or left open.

    Parameters: panels and sheet in whole units, kerf included; time limit [s of effort]; seed.
    Raises ExactSearchMissingError without `ortools`.
    """
    model = CuttingModel(sizes, length, width, sheets, measures(sizes, length, width))
    model.place_all()
    return model.solve(seconds, seed)
