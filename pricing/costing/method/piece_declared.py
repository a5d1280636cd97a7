"""What the model has besides where the price book says more of its pieces: cut-outs, edges at a wall, outlines, layers, steel.

A price book without them has none of these tables and columns. Each table that has to know of them is declared in
``declared`` as it is without; here stands what takes the place of some of its columns, and what comes after them.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import replace

from pricing.costing.engine.columns import ByWord, Column, Computed, Input, Largest, Lookup, Sum, TableSpec, Text
from pricing.costing.method.vocabulary import DRIVERS, EXTENTS, PRODUCT, inputs, lookups, texts, with_columns
from pricing.dataclass import dataclass
from pricing.rules import cut_outs, layers, measured_prices, outlines, pieces, prices, sets_and_services
from pricing.rules.geometry import measures, seen_edges
from pricing.rules.geometry.shape import Shape
from pricing.rules.shapes import SHAPES


@dataclass(frozen=True, slots=True)
class PieceForms:
    """What a price book says of its pieces.

    Parameters
    ----------
    cut : cut-outs, or edges that are not seen
    composed : layers, or what is cast in
    extents : something is counted by length or width
    priced_by_measure : a piece is priced by the square metre, the metre or the kilogram
    services : some lines are services
    """

    cut: bool = False
    composed: bool = False
    extents: bool = False
    priced_by_measure: bool = False
    services: bool = False

    @property
    def measured(self) -> bool:
        """Whether shapes are asked for more than their take-off."""
        return self.cut or self.composed or self.extents


#: A price book that says nothing of its pieces but their dimensions.
PLAIN = PieceForms()

#: The drivers of a model in which shapes are asked for their extent.
ALL_DRIVERS = (*DRIVERS, *EXTENTS)

CUT_OUTS = TableSpec("cut-outs", "cut_out", (
    *inputs("cut_out", "line"),
    PRODUCT,
    *inputs("is_round", follows="the Form says so", steers=True),
    *inputs("cut_out_length", "cut_out_width", "corner_radius", "cut_out_diameter", "cut_outs_alike"),
    *inputs("is_placed", follows="its place is given", steers=True),
    *inputs("from_front"),
    *lookups("take-off", "line", "piece_width", "slab_depth", "middle_depth", "fall_per_metre", "board"),
    *(Computed(rule) for rule in (
        cut_outs.cut_length, cut_outs.cut_width, cut_outs.cut_radius, cut_outs.off_middle, cut_outs.cut_depth, cut_outs.cut_plan_area,
        cut_outs.cut_girth, cut_outs.top_slope, cut_outs.top_girth, cut_outs.core_girth,
    )),
    *(Computed(rule, result=True) for rule in (
        cut_outs.taken_volume, cut_outs.taken_underside, cut_outs.taken_top, cut_outs.added_reveal, cut_outs.added_arris,
        cut_outs.added_board, cut_outs.added_release,
    )),
), scope="work", cause=("piece", "Cut-outs"), subject="cut-out of {product}", called=("cut-out", "cut-outs"))

LAYERS = TableSpec("layers", "layer", (
    *inputs("layer", "line", "batch"),
    PRODUCT,
    *texts("mix"),
    Text("on", remark=True),
    *inputs("layer_thickness"),
    *inputs("covers_face", "leaves_inside", "covers_underside", follows="on", steers=True),
    *lookups("lines", "line", "face", "underside", "arris", "casts", "quantity", "rounds"),
    Lookup("inside", "take-off", "inside_area", "line"),
    Computed(layers.layer_area),
    Computed(layers.layer_volume, result=True),
    *lookups("mixes", "mix", "fresh_density", "mix_price"),
    Computed(layers.layer_mass),
    Computed(layers.layer_cost, result=True),
    Computed(layers.layer_good_volume),
    Computed(layers.layer_mixed_volume),
    *lookups("batches", "batch", "loads", "mixed_volume_of_mix"),
    Computed(layers.layer_loads),
), scope="work", cause=("piece", "Layers"), subject="layer of {mix} on {product}", called=("layer", "layers"))

OUTLINE_POINTS = TableSpec("outline points", "outline_point", (
    *inputs("outline_point"),
    *texts("outline", "point"),
    *inputs("x", "y", "point_radius", "next_point", "previous_point", "first_point"),
    *(Lookup(name, "outline points", column, key) for name, column, key in outlines.FROM_OTHERS[:2]),
    *(Computed(rule) for rule in (outlines.side_x, outlines.side_y, outlines.side, outlines.cross)),
    *(Lookup(name, "outline points", column, key) for name, column, key in outlines.FROM_OTHERS[3:]),
    *(Computed(rule) for rule in (outlines.half_turn, outlines.cut_back, outlines.arc, outlines.corner_takes)),
    *(Lookup(name, "outline points", column, key) for name, column, key in outlines.FROM_OTHERS[2:3]),
    *(Computed(rule) for rule in outlines.OF_A_POINT[8:]),
), cause=("piece", "Outlines"), subject="point {point} of {outline}", called=("point", "points"))

OUTLINES = TableSpec("outlines", "outline", (
    *texts("outline"),
    *(Sum(name, "outline points", column, "outline") for name, column in outlines.ADDED_UP),
    *(Largest(name, "outline points", column, "outline") for name, column in outlines.LARGEST_OF),
    *(Computed(rule, result=True) for rule in outlines.OF_AN_OUTLINE),
), cause=("piece", "Outlines"), subject="{outline}", called=("outline", "outlines"))


def more_of_take_off(shape: Shape, forms: PieceForms) -> tuple[Column, ...]:
    """What the take-off of a shape has besides: its extent, what a cut-out asks for, its inside, and its edges at a wall."""
    found: list[Column] = []
    if forms.measured:
        rules = {rule.__name__: rule for rule in measures.RULES.get(shape.name, ())}
        none = {name: Input(name, follows="the shape has none", steers=True) for name in measures.MEASURES}
        found += [Computed(rules[name]) if name in rules else none[name] for name in measures.MEASURES]
    if forms.cut and shape.name in seen_edges.RULES:
        found += [*inputs(*seen_edges.ALL_SEEN), *map(Computed, seen_edges.RULES[shape.name])]
    elif forms.cut:
        found += inputs("wall_face", "wall_arris", follows="all its edges are seen", steers=True)
    return tuple(found)


#: What a line has where its piece is cut: its take-off from that of the whole shape.
_CUT: Mapping[str, tuple[Column, ...]] = {
    "cast_volume": (
        Lookup("whole_volume", "take-off", "volume", "line"), Sum("cut_volume", "cut-outs", "taken_volume", "line"),
        Computed(pieces.cast_volume),
    ),
    "face": (
        Lookup("whole_face", "take-off", "face_area", "line"), Sum("cut_top", "cut-outs", "taken_top", "line"),
        Lookup("hidden_face", "take-off", "wall_face", "line"), Sum("cut_reveal", "cut-outs", "added_reveal", "line"),
        Computed(pieces.face),
    ),
    "underside": (
        Lookup("whole_underside", "take-off", "underside_area", "line"), Sum("cut_underside", "cut-outs", "taken_underside", "line"),
        Computed(pieces.underside),
    ),
    "arris": (
        Lookup("whole_arris", "take-off", "arris_length", "line"), Lookup("hidden_arris", "take-off", "wall_arris", "line"),
        Sum("cut_arris", "cut-outs", "added_arris", "line"), Computed(pieces.arris),
    ),
    "open_side": (Lookup("whole_open_side", "take-off", "open_side_area", "line"), Computed(pieces.open_side)),
    "mould_board": (
        Lookup("whole_mould_board", "take-off", "mould_area", "line"), Sum("core_board", "cut-outs", "added_board", "line"),
        Computed(pieces.mould_board),
    ),
    "joint": (
        Lookup("whole_joint", "take-off", "joint_length", "line"), Sum("core_joint", "cut-outs", "added_arris", "line"),
        Computed(pieces.joint),
    ),
    "release_face": (
        Lookup("whole_release_face", "take-off", "release_area", "line"), Sum("core_release", "cut-outs", "added_release", "line"),
        Computed(pieces.release_face),
    ),
}

#: What a line has where its piece is of several mixes or holds steel.
_COMPOSED: Mapping[str, tuple[Column, ...]] = {
    "mass": (
        Sum("layers_volume", "layers", "layer_volume", "line"), Computed(layers.backing_volume),
        Sum("layers_mass", "layers", "layer_mass", "line"), Computed(layers.concrete_mass),
        Sum("cast_in_mass", "extras", "extra_mass", "line"), Computed(layers.mass),
    ),
    "concrete_per_cast": (Sum("layers_cost", "layers", "layer_cost", "line"), Computed(layers.concrete_per_cast)),
    "good_volume": (Computed(prices.good_volume), Computed(layers.backing_good_volume)),
    "mixed_volume": (Computed(prices.mixed_volume), Computed(layers.backing_mixed_volume)),
    "loads_of_line": (Sum("layers_loads", "layers", "layer_loads", "line"), Computed(layers.loads_of_line)),
    "per_mass": (Computed(layers.per_mass),),
}

_EXTENT: Mapping[str, tuple[Column, ...]] = {
    "per_line": (
        Lookup("length_of_piece", "take-off", "piece_length", "line"), Lookup("width_of_piece", "take-off", "piece_width", "line"),
    ),
    "per_joint": (Computed(layers.per_length), Computed(layers.per_width)),
}


#: What a line has where prices are for a measure.
_MEASURED: Mapping[str, tuple[Column, ...]] = {
    "price_steps": (
        Text("price_per", remark=True), ByWord("counted_each", "lines", "line", DRIVERS, "price_per", unit="price_per"),
        Input("measure_size", not_kept=1.0, follows="price_per", steers=True, unit="price_per"), Computed(measured_prices.measure_each),
        Computed(measured_prices.price_steps),
    ),
    "unit_price": (Computed(measured_prices.measure_price, seen_by="customer"), Computed(measured_prices.unit_price)),
    "line_net": (Computed(measured_prices.charged_measure), Computed(measured_prices.line_net)),
}


#: What a line has where some are services.
_SERVICES: Mapping[str, tuple[Column, ...]] = {
    "rounds": (Input("is_service", follows="it stands on the sheet Services", steers=True), Computed(sets_and_services.rounds)),
}


def of_lines(spec: TableSpec, forms: PieceForms) -> TableSpec:
    """The lines of a model in these forms."""
    made = with_columns(spec, _MEASURED) if forms.priced_by_measure else spec
    made = with_columns(made, _SERVICES) if forms.services else made
    if forms.cut:
        made = with_columns(made, _CUT)
    if forms.composed:
        made = with_columns(made, _COMPOSED)
    if forms.measured:
        before, after = _EXTENT["per_line"], _EXTENT["per_joint"]
        own = {column.name: column for column in made.columns}
        made = with_columns(made, {"per_line": (*before, own["per_line"]), "per_joint": (own["per_joint"], *after)})
        made = _with_all_drivers(made)
    return made


def _with_all_drivers(spec: TableSpec) -> TableSpec:
    """A table in which what a word chooses may be counted by any driver."""
    return replace(spec, columns=tuple(
        replace(column, columns=ALL_DRIVERS) if isinstance(column, ByWord) and column.columns == DRIVERS else column
        for column in spec.columns
    ))


def of_batches(spec: TableSpec, forms: PieceForms) -> TableSpec:
    """The pooled batches: what lines and what layers are cast of."""
    if not forms.composed:
        return spec
    return with_columns(spec, {"good_volume_of_mix": (
        Sum("good_volume_of_lines", "lines", "backing_good_volume", "batch"),
        Sum("good_volume_of_layers", "layers", "layer_good_volume", "batch"), Computed(layers.good_volume_of_mix),
    ), "rounds_of_mix": (
        Largest("rounds_of_lines", "lines", "rounds", "batch"), Largest("rounds_of_layers", "layers", "rounds", "batch"),
        Computed(layers.rounds_of_mix),
    ), "mixed_volume_of_mix": (
        Sum("mixed_volume_of_lines", "lines", "backing_mixed_volume", "batch"),
        Sum("mixed_volume_of_layers", "layers", "layer_mixed_volume", "batch"), Computed(layers.mixed_volume_of_mix),
    )})


def of_uses(spec: TableSpec, forms: PieceForms) -> TableSpec:
    """What is done and used on the lines: with all drivers, and with the mass of what is cast in."""
    made = spec
    if forms.measured:
        made = _with_all_drivers(made)
    if forms.composed and spec.name == "extras":
        mass = (*lookups("extra parts", "extra_part", "is_cast_in", "unit_mass"), Computed(layers.extra_mass))
        made = replace(made, columns=(*made.columns, *mass))
    if forms.composed and spec.name == "extra parts":
        mass = (Input("is_cast_in", follows="its material is of that kind", steers=True), *lookups("other prices", "material", "unit_mass"))
        made = replace(made, columns=(*made.columns, *mass))
    if forms.composed and spec.name == "other prices":
        made = replace(made, columns=(*made.columns, Input("unit_mass")))
    return made


@functools.cache
def in_forms(spec: TableSpec, forms: PieceForms) -> TableSpec:
    """A table as it is in a model of these forms; itself where it does not differ."""
    if forms == PLAIN:
        return spec
    if spec.name == "lines":
        return of_lines(spec, forms)
    return of_batches(spec, forms) if spec.name == "batches" else of_uses(spec, forms)


def tables_of_pieces(forms: PieceForms, *, by_outline: bool) -> list[TableSpec]:
    """The tables that a model has besides."""
    return [
        *([OUTLINE_POINTS, OUTLINES] if by_outline else []), *([CUT_OUTS] if forms.cut else []), *([LAYERS] if forms.composed else []),
    ]


assert set(SHAPES) >= set(measures.RULES)
