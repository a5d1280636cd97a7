"""The inputs of a quote as the register keeps them: enough to cost it again without the price book of its day.

What is kept is the costing model of the quote before any arithmetic: of every table each row's figures and words, and the
cell of the price book in which each figure stood.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from pricing.costing.engine.columns import Given, TableSpec, Text
from pricing.costing.engine.model import Model, Rows
from pricing.costing.method import declared


class InputRow(NamedTuple):
    """A row of a table of the model: figures, words and cells are JSON objects by column."""

    part: str
    row: int
    key: str
    numbers: str
    words: str
    places: str


def stored(model: Model) -> list[InputRow]:
    """Every row of every table of a model."""
    found = []
    for part, rows in model.tables.items():
        numbers = {c.name: rows.given[c.name].tolist() for c in rows.spec.columns if isinstance(c, Given)}
        words = {c.name: [str(word) for word in rows.text[c.name].tolist()] for c in rows.spec.columns if isinstance(c, Text)}
        for row in range(rows.count):
            held = {name: _kept(values[row]) for name, values in numbers.items()}
            said = {name: values[row] for name, values in words.items()}
            places = {name: place for name in numbers if (place := rows.place(name, row))}
            key = said.get(rows.spec.key) or (f"{held[rows.spec.key]:g}" if rows.spec.key in held else "")
            found.append(InputRow(part, row, key, _json(held), _json(said), _json(places)))
    return found


def _kept(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _json(content: Mapping[str, object]) -> str:
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def restored(inputs: Iterable[InputRow]) -> Model | None:
    """The model that was kept, or None where it was made by a costing method that this version no longer has."""
    parts: dict[str, list[InputRow]] = {}
    for each in inputs:
        parts.setdefault(each.part, []).append(each)
    tables: dict[str, tuple[dict[str, list[float]], dict[str, list[str]], dict[str, list[str]]]] = {}
    for part, rows in parts.items():
        numbers = [json.loads(each.numbers) for each in rows]
        words = [json.loads(each.words) for each in rows]
        places = [json.loads(each.places) for each in rows]
        tables[part] = (
            {name: [math.nan if row[name] is None else row[name] for row in numbers] for name in numbers[0]},
            {name: [row[name] for row in words] for name in words[0]},
            {name: [row.get(name, "") for row in places] for name in numbers[0] if any(name in row for row in places)},
        )
    made = []
    for spec in _specs({part: numbers for part, (numbers, *_) in tables.items()}):
        figures, said, places_of = tables.pop(spec.name, ({}, {}, {}))
        wanted = {c.name for c in spec.columns if isinstance(c, Given)}, {c.name for c in spec.columns if isinstance(c, Text)}
        if figures or said:
            if (set(figures), set(said)) != wanted:
                return None
        elif spec.group == "take-off":
            continue
        count = max([*map(len, figures.values()), *map(len, said.values())], default=0)
        given = {name: np.array(figures.get(name, []), dtype=np.float64) for name in wanted[0]}
        text = {name: np.array(said.get(name, []), dtype=object) for name in wanted[1]}
        made.append(Rows(spec, count, given, text, dict(places_of)))
    return None if tables else Model(made)


def _specs(numbers: Mapping[str, Mapping[str, object]]) -> list[TableSpec]:
    """The tables that the method has today, in the form that fits what was kept."""
    learning = "learning_slope" in numbers.get("plan steps", {})
    interest = "interest_rate" in numbers.get("machines", {})
    return [
        declared.SETTINGS, declared.MIX_PRICES, declared.BOARD_PRICES, declared.LIQUID_PRICES, declared.OTHER_PRICES,
        declared.INGREDIENTS, declared.MIXES, declared.MOULDS, declared.GRADES,
        declared.MACHINES_WITH_INTEREST if interest else declared.MACHINES, *declared.TAKE_OFFS.values(),
        declared.plan_steps_table(learning=learning, interest=interest), declared.steps_table(learning=learning),
        declared.FINISH_PARTS, declared.FINISHES, declared.EXTRA_PARTS, declared.EXTRAS, declared.BATCHES, declared.LINES,
        declared.BANDS, declared.CUSTOMERS, declared.QUOTES,
    ]
