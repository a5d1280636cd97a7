"""The inputs of a quote as the register keeps them: enough to cost it again without the price book of its day.

What is kept is the costing model of the quote before any arithmetic: of every table each row's figures and words, and the
cell of the price book in which each figure stood.
"""

from __future__ import annotations

import functools
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from pricing.book.price_book import NONE
from pricing.costing.engine.columns import Input, TableSpec, Text
from pricing.costing.engine.model import Model, Rows
from pricing.costing.method import declared
from pricing.costing.method.piece_declared import PieceForms
from pricing.costing.method.rows_builder import RowsBuilder
from pricing.costing.method.terms_declared import TermForms
from pricing.dataclass import dataclass
from pricing.rules.geometry.measures import MEASURES


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
        numbers = {c.name: rows.given[c.name].tolist() for c in rows.spec.columns if isinstance(c, Input)}
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


#: The text of a row's figures, words or cells.
_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode

#: What such a text says, of texts that were met already, as quotes from one price book have nearly all of them in common.
_read = functools.lru_cache(maxsize=4096)(json.loads)


def restored(inputs: Iterable[InputRow]) -> Model | None:
    """The model that was kept, or None where it was made by a costing method that this version no longer has.

    What is newer than the record is filled in: an input by what its declaration says of records without it, a table by no
    rows, or by the one that stands for "there is none". What was called otherwise is found under its earlier name.
    """
    parts: dict[str, list[InputRow]] = {}
    for each in inputs:
        parts.setdefault(each.part, []).append(each)
    kept = {part: _Kept.of(rows) for part, rows in parts.items()}
    made = []
    for spec in _specs(kept):
        held = next((kept.pop(name) for name in (spec.name, *spec.formerly) if name in kept), None)
        if held is None and spec.group == "take-off":
            continue
        rows = _new_rows(spec) if held is None else held.rows(spec)
        if rows is None:
            return None
        made.append(rows)
    return None if kept else Model(made)


@dataclass(frozen=True, slots=True)
class _Kept:
    """What was kept of a table, column by column."""

    count: int
    numbers: dict[str, list[float]]
    words: dict[str, list[str]]
    places: dict[str, list[str]]

    @classmethod
    def of(cls, rows: Sequence[InputRow]) -> _Kept:
        numbers, words = [_read(each.numbers) for each in rows], [_read(each.words) for each in rows]
        places = [_read(each.places) for each in rows]
        if not all(isinstance(word, str) for row in words for word in row.values()):
            raise ValueError("a word that is no text")
        return cls(
            len(rows), {name: [math.nan if row[name] is None else row[name] for row in numbers] for name in numbers[0]},
            {name: [row[name] for row in words] for name in words[0]},
            {name: [row.get(name, "") for row in places] for name in numbers[0] if any(name in row for row in places)},
        )

    def rows(self, spec: TableSpec) -> Rows | None:
        """The rows of a table as it is declared today; None where something is missing that every record has, or is left over."""
        given, text, places = {}, {}, {}
        known = {*self.numbers, *self.words}
        for column in spec.columns:
            if not isinstance(column, Input | Text):
                continue
            name = next((each for each in (column.name, *column.formerly) if each in known), "")
            known.discard(name)
            if not name and column.not_kept is None:
                return None
            if isinstance(column, Text):
                words = [column.former_words.get(word, word) for word in self.words[name]] if name else [column.not_kept] * self.count
                text[column.name] = np.array(words, dtype=object)
            else:
                given[column.name] = np.array(self.numbers[name] if name else [column.not_kept] * self.count, dtype=np.float64)
            if name in self.places:
                places[column.name] = self.places[name]
        known -= {column.name for column in spec.columns}  # what is worked out by now
        return None if known else Rows(spec, self.count, given, text, dict(places))


def _new_rows(spec: TableSpec) -> Rows:
    """The rows of a table of which nothing was kept."""
    builder = RowsBuilder(spec)
    if spec.nothing:
        cells = {column.name: column.not_kept for column in spec.columns if isinstance(column, Input | Text) and column.not_kept}
        builder.add(**cells | {spec.nothing: NONE})
    return builder.rows()


def _specs(kept: Mapping[str, _Kept]) -> list[TableSpec]:
    """The tables that the method has today, in the form that fits what was kept."""

    def has(part: str, column: str) -> bool:
        return part in kept and column in kept[part].numbers

    take_offs = [part for part in kept if part.startswith("take-off")]
    forms = PieceForms(
        any(has(part, "wall_face") or has(part, "seen_long_edges") for part in take_offs),
        "layers" in kept or has("extra parts", "is_cast_in"),
        any(has(part, name) for part in take_offs for name in MEASURES), "price_per" in kept["lines"].words, has("lines", "is_service"),
    )
    return declared.tables(
        learning=has("plan steps", "learning_slope"), interest=has("machines", "interest_rate"), forms=forms,
        by_outline="outlines" in kept, terms=TermForms(
            "quote taxes" in kept, has("quotes", "deposit_share"), "payments" in kept, "sets" in kept),
    )
