"""The cut list of steel and of whatever else is cast in: lengths, counts, kilograms, and whole bars that are bought.

Bars that are counted by the length or the width of a piece are as long as the piece is; by how much they are cut shorter for cover
is for whoever designs the reinforcement to say.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import numpy as np

from pricing.book.price_book import price_row_on
from pricing.costing.lines.line_pieces import CAST_IN, EXTENTS
from pricing.costing.method.costing import Costing
from pricing.costing.method.rows_builder import safe_key
from pricing.dataclass import dataclass

#: Lengths nearer than this are equal [m].
HAIR = 1e-6

#: More bars than this are counted by their length alone.
MOST_BARS = 5_000


@dataclass(frozen=True, slots=True)
class SteelRow:
    """What one piece of a line takes of a material that is cast in.

    Parameters
    ----------
    line : counted from 0
    product, material : as the price book calls them
    unit : its pack unit
    each : how many of it a piece has
    size : of each [pack units]: the length of a bar, the area of a mesh
    pieces : of the line
    kilograms : of all pieces together
    """

    line: int
    product: str
    material: str
    unit: str
    each: float
    size: float
    pieces: float
    kilograms: float

    @property
    def count(self) -> float:
        """How many of it there are in all."""
        return self.each * self.pieces

    @property
    def taken(self) -> float:
        """How much of it in all [pack units]."""
        return self.count * self.size


@dataclass(frozen=True, slots=True)
class SteelNeed:
    """What is bought of a material that is cast in.

    Parameters
    ----------
    material, unit : as it is bought
    taken : in all [pack units]
    pack : what one bar, mat or pack holds [pack units]
    packs : whole ones that it takes
    kilograms : in all
    """

    material: str
    unit: str
    taken: float
    pack: float
    packs: int
    kilograms: float


@dataclass(frozen=True, slots=True)
class SteelList:
    """All that is cast into the pieces of a quote."""

    rows: tuple[SteelRow, ...]
    needs: tuple[SteelNeed, ...]


def steel_list(costing: Costing) -> SteelList:
    """What is cast into the pieces of a quote.

    Parameters
    ----------
    costing : of one quote
    """
    rows = _rows(costing)
    materials, day = costing.book.tables["Materials"].columns, costing.lines.day[0]
    needs = []
    for name in dict.fromkeys(row.material for row in rows):
        of_it = [row for row in rows if row.material == name]
        at = price_row_on(costing.book, name, day)
        pack = float(materials["pack_size"][at]) if at is not None else 1.0
        taken = sum(row.taken for row in of_it)
        packs = whole_bars([(row.size, round(row.count)) for row in of_it], pack) if of_it[0].unit == "m" else ceil(taken / pack - HAIR)
        needs.append(SteelNeed(name, of_it[0].unit, taken, pack, packs, sum(row.kilograms for row in of_it)))
    return SteelList(tuple(rows), tuple(needs))


def _rows(costing: Costing) -> list[SteelRow]:
    if "extras" not in costing.model.tables or costing.model.column("extras", "extra_mass") is None:
        return []
    extras, values = costing.model.tables["extras"], costing.values
    materials = costing.book.tables["Materials"].columns
    kinds = dict(zip(materials["material"].tolist(), materials["kind"].tolist(), strict=True))
    units = dict(zip(materials["material"].tolist(), materials["pack_unit"].tolist(), strict=True))
    parts = values.value("extras", "extra_part").astype(np.intp) - 1
    book_rows = _book_rows(costing)
    amount, count, mass = (values.value("extras", name) for name in ("extra_amount", "count", "extra_mass"))
    products, quantity = costing.products(), costing.line("quantity")
    found = []
    lines = (values.value("extras", "line") - 1).astype(int).tolist()
    for row, (line, per) in enumerate(zip(lines, extras.text["per"].tolist(), strict=True)):
        name = book_rows[int(parts[row])]
        if kinds.get(name) not in CAST_IN:
            continue
        along = per in EXTENTS
        each, size = (float(amount[row]), float(count[row])) if along else (1.0, float(amount[row] * count[row]))
        if units[name] == "each":
            each, size = size, 1.0
        pieces = float(quantity[line])
        found.append(SteelRow(line, products[line], name, str(units[name]), each, size, pieces, float(mass[row]) * pieces))
    return found


def _book_rows(costing: Costing) -> list[str]:
    """The material of each of the extra parts, as the price book calls it."""
    names = {safe_key(name): name for name in costing.book.tables["Materials"].columns["material"].tolist()}
    keys = costing.model.tables["extra parts"].text["material"].tolist()
    return [names.get(str(key)) or names[str(key).rpartition(" [")[0]] for key in keys]


def whole_bars(lengths: Sequence[tuple[float, int]], bar: float) -> int:
    """Whole bars from which some lengths can be cut, the longest first, each from the first bar that still holds it.

    Parameters
    ----------
    lengths : each with how many of it [m]
    bar : length of a whole bar [m]; a longer length takes whole bars and is lapped

    >>> whole_bars([(2.2, 3), (0.62, 4)], 6.0), whole_bars([(4.0, 3)], 6.0), whole_bars([(7.0, 1)], 6.0)
    (2, 3, 2)
    """
    wanted = [length for length, count in sorted(lengths, reverse=True) for _ in range(count)]
    if len(wanted) > MOST_BARS:
        return ceil(sum(wanted) / bar - HAIR)
    left: list[float] = []
    for length in wanted:
        whole = int((length + HAIR) / bar)
        rest = length - whole * bar
        left += [0.0] * whole
        if rest <= HAIR:
            continue
        place = next((number for number, room in enumerate(left) if room >= rest - HAIR), None)
        if place is None:
            left.append(bar - rest)
        else:
            left[place] -= rest
    return len(left)
