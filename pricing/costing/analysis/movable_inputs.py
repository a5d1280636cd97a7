"""The inputs that a costing hangs on, each of which can be moved: prices, wages, rates, rejects, casts and run length.

An input may stand in many cells: a material in several price tables, a reject rate on every line. Moving it moves all of
them at once. Many moves are one evaluation of the model, with the moves along a leading axis.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from pricing import money
from pricing.book.price_book import NONE, PriceBook
from pricing.costing.engine.columns import SETTINGS, Text
from pricing.costing.engine.evaluation import Evaluation, evaluate
from pricing.costing.engine.model import Model
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.lines.order_lines import place_of
from pricing.costing.method.declared import RATES
from pricing.dataclass import dataclass

#: The rows of all tables, times the moves evaluated at once, stay below this [numbers per column].
NUMBERS_AT_ONCE = 250_000

#: The tables in which prices of materials stand.
PRICE_TABLES = ("mix prices", "board prices", "liquid prices", "other prices")

#: No more than this share of the casts can be rejected.
MOST_REJECTS = 0.99

Changes: TypeAlias = dict[tuple[str, str], Floats]


@dataclass(frozen=True, eq=False)
class MovableInput:
    """One thing that can be moved.

    Parameters
    ----------
    name : as the maker knows it: ``White cement``, ``Maker``, ``Rejects``
    kind : ``material``, ``wage``, ``rate``, ``process`` or ``run``
    quantity : its name in the glossary, from which its unit and decimals come
    cells : table, column and rows of the model in which it stands
    now : what it is, in the unit of the glossary; nan where it differs from row to row
    linear : True where cost is exactly proportional to it, all else unchanged
    lower, upper : what it cannot go beyond
    whole : True where it is counted in whole numbers, and moves to the nearest
    """

    name: str
    kind: str
    quantity: str
    cells: tuple[tuple[str, str, NDArray[np.intp]], ...]
    now: float
    linear: bool
    lower: float = 0.0
    upper: float = float("inf")
    whole: bool = False

    @property
    def label(self) -> str:
        """What it is called beside other inputs: a wage says that it is one."""
        return f"Wage of {self.name}" if self.kind == "wage" else self.name

    def limited(self, figures: Floats) -> Floats:
        """Figures as the input can be: within its limits, whole where it is counted in whole numbers."""
        figures = np.clip(figures, self.lower, self.upper)
        return np.asarray(money.whole_nearest(figures)) if self.whole else figures


def _input(
    model: Model, name: str, kind: str, quantity: str, cells: Sequence[tuple[str, str, NDArray[np.intp]]],
    *, linear: bool = False, lower: float = 0.0, upper: float = float("inf"), whole: bool = False,
) -> MovableInput | None:
    """The input, or None where there is nothing of it to move."""
    base = evaluate(model)
    figures = np.concatenate([base.value(table, column)[rows] for table, column, rows in cells]) if cells else np.zeros(0)
    if not figures.any():
        return None
    now = float(figures[0]) if np.all(figures == figures[0]) else float("nan")
    return MovableInput(name, kind, quantity, tuple(cells), now, linear, lower, upper, whole)


def material_rows(book: PriceBook, model: Model) -> dict[str, list[tuple[str, int, int]]]:
    """For each material in use, the table and row of the model and the row of the Materials sheet that it stands in."""
    sheet = book.tables["Materials"]
    where = {place_of(sheet, "pack_price", row): row for row in range(len(sheet))}
    found: dict[str, list[tuple[str, int, int]]] = {}
    for table in PRICE_TABLES:
        rows = model.tables[table]
        for row in range(rows.count):
            place = rows.place("pack_price", row)
            if place in where:
                found.setdefault(str(sheet.columns["material"][where[place]]), []).append((table, row, where[place]))
    return found


def _materials(book: PriceBook, model: Model) -> Iterator[MovableInput | None]:
    for name, stands in material_rows(book, model).items():
        tables = dict.fromkeys(table for table, _, _ in stands)
        cells = [
            (table, "pack_price", np.array([row for at, row, _ in stands if at == table], dtype=np.intp)) for table in tables
        ]
        yield _input(model, name, "material", "pack_price", cells, linear=True)


def _wages(book: PriceBook, model: Model) -> Iterator[MovableInput | None]:
    used = set(model.tables["plan steps"].text["trade"].tolist())
    if evaluate(model).value("lines", "refit_hours").any():
        used.update(model.tables[rates_table(model)].text["refit_trade"].tolist())
    sheet, trades = book.tables["Trades"], model.tables["trades"]
    where = {place_of(sheet, "hourly_cost", row): name for row, name in enumerate(sheet.columns["trade"].tolist())}
    of_name: dict[str, list[int]] = {}
    for row, key in enumerate(trades.text["trade"].tolist()):
        if key in used - {NONE}:
            of_name.setdefault(where[trades.place("hourly_cost", row)], []).append(row)
    for name in dict.fromkeys(sheet.columns["trade"].tolist()):
        if name in of_name:
            rows = np.array(of_name[name], dtype=np.intp)
            yield _input(model, name, "wage", "hourly_cost", [("trades", "hourly_cost", rows)], linear=True)


def rates_table(model: Model) -> str:
    """The table in which overhead and electricity price stand: among the settings, or apart where they differ between days."""
    return RATES.name if RATES.name in model.tables else SETTINGS


def _every_row(model: Model, table: str) -> NDArray[np.intp]:
    return np.arange(model.tables[table].count, dtype=np.intp)


def movable_inputs(book: PriceBook, model: Model) -> tuple[MovableInput, ...]:
    """Everything that can be moved in a model: materials, wages, rates, rejects, casts of a mould, run length.

    An input that is nowhere used, or that is zero, is left out.
    """
    settings, lines, rates = np.array([0], dtype=np.intp), _every_row(model, "lines"), rates_table(model)
    by_day = _every_row(model, rates)
    moulds = np.array([row for row, board in enumerate(_uses_mould(model)) if board], dtype=np.intp)
    made = [
        *_materials(book, model),
        *_wages(book, model),
        _input(model, "Overhead rate", "rate", "applied_overhead_rate", [(rates, "applied_overhead_rate", by_day)], linear=True),
        _input(model, "Electricity price", "rate", "electricity_price", [(rates, "electricity_price", by_day)], linear=True),
        _input(model, "Mix allowance", "process", "mix_allowance", [("settings", "mix_allowance", settings)]),
        _input(model, "Rejects", "process", "rejects", [("lines", "rejects", lines)], upper=MOST_REJECTS),
        _input(model, "Casts of a mould", "process", "casts_per_mould", [("moulds", "casts_per_mould", moulds)], lower=1.0, whole=True),
        _input(model, "Run length", "run", "quantity", [("lines", "quantity", lines)], lower=1.0, whole=True),
    ]
    return tuple(each for each in made if each is not None)


def _uses_mould(model: Model) -> list[bool]:
    """For each mould plan, whether a line has it and is charged for it."""
    lines = model.tables["lines"]
    charged = set(lines.text["mould_plan"][lines.given["has_mould"] > 0].tolist())
    return [plan in charged for plan in model.tables["moulds"].text["mould_plan"].tolist()]


def inputs_of_line(inputs: Sequence[MovableInput], model: Model, line: int) -> tuple[MovableInput, ...]:
    """The inputs as one line has them: its own quantity, its product's rejects, its mould plan's casts.

    Parameters
    ----------
    inputs : of the model
    line : counted from 0 in the model
    """
    lines = model.tables["lines"]
    plan = np.flatnonzero(model.tables["moulds"].text["mould_plan"] == lines.text["mould_plan"][line])
    rows = {
        "quantity": np.array([line], dtype=np.intp),
        "rejects": np.flatnonzero(lines.text["product"] == lines.text["product"][line]),
        "casts_per_mould": plan,
    }
    base = evaluate(model)
    own = []
    for each in inputs:
        if each.quantity in rows:
            table, column, _ = each.cells[0]
            chosen = rows[each.quantity]
            if each.quantity == "casts_per_mould" and not lines.given["has_mould"][line]:
                continue
            now = float(base.value(table, column)[chosen[0]])
            own.append(replace(each, cells=((table, column, chosen),), now=now))
        else:
            own.append(each)
    return tuple(each for each in own if each.now != 0)


def moved(base: Evaluation, moves: Sequence[tuple[MovableInput, float]]) -> Changes:
    """The changes of a model that make each move a scenario of its own.

    Parameters
    ----------
    base : the model as it stands
    moves : input and factor, one scenario each

    Returns
    -------
    by table and column, arrays of shape (moves, rows)
    """
    changes: Changes = {}
    scenarios: dict[MovableInput, list[int]] = {}
    for number, (each, _) in enumerate(moves):
        scenarios.setdefault(each, []).append(number)
    for each, numbers in scenarios.items():
        at, factors = np.array(numbers, dtype=np.intp)[:, None], np.array([moves[number][1] for number in numbers])[:, None]
        for table, column, rows in each.cells:
            now = base.value(table, column)
            if (table, column) not in changes:
                changes[table, column] = np.tile(now, (len(moves), 1))
            changes[table, column][at, rows] = each.limited(now[rows] * factors)
    return changes


def at_prices(evaluation: Evaluation, prices: Floats) -> Evaluation:
    """The same scenarios with the prices held, and the unit costs taken as already computed.

    Parameters
    ----------
    prices : of each line, of one of what it is priced by [currency/piece]
    """
    held: Mapping[tuple[str, str], Floats] = {
        **evaluation.changes,
        ("lines", "unit_cost"): evaluation.value("lines", "unit_cost"),
        ("lines", "price_is_given"): np.ones(prices.shape[-1]),
        ("lines", "given_price"): prices,
    }
    return evaluate(evaluation.model, held, evaluation)


def untouched(model: Model, changes: Changes) -> Changes:
    """Every column that some changes do not reach, as it stands: given to an evaluation, it is not worked out again.

    Parameters
    ----------
    changes : by table and column, arrays with a leading axis of scenarios; one scenario is enough
    """
    probe = evaluate(model, changes)
    columns = ((table, column.name) for table, rows in model.tables.items() for column in rows.spec.columns if not isinstance(column, Text))
    return {each: probe.value(*each) for each in columns if probe.value(*each).ndim == 1}


def chunks(model: Model, count: int, at_once: int | None = None) -> Iterator[slice]:
    """Scenarios by the slice, so that no column of the model holds more than a fixed number of figures.

    Parameters
    ----------
    count : how many scenarios there are
    at_once : scenarios in a slice; as many as memory allows where None
    """
    rows = max(rows.count for rows in model.tables.values())
    size = at_once or max(1, NUMBERS_AT_ONCE // max(rows, 1))
    for start in range(0, count, size):
        yield slice(start, min(start + size, count))
