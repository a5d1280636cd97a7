"""The costing model of one kind of piece laid flat: one row for each piece, one formula for each figure.

This is what a maker has who keeps a spreadsheet: every figure of a piece in its own column, prices and plans on a second
sheet. The columns are those of the engine, taken from its own declarations, so that all three readings say the same.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from xlsxwriter.utility import xl_col_to_name

from pricing.algebra.expressions import CONSTANTS, expression_of, inputs_of
from pricing.costing.engine.columns import ByWord, Computed, Input, Largest, Lookup, Sum
from pricing.costing.method.costing import Costing
from pricing.glossary import GLOSSARY
from pricing.xlsx.writing.workbook import new_workbook

#: The sum of some columns, and one column for another: what is neither typed nor a rule.
SUM = "sum"

_OF_A_LINE = ("lines", "batches", "quotes")


@dataclass
class Flat:
    """The model laid flat.

    Parameters
    ----------
    costing : lines of one shape, each with the same plans, each an order of its own
    order : the columns of a row in the order in which they can be worked out
    made : how each is made: a rule with the columns of its inputs, or a sum of columns
    typed : what is typed into each row
    constants : what is the same for all rows
    """

    costing: Costing
    order: list[str] = field(default_factory=list)
    made: dict[str, tuple[Callable[..., Any] | str, dict[str, str] | list[str]]] = field(default_factory=dict)
    typed: dict[str, list[float]] = field(default_factory=dict)
    constants: dict[str, float] = field(default_factory=dict)

    def need(self, table: str, name: str, step: int = -1) -> str:
        """The column of a figure: made, with all that it rests on, where it is not there yet."""
        model, values = self.costing.model, self.costing.values
        column = model.column(table, name)
        if table.startswith("take-off") and isinstance(column, Input):
            return self._typed(f"{name} of the piece", values.value(table, name))
        if table in ("lines",) and isinstance(column, Input):
            return self._typed(name, values.value(table, name))
        of_a_row = table in (*_OF_A_LINE, "steps", "finishes") or table.startswith("take-off")
        if not of_a_row:
            row = 0 if step < 0 else step
            return self._constant(f"{table} {name} {row}", float(values.value(table, name)[row]))
        key = name if table == "lines" else f"{table} {name}" if step < 0 else f"{table} {name} {step}"
        if key in self.made or key in self.typed or key in self.constants:
            return key
        match column:
            case Input():
                return self._constant(key, float(values.value(table, name)[max(step, 0)]))
            case Computed(rule):
                homes = {each: model.home(table, each) for each in inputs_of(rule)}
                inputs = {each: self.need(home, each, step if home == table else -1) for each, home in homes.items()}
                return self._add(key, rule, inputs)
            case Lookup():
                return self._fetched(table, column, step)
            case ByWord():
                word = str(model.tables[table].text[column.which][step])
                return self.need("lines", dict(column.columns)[word])
            case Largest(table="lines"):
                return self.need("lines", column.column)  # of one line, the largest is its own
            case Sum():
                if column.table == "lines":
                    return self.need("lines", column.column)
                uses = model.tables[column.table].count // model.tables["lines"].count
                return self._add(key, SUM, [self.need(column.table, column.column, use) for use in range(uses)])
        raise KeyError(f"{table}.{name} cannot be laid flat")

    def _fetched(self, table: str, column: Lookup, step: int) -> str:
        model = self.costing.model
        target = model.members(column.table)[0]
        if target in _OF_A_LINE or target.startswith("take-off"):
            return self.need(target, column.column)
        row = int(model.lookup(table, column.key, column.table).rows[max(step, 0)])
        value = float(self.costing.values.group(column.table, column.column)[row])
        return self._constant(f"{column.table} {column.column} {row}", value)

    def _add(self, key: str, how: Callable[..., Any] | str, inputs: dict[str, str] | list[str]) -> str:
        self.made[key] = (how, inputs)
        self.order.append(key)
        return key

    def _typed(self, key: str, values: Any) -> str:
        numbers = np.asarray(values, dtype=np.float64)
        if (numbers == numbers[0]).all():
            return self._constant(key, float(numbers[0]))
        self.typed.setdefault(key, numbers.tolist())
        return key

    def _constant(self, key: str, value: float) -> str:
        self.constants.setdefault(key, value)
        return key


def flattened(costing: Costing, wanted: tuple[str, ...] = ("unit_price", "discounted_margin")) -> Flat:
    """The model of a costing laid flat, as far as some figures of its lines rest on it."""
    flat = Flat(costing)
    for name in wanted:
        flat.need("lines", name)
    return flat


def write_flat(flat: Flat, path: Path) -> int:
    """Write the flat model as a plain spreadsheet, without results; returns how many formulas it has."""
    rows = len(flat.costing.lines)
    names = [*flat.typed, *flat.order]
    letters = {name: xl_col_to_name(number) for number, name in enumerate(names)}
    with new_workbook(str(path), {"constant_memory": True, "strings_to_formulas": False}) as book:
        sheet, constants = book.add_worksheet("Pieces"), book.add_worksheet("Prices")
        at = {}
        for row, (name, value) in enumerate(flat.constants.items(), 1):
            constants.write_string(row - 1, 0, name)
            constants.write_number(row - 1, 1, value)
            at[name] = f"Prices!$B${row}"
        for column, name in enumerate(names):
            sheet.write_string(0, column, name)
        formulas = {name: _formula(flat, name, letters, at) for name in flat.order}
        for row in range(rows):
            place = str(row + 2)
            for column, (_, values) in enumerate(flat.typed.items()):
                sheet.write_number(row + 1, column, values[row])
            for column, pieces in enumerate(formulas.values(), len(flat.typed)):
                sheet.write_formula(row + 1, column, place.join(pieces))
    return rows * len(flat.order)


def _formula(flat: Flat, name: str, letters: dict[str, str], at: dict[str, str]) -> list[str]:
    """The formula of a column in pieces between which the number of the row comes."""
    how, inputs = flat.made[name]
    used = inputs.values() if isinstance(inputs, dict) else inputs
    cell = {each: f"{letters[each]}\0" if each in letters else at[each] for each in used}
    if isinstance(inputs, list):
        text = "+".join(cell[each] for each in inputs) or "0"
    else:
        assert callable(how)
        text = expression_of(how).formula({each: cell[key] for each, key in inputs.items()})
    return f"={text}".split("\0")


class WithQuantities:
    """The flat model read row by row, every figure a quantity with its unit.

    Parameters
    ----------
    flat : the model
    """

    def __init__(self, flat: Flat) -> None:
        from pricing.units import registry

        self.flat = flat
        self.units = registry()
        quantity = self.units.Quantity
        self.constants = {name: quantity(value, self._unit(name)) for name, value in flat.constants.items()}
        self.universal = {name: quantity(each.value, each.unit) for name, each in CONSTANTS.items()}
        self.asked = {key: [name for name in how.__code__.co_varnames[: how.__code__.co_argcount] if name in CONSTANTS]
                      for key, (how, _) in flat.made.items() if callable(how)}

    def _unit(self, key: str) -> str:
        """The unit of a column by the word of the glossary in its name."""
        return GLOSSARY[next(word for word in reversed(key.removesuffix(" of the piece").split(" ")) if word in GLOSSARY)].unit

    def row(self, number: int) -> dict[str, Any]:
        """Every figure of one row."""
        quantity = self.units.Quantity
        found: dict[str, Any] = dict(self.constants)
        found |= {name: quantity(values[number], self._unit(name)) for name, values in self.flat.typed.items()}
        for key in self.flat.order:
            how, inputs = self.flat.made[key]
            if isinstance(inputs, list):
                found[key] = sum((found[each] for each in inputs[1:]), found[inputs[0]]) if inputs else quantity(0.0)
            else:
                assert callable(how)
                # A figure that is fetched under another name has the unit of that name: a mould's area is per mould on a line.
                given = {name: quantity(found[each].magnitude, GLOSSARY[name].unit) for name, each in inputs.items()}
                made = quantity(how(**given, **{name: self.universal[name] for name in self.asked[key]}))
                found[key] = made.to(GLOSSARY[how.__name__].unit)
        return found
