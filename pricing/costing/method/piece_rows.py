"""Rows of the model for what the pieces of some lines have besides their dimensions."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pricing.book.checking.pieces import layer_flags
from pricing.book.pieces import outline_rows
from pricing.costing.engine.columns import Input, TableSpec
from pricing.costing.engine.model import Rows
from pricing.costing.engine.packed_columns import DictionaryColumn, Floats
from pricing.costing.lines.order_lines import place_of
from pricing.costing.method import piece_declared
from pricing.costing.method.price_sets import PricingContext
from pricing.costing.method.rows_builder import RowsBuilder, number_or, safe_key
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
        for place in np.flatnonzero(np.isin(product, np.fromiter(models, dtype=np.intp, count=len(models)))).tolist():
            model = models[int(product[place])]
            found["piece_length"][place], found["piece_width"][place] = model.length, model.width
    return found


#: What is said of a cut-out of each form; what is not of its form has no place in the price book, nor
#: has the count of cut-outs that have their own position, which is 1.
_SIZES_OF_FORM = {"rectangle": ("length", "width", "corner_radius"), "round": ("diameter",)}


def cut_out_rows(context: PricingContext) -> Rows:
    """The cut-outs of the lines."""
    table, builder = context.book.tables["Cut-outs"], RowsBuilder(piece_declared.CUT_OUTS)
    for line, rows in context.pieces.cut_outs.items():
        for row in rows:
            form = str(table.columns["form"][row])
            placed = not np.isnan(table.columns["from_left"][row])
            said = {*_SIZES_OF_FORM[form], "from_front" if placed else "count"}

            def cell(name: str, blank: float = 0.0, row: int = row, said: set[str] = said) -> tuple[float, str]:
                return number_or(float(table.columns[name][row]), blank), place_of(table, name, row) if name in said else ""

            builder.add(
                cut_out=builder.count + 1, line=line + 1, product=_product(context, line),
                is_round=(float(form == "round"), ""),
                cut_out_length=cell("length"), cut_out_width=cell("width"), corner_radius=cell("corner_radius"),
                cut_out_diameter=cell("diameter"), cut_outs_alike=cell("count", 1.0),
                is_placed=float(placed), from_front=cell("from_front"),
            )
    return builder.rows()


def layer_rows(context: PricingContext, batches: list[int]) -> Rows:
    """The layers of the lines.

    Parameters
    ----------
    batches : for each layer the number of its batch, counted from 0
    """
    table, builder = context.book.tables["Layers"], RowsBuilder(piece_declared.LAYERS)
    keys = layer_mix_keys(context).array().tolist()
    for line, row in layers_in_use(context):
        builder.add(
            layer=builder.count + 1, line=line + 1, batch=batches[builder.count] + 1, product=_product(context, line),
            mix=keys[builder.count], on=str(table.columns["on"][row]),
            layer_thickness=(float(table.columns["thickness"][row]), place_of(table, "thickness", row)),
            **layer_flags(str(table.columns["on"][row])),
        )
    return builder.rows()


def layers_in_use(context: PricingContext) -> list[tuple[int, int]]:
    """Each layer as its line and its row of the Layers sheet, both counted from 0."""
    return [(line, row) for line, rows in context.pieces.layers.items() for row in rows]


def layer_mixes(context: PricingContext) -> tuple[DictionaryColumn, NDArray[np.int32]]:
    """The mix of each layer, and the number of its set of prices."""
    used = layers_in_use(context)
    mixes = context.book.tables["Layers"].columns["mix"][[row for _, row in used]] if used else np.zeros(0, dtype=object)
    sets = np.asarray(context.set_of_line, dtype=np.int32)[[line for line, _ in used]] if used else np.zeros(0, dtype=np.int32)
    return DictionaryColumn.of(mixes), sets


def layer_mix_keys(context: PricingContext) -> DictionaryColumn:
    """The key of the mix of each layer."""
    names, sets = layer_mixes(context)
    return context.keys(names, sets)


def used_mixes(context: PricingContext) -> list[tuple[str, str]]:
    """The mixes of lines and layers, each with the label of its set of prices."""
    names, sets = layer_mixes(context)
    of_layers = [(names.words[code], context.labels[number]) for code, number in zip(names.codes.tolist(), sets.tolist(), strict=True)]
    return list(dict.fromkeys([*context.used("mix"), *of_layers]))


def outline_tables(context: PricingContext) -> list[Rows]:
    """The outlines of the lines and their points; no tables where no line has one."""
    names = [name for name in context.plans["outline"].words if name] if context.by_outline else []
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


def _product(context: PricingContext, line: int) -> str:
    keys = context.product_keys
    return str(keys.words[keys.codes[line]])
