"""Which row of a table is which in two states: rows are the same where the same words name them and they hang on the same rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from pricing.costing.engine.columns import Input, TableSpec, Text
from pricing.costing.engine.model import Model


class Numbering(dict[str, TableSpec]):
    """The inputs that number rows, by name, each with the table whose rows it numbers: they are no inputs of a cost."""

    def __init__(self, *models: Model) -> None:
        super().__init__()
        for spec in (rows.spec for model in models for rows in model.tables.values()):
            if isinstance(spec.column(spec.key), Input) and (spec.key not in self or spec.scope == "order"):
                self[spec.key] = spec

    def linked(self, table: str, name: str) -> str:
        """The other table that a numbering column of a table leads to; empty for lines and quotes, which have the same numbers."""
        spec = self.get(name)
        return "" if spec is None or spec.scope == "order" or spec.name == table else spec.name


def identities_of(model: Model, table: str, numbering: Numbering) -> list[tuple[Any, ...]]:
    """What tells each row of a table from the others, whatever its place: its words and what it hangs on."""
    rows = model.tables[table]
    columns: list[Sequence[Any]] = []
    for column in rows.spec.columns:
        if isinstance(column, Text) and not column.remark and column.name in rows.text:
            columns.append(rows.text[column.name].tolist())
        elif isinstance(column, Input) and (linked := numbering.linked(table, column.name)):
            found = identities_of(model, linked, numbering)
            columns.append([found[row] for row in model.lookup(table, column.name, linked).rows.tolist()])
        elif isinstance(column, Input) and column.name in numbering and numbering[column.name].scope == "order":
            columns.append(rows.given[column.name].tolist())
    seen: dict[tuple[Any, ...], int] = {}
    identities: list[tuple[Any, ...]] = []
    for row in range(rows.count):
        words = tuple(column[row] for column in columns)
        seen[words] = seen.get(words, 0) + 1
        identities.append((*words, seen[words]))
    return identities


def alike(old: Model, new: Model, table: str, numbering: Numbering) -> bool:
    """Whether each row of a table is the same one in both models: the same words, hanging on the same rows."""
    before, after = old.tables[table], new.tables[table]
    if before.count != after.count or [c.name for c in before.spec.columns] != [c.name for c in after.spec.columns]:
        return False
    for column in before.spec.columns:
        name = column.name
        if isinstance(column, Text) and not column.remark and name in before.text:
            one, other = before.text.words(name), after.text.words(name)
            same = np.array_equal(one.codes, other.codes) and list(one.words) == list(other.words)
            if not same and before.text[name].tolist() != after.text[name].tolist():
                return False
        elif isinstance(column, Input) and name in numbering:
            if not np.array_equal(before.given[name], after.given[name]):
                return False
            linked = numbering.linked(table, name)
            if linked and not alike(old, new, linked, numbering):
                return False
    return True
