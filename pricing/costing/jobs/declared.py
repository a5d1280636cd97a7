"""The tables of a review declared: finished jobs with their variances, better standards, and what is scarce.

They are computed and written as live formulas by the same machinery as the costing model.
"""

from __future__ import annotations

from pricing.costing.engine.columns import Column, Computed, Input, Sum, TableSpec, Text
from pricing.rules import bottleneck, break_even, reviews, variances


def _inputs(*names: str) -> tuple[Column, ...]:
    return tuple(Input(name) for name in names)


def _text(*names: str) -> tuple[Column, ...]:
    return tuple(Text(name) for name in names)


MATERIALS = TableSpec("job materials", "material_record", (
    *_inputs("material_record", "job"),
    *_text("quote", "product", "item", "pack_unit", "recorded"),
    *_inputs("standard_quantity_allowed", "standard_material_price"),
    Computed(reviews.material_allowed_cost),
    *_inputs("actual_quantity_used", "actual_material_cost"),
    Computed(reviews.actual_quantity_bought),
    Computed(reviews.actual_material_price),
    Computed(variances.material_price_variance),
    Computed(variances.material_usage_variance),
    Computed(reviews.material_variance),
))

LABOUR = TableSpec("job labour", "labour_record", (
    *_inputs("labour_record", "job"),
    *_text("quote", "product", "item", "kind", "recorded"),
    *_inputs("standard_hours_allowed", "standard_labour_rate"),
    Computed(reviews.labour_allowed_cost),
    *_inputs("actual_hours", "labour_paid"),
    Computed(reviews.actual_labour_rate),
    Computed(variances.labour_rate_variance),
    Computed(variances.labour_time_variance),
    Computed(reviews.labour_variance),
    Computed(reviews.hours_beyond),
))

MACHINES = TableSpec("job machines", "machine_record", (
    *_inputs("machine_record", "job"),
    *_text("quote", "product", "item", "recorded"),
    *_inputs("standard_hours_allowed", "standard_machine_rate"),
    Computed(reviews.machine_allowed_cost),
    *_inputs("actual_machine_hours", "machine_spent"),
    Computed(reviews.machine_spending_variance),
    Computed(reviews.machine_time_variance),
    Computed(reviews.machine_variance),
))

OVERHEADS = TableSpec("job overhead", "overhead_record", (
    *_inputs("overhead_record", "job"),
    *_text("quote"),
    *_inputs("standard_hours_allowed"),
    Sum("hours_beyond_sum", "job labour", "hours_beyond", "job"),
    Computed(reviews.actual_hours),
    *_inputs("variable_overhead_rate"),
    Computed(reviews.overhead_allowed),
    *_inputs("overhead_is_recorded", "overhead_recorded"),
    Computed(reviews.variable_overhead_spent),
    Computed(variances.overhead_spending_variance),
    Computed(variances.overhead_efficiency_variance),
    Computed(reviews.overhead_variance),
))

#: The eight parts of a job's variance: the sum in *jobs*, and where it comes from.
PARTS: tuple[tuple[str, str, str], ...] = (
    ("material_price_sum", "job materials", "material_price_variance"),
    ("material_usage_sum", "job materials", "material_usage_variance"),
    ("labour_rate_sum", "job labour", "labour_rate_variance"),
    ("labour_time_sum", "job labour", "labour_time_variance"),
    ("machine_spending_sum", "job machines", "machine_spending_variance"),
    ("machine_time_sum", "job machines", "machine_time_variance"),
    ("overhead_spending_sum", "job overhead", "overhead_spending_variance"),
    ("overhead_time_sum", "job overhead", "overhead_efficiency_variance"),
)

JOBS = TableSpec("jobs", "job", (
    *_inputs("job"),
    *_text("quote", "customer"),
    *_inputs("net", "quote_cost"),
    *(Sum(name, table, column, "job") for name, table, column in PARTS),
    Computed(reviews.job_variance),
    Computed(reviews.cost_earned),
    Computed(reviews.margin_quoted),
    Computed(reviews.margin_earned),
))

#: Kinds of standards, in the order in which they are shown.
MINUTES, COVERAGE, REJECTS, LIFE = STANDARD_KINDS = ("minutes", "coverage", "rejects", "casts")


def standards_table(kind: str) -> TableSpec:
    """The proposals of one kind of standard: each kind is counted in a unit of its own.

    >>> standards_table("minutes").name
    'standards: minutes'
    """
    return TableSpec(f"standards: {kind}", "standard_number", (
        *_inputs("standard_number"),
        *_text("standard", "measure", "place"),
        *_inputs("standard_today", "jobs_in_standard", "jobs_new", "observations", "observed_mean", "credibility"),
        Computed(reviews.proposed_standard),
        *_inputs("standard_low", "standard_high"),
        Computed(reviews.standard_movement),
        Computed(reviews.standard_movement_share),
    ))


LOADS = TableSpec("loads", "load", (
    *_inputs("load"),
    *_text("quote", "product", "resource"),
    *_inputs("quantity", "resource_per_piece"),
    Computed(reviews.resource_load),
))

RESOURCES = TableSpec("resources", "resource", (
    *_text("resource"),
    Sum("resource_wanted", "loads", "resource_load", "resource"),
    *_inputs("resource_per_week"),
    Computed(reviews.resource_weeks),
))

RANKING = TableSpec("ranking", "rank", (
    *_inputs("rank"),
    *_text("quote", "product"),
    *_inputs("quantity", "price_per_piece", "variable_cost_per_piece"),
    Computed(break_even.contribution_per_piece),
    *_inputs("bottleneck_hours_per_piece"),
    Computed(bottleneck.contribution_per_bottleneck_hour),
))
