"""The words of the costing model: what rows are numbered by, how columns of words are headed, and what work is counted by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pricing.book.declared.sheets import FORMER_PER
from pricing.costing.engine.columns import Column, Input, Lookup, TableSpec, Text
from pricing.glossary import Quantity, define

define([
    Quantity("line", "Line", "dimensionless", "", 0, "Number of the line in this workbook."),
    Quantity("quote_number", "Quote no.", "dimensionless", "", 0, "Number of the quote in this workbook."),
    Quantity("batch", "Batch no.", "dimensionless", "", 0, "Number of the pooled batches: one quote's use of one mix."),
    Quantity("ingredient", "No.", "dimensionless", "", 0, "Number of the ingredient in this workbook."),
    Quantity("plan_step", "Step no.", "dimensionless", "", 0, "Number of the step in the labour plans."),
    Quantity("finish_part", "Part no.", "dimensionless", "", 0, "Number of the consumable in the finishes."),
    Quantity("extra_part", "Part no.", "dimensionless", "", 0, "Number of the bought-in thing in the products."),
    Quantity("step_number", "No.", "dimensionless", "", 0, "Number of the step in this workbook."),
    Quantity("finish_number", "No.", "dimensionless", "", 0, "Number of the consumable in this workbook."),
    Quantity("extra_number", "No.", "dimensionless", "", 0, "Number of the bought-in thing in this workbook."),
    Quantity("band", "No.", "dimensionless", "", 0, "Number of the band in this workbook."),
])

#: How the words of the model are headed.
WORDS: dict[str, str] = {
    "material": "Material", "kind": "Kind", "supplier": "Supplier",
    "holds_from": "From", "rates": "Quotes from",
    "priced_on": "Priced on", "price_place": "In the price book",
    "pack_unit": "Pack unit", "mix": "Mix", "basis": "Basis", "mould_plan": "Mould plan", "board_material": "Board",
    "sealant_material": "Sealant", "fixing_material": "Fixing", "tape_material": "Tape", "release_material": "Release",
    "labour_plan": "Labour plan",
    "trade": "Trade", "machine": "Machine", "product": "Product", "step": "Step", "per": "Per", "finish": "Finish",
    "surface": "Surface", "quote": "Quote", "customer": "Customer", "zone": "Zone", "refit_trade": "Refit trade",
    "moulds_because": "Why so many", "price_per": "Price per",
    "item": "Item", "recorded": "Recorded", "place": "Cell", "standard": "Standard", "measure": "Counted in",
    "resource": "Hands, moulds, machines", "outline": "Outline", "point": "Point", "on": "On",
    "named_tax": "Tax", "tax_name": "On the quote", "category": "Category", "reason": "Reason",
    "stage": "Stage", "when": "When", "set": "Set",
}

#: The words of the price book's Per and Surface columns, and the column of *lines* that counts each per good piece.
DRIVERS: tuple[tuple[str, str], ...] = (
    ("line", "per_line"), ("quote", "per_quote"), ("batch", "per_batch"), ("mould", "per_mould"), ("cast", "per_cast"),
    ("piece", "per_piece"), ("m3", "per_volume"), ("kg", "per_mass"), ("m2 face", "per_face"), ("m2 underside", "per_underside"),
    ("m2 open side", "per_open_side"), ("m arris", "per_arris"), ("m2 mould", "per_mould_area"), ("m joint", "per_joint"),
)

#: Those by which something is counted along the piece, in a model in which shapes are asked for their extent.
EXTENTS: tuple[tuple[str, str], ...] = (("m length", "per_length"), ("m width", "per_width"))

#: Drivers by which the work of building a mould is counted: it belongs to the mould's cost.
BUILDS_MOULD = frozenset({"mould", "m2 mould", "m joint"})

#: Drivers whose count does not yet include the pieces that are rejected.
DRIVERS_PER_GOOD_PIECE = frozenset({"piece", "m3", "kg", "m2 face", "m2 underside", "m2 open side", "m arris", "m length", "m width"})

#: How a line calls the take-off of one piece.
TAKE_OFF_OF_LINE: tuple[tuple[str, str], ...] = (
    ("cast_volume", "volume"), ("face", "face_area"), ("underside", "underside_area"), ("arris", "arris_length"),
    ("open_side", "open_side_area"), ("mould_board", "mould_area"), ("joint", "joint_length"), ("release_face", "release_area"),
)

#: The product that a row is of; earlier records call it a piece.
PRODUCT = Text("product", remark=True, formerly=("piece",))

#: What work, consumables and bought-in things are counted by.
PER, SURFACE = (Text(name, former_words=FORMER_PER) for name in ("per", "surface"))


def inputs(*names: str, **facts: Any) -> tuple[Column, ...]:
    """Inputs of which the same is known.

    >>> [column.name for column in inputs("coats", "covers")]
    ['coats', 'covers']
    """
    return tuple(Input(name, **facts) for name in names)


def texts(*names: str, **facts: Any) -> tuple[Column, ...]:
    """Words of which the same is known."""
    return tuple(Text(name, **facts) for name in names)


def lookups(table: str, key: str, *names: str, **facts: Any) -> tuple[Column, ...]:
    """Columns of another table, under the names that they have there."""
    return tuple(Lookup(name, table, name, key, **facts) for name in names)


def with_columns(spec: TableSpec, columns: Mapping[str, tuple[Column, ...]]) -> TableSpec:
    """A table in which several columns stand where one stood; what was known of the one is known of that name among them."""
    made: list[Column] = []
    for column in spec.columns:
        several = columns.get(column.name)
        if several is None:
            made.append(column)
            continue
        facts = {name: getattr(column, name) for name in ("seen_by", "part", "result", "cause", "follows", "steers", "unit")}
        made += [replace(each, **facts) if each.name == column.name else each for each in several]
    return replace(spec, columns=tuple(made))
