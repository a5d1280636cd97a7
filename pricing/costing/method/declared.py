"""The costing model declared: every table, every column, and the rule or link that each is made by.

Read from top to bottom it is the costing method: prices, mixes, moulds, people and machines, take-off, steps, lines,
quotes. Nothing is computed here.
"""

from __future__ import annotations

from pricing.costing.engine.columns import Band, ByWord, Column, Computed, Input, Lookup, Sum, TableSpec, Text
from pricing.glossary import Quantity, define
from pricing.rules import labour, machines, materials, mixes, moulds, overheads, prices, totals
from pricing.rules import learning as learning_rules
from pricing.rules.shapes import SHAPES
from pricing.rules.shapes.shape import TAKE_OFF, Shape

#: The words of the price book's Per and Surface columns, and the column of *lines* that counts each per good piece.
DRIVERS: tuple[tuple[str, str], ...] = (
    ("order", "per_order"), ("batch", "per_batch"), ("mould", "per_mould"), ("cast", "per_cast"), ("piece", "per_piece"),
    ("m3", "per_volume"), ("kg", "per_mass"), ("m2 face", "per_face"), ("m2 underside", "per_underside"),
    ("m2 top of mould", "per_top"), ("m arris", "per_arris"), ("m2 mould", "per_mould_area"), ("m joint", "per_joint"),
)

#: Words by which the work of building a mould is counted: it belongs to the mould's cost.
BUILDS_MOULD = frozenset({"mould", "m2 mould", "m joint"})

#: Words whose count does not yet include the pieces that are rejected.
DRIVERS_PER_GOOD_PIECE = frozenset({"piece", "m3", "kg", "m2 face", "m2 underside", "m2 top of mould", "m arris"})

#: How a line calls the take-off of one piece.
TAKE_OFF_OF_LINE: tuple[tuple[str, str], ...] = (
    ("cast_volume", "volume"), ("face", "face_area"), ("underside", "underside_area"), ("arris", "arris_length"),
    ("top_of_mould", "open_area"), ("mould_board", "mould_area"), ("joint", "joint_length"), ("release_face", "release_area"),
)

#: The seven parts of a unit cost, in the order in which they are shown, by the name that programs read.
COST_PARTS: tuple[tuple[str, str], ...] = (
    ("concrete", "concrete_cost"), ("mould", "mould_cost"), ("labour", "labour_cost"), ("machine", "machine_cost"),
    ("finish", "finish_cost"), ("extras", "extras_cost"), ("overhead", "overhead_cost"),
)

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
    Quantity("up_to", "Up to", "kilogram", "kg", 0, "Heaviest delivery of the band."),
    Quantity("charge", "Charge", "currency", "money", 2, "What the customer pays for the delivery."),
])

#: How the words of the model are headed.
WORDS: dict[str, str] = {
    "material": "Material", "kind": "Kind", "supplier": "Supplier",
    "priced_on": "Priced on", "price_place": "In the price book",
    "pack_unit": "Pack unit", "mix": "Mix", "basis": "Basis", "mould_plan": "Mould plan", "board_material": "Board",
    "sealant_material": "Sealant", "fixing_material": "Fixing", "tape_material": "Tape", "release_material": "Release",
    "labour_plan": "Labour plan",
    "grade": "Grade", "machine": "Machine", "product": "Product", "step": "Step", "per": "Per", "finish": "Finish",
    "surface": "Surface", "quote": "Quote", "customer": "Customer", "zone": "Zone", "refit_grade": "Refit grade",
    "item": "Item", "recorded": "Recorded", "place": "Cell", "standard": "Standard", "measure": "Counted in",
    "resource": "Hands, moulds, machines",
}


def _inputs(*names: str) -> tuple[Column, ...]:
    return tuple(Input(name) for name in names)


def _text(*names: str) -> tuple[Column, ...]:
    return tuple(Text(name) for name in names)


#: The product that a row is of; earlier records call it a piece.
_PRODUCT = Text("product", formerly=("piece",))

SETTINGS = TableSpec("settings", "setting", (
    *_inputs("target_margin", "lowest_margin", "price_step", "round_up", "list_at_usual_run", "minor_digits", "smallest_order",
            "deposit_share", "tax_down", "cash_step", "cash_divisor", "mix_allowance", "mixer_load", "electricity_price", "release_covers",
            "one_person_lift", "board_by_sheets", "cumulative_average", "standard_tax_rate", "overhead_per_labour_hour",
            "overhead_per_year", "productive_hours", "one_cubic_metre"),
    Text("refit_grade"),
    Lookup("refit_hourly_cost", "grades", "hourly_cost", "refit_grade"),
    Computed(overheads.overhead_rate),
    Computed(prices.applied_overhead_rate),
))

_PACK: tuple[Column, ...] = (
    *_text("material", "kind", "supplier", "priced_on", "price_place", "pack_unit"),
    *_inputs("pack_size", "pack_price", "carriage_in", "wastage"),
    Computed(materials.unit_price_of_material),
)

#: Prices of what goes into a mix, by the kilogram.
MIX_PRICES = TableSpec("mix prices", "material", (
    *_PACK,
    *_inputs("kilograms_per_pack_unit", "litres_per_pack_unit", "density", "bulk_density"),
    Computed(materials.sold_density),
    Computed(materials.pack_unit_mass),
    Computed(materials.price_per_kilogram),
), group="prices")

#: Prices of board, by the square metre.
BOARD_PRICES = TableSpec("board prices", "material", (
    *_PACK,
    *_inputs("square_metres_per_pack_unit", "sheets_per_pack_unit", "sheet_length", "sheet_width", "board"),
    Computed(materials.pack_unit_area),
    Computed(materials.price_per_square_metre),
), group="prices")

#: Prices of sealant and release, by the litre.
LIQUID_PRICES = TableSpec("liquid prices", "material", (
    *_PACK,
    *_inputs("litres_per_pack_unit", "kilograms_per_pack_unit", "density", "bulk_density"),
    Computed(materials.sold_density),
    Computed(materials.pack_unit_volume),
    Computed(materials.price_per_litre),
), group="prices")

#: Prices of everything that is used in the unit in which it is sold.
OTHER_PRICES = TableSpec("other prices", "material", _PACK, group="prices")

INGREDIENTS = TableSpec("ingredients", "ingredient", (
    *_inputs("ingredient"),
    *_text("mix", "material", "basis"),
    *_inputs("amount", "plain_amount", "bulk_amount", "volume_of_amount", "by_parts", "by_cubic_metre", "by_binder",
            "is_binder", "water_share", "is_pigment", "is_air"),
    Lookup("density", "mix prices", "density", "material"),
    Lookup("bulk_density", "mix prices", "bulk_density", "material"),
    Lookup("price_per_kilogram", "mix prices", "price_per_kilogram", "material"),
    Computed(mixes.driven_mass),
    Computed(mixes.driven_volume),
    Computed(mixes.binder_in_parts),
    Computed(mixes.binder_as_stated),
    Computed(mixes.volume_in_parts),
    Computed(mixes.volume_as_stated),
    Computed(mixes.volume_with_binder),
    Lookup("parts_in_cubic_metre", "mixes", "parts_in_cubic_metre", "mix"),
    Lookup("binder_content", "mixes", "binder_content", "mix"),
    Computed(mixes.driver),
    Computed(mixes.ingredient_mass),
    Computed(mixes.ingredient_volume),
    Computed(mixes.ingredient_cost),
    Computed(mixes.binder_mass),
    Computed(mixes.water_mass),
    Computed(mixes.pigment_mass),
    Computed(mixes.air_free_volume),
))

MIXES = TableSpec("mixes", "mix", (
    *_text("mix"),
    *_inputs("has_parts", "no_parts"),
    Sum("parts_binder_mass", "ingredients", "binder_in_parts", "mix"),
    Sum("fixed_binder_mass", "ingredients", "binder_as_stated", "mix"),
    Sum("parts_volume", "ingredients", "volume_in_parts", "mix"),
    Sum("fixed_volume", "ingredients", "volume_as_stated", "mix"),
    Sum("binder_volume", "ingredients", "volume_with_binder", "mix"),
    Computed(mixes.parts_in_cubic_metre),
    Computed(mixes.binder_content),
    Sum("water_content", "ingredients", "water_mass", "mix"),
    Sum("pigment_content", "ingredients", "pigment_mass", "mix"),
    Sum("solid_volume", "ingredients", "air_free_volume", "mix"),
    Sum("placed_volume", "ingredients", "ingredient_volume", "mix"),
    Sum("fresh_density", "ingredients", "ingredient_mass", "mix"),
    Computed(mixes.water_binder_ratio),
    Computed(mixes.pigment_share),
    Sum("mix_price", "ingredients", "ingredient_cost", "mix"),
))

MOULDS = TableSpec("moulds", "mould_plan", (
    *_text("mould_plan", "board_material", "sealant_material", "fixing_material", "tape_material", "release_material"),
    *_inputs("casts_per_mould", "sealant_radius", "fixing_spacing", "refit_every", "refit_minutes"),
    Lookup("board", "board prices", "board", "board_material"),
    Lookup("board_price", "board prices", "price_per_square_metre", "board_material"),
    Lookup("sealant_price", "liquid prices", "price_per_litre", "sealant_material"),
    Lookup("fixing_price", "other prices", "unit_price_of_material", "fixing_material"),
    Lookup("tape_price", "other prices", "unit_price_of_material", "tape_material"),
    Lookup("release_price", "liquid prices", "price_per_litre", "release_material"),
    Computed(moulds.sealant_volume),
    Computed(moulds.joint_cost),
    Computed(moulds.release_cost),
))

GRADES = TableSpec("grades", "grade", (*_text("grade"), *_inputs("hourly_cost")))

_MACHINE: tuple[Column, ...] = (
    *_text("machine"),
    *_inputs("machine_price", "resale", "life_hours", "upkeep", "power"),
    Computed(machines.machine_rate),
)

MACHINES = TableSpec("machines", "machine", _MACHINE)

#: Machines that also carry interest on the money tied up in them, on average over their years.
MACHINES_WITH_INTEREST = TableSpec("machines", "machine", (
    *_MACHINE,
    *_inputs("hours_used_per_year", "interest_rate"),
    Computed(machines.years_of_life),
    Computed(machines.residual_share),
    Computed(machines.average_investment_factor),
    Computed(machines.machine_rate_with_interest),
))


def take_off_table(shape: Shape) -> TableSpec:
    """The take-off of all lines of one shape: its dimensions, the mould's board, and its rules in order."""
    return TableSpec(f"take-off: {shape.name}", "line", (
        *_inputs("line"),
        _PRODUCT, *_text("mould_plan"),
        *_inputs(*shape.dimensions),
        Lookup("board", "moulds", "board", "mould_plan"),
        *(Computed(rule) for rule in shape.all_rules),
    ), group="take-off")


TAKE_OFFS: dict[str, TableSpec] = {name: take_off_table(shape) for name, shape in SHAPES.items()}



def plan_steps_table(*, learning: bool = False, interest: bool = False) -> TableSpec:
    """The steps of the labour plans, as the price book has them; with learning or interest where the book asks for it."""
    taught: tuple[Column, ...] = (
        *_inputs("learning_slope", "by_count", "by_piece", "by_mould"),
        Computed(learning_rules.learning_exponent),
    )
    return TableSpec("plan steps", "plan_step", (
        *_inputs("plan_step"),
        *_text("labour_plan", "step", "grade", "machine", "per"),
        *_inputs("minutes", "lost_on_reject", "builds_mould"),
        *(taught if learning else ()),
        Lookup("hourly_cost", "grades", "hourly_cost", "grade"),
        Lookup("machine_rate_of_step", "machines", "machine_rate_with_interest" if interest else "machine_rate", "machine"),
    ))


def steps_table(*, learning: bool = False) -> TableSpec:
    """The steps of all lines: each fetches its minutes from its plan; with what a run teaches where the book asks for it."""
    taught: tuple[Column, ...] = (
        *(Lookup(name, "plan steps", name, "plan_step") for name in ("learning_exponent", "by_count", "by_piece", "by_mould")),
        Lookup("quantity", "lines", "quantity", "line"),
        Lookup("moulds_charged", "lines", "moulds_charged", "line"),
        Computed(labour.repetitions),
        Computed(learning_rules.average_minutes_factor),
    )
    plan = ("minutes", "lost_on_reject", "builds_mould", "hourly_cost", "machine_rate_of_step")
    return TableSpec("steps", "step_number", (
        *_inputs("step_number", "line", "plan_step"),
        _PRODUCT, *_text("step", "per"),
        *(Lookup(name, "plan steps", name, "plan_step") for name in plan),
        ByWord("count", "lines", "line", DRIVERS, "per"),
        *(taught if learning else _inputs("average_minutes_factor")),
        Lookup("rejects", "lines", "rejects", "line"),
        Computed(labour.step_hours),
        Computed(labour.step_wages),
        Computed(labour.step_mould_wages),
        Computed(labour.step_casting_wages),
        Computed(labour.step_machine_cost),
    ))


#: The consumables of the finishes, as the price book has them.
FINISH_PARTS = TableSpec("finish parts", "finish_part", (
    *_inputs("finish_part"),
    *_text("finish", "material", "surface"),
    *_inputs("coats", "covers"),
    Lookup("unit_price_of_material", "other prices", "unit_price_of_material", "material"),
))

FINISHES = TableSpec("finishes", "finish_number", (
    *_inputs("finish_number", "line", "finish_part"),
    _PRODUCT, *_text("material", "surface"),
    *(Lookup(name, "finish parts", name, "finish_part") for name in ("coats", "covers", "unit_price_of_material")),
    ByWord("count", "lines", "line", DRIVERS, "surface"),
    Computed(labour.finish_amount),
    Computed(labour.finish_line_cost),
))

#: What products need besides concrete, as the price book has it.
EXTRA_PARTS = TableSpec("extra parts", "extra_part", (
    *_inputs("extra_part"),
    _PRODUCT, *_text("material", "per"),
    *_inputs("extra_amount"),
    Lookup("unit_price_of_material", "other prices", "unit_price_of_material", "material"),
))

EXTRAS = TableSpec("extras", "extra_number", (
    *_inputs("extra_number", "line", "extra_part"),
    _PRODUCT, *_text("material", "per"),
    *(Lookup(name, "extra parts", name, "extra_part") for name in ("extra_amount", "unit_price_of_material")),
    ByWord("count", "lines", "line", DRIVERS, "per"),
    Computed(labour.extra_line_cost),
))

BATCHES = TableSpec("batches", "batch", (
    *_inputs("batch"),
    *_text("quote", "mix"),
    Sum("mixed_volume_of_mix", "lines", "mixed_volume", "batch"),
    Computed(prices.loads),
))

LINES = TableSpec("lines", "line", (
    *_inputs("line"),
    *_text("quote"), _PRODUCT,
    *_inputs("quote_number", "batch"),
    *_text("mix", "mould_plan"),
    *_inputs("quantity", "rejects", "made_for_stock", "has_mould", "moulds_at_once"),
    *(Lookup(name, "take-off", column, "line") for name, column in TAKE_OFF_OF_LINE),
    Lookup("fresh_density", "mixes", "fresh_density", "mix"),
    Computed(prices.mass),
    Computed(moulds.casts),
    Lookup("mix_price", "mixes", "mix_price", "mix"),
    Computed(prices.concrete_per_cast),
    Computed(prices.concrete_cost),
    Computed(prices.mixed_volume),
    Lookup("loads", "batches", "loads", "batch"),
    Lookup("mixed_volume_of_mix", "batches", "mixed_volume_of_mix", "batch"),
    Computed(prices.loads_of_line),
    Lookup("casts_per_mould", "moulds", "casts_per_mould", "mould_plan"),
    Computed(moulds.moulds_worn),
    Computed(moulds.moulds_made),
    Computed(moulds.moulds_charged),
    Computed(prices.per_order),
    Computed(prices.per_batch),
    Computed(prices.per_mould),
    Computed(prices.per_cast),
    *_inputs("per_piece"),
    Computed(prices.per_volume),
    Computed(prices.per_mass),
    Computed(prices.per_face),
    Computed(prices.per_underside),
    Computed(prices.per_top),
    Computed(prices.per_arris),
    Computed(prices.per_mould_area),
    Computed(prices.per_joint),
    Lookup("board_price", "moulds", "board_price", "mould_plan"),
    Lookup("joint_cost", "moulds", "joint_cost", "mould_plan"),
    *_inputs("sheet_board"),
    Computed(moulds.board_charged),
    Computed(moulds.mould_materials),
    Computed(moulds.mould_material_cost),
    Sum("mould_labour_cost", "steps", "step_mould_wages", "line"),
    Lookup("refit_every", "moulds", "refit_every", "mould_plan"),
    Lookup("refit_minutes", "moulds", "refit_minutes", "mould_plan"),
    Lookup("release_cost", "moulds", "release_cost", "mould_plan"),
    Computed(moulds.refits),
    Computed(moulds.refit_hours),
    Computed(moulds.refit_cost),
    Computed(moulds.mould_cost),
    Sum("labour_cost", "steps", "step_casting_wages", "line"),
    Sum("machine_cost", "steps", "step_machine_cost", "line"),
    Sum("finish_cost", "finishes", "finish_line_cost", "line"),
    Sum("extras_cost", "extras", "extra_line_cost", "line"),
    Sum("step_hours_sum", "steps", "step_hours", "line"),
    Computed(labour.labour_hours),
    Computed(prices.overhead_cost),
    Computed(prices.unit_cost),
    Computed(prices.target_price),
    Computed(prices.price_steps),
    Computed(prices.whole_steps),
    Computed(prices.rounded_price),
    *_inputs("usual_run", "price_is_typed", "price_is_listed"),
    Computed(prices.at_usual_run),
    Computed(prices.price_is_given),
    *_inputs("given_price"),
    Computed(prices.unit_price),
    Computed(prices.line_net),
    Computed(prices.line_cost),
    Computed(prices.line_margin),
    Lookup("discount_rate", "quotes", "discount_rate", "quote_number"),
    Computed(prices.discounted_net),
    Computed(prices.discounted_margin),
    Computed(prices.contribution),
    Computed(prices.line_mass),
    Computed(prices.below_lowest),
    Computed(prices.too_heavy),
))

BANDS = TableSpec("delivery", "band", (*_inputs("band"), *_text("zone"), *_inputs("up_to", "charge")))

CUSTOMERS = TableSpec("customers", "customer", (
    *_text("customer"),
    *_inputs("discount_rate", "has_own_tax_rate", "own_tax_rate"),
    Computed(totals.tax_rate),
))

QUOTES = TableSpec("quotes", "quote_number", (
    *_inputs("quote_number"),
    *_text("quote", "customer", "zone"),
    Lookup("discount_rate", "customers", "discount_rate", "customer"),
    Lookup("tax_rate", "customers", "tax_rate", "customer"),
    Sum("line_net_sum", "lines", "line_net", "quote_number"),
    Computed(totals.lines_net),
    Computed(totals.discount),
    Computed(totals.goods_net),
    Computed(totals.small_order_charge),
    Sum("quote_mass_sum", "lines", "line_mass", "quote_number"),
    Computed(totals.quote_mass),
    Band("carriage_of_band", "delivery", "zone", "up_to", "charge", "zone", "quote_mass"),
    Computed(totals.carriage),
    Computed(totals.net),
    Computed(totals.tax),
    Computed(totals.gross),
    Computed(totals.payable),
    Computed(totals.rounding),
    Computed(totals.deposit),
    Sum("line_cost_sum", "lines", "line_cost", "quote_number"),
    Computed(totals.quote_cost),
    Computed(totals.quote_margin),
    Sum("line_contribution_sum", "lines", "contribution", "quote_number"),
    Computed(totals.quote_contribution),
))

assert all(column in TAKE_OFF for _, column in TAKE_OFF_OF_LINE)


def tables(*, learning: bool = False, interest: bool = False) -> list[TableSpec]:
    """Every table of the method; with learning or interest where the price book asks for it."""
    return [
        SETTINGS, MIX_PRICES, BOARD_PRICES, LIQUID_PRICES, OTHER_PRICES, INGREDIENTS, MIXES, MOULDS, GRADES,
        MACHINES_WITH_INTEREST if interest else MACHINES, *TAKE_OFFS.values(), plan_steps_table(learning=learning, interest=interest),
        steps_table(learning=learning), FINISH_PARTS, FINISHES, EXTRA_PARTS, EXTRAS, BATCHES, LINES, BANDS, CUSTOMERS, QUOTES,
    ]
