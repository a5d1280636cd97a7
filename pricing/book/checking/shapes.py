"""Whether each product and each line of a quote has the dimensions of its shape, and can exist with them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pricing.algebra.expressions import evaluate
from pricing.book.checking.sheet_view import SheetView
from pricing.book.declared.dimensions import DIMENSION_NAMES
from pricing.book.price_book import PriceBook
from pricing.book.shown_units import heading_unit
from pricing.book.wording.reporter import example_for, in_unit_of, spoken
from pricing.book.wording.sentences import quoted
from pricing.problems import Problems
from pricing.rules.shapes import SHAPES, Shape

Floats = NDArray[np.float64]


def check_shapes(book: PriceBook, problems: Problems) -> None:
    """Problems: missing-dimension, impossible-shape; unused-dimension as a warning."""
    products = SheetView(book, problems, "Products")
    shapes = np.array(products.texts("shape"), dtype=object)
    given = {name: products.table[name] for name in DIMENSION_NAMES}
    names = products.texts("product")
    own = {name: ~np.isnan(values) for name, values in given.items()}
    unit = heading_unit(book, "mm")
    _check(products, shapes, given, own, names, board_of(book, products.texts("mould_plan")), unit)
    lines = SheetView(book, problems, "Enquiries")
    place = products.table.row_of("product")
    rows = np.array([place.get(name, -1) if name else -1 for name in lines.texts("product")], dtype=np.int64)
    if not len(rows) or not len(names):
        return
    overridden = {name: ~np.isnan(lines.table[name]) for name in DIMENSION_NAMES}
    merged = {name: np.where(overridden[name], lines.table[name], given[name][rows]) for name in DIMENSION_NAMES}
    line_shapes = np.where(rows >= 0, shapes[rows], "")
    touched = np.any(list(overridden.values()), axis=0) & (rows >= 0)
    line_shapes[~touched] = ""  # a line that changes nothing is reported with its product
    plans = [
        line or products.texts("mould_plan")[row]
        for line, row in zip(lines.texts("mould_plan"), rows.tolist(), strict=True)
    ]
    _check(lines, line_shapes, merged, overridden, lines.texts("product"), board_of(book, plans), unit)


def board_of(book: PriceBook, plans: list[str]) -> Floats:
    """Thickness of the board of some mould plans [m]; 18 mm where a plan has none (common practice, no source)."""
    moulds, materials = book.tables["Moulds"], book.tables["Materials"]
    pairs = zip(materials["material"].tolist(), materials["sheet_thickness"].tolist(), strict=True)
    thickness = {name: value for name, value in pairs if value == value}
    boards = dict(zip(moulds["mould_plan"].tolist(), moulds["board"].tolist(), strict=True))
    return np.array([thickness.get(boards.get(plan, ""), 0.018) for plan in plans], dtype=np.float64)


def _check(
    view: SheetView, shapes: NDArray[np.object_], values: dict[str, Floats], own: dict[str, NDArray[np.bool_]],
    products: list[str], board: Floats, unit: str,
) -> None:
    for name, shape in SHAPES.items():
        rows = np.flatnonzero(shapes == name)
        if not len(rows):
            continue
        whole = np.ones(len(rows), dtype=bool)
        for dimension in shape.dimensions:
            if dimension in shape.defaults:
                continue
            column = view.declared.column(dimension)
            absent = np.isnan(values[dimension][rows])
            whole &= ~absent
            for row in rows[absent].tolist() if view.declared.name == "Products" else []:
                view.report(
                    "missing-dimension", dimension, row, shape=name, what=_with_article(spoken(column)),
                    product=quoted(products[row]), example=example_for(in_unit_of(column, unit)),
                )
        for dimension in DIMENSION_NAMES:
            if dimension not in shape.dimensions:
                drawn = dimension in shape.drawn_by and ~np.isnan([values[each][rows] for each in shape.drawn_by]).any(axis=0)
                for row in rows[own[dimension][rows] & ~np.asarray(drawn)].tolist():
                    what = spoken(view.declared.column(dimension))
                    view.report("unused-dimension", dimension, row, warning=True, what=what, shape=name)
        _limits(view, shape, values, rows[whole], board)


def _with_article(word: str) -> str:
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def _limits(view: SheetView, shape: Shape, values: dict[str, Floats], rows: NDArray[np.int64], board: Floats) -> None:
    if not len(rows) or shape.measured:  # what is measured elsewhere is checked there
        return
    dimensions: dict[str, Floats] = shape.filled({name: values[name][rows] for name in shape.dimensions})
    with np.errstate(all="ignore"):
        results = shape.take_off(dimensions, board[rows])
        for limit in shape.limits:
            room = np.broadcast_to(np.asarray(evaluate(limit.room, results), dtype=np.float64), rows.shape)
            wrong = ~(room > 1e-12) if limit.strict else ~(room >= -1e-12)
            for row in rows[wrong].tolist():
                view.report("impossible-shape", limit.about, row, sentence=limit.sentence)
