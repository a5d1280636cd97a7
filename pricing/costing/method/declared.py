"""The costing model declared: every table, every column, the rule or link that each is made by, and what else is known of it.

Read from top to bottom it is the costing method: first what the workshop has (``workshop_declared``: prices, mixes, moulds,
people and machines), then what the lines make of it: take-off, steps, lines, quotes. Nothing is computed here.
"""

from __future__ import annotations

import functools

from pricing.costing.engine.columns import Band, ByWord, Column, Computed, Input, Largest, Lookup, Sum, TableSpec, Text
from pricing.costing.method.piece_declared import PLAIN, PieceForms, in_forms, more_of_take_off, tables_of_pieces
from pricing.costing.method.terms_declared import PLAIN_TERMS, TermForms, of_terms, tables_of_terms
from pricing.costing.method.vocabulary import (
    BUILDS_MOULD,
    DRIVERS,
    DRIVERS_PER_GOOD_PIECE,
    PER,
    PRODUCT,
    SURFACE,
    TAKE_OFF_OF_LINE,
    WORDS,
    inputs,
    lookups,
    texts,
)
from pricing.costing.method.workshop_declared import (
    BANDS,
    BOARD_PRICES,
    CUSTOMERS,
    EXTRA_PARTS,
    FINISH_PARTS,
    INGREDIENTS,
    LIQUID_PRICES,
    MACHINES,
    MACHINES_WITH_INTEREST,
    MIX_PRICES,
    MIXES,
    MOULDS,
    OTHER_PRICES,
    RATES,
    SETTINGS,
    TRADES,
    plan_steps_table,
)
from pricing.rules import labour, moulds, payments, prices, totals
from pricing.rules import learning as learning_rules
from pricing.rules.geometry.dimensions import FORMER_NAMES
from pricing.rules.geometry.shape import TAKE_OFF, Shape
from pricing.rules.shapes import SHAPES

__all__ = [
    "BANDS",
    "BATCHES",
    "BOARD_PRICES",
    "BUILDS_MOULD",
    "CUSTOMERS",
    "DRIVERS",
    "DRIVERS_PER_GOOD_PIECE",
    "EXTRAS",
    "EXTRA_PARTS",
    "FINISHES",
    "FINISH_PARTS",
    "INGREDIENTS",
    "LINES",
    "LIQUID_PRICES",
    "MACHINES",
    "MACHINES_WITH_INTEREST",
    "MIXES",
    "MIX_PRICES",
    "MOULDS",
    "OTHER_PRICES",
    "QUOTES",
    "RATES",
    "SETTINGS",
    "TAKE_OFFS",
    "TAKE_OFF_OF_LINE",
    "TRADES",
    "WORDS",
    "plan_steps_table",
    "steps_table",
    "tables",
    "take_off_table",
]

assert all(column in TAKE_OFF for _, column in TAKE_OFF_OF_LINE)

#: What the take-off of a shape is for.
_RESULTS_OF_TAKE_OFF = frozenset({"volume", "face_area", "mould_area"})

#: Among how many lines of its quote a step, or a thing bought in, is shared out.
_SHARED = inputs("lines_sharing", not_kept=1.0, follows="it is counted by the quote, and as many lines have it", steers=True)


@functools.cache
def take_off_table(shape: Shape, forms: PieceForms = PLAIN) -> TableSpec:
    """The take-off of all lines of one shape: its dimensions, the mould's board, and its rules in order.

    Parameters
    ----------
    forms : what the price book says of the pieces besides
    """
    return TableSpec(f"take-off: {shape.name}", "line", (
        *inputs("line"),
        PRODUCT,
        *texts("mould_plan", *(["outline"] if shape.measured else [])),
        *(Input(name, not_kept=shape.defaults.get(name), formerly=FORMER_NAMES.get(name, ()), result=name in _RESULTS_OF_TAKE_OFF,
                settles=True)
          for name in shape.dimensions),
        *lookups("moulds", "mould_plan", "board"),
        *lookups("outlines", "outline", *shape.measured),
        *(Computed(rule, result=rule.__name__ in _RESULTS_OF_TAKE_OFF) for rule in shape.all_rules),
        *more_of_take_off(shape, forms),
    ), "take-off", "work", cause=("piece", "Sizes"), subject="{product}")


TAKE_OFFS: dict[str, TableSpec] = {name: take_off_table(shape) for name, shape in SHAPES.items()}


@functools.cache
def steps_table(*, learning: bool = False) -> TableSpec:
    """The steps of all lines: each fetches its minutes from its plan; with what a run teaches where the book asks for it."""
    taught: tuple[Column, ...] = (
        *lookups("plan steps", "plan_step", "learning_exponent", "by_count", "by_piece", "by_mould"),
        *lookups("lines", "line", "quantity", "moulds_charged"),
        Computed(labour.repetitions),
        Computed(learning_rules.whole_repetitions),
        Computed(learning_rules.early_time),
        Computed(learning_rules.later_integral),
        Computed(learning_rules.later_time),
        Computed(learning_rules.average_minutes_factor),
    )
    return TableSpec("steps", "step_number", (
        *inputs("step_number", "line", "plan_step"),
        PRODUCT,
        *texts("step"), PER,
        *_SHARED,
        *lookups("plan steps", "plan_step", "minutes", "lost_on_reject", "builds_mould", "attended", "hourly_cost", "machine_rate_of_step"),
        ByWord("count", "lines", "line", DRIVERS, "per", unit="per"),
        *(taught if learning else inputs("average_minutes_factor", follows="no learning is stated", steers=True)),
        *lookups("lines", "line", "rejects"),
        Computed(labour.step_hours),
    Computed(labour.step_labour_hours),
        Computed(labour.step_wages, result=True),
        Computed(labour.step_mould_wages),
        Computed(labour.step_casting_wages),
        Computed(labour.step_machine_cost),
    ), scope="work", subject="{step}", called=("step", "steps"))


FINISHES = TableSpec("finishes", "finish_number", (
    *inputs("finish_number", "line", "finish_part"),
    PRODUCT,
    *texts("material"), SURFACE,
    *lookups("finish parts", "finish_part", "coats", "covers"),
    *lookups("finish parts", "finish_part", "unit_price_of_material", result=True),
    ByWord("count", "lines", "line", DRIVERS, "surface", unit="surface"),
    Computed(labour.finish_amount),
    Computed(labour.finish_line_cost, result=True),
), scope="work", subject="{material}", called=("consumable", "consumables"))

EXTRAS = TableSpec("extras", "extra_number", (
    *inputs("extra_number", "line", "extra_part"),
    PRODUCT,
    *texts("material"), PER,
    *_SHARED,
    *lookups("extra parts", "extra_part", "extra_amount", "lost_on_reject"),
    *lookups("extra parts", "extra_part", "unit_price_of_material", result=True),
    ByWord("count", "lines", "line", DRIVERS, "per", unit="per"),
    *lookups("lines", "line", "rejects"),
    Computed(labour.extra_used),
    Computed(labour.extra_line_cost, result=True),
), scope="work", subject="{material}", called=("bought-in thing", "bought-in things"))

BATCHES = TableSpec("batches", "batch", (
    *inputs("batch"),
    Text("quote", remark=True),
    *texts("mix"),
    Sum("good_volume_of_mix", "lines", "good_volume", "batch"),
    Sum("mixed_volume_of_mix", "lines", "mixed_volume", "batch"),
    Largest("rounds_of_mix", "lines", "rounds", "batch"),
    Computed(prices.loads, result=True),
), scope="work", subject="{mix} in quote {quote}")

LINES = TableSpec("lines", "line", (
    *inputs("line"),
    Text("quote", remark=True),
    PRODUCT,
    *inputs("quote_number", "batch"),
    *texts("mix", "mould_plan"),
    Input("quantity", settles=True),
    *inputs("rejects", "made_for_stock"),
    Input("has_mould", follows="mould_plan", steers=True),
    Input(
        "moulds_at_once", cause="Moulds at once", follows="the number that makes the quote cheapest", chosen=True, settles=True),
    Text("moulds_because", remark=True, not_kept=""),
    Input("moulds_kept", not_kept=0.0, settles=True),
    *(Lookup(name, "take-off", column, "line") for name, column in TAKE_OFF_OF_LINE),
    *lookups("mixes", "mix", "fresh_density", result=True),
    Computed(prices.mass),
    Computed(moulds.casts),
    *lookups("mixes", "mix", "mix_price", result=True),
    Computed(prices.concrete_per_cast),
    Computed(prices.concrete_cost, part="concrete", result=True),
    Computed(prices.good_volume),
    Computed(prices.mixed_volume),
    *lookups("moulds", "mould_plan", "pieces_per_mould", "mould_life"),
    Computed(moulds.places),
    Computed(moulds.rounds),
    *lookups("batches", "batch", "loads", result=True),
    *lookups("batches", "batch", "mixed_volume_of_mix"),
    Computed(prices.loads_of_line),
    Computed(moulds.moulds_worn),
    Computed(moulds.moulds_needed),
    Computed(moulds.moulds_built),
    Computed(moulds.moulds_charged),
    Computed(prices.per_line),
    Computed(prices.per_quote),
    Computed(prices.per_batch),
    *lookups("moulds", "mould_plan", "is_bought", "bought_mould_cost"),
    Computed(prices.per_mould),
    Computed(prices.per_cast),
    Input("per_piece", follows="one for each piece"),
    Computed(prices.per_volume),
    Computed(prices.per_mass),
    Computed(prices.per_face),
    Computed(prices.per_underside),
    Computed(prices.per_open_side),
    Computed(prices.per_arris),
    Computed(prices.per_mould_area),
    Computed(prices.per_joint),
    *lookups("moulds", "mould_plan", "board_price", "joint_cost"),
    Input("sheet_board", cause="Board by whole sheets", follows="from the cut of the panels out of whole sheets"),
    Computed(moulds.board_charged),
    Computed(moulds.mould_materials),
    Computed(moulds.mould_material_cost),
    Sum("mould_labour_cost", "steps", "step_mould_wages", "line"),
    *lookups("moulds", "mould_plan", "refit_every", "refit_minutes", "release_cost"),
    Computed(moulds.refits),
    Computed(moulds.refit_hours),
    Computed(moulds.refit_cost),
    Computed(moulds.release_per_piece),
    Computed(moulds.mould_cost, part="mould", result=True),
    Sum("labour_cost", "steps", "step_casting_wages", "line", part="labour", result=True),
    Sum("machine_cost", "steps", "step_machine_cost", "line", part="machine", result=True),
    Sum("finish_cost", "finishes", "finish_line_cost", "line", part="finish", result=True),
    Sum("extras_cost", "extras", "extra_line_cost", "line", part="extras", result=True),
    Sum("step_hours_sum", "steps", "step_labour_hours", "line"),
    Computed(labour.labour_hours, seen_by="maker"),
    Computed(prices.overhead_cost, part="overhead", result=True),
    Computed(prices.unit_cost, result=True),
    Input("has_own_margin", not_kept=0.0, follows="1 where the line has a target margin of its own", steers=True),
    Input("own_margin", not_kept=0.0, seen_by="maker", cause="Margin of the line"),
    Computed(prices.wanted_margin, seen_by="maker"),
    Computed(prices.target_price),
    Computed(prices.price_steps),
    Computed(prices.whole_steps),
    Computed(prices.rounded_price),
    Input("usual_run"),
    Input("price_is_typed", cause="List and typed prices", follows="1 where the enquiry states the price", steers=True),
    Input("price_is_listed", cause="List and typed prices", follows="1 where a list price is to stand", steers=True),
    Computed(prices.at_usual_run),
    Computed(prices.from_usual_run),
    Computed(prices.price_is_given),
    Input("given_price", seen_by="customer", cause="List and typed prices", follows="no price is typed"),
    Computed(prices.unit_price, seen_by="customer", result=True),
    Input(
        "discount_is_own", not_kept=0.0, cause="Discounts of lines", follows="1 where the customer's discount is not taken off",
        steers=True),
    Input("own_discount", not_kept=0.0, cause="Discounts of lines", follows="no discount of the line", steers=True),
    Computed(prices.line_net, seen_by="customer", result=True),
    Computed(prices.line_cost, result=True),
    Computed(prices.line_margin, seen_by="maker"),
    Computed(prices.discountable_net, seen_by="customer"),
    Lookup("quote_discount", "quotes", "discount_rate", "quote_number"),
    Computed(prices.discount_rate),
    Computed(prices.discounted_net, seen_by="customer"),
    Computed(prices.taken),
    Computed(prices.discounted_margin, seen_by="maker", result=True),
    Computed(prices.contribution, result=True),
    Computed(prices.line_mass),
    Computed(prices.below_lowest),
    Computed(prices.too_heavy),
), scope="order", subject="{product}", called=("line", "lines"))

QUOTES = TableSpec("quotes", "quote_number", (
    *inputs("quote_number"),
    *texts("quote", "customer", remark=True),
    *texts("zone"),
    *lookups("customers", "customer", "discount_rate", "tax_rate"),
    Sum("line_net_sum", "lines", "line_net", "quote_number", seen_by="customer"),
    Computed(totals.lines_net, seen_by="customer"),
    Sum("discountable_sum", "lines", "discountable_net", "quote_number", seen_by="customer"),
    Computed(totals.discountable, seen_by="customer"),
    Computed(totals.discount, seen_by="customer"),
    Computed(totals.goods_net, seen_by="customer"),
    Computed(totals.small_order_charge, seen_by="customer"),
    Sum("quote_mass_sum", "lines", "line_mass", "quote_number"),
    Computed(totals.quote_mass),
    Band("carriage_of_band", "delivery", "zone", "up_to", "charge", "zone", "quote_mass", seen_by="customer"),
    Computed(totals.carriage, seen_by="customer"),
    Computed(totals.net, seen_by="customer", result=True),
    Computed(totals.tax, seen_by="customer", result=True),
    Computed(totals.gross, seen_by="customer"),
    Computed(totals.payable, seen_by="customer", result=True),
    Computed(totals.rounding, seen_by="customer"),
    Computed(totals.deposit, seen_by="customer"),
    Computed(payments.balance, seen_by="customer"),
    Sum("line_cost_sum", "lines", "line_cost", "quote_number"),
    Sum("taken_sum", "lines", "taken", "quote_number", steers=True),
    Computed(totals.quote_cost, result=True),
    Computed(totals.quote_margin, seen_by="maker", result=True),
    Sum("line_contribution_sum", "lines", "contribution", "quote_number"),
    Computed(totals.quote_contribution, result=True),
), scope="order", subject="quote {quote}", called=("quote", "quotes"))


def tables(
    *, learning: bool = False, interest: bool = False, forms: PieceForms = PLAIN, by_outline: bool = True, terms: TermForms = PLAIN_TERMS
) -> list[TableSpec]:
    """Every table of the method; with learning or interest where the price book asks for it.

    Parameters
    ----------
    forms, by_outline : what the price book says of its pieces
    terms : what it says of its terms
    """
    plain = [
        SETTINGS, MIX_PRICES, BOARD_PRICES, LIQUID_PRICES, OTHER_PRICES, INGREDIENTS, MIXES, MOULDS, TRADES,
        MACHINES_WITH_INTEREST if interest else MACHINES, *(take_off_table(shape, forms) for shape in SHAPES.values()),
        plan_steps_table(learning=learning, interest=interest),
        steps_table(learning=learning), FINISH_PARTS, FINISHES, EXTRA_PARTS, EXTRAS, BATCHES, LINES, BANDS, CUSTOMERS, QUOTES,
    ]
    made = [of_terms(in_forms(spec, forms), terms) for spec in plain]
    return [*made, *tables_of_pieces(forms, by_outline=by_outline), *tables_of_terms(terms)]
