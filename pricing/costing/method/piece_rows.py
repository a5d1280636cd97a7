"""Rows of the model for what the pieces of some lines have besides their dimensions."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.arrays import is_among
from pricing.book.checking.pieces import layer_flags
from pricing.book.pieces import outline_rows
from pricing.costing.engine.columns import Input, TableSpec
from pricing.costing.engine.model import Rows
from pricing.costing.engine.packed_columns import Codes, DictionaryColumn, Floats, TextColumn, first_seen
from pricing.costing.lines.order_lines import place_of, places_of
from pricing.costing.method import piece_declared
from pricing.costing.method.price_sets import PricingContext
from pricing.costing.method.rows_builder import RowsBuilder, safe_key
from pricing.rules.geometry.shape import Shape


def more_of_sizes(context: PricingContext, spec: TableSpec, shape: Shape, chosen: NDArray[np.intp]) -> dict[str, Floats]:
    """The inputs that the take-off of a shape has besides its dimensions, for some lines."""
    wanted = {column.name for column in spec.columns if isinstance(column, Input)}
    found = {name: values for name, values in context.pieces.edges(chosen).items() if name in wanted}
    for name in wanted - {*found, *shape.dimensions, "line"}:
        found[name] = np.zeros(len(chosen))
    if "piece_length" in wanted:  # a solid has the extent of its model
        for name in ("piece_length", "piece_width"):
            found[name] = np.zeros(len(chosen))
        models, product = context.book.models, context.lines.product[chosen]
        for place in np.flatnonzero(is_among(product, models)).tolist():
            model = models[int(product[place])]
            found["piece_length"][place], found["piece_width"][place] = model.length, model.width
    return found


#: What is said of a cut-out of each form; what is not of its form has no place in the price book, nor
#: has the count of cut-outs that have their own position, which is 1.
_SIZES_OF_FORM = {"rectangle": ("length", "width", "corner_radius"), "round": ("diameter",)}


def cut_out_rows(context: PricingContext) -> Rows:
    """The cut-outs of the lines."""
    table = context.book.tables["Cut-outs"]
    lines, rows = context.pieces.cut_outs.lines, context.pieces.cut_outs.rows
    form, placed = table.columns["form"][rows], ~np.isnan(table.columns["from_left"][rows])
    said = {name: form == of for of, names in _SIZES_OF_FORM.items() for name in names} | {"from_front": placed, "count": ~placed}
    given: dict[str, NDArray[Any]] = {
        "cut_out": np.arange(1, len(rows) + 1), "line": lines + 1, "is_round": form == "round", "is_placed": placed,
        **{name: np.nan_to_num(table.columns[of][rows], nan=_BLANK.get(of, 0.0)) for name, of in _CUT_OUT_CELLS.items()},
    }
    places = {name: places_of(table, of, rows, said[of]) for name, of in _CUT_OUT_CELLS.items()}
    return Rows(piece_declared.CUT_OUTS, len(rows), given, {"product": context.product_keys.taken(lines)}, places)


#: The numbers of a cut-out and the columns that they stand in; and what a blank stands for where that is not nothing.
_CUT_OUT_CELLS = {
    "cut_out_length": "length", "cut_out_width": "width", "corner_radius": "corner_radius", "cut_out_diameter": "diameter",
    "cut_outs_alike": "count", "from_front": "from_front",
}
_BLANK = {"count": 1.0}


def layer_rows(context: PricingContext, batches: NDArray[np.intp]) -> Rows:
    """The layers of the lines.

    Parameters
    ----------
    batches : for each layer the number of its batch, counted from 0
    """
    table = context.book.tables["Layers"]
    lines, rows = context.pieces.layers.lines, context.pieces.layers.rows
    on = table.words("on").taken(rows)
    flags = [layer_flags(word) for word in on.words]
    given: dict[str, NDArray[Any]] = {
        "layer": np.arange(1, len(rows) + 1), "line": lines + 1, "batch": batches + 1, "layer_thickness": table.columns["thickness"][rows],
        **{name: np.array([flag[name] for flag in flags], dtype=np.float64)[on.codes] for name in layer_flags("")},
    }
    text: dict[str, TextColumn] = {"product": context.product_keys.taken(lines), "mix": layer_mix_keys(context), "on": on}
    return Rows(piece_declared.LAYERS, len(rows), given, text, {"layer_thickness": places_of(table, "thickness", rows)})


def layer_mixes(context: PricingContext) -> tuple[DictionaryColumn, Codes]:
    """The mix of each layer, and the number of its set of prices."""
    layers = context.pieces.layers
    return context.book.tables["Layers"].words("mix").taken(layers.rows), np.asarray(context.set_of_line, dtype=np.int32)[layers.lines]


def layer_mix_keys(context: PricingContext) -> DictionaryColumn:
    """The key of the mix of each layer."""
    names, sets = layer_mixes(context)
    return context.keys(names, sets)


def used_mixes(context: PricingContext) -> list[tuple[str, str]]:
    """The mixes of lines and layers, each with the label of its set of prices."""
    names, sets = layer_mixes(context)
    several = max(len(context.labels), 1)
    pairs, _, _ = first_seen(names.codes.astype(np.intp) * several + sets, len(names.words) * several)
    of_layers = [(names.words[pair // several], context.labels[pair % several]) for pair in pairs.tolist()]
    return list(dict.fromkeys([*context.used("mix"), *of_layers]))


def outline_tables(context: PricingContext) -> list[Rows]:
    """The outlines of the lines and their points; no tables where no line has one."""
    names = dict.fromkeys(name for name, _ in context.used("outline") if name) if context.by_outline else {}
    if not names:
        return []
    table = context.book.tables["Outlines"]
    points, outlines = RowsBuilder(piece_declared.OUTLINE_POINTS), RowsBuilder(piece_declared.OUTLINES)
    of = outline_rows(table)
    for name in names:
        rows, first = of[name], points.count + 1
        for place, row in enumerate(rows):
            points.add(
                outline_point=first + place, outline=safe_key(name), point=str(table.columns["point"][row]),
                x=(float(table.columns["x"][row]), place_of(table, "x", row)),
                y=(float(table.columns["y"][row]), place_of(table, "y", row)),
                point_radius=(float(np.nan_to_num(table.columns["radius"][row])), place_of(table, "radius", row)),
                next_point=first + (place + 1) % len(rows), previous_point=first + (place - 1) % len(rows), first_point=first,
            )
        outlines.add(outline=safe_key(name))
    return [points.rows(), outlines.rows()]
