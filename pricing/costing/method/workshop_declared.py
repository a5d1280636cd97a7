"""What a workshop has, pays and charges, declared: settings, prices, mixes, moulds, people, machines, plans, customers.

It is the first half of the costing method; what is done on the lines follows in ``declared``. Nothing is computed here.
"""

from __future__ import annotations

import functools
from dataclasses import replace

from pricing.costing.engine.columns import Column, Computed, Input, Lookup, Sum, TableSpec, Text
from pricing.costing.method.vocabulary import PER, PRODUCT, SURFACE, inputs, lookups, texts
from pricing.rules import learning as learning_rules
from pricing.rules import machines, materials, mixes, moulds, overheads, prices, totals

SETTINGS = TableSpec("settings", "setting", (
    *inputs("target_margin", "lowest_margin", seen_by="maker"),
    Input("price_step", seen_by="customer", cause="Price step"),
    Input("round_up", cause="Price step"),
    Input("list_at_usual_run"),
    Input("list_from_usual_run", not_kept=0.0),
    Input("taken_share", not_kept=0.0, seen_by="maker", steers=True),
    Input("minor_digits", follows="follows from the currency"),
    Input("smallest_order", seen_by="customer"),
    *inputs("deposit_share", "tax_down"),
    Input("cash_step", seen_by="customer", cause="Cash step"),
    Input("one_unit_of_money", not_kept=1.0, seen_by="customer", follows="what stands for a cash step where there is none"),
    Computed(totals.cash_divisor, seen_by="customer"),
    *inputs("loads_by_day", "aggregates_saturated", not_kept=0.0),
    *inputs("mix_allowance", "mixer_load", "electricity_price", "release_covers", "one_person_lift"),
    Input("board_by_sheets", steers=True, settles=True),
    Input("cumulative_average", steers=True),
    Input("standard_tax_rate"),
    *inputs("overhead_per_labour_hour", "overhead_per_year", "productive_hours", cause="Overhead"),
    Input("one_cubic_metre", follows="what a mix is made up to"),
    Text("refit_trade", formerly=("refit_grade",)),
    Lookup("refit_hourly_cost", "trades", "hourly_cost", "refit_trade"),
    Computed(overheads.overhead_rate),
    Computed(prices.applied_overhead_rate),
), cause=("setting", "{label}"), called=("trade that refits moulds", "settings"))

_PACK: tuple[Column, ...] = (
    *texts("material"),
    *texts("kind", "supplier", "priced_on", "price_place", "pack_unit", remark=True),
    Input("pack_size", unit="pack_unit"),
    *inputs("pack_price", "carriage_in", "wastage"),
    Computed(materials.unit_price_of_material, result=True, unit="pack_unit"),
)


def _prices(name: str, *columns: Column) -> TableSpec:
    return TableSpec(name, "material", (*_PACK, *columns), "prices", cause=("material", "{material}"), subject="{material}")


#: Prices of what goes into a mix, by the kilogram.
MIX_PRICES = _prices(
    "mix prices",
    *inputs("kilograms_per_pack_unit", "litres_per_pack_unit", follows="pack_unit", steers=True),
    *inputs("density", "bulk_density"),
    Computed(materials.sold_density),
    Computed(materials.pack_unit_mass),
    Computed(materials.price_per_kilogram, result=True),
)

#: Prices of board, by the square metre.
BOARD_PRICES = _prices(
    "board prices",
    *inputs("square_metres_per_pack_unit", "sheets_per_pack_unit", follows="pack_unit", steers=True),
    *inputs("sheet_length", "sheet_width", "board", settles=True),
    Computed(materials.pack_unit_area),
    Computed(materials.price_per_square_metre, result=True),
)

#: Prices of sealant and release, by the litre.
LIQUID_PRICES = _prices(
    "liquid prices",
    *inputs("litres_per_pack_unit", "kilograms_per_pack_unit", follows="pack_unit", steers=True),
    *inputs("density", "bulk_density"),
    Computed(materials.sold_density),
    Computed(materials.pack_unit_volume),
    Computed(materials.price_per_litre, result=True),
)

#: Prices of everything that is used in the unit in which it is sold.
OTHER_PRICES = _prices("other prices")

INGREDIENTS = TableSpec("ingredients", "ingredient", (
    *inputs("ingredient"),
    *texts("mix", "material"),
    Text("basis", remark=True),
    Input("amount", unit="basis"),
    *inputs("plain_amount", "bulk_amount", "volume_of_amount", "by_parts", "by_cubic_metre", "by_binder", follows="basis", steers=True),
    *inputs("is_binder", "water_share", "is_pigment", "is_air", follows="material", steers=True),
    *lookups("mix prices", "material", "density", "bulk_density"),
    *lookups("mix prices", "material", "price_per_kilogram", result=True),
    Computed(mixes.driven_mass),
    Computed(mixes.driven_volume),
    Computed(mixes.binder_in_parts),
    Computed(mixes.binder_as_stated),
    Computed(mixes.volume_in_parts),
    Computed(mixes.volume_as_stated),
    Computed(mixes.volume_with_binder),
    *lookups("mixes", "mix", "parts_in_cubic_metre", "binder_content"),
    Computed(mixes.driver),
    Computed(mixes.ingredient_mass, result=True),
    Computed(mixes.ingredient_volume),
    *inputs("moisture", "absorption", not_kept=0.0),
    Computed(mixes.dry_content),
    Computed(mixes.bought_mass),
    Computed(mixes.ingredient_cost, result=True),
    Computed(mixes.binder_mass),
    Computed(mixes.water_mass),
    Computed(mixes.pigment_mass),
    Computed(mixes.air_free_volume),
), cause=("recipe", "{mix}"), subject="{material}", called=("ingredient", "ingredients"))

MIXES = TableSpec("mixes", "mix", (
    *texts("mix"),
    *inputs("has_parts", "no_parts", follows="mix", steers=True),
    Sum("parts_binder_mass", "ingredients", "binder_in_parts", "mix", steers=True),
    Sum("fixed_binder_mass", "ingredients", "binder_as_stated", "mix", steers=True),
    Sum("parts_volume", "ingredients", "volume_in_parts", "mix", steers=True),
    Sum("fixed_volume", "ingredients", "volume_as_stated", "mix", steers=True),
    Sum("binder_volume", "ingredients", "volume_with_binder", "mix", steers=True),
    Computed(mixes.parts_in_cubic_metre),
    Computed(mixes.binder_content),
    Sum("water_content", "ingredients", "water_mass", "mix"),
    Sum("pigment_content", "ingredients", "pigment_mass", "mix"),
    Sum("solid_volume", "ingredients", "air_free_volume", "mix"),
    Sum("placed_volume", "ingredients", "ingredient_volume", "mix"),
    Sum("fresh_density", "ingredients", "ingredient_mass", "mix", result=True),
    Computed(mixes.water_binder_ratio),
    Computed(mixes.pigment_share),
    Sum("mix_price", "ingredients", "ingredient_cost", "mix", result=True),
), cause=("recipe", "{mix}"), subject="{mix}")

MOULDS = TableSpec("moulds", "mould_plan", (
    *texts("mould_plan", "board_material", "sealant_material", "fixing_material", "tape_material", "release_material"),
    Input("casts_per_mould", settles=True),
    *inputs("sealant_radius", "fixing_spacing", "refit_every", "refit_minutes"),
    Input("pieces_per_mould", not_kept=1.0, settles=True),
    Input("is_bought", not_kept=0.0, follows="board_material", steers=True),
    *inputs("mould_price", "mould_resale", "pattern_price", not_kept=0.0),
    Input("moulds_of_pattern", not_kept=1.0),
    Computed(moulds.mould_life),
    Computed(moulds.bought_mould_cost),
    Lookup("board", "board prices", "board", "board_material"),
    Lookup("board_price", "board prices", "price_per_square_metre", "board_material"),
    Lookup("sealant_price", "liquid prices", "price_per_litre", "sealant_material"),
    Lookup("fixing_price", "other prices", "unit_price_of_material", "fixing_material"),
    Lookup("tape_price", "other prices", "unit_price_of_material", "tape_material"),
    Lookup("release_price", "liquid prices", "price_per_litre", "release_material"),
    Computed(moulds.sealant_volume),
    Computed(moulds.joint_cost),
    Computed(moulds.release_cost),
), cause=("mould plan", "{mould_plan}"), subject="{mould_plan}", nothing="mould_plan")

TRADES = TableSpec("trades", "trade", (
    Text("trade", formerly=("grade",)), Text("holds_from", remark=True, not_kept=""), *inputs("hourly_cost"),
), cause=("wage", "{trade}"), subject="{trade}", nothing="trade", formerly=("grades",))

_MACHINE: tuple[Column, ...] = (
    *texts("machine"),
    *inputs("machine_price", "resale", "life_hours", "upkeep", "power"),
    Computed(machines.machine_rate, result=True),
)


def _machines(*columns: Column) -> TableSpec:
    return TableSpec("machines", "machine", columns, cause=("machine", "{machine}"), subject="{machine}", nothing="machine")


MACHINES = _machines(*_MACHINE)

#: Machines that also carry interest on the money tied up in them, on average over their years.
MACHINES_WITH_INTEREST = _machines(
    *_MACHINE,
    *inputs("hours_used_per_year", "interest_rate"),
    Computed(machines.years_of_life),
    Computed(machines.residual_share),
    Computed(machines.average_investment_factor),
    Computed(machines.machine_rate_with_interest),
)


@functools.cache
def plan_steps_table(*, learning: bool = False, interest: bool = False) -> TableSpec:
    """The steps of the labour plans, as the price book has them; with learning or interest where the book asks for it."""
    taught: tuple[Column, ...] = (
        Input("learning_slope"),
        *inputs("by_count", "by_piece", "by_mould", follows="per", steers=True),
        Computed(learning_rules.learning_exponent),
    )
    return TableSpec("plan steps", "plan_step", (
        *inputs("plan_step"),
        *texts("labour_plan", "step"), Text("trade", formerly=("grade",)), *texts("machine"), PER,
        Input("minutes"),
        *inputs("lost_on_reject", "builds_mould", follows="per", steers=True),
        Input("attended", not_kept=1.0, follows="trade", steers=True),
        *(taught if learning else ()),
        *lookups("trades", "trade", "hourly_cost"),
        Lookup("machine_rate_of_step", "machines", "machine_rate_with_interest" if interest else "machine_rate", "machine"),
    ), cause=("labour plan", "{labour_plan}"), subject="{step}")


#: The consumables of the finishes, as the price book has them.
FINISH_PARTS = TableSpec("finish parts", "finish_part", (
    *inputs("finish_part"),
    *texts("finish", "material"), SURFACE,
    *inputs("coats", "covers"),
    *lookups("other prices", "material", "unit_price_of_material", result=True),
), cause=("finish", "{finish}"), subject="{material}")

#: What products need besides concrete, as the price book has it.
EXTRA_PARTS = TableSpec("extra parts", "extra_part", (
    *inputs("extra_part"),
    PRODUCT,
    *texts("material"), PER,
    *inputs("extra_amount"),
    Input("lost_on_reject", not_kept=0.0, follows="per", steers=True),
    *lookups("other prices", "material", "unit_price_of_material", result=True),
), cause=("piece", "What is bought in"), subject="{material}")

BANDS = TableSpec("delivery", "band", (
    *inputs("band"),
    *texts("zone"),
    Input("up_to"),
    Input("charge", seen_by="customer"),
), cause=("delivery", "Delivery"), subject="zone {zone}", called=("delivery band", "delivery bands"), nothing="zone")

CUSTOMERS = TableSpec("customers", "customer", (
    Text("customer", remark=True),
    Input("discount_rate"),
    Input("has_own_tax_rate", follows="1 where the customer has a tax rate of their own", steers=True),
    Input("own_tax_rate"),
    Computed(totals.tax_rate),
), cause=("customer", "Terms of customers"), subject="{customer}")

#: What of the settings follows from the day: where it differs between the days of the lines, it stands in a row of rates for each.
OF_THE_DAY = (
    "electricity_price", "overhead_per_labour_hour", "overhead_per_year", "productive_hours", "refit_trade", "refit_hourly_cost",
    "overhead_rate", "applied_overhead_rate",
)

#: The rates of each set of prices.
RATES = TableSpec(
    "rates", "rates", (Text("rates"), *(column for column in SETTINGS.columns if column.name in OF_THE_DAY)),
    cause=SETTINGS.cause, subject="quotes from {rates}", called=("set of rates", "sets of rates"),
)

#: What each table takes from the rates of its day.
_TAKEN = {
    "machines": ("electricity_price",), "lines": ("refit_hourly_cost", "applied_overhead_rate"),
    "plan steps": ("electricity_price", "applied_overhead_rate"),
}


@functools.cache
def by_day(spec: TableSpec) -> TableSpec:
    """A table as it is in a model of several rates; itself where it does not differ."""
    if spec.name == SETTINGS.name:
        return replace(spec, columns=tuple(column for column in spec.columns if column.name not in OF_THE_DAY))
    taken: tuple[Column, ...] = lookups("rates", "rates", *_TAKEN.get(spec.name, ()))
    return replace(spec, columns=(*spec.columns, Text("rates", remark=True), *taken)) if taken else spec
