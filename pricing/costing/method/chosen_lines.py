"""A model of some of the lines of a quote: what is named by no line that stays goes, and what lines share is shared anew."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pricing.arrays import distinct
from pricing.costing.engine.model import Model, Rows
from pricing.costing.engine.packed_columns import taken_places
from pricing.costing.method.work_rows import QUOTE

Codes = NDArray[np.intp]


def with_lines_alone(model: Model, rows: Sequence[int]) -> Model:
    """The model of one quote with some of its lines, in the order given; all that was settled for a line stays.

    Parameters
    ----------
    model : of one quote
    rows : the lines that stay, counted from 0
    """
    chosen = np.asarray(rows, dtype=np.intp)
    numbers = model.tables["lines"].given["line"].astype(np.intp)
    place = np.zeros(int(numbers.max(initial=0)) + 1, dtype=np.intp)
    place[numbers[chosen]] = np.arange(1, len(chosen) + 1)
    made: dict[str, Rows] = {}
    for name, table in model.tables.items():
        if name == "lines":
            made[name] = _numbered(_taken(table, chosen))
        elif "line" in table.given and table.spec.name != "lines":
            made[name] = _of_lines(table, place)
        else:
            made[name] = table
    for name, key in (("batches", "batch"), ("quote taxes", "quote_tax"), ("sets", "set_number")):
        if name in made:
            _only_named(made, name, key)
    if "quote taxes" in made:
        made["quote taxes"].given["first_tax"] = (np.arange(made["quote taxes"].count) == 0).astype(np.float64)
    return Model(rows for rows in made.values() if rows.count or rows.spec.group != "take-off")


def _taken(table: Rows, rows: Codes) -> Rows:
    """Some rows of a table."""
    return Rows(
        table.spec, len(rows), {name: values[rows] for name, values in table.given.items()},
        {name: table.text.words(name).taken(rows) for name in table.text},
        {name: taken_places(places, rows) for name, places in table.places.items()},
    )


def _numbered(table: Rows) -> Rows:
    """Rows whose number is nothing but their place, counted from 1 again."""
    table.given[table.spec.key] = np.arange(1.0, table.count + 1)
    return table


def _of_lines(table: Rows, place: Codes) -> Rows:
    """The rows that belong to lines that stay, by the new numbers of these.

    Parameters
    ----------
    place : for each number that a line had, the one that it has now; 0 where it goes
    """
    line = place[table.given["line"].astype(np.intp)]
    in_turn = np.argsort(line, kind="stable")
    kept = in_turn[np.count_nonzero(line == 0) :]
    made = _taken(table, kept)
    made.given["line"] = line[kept].astype(np.float64)
    if table.spec.key != "line":
        made = _numbered(made)
    if "lines_sharing" in made.given:
        per = made.text.words("per")
        shared = np.flatnonzero(np.array([word == QUOTE for word in per.words], dtype=np.bool_)[per.codes])
        names = made.text.words("step" if "step" in made.text else "material").taken(shared).array().tolist()
        among = Counter(names)
        made.given["lines_sharing"] = np.ones(made.count)
        made.given["lines_sharing"][shared] = [float(among[name]) for name in names]
    return made


def _only_named(made: dict[str, Rows], name: str, key: str) -> None:
    """Leave out the rows of a table that nothing names any more, and number the others from 1 again."""
    users = [rows for rows in made.values() if rows.spec.name != name and key in rows.given]
    used = distinct(np.concatenate([rows.given[key] for rows in users]))
    old = made[name].given[key]
    made[name] = _numbered(_taken(made[name], np.flatnonzero(np.isin(old, used))))
    for rows in users:
        rows.given[key] = (np.searchsorted(used, rows.given[key]) + 1).astype(np.float64)
