"""What the price book says of the pieces of some lines besides their dimensions: cut-outs, layers, outlines, seen edges."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pricing.book import pieces
from pricing.book.price_book import PriceBook
from pricing.costing.engine.packed_columns import DictionaryColumn
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

    def _lines_of(self, products: Iterable[str]) -> NDArray[np.intp]:
        """The lines of some products, counted from 0."""
        found = self.among(products)
        return np.flatnonzero(found.codes < len(found.words) - 1)

    def among(self, products: Iterable[str]) -> DictionaryColumn:
        """The product of each line where it is one of some products; a word that names nothing where it is another."""
        table = self.book.tables["Products"]
        rows = table.row_of("product")
        words = [name for name in dict.fromkeys(products) if name in rows]
        number = np.full(len(table), len(words), dtype=np.int32)
        number[np.array([rows[name] for name in words], dtype=np.intp)] = np.arange(len(words), dtype=np.int32)
        return DictionaryColumn(number[self.lines.product], [*words, "\0"])

    @cached_property
    def cut_outs(self) -> dict[int, list[int]]:
        """For each line that has any, the rows of the Cut-outs sheet: its own, or else those of its product."""
        if not len(self.book.tables["Cut-outs"]):
            return {}
        of_products, of_lines = pieces.cut_outs_of_products(self.book), pieces.cut_outs_of_lines(self.book)
        keys = pieces.line_keys(self.book) if of_lines else []
        found = self._of_lines(of_products)
        for line in np.flatnonzero(self.lines.enquiry >= 0).tolist() if keys else ():
            own = of_lines.get(keys[self.lines.enquiry[line]])
            found |= {line: own} if own else {}
        return dict(sorted(found.items()))

    def _of_lines(self, rows: Mapping[str, list[int]]) -> dict[int, list[int]]:
        """What stands under the product of each line, where something does."""
        names, product = self.book.tables["Products"].columns["product"], self.lines.product
        return {line: rows[names[product[line]]] for line in self._lines_of(rows).tolist()}

    def cut_outs_of(self, line: int) -> list[CutOut]:
        """The cut-outs of a line, counted from 0."""
        table = self.book.tables["Cut-outs"]
        return [pieces.cut_out_at(table, row) for row in self.cut_outs.get(line, [])]

    @cached_property
    def layers(self) -> dict[int, list[int]]:
        """For each line that has any, the rows of the Layers sheet."""
        if not len(self.book.tables["Layers"]):
            return {}
        return self._of_lines(pieces.layers_of_products(self.book))

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
        by_length = np.isin(self.book.tables["Products"].columns["price_per"], ("m", "ft"))
        if by_length.any() and by_length[self.lines.product].any():
            return True
        used = []
        for sheet, key, column in (("Labour", "labour_plan", "per"), ("Finishes", "finish", "surface"), ("Extras", "product", "per")):
            columns = self.book.tables[sheet].columns
            used.append({name for name, word in zip(columns[key].tolist(), columns[column].tolist(), strict=True) if word in EXTENTS})
        plans, finishes, products = used
        return bool(
            (plans and plans & set(self.lines.plans["labour_plan"].tolist()))
            or (finishes and finishes & set(self.lines.plans["finish"].tolist())) or len(self._lines_of(products)))

    @cached_property
    def casts_in(self) -> bool:
        """Whether anything is cast into the pieces."""
        extras, kinds = self.book.tables["Extras"].columns, self.kinds
        named = {product for product, material in zip(extras["product"].tolist(), extras["material"].tolist(), strict=True)
                 if kinds.get(material) in CAST_IN}
        return bool(len(self._lines_of(named)))

    @cached_property
    def kinds(self) -> dict[str, str]:
        """The kind of each material."""
        materials = self.book.tables["Materials"].columns
        return dict(zip(materials["material"].tolist(), materials["kind"].tolist(), strict=True))
