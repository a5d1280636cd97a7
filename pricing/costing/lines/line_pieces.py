"""What the price book says of the pieces of some lines besides their dimensions: cut-outs, layers, outlines, seen edges."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pricing.arrays import is_among, rows_under
from pricing.book import pieces
from pricing.book.price_book import PriceBook
from pricing.costing.lines.order_lines import OrderLines
from pricing.dataclass import dataclass
from pricing.rules.geometry.cut_out import CutOut
from pricing.rules.geometry.outline import Outline
from pricing.rules.geometry.seen_edges import ALL_SEEN, RULES

#: Kinds of materials that are cast into a piece and weigh with it.
CAST_IN = frozenset({"reinforcement", "cast in"})

#: Words that count by the extent of a piece.
EXTENTS = frozenset({"m length", "m width"})


@dataclass(frozen=True, eq=False)
class RowsOfLines:
    """Rows of a sheet that some lines have, one by one, in the order of the lines.

    Parameters
    ----------
    lines, rows : the line and the row of each, counted from 0
    """

    lines: NDArray[np.intp]
    rows: NDArray[np.intp]

    def __len__(self) -> int:
        return len(self.lines)

    def of(self, line: int) -> list[int]:
        """The rows of one line.

        >>> RowsOfLines(np.array([4, 4, 6]), np.array([0, 1, 1])).of(4)
        [0, 1]
        """
        first, last = np.searchsorted(self.lines, (line, line + 1)).tolist()
        found: list[int] = self.rows[first:last].tolist()
        return found

    def with_own(self, own: Mapping[int, Sequence[int]]) -> RowsOfLines:
        """The same, with other rows for some lines.

        >>> RowsOfLines(np.array([4, 4, 6]), np.array([0, 1, 1])).with_own({4: [7], 5: [8]}).rows.tolist()
        [7, 8, 1]
        """
        kept = ~is_among(self.lines, own)
        lines = np.concatenate([self.lines[kept], *([line] * len(rows) for line, rows in own.items())]).astype(np.intp)
        rows = np.concatenate([self.rows[kept], *own.values()]).astype(np.intp)
        order = np.argsort(lines, kind="stable")
        return RowsOfLines(lines[order], rows[order])


class LinePieces:
    """The pieces of some lines.

    Parameters
    ----------
    book : the price book
    lines : of it
    """

    def __init__(self, book: PriceBook, lines: OrderLines) -> None:
        self.book = book
        self.lines = lines

    def _under_products(self, sheet: str) -> RowsOfLines:
        """The rows of a sheet that stand under the product of each line."""
        products = self.book.tables["Products"]
        rows, many = rows_under(self.book.tables[sheet].rows_in("product", products), len(products), self.lines.product)
        return RowsOfLines(np.repeat(np.arange(len(many)), many), rows)

    def _any_named(self, sheet: str, meant: NDArray[np.bool_]) -> bool:
        """Whether any line is of a product that one of some rows of a sheet stands under."""
        products, named = self.book.tables["Products"], self.book.tables[sheet].rows_in("product", self.book.tables["Products"])
        found = np.zeros(len(products) + 1, dtype=np.bool_)
        found[named[meant]] = True
        return bool(found[:-1][self.lines.product].any())

    @cached_property
    def cut_outs(self) -> RowsOfLines:
        """The rows of the Cut-outs sheet of each line: its own, or else those of its product."""
        of_products, of_lines = self._under_products("Cut-outs"), pieces.cut_outs_of_lines(self.book)
        if not of_lines:
            return of_products
        keys, enquiry = pieces.line_keys(self.book), self.lines.enquiry
        own = {line: of_lines[key] for line in np.flatnonzero(enquiry >= 0).tolist() if (key := keys[enquiry[line]]) in of_lines}
        return of_products.with_own(own)

    def cut_outs_of(self, line: int) -> list[CutOut]:
        """The cut-outs of a line, counted from 0."""
        table = self.book.tables["Cut-outs"]
        return [pieces.cut_out_at(table, row) for row in self.cut_outs.of(line)]

    @cached_property
    def layers(self) -> RowsOfLines:
        """The rows of the Layers sheet of each line."""
        return self._under_products("Layers")

    @cached_property
    def outlines(self) -> dict[str, Outline]:
        """The outlines of the price book by name."""
        return pieces.outlines(self.book)

    def outline_of(self, line: int) -> Outline:
        """The outline of a line that has one."""
        return self.outlines[str(self.lines.plans["outline"][line])]

    def outline_figures(self, rows: NDArray[np.intp], names: Sequence[str]) -> dict[str, NDArray[np.float64]]:
        """Figures of the outlines of some lines, by their names; not a number where a line names no outline."""
        named = [self.outlines.get(str(name)) for name in self.lines.plans["outline"][rows].tolist()] if names else []
        return {name: np.array([outline.figures[name] if outline else np.nan for outline in named]) for name in names}

    def edges(self, rows: NDArray[np.intp]) -> dict[str, NDArray[np.float64]]:
        """How many edges of some lines are seen."""
        given = {name: self.lines.dimensions[name][rows] for name in ALL_SEEN if name in self.lines.dimensions}
        return {name: np.where(np.isnan(given[name]), every, given[name]) if name in given else np.full(len(rows), every)
                for name, every in ALL_SEEN.items()}

    @cached_property
    def some_edges_hidden(self) -> bool:
        """Whether any piece has an edge that is not seen."""
        hidden = np.zeros(len(self.lines), dtype=np.bool_)
        for values in self.edges(np.arange(len(self.lines))).values():
            hidden |= values < 2
        return any(shape in RULES for shape in self.book.tables["Products"].columns["shape"][self.lines.product[hidden]].tolist())

    @cached_property
    def priced_by_measure(self) -> bool:
        """Whether any piece is priced by something else than the piece."""
        per = self.book.tables["Products"].columns["price_per"]
        measured = (per != "") & (per != "piece")
        return bool(measured.any() and measured[self.lines.product].any())

    @cached_property
    def counts_extents(self) -> bool:
        """Whether anything that the lines use is counted by length or width."""
        by_length = self.book.tables["Products"].words("price_per").is_among(("m", "ft"))
        if by_length.any() and by_length[self.lines.product].any():
            return True
        for sheet, key, column in (("Labour", "labour_plan", "per"), ("Finishes", "finish", "surface")):
            columns = self.book.tables[sheet].columns
            counted = {name for name, word in zip(columns[key].tolist(), columns[column].tolist(), strict=True) if word in EXTENTS}
            if counted and self.lines.plans.words(key).is_among(counted).any():
                return True
        return self._any_named("Extras", self.book.tables["Extras"].words("per").is_among(EXTENTS))

    @cached_property
    def casts_in(self) -> bool:
        """Whether anything is cast into the pieces."""
        return self._any_named("Extras", self.is_cast_in)

    @cached_property
    def is_cast_in(self) -> NDArray[np.bool_]:
        """Whether what each row of the Extras sheet names is cast into the piece."""
        materials = self.book.tables["Materials"].columns
        kinds = dict(zip(materials["material"].tolist(), materials["kind"].tolist(), strict=True))
        return self.book.tables["Extras"].words("material").is_among({name for name, kind in kinds.items() if kind in CAST_IN})
