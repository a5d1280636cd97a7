"""What the price book says of the pieces of some lines besides their dimensions: cut-outs, layers, outlines, seen edges."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pricing.book import pieces
from pricing.book.price_book import PriceBook
from pricing.costing.lines.order_lines import OrderLines
from pricing.rules.geometry.cut_out import CutOut
from pricing.rules.geometry.outline import Outline
from pricing.rules.geometry.seen_edges import ALL_SEEN, RULES

#: Kinds of materials that are cast into a piece and weigh with it.
CAST_IN = frozenset({"reinforcement", "cast in"})

#: Words that count by the extent of a piece.
EXTENTS = frozenset({"m length", "m width"})


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

    @cached_property
    def _products(self) -> list[str]:
        names: list[str] = self.book.tables["Products"].columns["product"][self.lines.product].tolist()
        return names

    @cached_property
    def cut_outs(self) -> dict[int, list[int]]:
        """For each line that has any, the rows of the Cut-outs sheet: its own, or else those of its product."""
        if not len(self.book.tables["Cut-outs"]):
            return {}
        of_products, of_lines = pieces.cut_outs_of_products(self.book), pieces.cut_outs_of_lines(self.book)
        keys = pieces.line_keys(self.book) if of_lines else []
        found = {}
        for line, (product, enquiry) in enumerate(zip(self._products, self.lines.enquiry.tolist(), strict=True)):
            own = of_lines.get(keys[enquiry]) if keys and enquiry >= 0 else None
            rows = own or of_products.get(product)
            if rows:
                found[line] = rows
        return found

    def cut_outs_of(self, line: int) -> list[CutOut]:
        """The cut-outs of a line, counted from 0."""
        table = self.book.tables["Cut-outs"]
        return [pieces.cut_out_at(table, row) for row in self.cut_outs.get(line, [])]

    @cached_property
    def layers(self) -> dict[int, list[int]]:
        """For each line that has any, the rows of the Layers sheet."""
        if not len(self.book.tables["Layers"]):
            return {}
        of_products = pieces.layers_of_products(self.book)
        return {line: of_products[product] for line, product in enumerate(self._products) if product in of_products}

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
        shapes = self.book.tables["Products"].columns["shape"][self.lines.product]
        at_wall = np.isin(shapes, list(RULES)) if len(shapes) else np.zeros(0, dtype=np.bool_)
        rows = np.flatnonzero(at_wall)
        return any((values < 2).any() for values in self.edges(rows).values())

    @cached_property
    def priced_by_measure(self) -> bool:
        """Whether any piece is priced by something else than the piece."""
        per = self.book.tables["Products"].columns["price_per"]
        measured = (per != "") & (per != "piece")
        return bool(measured.any() and measured[self.lines.product].any())

    @cached_property
    def counts_extents(self) -> bool:
        """Whether anything that the lines use is counted by length or width."""
        tables, lines = self.book.tables, self.lines
        by_length = tables["Products"].columns["price_per"] == "m"
        if by_length.any() and by_length[lines.product].any():
            return True
        used = (
            ("Labour", "labour_plan", "per", set(lines.plans["labour_plan"].tolist())),
            ("Finishes", "finish", "surface", set(lines.plans["finish"].tolist())), ("Extras", "product", "per", set(self._products)),
        )
        return any(
            word in EXTENTS and name in names
            for sheet, key, column, names in used
            for name, word in zip(tables[sheet].columns[key].tolist(), tables[sheet].columns[column].tolist(), strict=True)
        )

    @cached_property
    def casts_in(self) -> bool:
        """Whether anything is cast into the pieces."""
        extras, products = self.book.tables["Extras"].columns, set(self._products)
        kinds = self.kinds
        return any(
            product in products and kinds.get(material) in CAST_IN
            for product, material in zip(extras["product"].tolist(), extras["material"].tolist(), strict=True)
        )

    @cached_property
    def kinds(self) -> dict[str, str]:
        """The kind of each material."""
        materials = self.book.tables["Materials"].columns
        return dict(zip(materials["material"].tolist(), materials["kind"].tolist(), strict=True))
