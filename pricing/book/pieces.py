"""What a price book says of its pieces besides their dimensions, as values: outlines, cut-outs, layers."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import PriceBook, SheetTable
from pricing.rules.geometry.cut_out import CutOut
from pricing.rules.geometry.outline import Outline
from pricing.text import fold

#: What a cut-out belongs to: a product, or a line of a quote by its number.
LineKey = tuple[str, int]


def outline_rows(table: SheetTable) -> dict[str, list[int]]:
    """The rows of each outline, in order."""
    return _rows_by(table, "outline")


def outline_at(table: SheetTable, rows: list[int]) -> Outline:
    """The outline that some rows of the Outlines sheet say."""
    columns = table.columns
    radius = np.nan_to_num(columns["radius"][rows])
    return Outline(
        tuple(columns["x"][rows].tolist()), tuple(columns["y"][rows].tolist()), tuple(radius.tolist()),
        tuple(columns["point"][rows].tolist()),
    )


def outlines(book: PriceBook) -> dict[str, Outline]:
    """The outlines of a price book by name."""
    table = book.tables["Outlines"]
    return {name: outline_at(table, rows) for name, rows in outline_rows(table).items()}


def cut_out_at(table: SheetTable, row: int) -> CutOut:
    """The cut-out that a row of the Cut-outs sheet says."""
    cell: Mapping[str, float] = {name: float(table.columns[name][row]) for name in _SIZES}
    round_one = table.columns["form"][row] == "round"
    length, width = (cell["diameter"], cell["diameter"]) if round_one else (cell["length"], cell["width"])
    radius = cell["diameter"] / 2 if round_one else _or(cell["corner_radius"], 0.0)
    left, front = (_or(cell[name], math.nan) for name in ("from_left", "from_front"))  # one blank is the same as another
    return CutOut(length, width, radius, left, front, int(_or(cell["count"], 1.0)))


_SIZES = ("length", "width", "corner_radius", "diameter", "from_left", "from_front", "count")


def _or(value: float, otherwise: float) -> float:
    return otherwise if math.isnan(value) else value


def cut_outs_of_products(book: PriceBook) -> dict[str, list[int]]:
    """The rows of the Cut-outs sheet that belong to each product."""
    return _rows_by(book.tables["Cut-outs"], "product")


def cut_outs_of_lines(book: PriceBook) -> dict[LineKey, list[int]]:
    """The rows of the Cut-outs sheet that belong to a line of a quote, by the folded quote and the number of the line."""
    table = book.tables["Cut-outs"]
    found: dict[LineKey, list[int]] = {}
    for row, (quote, line) in enumerate(zip(table["quote"].tolist(), table["line"].tolist(), strict=True)):
        if quote and not math.isnan(line):
            found.setdefault((fold(quote), int(line)), []).append(row)
    return found


def line_keys(book: PriceBook) -> list[LineKey]:
    """For each line of the Enquiries table its folded quote and its number in it, counted from 1; the parts of a set have one number."""
    counts: dict[str, int] = {}
    found: list[LineKey] = []
    table = book.tables["Enquiries"]
    of_set = table["set_line"].tolist() if "set_line" in table.columns else [math.nan] * len(table)
    before: tuple[str, float] = ("", math.nan)
    for quote, own in zip(table["quote"].tolist(), of_set, strict=True):
        name = fold(quote)
        if own != own or (name, own) != before:
            counts[name] = counts.get(name, 0) + 1
        before = (name, own)
        found.append((name, counts[name]))
    return found


def layers_of_products(book: PriceBook) -> dict[str, list[int]]:
    """The rows of the Layers sheet of each product."""
    return _rows_by(book.tables["Layers"], "product")


def _rows_by(table: SheetTable, column: str) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for row, name in enumerate(table[column].tolist()):
        if name:
            found.setdefault(name, []).append(row)
    return found


def says_edges(table: SheetTable) -> bool:
    """Whether any row says how many edges are seen."""
    values: list[NDArray[np.float64]] = [table[name] for name in ("seen_long_edges", "seen_short_edges")]
    return any(not np.isnan(each).all() for each in values if len(each))
