"""Rows of the model's small tables, collected one by one, and names as its workbooks look them up."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import overload

import numpy as np

from pricing.costing.engine.columns import Input, TableSpec, Text
from pricing.costing.engine.model import Rows
from pricing.costing.engine.packed_columns import Texts


class RowsBuilder:
    """Collects the rows of a table one by one: for the small tables, where clarity counts more than speed."""

    def __init__(self, spec: TableSpec) -> None:
        self.spec = spec
        self.numbers: dict[str, list[float]] = {c.name: [] for c in spec.columns if isinstance(c, Input)}
        self.words: dict[str, list[str]] = {c.name: [] for c in spec.columns if isinstance(c, Text)}
        self.places: dict[str, list[str]] = {name: [] for name in self.numbers}
        self.count = 0

    def add(self, **cells: float | str | tuple[float, str]) -> None:
        """Add a row: numbers, words, or numbers with the place they stand at; what the table does not have is left."""
        for name, numbers in self.numbers.items():
            cell = cells.get(name, 0.0)
            value, place = cell if isinstance(cell, tuple) else (cell, "")
            numbers.append(float(value))
            self.places[name].append(place)
        for name, words in self.words.items():
            words.append(str(cells.get(name, "")))
        self.count += 1

    def rows(self) -> Rows:
        """The finished table."""
        given = {name: np.array(values, dtype=np.float64) for name, values in self.numbers.items()}
        text = {name: np.array(values, dtype=object) for name, values in self.words.items()}
        return Rows(self.spec, self.count, given, text, {k: v for k, v in self.places.items() if any(v)})


def safe_key(name: str) -> str:
    """A name as the model's workbooks look it up: no character that a spreadsheet's MATCH reads as a wildcard, and not too long.

    Names that differ stay apart: one that is cut, or that holds a stand-in by itself, gets a mark of its own.

    >>> safe_key("Sand 0/2*")
    'Sand 0/2∗'
    """
    cleaned = name.replace("*", "∗").replace("?", "？").replace("~", "∼").strip()
    if len(cleaned) <= 200 and not any(stand_in in name for stand_in in "∗？∼"):
        return cleaned
    return f"{cleaned[:180]}… {hashlib.sha256(name.encode('utf-8', 'surrogatepass')).hexdigest()[:8]}"


class SafeKeys(Sequence[str]):
    """The same for many names, when any of them is asked for; one look at them all finds whether any has to be changed.

    >>> list(SafeKeys(np.array(["Sand 0/2*", "Water"], dtype=object)))
    ['Sand 0/2∗', 'Water']
    """

    def __init__(self, names: Texts) -> None:
        self._names = names

    def __len__(self) -> int:
        return len(self._names)

    @cached_property
    def _keys(self) -> list[str]:
        names = self._names.tolist()
        together = "".join(names)
        if max(map(len, names), default=0) <= 200 and not any(sign in together for sign in "*?~∗？∼"):
            return [name.strip() for name in names]
        return [safe_key(name) for name in names]

    @overload
    def __getitem__(self, at: int) -> str: ...
    @overload
    def __getitem__(self, at: slice) -> list[str]: ...
    def __getitem__(self, at: int | slice) -> str | list[str]:
        return self._keys[at]

    def __iter__(self) -> Iterator[str]:
        return iter(self._keys)


def number_or(value: float, otherwise: float) -> float:
    """The value, or what a blank stands for."""
    return otherwise if np.isnan(value) else float(value)
