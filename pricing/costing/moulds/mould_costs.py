"""What moulds, days of casting and mixer loads cost a line: what the choice of a number of moulds goes by.

Of the cost of a line only so much hangs on how many moulds stand at once: what they are built of, the work of building them
and of making them ready again; and, by the days of casting, the mixer loads. The work of one mould and
of one load is read once off the steps of the lines, apart for each slope at which practice shortens it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.algebra import expressions
from pricing.arrays import distinct
from pricing.costing.engine.columns import SETTINGS
from pricing.costing.engine.evaluation import Evaluation, evaluate
from pricing.costing.engine.model import Model
from pricing.costing.engine.packed_columns import Codes, Floats
from pricing.costing.lines.line_pieces import LinePieces
from pricing.costing.method.costing import Costing
from pricing.costing.method.mould_boards import share_of_sheets
from pricing.dataclass import dataclass
from pricing.money import whole_up
from pricing.rules import labour, learning, moulds

#: What is counted by the mould or by its parts, and by which column of the lines it is so many for one mould.
_PER_MOULD = {"mould": "", "m2 mould": "mould_board", "m joint": "joint"}

#: What the work of moulds and of mixer loads is counted by.
_COUNTED = frozenset({*_PER_MOULD, "batch"})


def boards_of_sheets(costing: Costing, at_once: Floats) -> Floats:
    """What each of a line's moulds pays of the whole sheets that they are cut from together; 0 where board is charged by the
    share that is cut [m²/mould]."""
    boards = np.zeros(len(costing.lines))
    if costing.book.word("board_bought_by") == "sheets":
        needed, kept, pieces = (costing.line(name) for name in ("moulds_needed", "moulds_kept", "pieces_per_mould"))
        cut = np.maximum(np.maximum(at_once, needed) - kept, 1.0) * pieces
        lines = np.flatnonzero(costing.line("has_mould"))
        if len(lines):
            moulds = cut[lines].astype(np.int64)
            keys = costing.lines.alike[lines] * (moulds.max() + 1) + moulds
            _, first, of_line = np.unique(keys, return_index=True, return_inverse=True)
            cut_of = LinePieces(costing.book, costing.lines)
            each = [share_of_sheets(costing.book, costing.lines, int(lines[at]), int(moulds[at]), cut_of) for at in first]
            boards[lines] = np.array(each)[of_line.reshape(-1)] * pieces[lines]
    return boards


@dataclass(eq=False)
class MouldCosts:
    """What so many moulds cost the lines of a costing, and what a mixer load more costs.

    Parameters
    ----------
    costing : with any number of moulds
    """

    costing: Costing

    @cached_property
    def alone(self) -> Evaluation:
        """The lines with mixer loads counted by volume alone."""
        return evaluate(self.costing.model, {(SETTINGS, "loads_by_day"): np.zeros(1)}, self.costing.values)

    @cached_property
    def loads_by_volume(self) -> Floats:
        """Mixer loads of each mix of a quote by volume alone [loads]."""
        return self.alone.value("batches", "loads")

    def load_price(self, batches: NDArray[np.intp]) -> Floats:
        """What one load more of each mix of a quote costs [currency/load].

        Parameters
        ----------
        batches : of each line, counted from 0
        """
        more = evaluate(self.costing.model, {("batches", "loads"): self.loads_by_volume + 1}, self.alone)
        loads, now = (each.value("lines", "loads_of_line") for each in (more, self.alone))
        gained = sum(work * (self._learnt(power, loads) - self._learnt(power, now)) for power, work in self._work("batch").items())
        found: Floats = np.bincount(batches, weights=gained, minlength=len(self.loads_by_volume)).astype(np.float64)
        return found

    def of(self, lines: NDArray[np.intp], *at_once: Floats) -> list[Floats]:
        """What some lines cost with so many moulds at once, but for what is the same with any number [currency].

        Parameters
        ----------
        lines : counted from 0
        at_once : of each of them, one number after another [moulds]
        """
        known = {name: values[lines] for name, values in self._known.items()}
        building = {power: work[lines] for power, work in self._building.items()}
        return [self._with_so_many(lines, each, dict(known), building) for each in at_once]

    def _with_so_many(self, lines: NDArray[np.intp], at_once: Floats, known: dict[str, Floats], building: Mapping[float, Floats]) -> Floats:
        known["moulds_at_once"] = at_once
        if self.costing.book.word("board_bought_by") == "sheets":
            numbers = self.costing.model.tables["lines"].given["moulds_at_once"].copy()
            numbers[lines] = at_once
            changes = {("lines", "moulds_at_once"): numbers, ("lines", "sheet_board"): boards_of_sheets(self.costing, numbers)}
            known["mould_materials"] = evaluate(self.costing.model, changes, self.alone).value("lines", "mould_materials")[lines]
        _add(known, moulds.moulds_built, moulds.moulds_charged, moulds.refits)
        built = known["mould_materials"] * known["moulds_charged"]
        built = built + sum(work * self._learnt(power, known["moulds_charged"]) for power, work in building.items())
        return np.asarray(built + known["refits"] * known["quantity"] * known["refit_price"], dtype=np.float64)

    def rounds(self, lines: NDArray[np.intp], at_once: Floats) -> Floats:
        """Days of casting of some lines with so many moulds at once [rounds]."""
        known = {name: self.costing.line(name)[lines] for name in ("has_mould", "pieces_per_mould", "quantity", "casts")}
        known["moulds_at_once"] = at_once
        _add(known, moulds.places, moulds.rounds)
        return known["rounds"]

    def fillings(self, lines: NDArray[np.intp] | slice | int) -> Floats:
        """How often one mould alone would be filled for the good pieces of some lines [moulds]."""
        found: Floats = whole_up(self.costing.line("quantity")[lines] / self.costing.line("pieces_per_mould")[lines])
        return found

    @cached_property
    def _building(self) -> dict[float, Floats]:
        """The work of building the first mould of each line, by the exponent with which practice shortens it [currency]."""
        line = self.costing.line
        found: dict[float, Floats] = {0.0: np.zeros(len(self.costing.lines))}
        for per, column in _PER_MOULD.items():
            pieces = line(column) * line("pieces_per_mould") if column else np.ones(1)
            for power, work in self._work(per).items():
                found[power] = found.get(power, np.zeros(1)) + (1 - line("is_bought")) * pieces * work
        return found

    def _learnt(self, power: float, number: Floats) -> Floats:
        """How often the work of the first of some moulds or loads they take together, by the exponent of their learning."""
        if not power:
            return number
        known: dict[str, Floats] = {
            "repetitions": np.maximum(number, 1.0), "learning_exponent": np.array(power),
            "cumulative_average": np.array(self.costing.setting("cumulative_average")),
        }
        _add(known, learning.whole_repetitions, learning.early_time, learning.later_integral, learning.later_time,
             learning.average_minutes_factor)
        return np.asarray(number * known["average_minutes_factor"])

    @cached_property
    def _known(self) -> dict[str, Floats]:
        """What the rules of moulds ask for, and the work of making a mould ready again [currency]."""
        line = self.costing.line
        names = ("made_for_stock", "moulds_worn", "moulds_needed", "moulds_kept", "casts", "pieces_per_mould", "quantity", "refit_every",
                 "mould_materials")
        known = {name: line(name) for name in names}
        hours = line("refit_minutes") / 60
        known["refit_price"] = hours * (self.costing.rate("refit_hourly_cost") + self.costing.rate("applied_overhead_rate"))
        return known

    @cached_property
    def _each(self) -> tuple[_Counted, ...]:
        """What the steps of the lines cost, and what they need besides, as far as it is counted by moulds or loads."""
        values, model = self.costing.values, self.costing.model
        one = {name: values.value("plan steps", name) for name in ("minutes", "hourly_cost", "machine_rate_of_step", "attended")}
        hours = labour.step_hours(one["minutes"], 1.0, 1.0, 1.0, 0.0, 0.0, 60.0)
        rate = self.costing.rate("applied_overhead_rate", "plan steps")
        cost = (labour.step_wages(hours, one["hourly_cost"]) + labour.step_machine_cost(hours, one["machine_rate_of_step"])
                + labour.step_labour_hours(hours, one["attended"]) * rate)
        extra = values.value("extra parts", "extra_amount") * values.value("extra parts", "unit_price_of_material")
        learns = model.column("plan steps", "learning_exponent") is not None
        powers = values.value("plan steps", "learning_exponent") if learns else np.zeros(len(cost))
        return (_counted(model, "steps", "plan_step", "plan steps", cost, powers),
                _counted(model, "extras", "extra_part", "extra parts", extra, np.zeros(len(extra))))

    def _work(self, per: str) -> dict[float, Floats]:
        """What the steps of each line, and what it needs besides, cost that are counted by a word, for the first of it, by the exponent
        with which practice shortens it [currency]."""
        count = len(self.costing.lines)
        found: dict[float, Floats] = {0.0: np.zeros(count)}
        for each in self._each:
            for power, work in each.work(per, count):
                found[power] = found.get(power, np.zeros(1)) + work
        return found


@dataclass(frozen=True, eq=False)
class _Counted:
    """Uses of the lines that are counted by moulds or loads; of lines that have the same uses those of one.

    Parameters
    ----------
    words, powers, cost : of the parts of plans that are used: what each is counted by, the exponent of its learning, and what it costs
        for one of what it is counted by [currency]
    owner, part : of each use the line or the group of lines that has it, and its part, counted from 0
    group : of each line its group; None where each use is of one line
    """

    words: NDArray[np.object_]
    powers: Floats
    cost: Floats
    owner: Codes
    part: Codes
    group: Codes | None

    def work(self, per: str, lines: int) -> Iterator[tuple[float, Floats]]:
        """What the uses of so many lines cost that are counted by a word, by the exponent of their learning."""
        counted = self.words == per
        for power in distinct(self.powers[counted]).tolist():
            rows = np.flatnonzero((counted & (self.powers == power))[self.part])
            work: Floats = np.bincount(self.owner[rows], weights=self.cost[self.part[rows]], minlength=lines).astype(np.float64)
            yield power, work if self.group is None else work[self.group]


def _counted(model: Model, table: str, key: str, parts: str, cost: Floats, powers: Floats) -> _Counted:
    """The uses in a table of parts of plans, named by a key.

    Parameters
    ----------
    cost, powers : of the parts
    """
    alike, words = model.tables[table].alike, model.tables[parts].text["per"]
    if alike is None:
        owner, of_part = model.lookup(table, "line", "lines").rows, model.lookup(table, key, parts).rows
    else:
        owner, rows = alike.examples()
        of_part = model.lookup_of(table, key, parts, rows).rows
    rows = np.flatnonzero(np.array([word in _COUNTED for word in words.tolist()], dtype=np.bool_)[of_part])
    return _Counted(words, powers, cost, owner[rows], of_part[rows], None if alike is None else alike.group)


def _add(known: dict[str, Floats], *rules: Callable[..., Any]) -> None:
    """Add to some figures what rules make of them."""
    for rule in rules:
        with np.errstate(divide="ignore", invalid="ignore"):
            known[rule.__name__] = np.asarray(expressions.evaluate(rule, {name: known[name] for name in expressions.inputs_of(rule)}))
