"""What a quote is allowed to take: every material, hour of labour and hour of a machine that its cost rests on.

The costing says what a piece costs; this says what has to be bought and worked for it, line by line, in the units in
which a finished job is recorded: pack units of a material as bought, wastage among what is used, and hours. Quantity
times price over all of it, with the overhead of the hours, is the cost of the lines again.

How much of a material is allowed is asked of the costing model itself: what the lines would cost if a pack unit of it
cost one unit of money and nothing else cost anything. What a part of the cost holds beyond materials and hours is told
as an amount of money, so that nothing of the cost is ever left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import AIR, NONE
from pricing.costing.engine.evaluation import Evaluation, evaluate
from pricing.costing.engine.model import Model
from pricing.costing.engine.packed_columns import Floats
from pricing.dataclass import dataclass
from pricing.glossary import GLOSSARY
from pricing.rules.materials import unit_price_of_material

MATERIAL, LABOUR, MACHINE, OTHER = "material", "labour", "machine", "other"

#: What a material is for, where its source is not a step.
MIX, MOULD, REFITTING, FINISH, EXTRA = "mix", "mould", "refitting", "finish", "extra"

#: How the work of making moulds ready between casts is called as a step; the price book has no row for it.
REFIT = "Make moulds ready"

#: What a material is for, by the part of the unit cost; where it is listed row by row also the table and column of the model
#: that its cost per good piece stands in, and the column by which its rows name those of the price book.
_FOR = {"concrete_cost": MIX, "mould_cost": REFITTING, "finish_cost": FINISH, "extras_cost": EXTRA}
_BY_ROW = {
    "finish_cost": ("finishes", "finish_line_cost", "finish_part"), "extras_cost": ("extras", "extra_line_cost", "extra_part"),
}

#: A part of the cost that is left over by less than this share of the line's cost is rounding noise.
_HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class Allowance:
    """What a line is allowed of one thing, for all its good pieces.

    Parameters
    ----------
    line : counted from 0
    product : of the line
    kind : ``material``, ``labour`` or ``machine``; ``other`` for an amount of money that rests on none of them
    item : the material, trade or machine; what the amount is called
    source : what it is for: the step, or ``mix``, ``mould``, ``refitting``, ``finish``, ``extra``, or another part of the cost
    row : row of that source in its table of the model, counted from 0; -1 where it has none
    part : the part of the unit cost that it belongs to, by its column
    unit : pack unit, or ``h``; empty for an amount of money
    quantity : allowed, wastage included [unit]
    price : of one unit [currency/unit]
    """

    line: int
    product: str
    kind: str
    item: str
    source: str
    row: int
    part: str
    unit: str
    quantity: float
    price: float

    @property
    def cost(self) -> float:
        """What it costs [currency]."""
        return self.quantity * self.price


def allowances(model: Model, values: Evaluation) -> list[Allowance]:
    """Everything that the lines of a model are allowed, zero amounts left out.

    Parameters
    ----------
    model : of one quote, or of quotes priced on one day
    values : the model evaluated
    """
    found = [*_materials(model, values), *_hours(model, values)]
    found += _rest(model, values, found)
    return [each for each in found if each.quantity]


def _materials(model: Model, values: Evaluation) -> Iterator[Allowance]:
    bought = _bought(model, values)
    alone, known, lines = _each_alone(model, values, list(bought)), list(bought.items()), model.tables["lines"]
    products, quantity = lines.text["product"].tolist(), values.value("lines", "quantity")

    def used(source: str, part: str, costs: Floats, of_line: NDArray[np.intp], of_row: NDArray[np.intp]) -> Iterator[Allowance]:
        amounts = _beyond_the_last(costs, (len(known), len(of_line))) * quantity[of_line]
        for number, row in zip(*(each.tolist() for each in np.nonzero(amounts)), strict=True):
            material, (unit, price) = known[number]
            line, amount = int(of_line[row]), float(amounts[number, row])
            yield Allowance(line, products[line], MATERIAL, material, source, int(of_row[row]), part, unit, amount, price)

    every, none = np.arange(lines.count), np.full(lines.count, -1)
    for name, part in lines.spec.parts:
        if part in _BY_ROW:
            table, column, named = _BY_ROW[part]
            of_line, of_row = (values.value(table, each).astype(np.intp) - 1 for each in ("line", named))
            yield from used(_FOR[part], part, alone.value(table, column), of_line, of_row)
            continue
        costs = alone.value("lines", part)
        if part == "mould_cost":  # what a mould is built of apart from what making it ready takes
            built = alone.value("lines", "mould_material_cost")
            yield from used(MOULD, part, built, every, none)
            costs = costs - built
        yield from used(_FOR.get(part, name), part, costs, every, none)


def _bought(model: Model, values: Evaluation) -> dict[str, tuple[str, float]]:
    """Every material of a model: its pack unit, and what one costs as it is bought [currency]."""
    found: dict[str, tuple[str, float]] = {}
    for table in model.members("prices"):
        text = model.tables[table].text
        given = {name: values.value(table, name) for name in ("pack_price", "carriage_in", "pack_size")}
        prices = unit_price_of_material(**given, wastage=0.0)
        for material, unit, price in zip(text["material"].tolist(), text["pack_unit"].tolist(), prices.tolist(), strict=True):
            if material != NONE and material.casefold() != AIR:
                found[material] = unit, price
    return found


def _each_alone(model: Model, values: Evaluation, materials: Sequence[str]) -> Evaluation:
    """The model once for each material: a pack unit of it costs one unit of money, and no other, nor any hour; last without any."""
    numbers = {material: number for number, material in enumerate(materials)}
    free = (("trades", "hourly_cost"), ("plan steps", "machine_rate_of_step"), ("settings", "applied_overhead_rate"))
    changes: dict[tuple[str, str], Floats] = {each: np.zeros(model.tables[each[0]].count) for each in free}
    for table in model.members("prices"):
        rows = model.tables[table]
        prices = np.zeros((len(materials) + 1, rows.count))
        for row, material in enumerate(rows.text["material"].tolist()):
            if material in numbers:
                prices[numbers[material], row] = values.value(table, "pack_size")[row]
        changes |= {(table, "pack_price"): prices, (table, "carriage_in"): np.zeros(rows.count)}
    return evaluate(model, {**values.changes, **changes})


def _beyond_the_last(costs: Floats, shape: tuple[int, int]) -> Floats:
    """What the costs of each scenario are beyond those of the last, rounding noise aside."""
    if costs.ndim < 2:
        return np.zeros(shape)
    beyond = costs[:-1] - costs[-1]
    return np.where(np.abs(beyond) > _HAIR * np.abs(costs[-1]), beyond, 0.0)


def _hours(model: Model, values: Evaluation) -> Iterator[Allowance]:
    lines, steps, plan_steps = model.tables["lines"], model.tables["steps"], model.tables["plan steps"]
    products, quantity = lines.text["product"].tolist(), values.value("lines", "quantity")
    of_line, of_plan = values.value("steps", "line"), values.value("steps", "plan_step")
    hours, builds = values.value("steps", "step_hours"), values.value("plan steps", "builds_mould")
    wages, rates = values.value("plan steps", "hourly_cost"), values.value("plan steps", "machine_rate_of_step")
    for row, step in enumerate(steps.text["step"].tolist()):
        line, plan = int(of_line[row]) - 1, int(of_plan[row]) - 1
        taken = float(hours[row] * quantity[line])
        for kind, item, part, price in (
            (LABOUR, str(plan_steps.text["trade"][plan]), "mould_cost" if builds[plan] else "labour_cost", wages[plan]),
            (MACHINE, str(plan_steps.text["machine"][plan]), "machine_cost", rates[plan]),
        ):
            if item != NONE:
                yield Allowance(line, products[line], kind, item, step, plan, part, "h", taken, float(price))
    trade = str(model.tables["settings"].text["refit_trade"][0])
    wage = float(values.value("settings", "refit_hourly_cost")[0])
    for line, refit in enumerate((values.value("lines", "refit_hours") * quantity).tolist()):
        yield Allowance(line, products[line], LABOUR, trade, REFIT, -1, "mould_cost", "h", refit, wage)


def _rest(model: Model, values: Evaluation, found: Sequence[Allowance]) -> Iterator[Allowance]:
    """What the parts of the unit cost hold beyond materials, hours and the overhead of the hours, as amounts of money."""
    lines, quantity = model.tables["lines"], values.value("lines", "quantity")
    told = {part: np.zeros(lines.count) for _, part in lines.spec.parts}
    for each in found:
        told[each.part][each.line] += each.cost
    told["overhead_cost"] += values.value("lines", "labour_hours") * quantity * values.value("settings", "applied_overhead_rate")[0]
    noise = _HAIR * np.abs(values.value("lines", "line_cost"))
    for part, amounts in told.items():
        rest = values.value("lines", part) * quantity - amounts
        for line in np.flatnonzero(np.abs(rest) > noise).tolist():
            product = str(lines.text["product"][line])
            yield Allowance(line, product, OTHER, GLOSSARY[part].label, part, -1, part, "", float(rest[line]), 1.0)


def overhead_hours(values: Evaluation) -> float:
    """Hours of all lines that carry overhead [h]."""
    return float(np.sum(values.value("lines", "labour_hours") * values.value("lines", "quantity")))
