"""What a quote is allowed to take: every material, hour of labour and hour of a machine that its cost rests on.

The costing says what a piece costs; this says what has to be bought and worked for it, line by line, in the units in
which a finished job is recorded: pack units of a material as bought, wastage among what is used, and hours. Quantity
times price over all of it, with the overhead of the hours, is the cost of the lines again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.engine.model import Model
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.method.price_rows import AIR
from pricing.costing.method.rows_builder import NONE
from pricing.rules.reviews import pack_unit_price

MATERIAL, LABOUR, MACHINE = "material", "labour", "machine"

#: How the work of making moulds ready between casts is called as a step; the price book has no row for it.
REFIT = "Make moulds ready"


@dataclass(frozen=True, slots=True)
class Allowance:
    """What a line is allowed of one thing, for all its good pieces.

    Parameters
    ----------
    line : counted from 0
    product : of the line
    kind : ``material``, ``labour`` or ``machine``
    item : the material, grade or machine
    source : what it is for: the step, or ``mix``, ``mould``, ``finish``, ``extra``
    row : row of that source in its table of the model, counted from 0; -1 where it has none
    unit : pack unit, or ``h``
    quantity : allowed, wastage included [unit]
    price : of one unit [currency/unit]
    """

    line: int
    product: str
    kind: str
    item: str
    source: str
    row: int
    unit: str
    quantity: float
    price: float


@dataclass(frozen=True, slots=True)
class Bought:
    """A material as it is bought: price of a pack unit [currency], wastage [1], and what a pack unit holds."""

    unit: str
    price: float
    wastage: float
    pack_size: float
    kilograms: float
    square_metres: float
    litres: float


def allowances(model: Model, values: Evaluation) -> list[Allowance]:
    """Everything that the lines of a model are allowed, zero amounts left out.

    Parameters
    ----------
    model : of one quote, or of quotes priced on one day
    values : the model evaluated
    """
    bought = materials_bought(model, values)
    found = [*_materials(model, values, bought), *_hours(model, values)]
    return [each for each in found if each.quantity > 0]


def materials_bought(model: Model, values: Evaluation) -> dict[str, Bought]:
    """Every material of a model by its name."""
    found: dict[str, Bought] = {}
    for table in model.members("prices"):
        rows = model.tables[table]
        given = {name: values.value(table, name) for name in ("pack_price", "carriage_in", "pack_size", "wastage")}
        prices = pack_unit_price(given["pack_price"], given["carriage_in"], given["pack_size"])
        held = [_column(model, values, table, name) for name in ("pack_unit_mass", "pack_unit_area", "pack_unit_volume")]
        for row, material in enumerate(rows.text["material"].tolist()):
            if material == NONE or material.casefold() == AIR:
                continue
            before = found.get(material)
            known = (before.kilograms, before.square_metres, before.litres) if before else (0.0, 0.0, 0.0)
            amounts = [each if column is None else float(column[row]) for column, each in zip(held, known, strict=True)]
            found[material] = Bought(
                str(rows.text["pack_unit"][row]), float(prices[row]), float(given["wastage"][row]), float(given["pack_size"][row]), *amounts
            )
    return found


def _column(model: Model, values: Evaluation, table: str, name: str) -> Floats | None:
    return values.value(table, name) if model.column(table, name) is not None else None


def _materials(model: Model, values: Evaluation, bought: dict[str, Bought]) -> Iterator[Allowance]:
    lines = model.tables["lines"]
    products, quantity = lines.text["product"].tolist(), values.value("lines", "quantity")

    def used(line: int, material: str, source: str, row: int, amount: float) -> Allowance:
        known = bought[material]
        taken = float(amount) * (1 + known.wastage)
        return Allowance(line, products[line], MATERIAL, material, source, row, known.unit, taken, known.price)

    mixed, mass = values.value("lines", "mixed_volume"), values.value("ingredients", "ingredient_mass")
    ingredients = model.tables["ingredients"].text
    for row, (mix, material) in enumerate(zip(ingredients["mix"].tolist(), ingredients["material"].tolist(), strict=True)):
        if material in bought and bought[material].kilograms:
            for line in np.flatnonzero(lines.text["mix"] == mix).tolist():
                yield used(line, material, "mix", row, mass[row] * mixed[line] / bought[material].kilograms)
    plans = {name: row for row, name in enumerate(model.tables["moulds"].text["mould_plan"].tolist())}
    for line, plan in enumerate(lines.text["mould_plan"].tolist()):
        for material, amount in _mould(model, values, line, plans[plan], bought):
            yield used(line, material, "mould", plans[plan], amount)
    for table, source, part, column in (
        ("finishes", "finish", "finish_part", "finish_amount"), ("extras", "extra", "extra_part", ""),
    ):
        rows, of_line, parts = model.tables[table], values.value(table, "line"), values.value(table, part)
        amounts = values.value(table, column) if column else values.value(table, "extra_amount") * values.value(table, "count")
        for row, material in enumerate(rows.text["material"].tolist()):
            line = int(of_line[row]) - 1
            yield used(line, material, source, int(parts[row]) - 1, float(amounts[row] * quantity[line]))


def _mould(model: Model, values: Evaluation, line: int, plan: int, bought: dict[str, Bought]) -> Iterator[tuple[str, float]]:
    """What the moulds of a line take of each material, wastage left out [pack units]."""
    names = {role: str(model.tables["moulds"].text[f"{role}_material"][plan]) for role in ("board", "sealant", "fixing", "tape", "release")}
    figure = {name: float(values.value("lines", name)[line]) for name in (
        "board_charged", "joint", "moulds_charged", "quantity", "refits", "release_face")}
    moulds, joints = figure["moulds_charged"], figure["joint"] * figure["moulds_charged"]
    refitted = figure["refits"] * figure["quantity"] * figure["release_face"] / float(values.value("settings", "release_covers")[0] or 1.0)
    sealant, spacing = (float(values.value("moulds", name)[plan]) for name in ("sealant_volume", "fixing_spacing"))
    amounts = {
        "board": figure["board_charged"] * moulds, "sealant": sealant * joints, "fixing": joints / spacing, "tape": joints,
        "release": refitted,
    }
    for role, amount in amounts.items():
        if names[role] in bought:
            known = bought[names[role]]
            held = {"board": known.square_metres, "sealant": known.litres, "release": known.litres}.get(role, 1.0)
            yield names[role], amount / held


def _hours(model: Model, values: Evaluation) -> Iterator[Allowance]:
    lines, steps, plan_steps = model.tables["lines"], model.tables["steps"], model.tables["plan steps"]
    products, quantity = lines.text["product"].tolist(), values.value("lines", "quantity")
    of_line, of_plan = values.value("steps", "line"), values.value("steps", "plan_step")
    hours = values.value("steps", "step_hours")
    wages, rates = values.value("plan steps", "hourly_cost"), values.value("plan steps", "machine_rate_of_step")
    for row, step in enumerate(steps.text["step"].tolist()):
        line, plan = int(of_line[row]) - 1, int(of_plan[row]) - 1
        taken = float(hours[row] * quantity[line])
        for kind, item, price in (
            (LABOUR, str(plan_steps.text["grade"][plan]), wages[plan]), (MACHINE, str(plan_steps.text["machine"][plan]), rates[plan]),
        ):
            if item != NONE:
                yield Allowance(line, products[line], kind, item, step, plan, "h", taken, float(price))
    grade = str(model.tables["settings"].text["refit_grade"][0])
    wage = float(values.value("settings", "refit_hourly_cost")[0])
    for line, refit in enumerate((values.value("lines", "refit_hours") * quantity).tolist()):
        yield Allowance(line, products[line], LABOUR, grade, REFIT, -1, "h", refit, wage)


def overhead_hours(values: Evaluation) -> float:
    """Hours of all lines that carry overhead [h]."""
    return float(np.sum(values.value("lines", "labour_hours") * values.value("lines", "quantity")))
