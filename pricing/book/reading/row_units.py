"""The unit of a figure where it differs from row to row: a pack's size, an ingredient's amount, what a litre covers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing import units
from pricing.book.declared.choices import unit_of_word
from pricing.book.declared.column import SheetDeclaration, UnitRule
from pricing.book.price_book import SheetTable
from pricing.book.typed.conversion import fifteen_digits
from pricing.text import fold

Values = NDArray[Any]

#: Unit of an amount by its basis; a share is a percentage.
BASIS_UNITS: dict[str, str] = {
    "parts by mass": "kg", "parts by volume": "L", "kg/m3": "kg/m3", "L/m3": "L/m3", "% of binder": "%",
    "mL/kg binder": "mL/kg", "% of volume": "%",
}

#: Unit of what a finished job took by its kind; a material is counted in its pack unit.
RECORD_UNITS: dict[str, str] = {
    **dict.fromkeys(("labour", "step", "machine"), "h"), **dict.fromkeys(("overhead", "rejected", "mould casts"), "each"),
}


def pack_unit(unit: str) -> str:
    """The unit in which a pack unit is counted: a sheet is a piece.

    >>> pack_unit("sheet"), pack_unit("kg")
    ('each', 'kg')
    """
    return "each" if unit == "sheet" else unit


def surface_unit(surface: str) -> str:
    """The unit of a surface or another thing that amounts are counted by.

    >>> surface_unit("m2 face"), surface_unit("ft arris"), surface_unit("piece")
    ('m2', 'ft', 'each')
    """
    return unit_of_word(surface) or "each"


def row_units(rule: UnitRule, columns: Mapping[str, Values], tables: Mapping[str, SheetTable]) -> Values:
    """The unit of each row's figure; empty where the row does not say.

    Parameters
    ----------
    rule : what the unit depends on
    columns : those of the same sheet that are read already
    tables : the sheets that are read already
    """
    if rule == "pack unit":
        return _strings(pack_unit(unit) for unit in columns["pack_unit"].tolist())
    if rule == "basis":
        return _strings(BASIS_UNITS.get(basis, "") for basis in columns["basis"].tolist())
    units = _pack_units(tables["Materials"]) if any(len(values) for values in columns.values()) else {}
    if rule == "surface per pack unit":
        pairs = zip(columns["surface"].tolist(), columns["material"].tolist(), strict=True)
        return _strings(_covers(surface, units.get(fold(material), "")) for surface, material in pairs)
    if rule == "pack unit of material":
        return _strings(units.get(fold(material), "") for material in columns["material"].tolist())
    pairs = zip(columns["kind"].tolist(), columns["item"].tolist(), strict=True)
    return _strings(units.get(fold(item), "") if kind == "material" else RECORD_UNITS.get(kind, "") for kind, item in pairs)


def in_own_words(declared: SheetDeclaration, columns: Mapping[str, Values]) -> None:
    """Bring rows whose word counts by the foot or the pound into the price book's own words, and their figures with them.

    Parameters
    ----------
    declared : the sheet
    columns : as they were read; changed in place
    """
    for column in declared.columns:
        words = columns[column.name]
        for twin, word in column.twins.items():
            rows = np.flatnonzero(words == twin)
            if not len(rows):
                continue
            own, counted = units.unit_of(unit_of_word(word)), units.unit_of(unit_of_word(twin))
            assert isinstance(own, units.Unit)
            assert isinstance(counted, units.Unit)
            for name, power in column.counts.items():
                factor = (counted.factor / own.factor) ** power
                columns[name][rows] = [fifteen_digits(value * factor) for value in columns[name][rows].tolist()]
            words[rows] = word


def _covers(surface: str, unit: str) -> str:
    return f"{surface_unit(surface)}/{unit}" if surface and unit else ""


def _pack_units(materials: SheetTable) -> dict[str, str]:
    pairs = zip(materials["material"].tolist(), materials["pack_unit"].tolist(), strict=True)
    return {fold(name): pack_unit(unit) for name, unit in pairs if unit}


def _strings(values: Any) -> Values:
    found = list(values)
    array = np.empty(len(found), dtype=object)
    array[:] = found
    return array
