"""The tables of a review declared: finished jobs with their variances, better standards, and what is scarce.

They are computed and written as live formulas by the same machinery as the costing model.
"""

from __future__ import annotations

from pricing.costing.engine.columns import Computed, Sum, TableSpec
from pricing.costing.method.vocabulary import inputs, texts
from pricing.rules import bottleneck, reviews, variances

MATERIALS = TableSpec("job materials", "material_record", (
    *inputs("material_record", "job"),
    *texts("quote", "product", "item", "pack_unit", "recorded"),
    *inputs("standard_quantity_allowed", "standard_material_price"),
    Computed(reviews.material_allowed_cost),
    *inputs("actual_quantity_used", "actual_material_cost"),
    Computed(reviews.actual_quantity_bought),
    Computed(reviews.actual_material_price),
    Computed(variances.material_price_variance),
    Computed(variances.material_usage_variance),
    Computed(reviews.material_variance, result=True),
))

LABOUR = TableSpec("job labour", "labour_record", (
    *inputs("labour_record", "job"),
    *texts("quote", "product", "item", "kind", "recorded"),
    *inputs("standard_hours_allowed", "standard_labour_rate"),
    Computed(reviews.labour_allowed_cost),
    *inputs("actual_hours", "labour_paid"),
    Computed(reviews.actual_labour_rate),
    Computed(variances.labour_rate_variance),
    Computed(variances.labour_time_variance),
    Computed(reviews.labour_variance, result=True),
    Computed(reviews.hours_beyond),
))

MACHINES = TableSpec("job machines", "machine_record", (
    *inputs("machine_record", "job"),
    *texts("quote", "product", "item", "recorded"),
    *inputs("standard_hours_allowed", "standard_machine_rate"),
    Computed(reviews.machine_allowed_cost),
    *inputs("actual_machine_hours", "machine_spent"),
    Computed(reviews.machine_spending_variance),
    Computed(reviews.machine_time_variance),
    Computed(reviews.machine_variance, result=True),
))

OVERHEADS = TableSpec("job overhead", "overhead_record", (
    *inputs("overhead_record", "job"),
    *texts("quote"),
    *inputs("standard_hours_allowed"),
    Sum("hours_beyond_sum", "job labour", "hours_beyond", "job"),
    Computed(reviews.actual_hours),
    *inputs("variable_overhead_rate"),
    Computed(reviews.overhead_allowed),
    *inputs("overhead_is_recorded", "overhead_recorded"),
    Computed(reviews.variable_overhead_spent),
    Computed(variances.overhead_spending_variance),
    Computed(variances.overhead_efficiency_variance),
    Computed(reviews.overhead_variance, result=True),
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
    *inputs("job"),
    *texts("quote", "customer"),
    *inputs("net", "quote_cost"),
    *(Sum(name, table, column, "job") for name, table, column in PARTS),
    Computed(reviews.job_variance, result=True),
    Computed(reviews.cost_earned, result=True),
    Computed(reviews.margin_quoted),
    Computed(reviews.margin_earned, result=True),
))

#: Kinds of standards, in the order in which they are shown.
MINUTES, COVERAGE, REJECTS, LIFE = STANDARD_KINDS = ("minutes", "coverage", "rejects", "casts")


def standards_table(kind: str) -> TableSpec:
    """The proposals of one kind of standard: each kind is counted in a unit of its own.

    >>> standards_table("minutes").name
    'standards: minutes'
    """
    return TableSpec(f"standards: {kind}", "standard_number", (
        *inputs("standard_number"),
        *texts("standard", "measure", "place"),
        *inputs("standard_today", "jobs_in_standard", "jobs_new", "observations", "observed_mean", "credibility"),
        Computed(reviews.proposed_standard, result=True),
        *inputs("standard_low", "standard_high"),
        Computed(reviews.standard_movement),
        Computed(reviews.standard_movement_share),
    ))


LOADS = TableSpec("loads", "load", (
    *inputs("load"),
    *texts("quote", "product", "resource"),
    *inputs("quantity", "resource_per_piece"),
    Computed(reviews.resource_load),
))

RESOURCES = TableSpec("resources", "resource", (
    *texts("resource"),
    Sum("resource_wanted", "loads", "resource_load", "resource"),
    *inputs("resource_per_week"),
    Computed(reviews.resource_weeks, result=True),
))

RANKING = TableSpec("ranking", "rank", (
    *inputs("rank"),
    *texts("quote", "product"),
    *inputs("quantity", "price_per_piece", "variable_cost_per_piece"),
    Computed(bottleneck.contribution_per_piece),
    *inputs("bottleneck_hours_per_piece"),
    Computed(bottleneck.contribution_per_bottleneck_hour, result=True),
))
