"""After the job: what was allowed against what was paid, the margin that is left, better standards, weeks of work.

The variances themselves are in ``variances``; here is what stands around them for one finished job. Sign convention as
there: actual minus standard, so that positive is adverse. What a job used of a material was all bought for it, so that
price and usage add up to the whole difference, and so do rate and time.

Source: any text on standard costing (the same open textbook as for the variances); the weights of better standards are
those of ``costing.jobs.credibility``.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose
from pricing.glossary import Quantity, define

_ANY = float("-inf")

define([
    Quantity("job", "Job no.", "dimensionless", "", 0, "Number of the job in this workbook."),
    Quantity("material_record", "No.", "dimensionless", "", 0, "Number of the material in this workbook."),
    Quantity("labour_record", "No.", "dimensionless", "", 0, "Number of the labour in this workbook."),
    Quantity("machine_record", "No.", "dimensionless", "", 0, "Number of the machine in this workbook."),
    Quantity("overhead_record", "No.", "dimensionless", "", 0, "Number of the overhead in this workbook."),
    Quantity("actual_material_cost", "Paid", "currency", "money", 2, "What the material really cost in all."),
    Quantity("material_allowed_cost", "Allowed cost", "currency", "money", 2, "Allowed use at the standard price."),
    Quantity("material_variance", "In all", "currency", "money", 2, "Price and usage together; positive is adverse.", _ANY),
    Quantity("labour_paid", "Paid", "currency", "money", 2, "What the hours really cost in all."),
    Quantity("labour_allowed_cost", "Allowed cost", "currency", "money", 2, "Allowed hours at the standard rate."),
    Quantity("labour_variance", "In all", "currency", "money", 2, "Rate and time together; positive is adverse.", _ANY),
    Quantity("hours_beyond", "Hours beyond", "hour", "h", 2, "Hours taken beyond (positive) or short of those allowed.", _ANY),
    Quantity("actual_machine_hours", "Hours run", "hour", "h", 2, "Hours that the machine really ran."),
    Quantity("standard_machine_rate", "Standard rate", "currency/hour", "money per h", 2,
             "What an hour of the machine was reckoned to cost."),
    Quantity("machine_spent", "Spent", "currency", "money", 2, "What the machine really cost: wear, upkeep, electricity."),
    Quantity("machine_allowed_cost", "Allowed cost", "currency", "money", 2, "Allowed hours at the standard rate."),
    Quantity("machine_spending_variance", "Spending variance", "currency", "money", 2,
             "Spent more (positive) or less (negative) than the hours run allow.", _ANY),
    Quantity("machine_time_variance", "Time variance", "currency", "money", 2,
             "Ran longer (positive) or shorter (negative) than allowed, at the standard rate.", _ANY),
    Quantity("machine_variance", "In all", "currency", "money", 2, "Spending and time together; positive is adverse.", _ANY),
    Quantity("overhead_is_recorded", "Recorded", "dimensionless", "flag", 0, "1 where overhead of the job itself was recorded."),
    Quantity("overhead_recorded", "Overhead recorded", "currency", "money", 2, "Overhead that the job is known to have caused."),
    Quantity("overhead_allowed", "Absorbed", "currency", "money", 2,
             "Overhead that the price was reckoned to absorb: hours allowed at the overhead rate."),
    Quantity("overhead_variance", "In all", "currency", "money", 2,
             "Overhead spent that the hours allowed do not absorb; positive is adverse.", _ANY),
    Quantity("material_price_sum", "Material price", "currency", "money", 2, "Price variances of the job's materials.", _ANY),
    Quantity("material_usage_sum", "Material usage", "currency", "money", 2, "Usage variances of the job's materials.", _ANY),
    Quantity("labour_rate_sum", "Labour rate", "currency", "money", 2, "Rate variances of the job's labour.", _ANY),
    Quantity("labour_time_sum", "Labour time", "currency", "money", 2, "Time variances of the job's labour.", _ANY),
    Quantity("machine_spending_sum", "Machine spending", "currency", "money", 2, "Spending variances of the job's machines.", _ANY),
    Quantity("machine_time_sum", "Machine time", "currency", "money", 2, "Time variances of the job's machines.", _ANY),
    Quantity("overhead_spending_sum", "Overhead spending", "currency", "money", 2, "Spending variance of the job's overhead.", _ANY),
    Quantity("overhead_time_sum", "Overhead time", "currency", "money", 2, "Overhead of hours taken beyond those allowed.", _ANY),
    Quantity("hours_beyond_sum", "Hours beyond", "hour", "h", 2, "Hours that the job's labour took beyond those allowed.", _ANY),
    Quantity("job_variance", "Over allowance", "currency", "money", 2,
             "What the job cost beyond (positive) or short of (negative) what was allowed.", _ANY),
    Quantity("cost_earned", "Cost in fact", "currency", "money", 2, "What the job cost in the end, carriage as charged."),
    Quantity("margin_quoted", "Margin quoted", "dimensionless", "%", 1, "Share of the net that was to be left.", _ANY, 1.0),
    Quantity("margin_earned", "Margin earned", "dimensionless", "%", 1, "Share of the net that was left.", _ANY, 1.0),
    Quantity("standard_today", "Today", "dimensionless", "", 3, "What the price book has today.", 0.0),
    Quantity("observed_mean", "Seen", "dimensionless", "", 3, "Average of what the jobs took, heavier jobs counting more."),
    Quantity("credibility", "Weight of the jobs", "dimensionless", "%", 0,
             "How much the jobs count against today's figure: few jobs count little.", 0.0, 1.0),
    Quantity("proposed_standard", "Proposed", "dimensionless", "", 3, "Today's figure, moved towards what was seen."),
    Quantity("standard_movement", "Moves by", "dimensionless", "", 3, "Proposed less today.", _ANY),
    Quantity("standard_number", "No.", "dimensionless", "", 0, "Number of the standard in this workbook."),
    Quantity("jobs_in_standard", "Jobs in it", "dimensionless", "", 0,
             "Finished jobs that stand in today's figure already, because it was accepted from them."),
    Quantity("jobs_new", "New jobs", "dimensionless", "", 0, "Finished jobs that are not in today's figure; 0: nothing new is known."),
    Quantity("observations", "Times seen", "dimensionless", "", 0, "How many observations the new jobs gave."),
    Quantity("standard_low", "Low", "dimensionless", "", 3, "Low end of the range in which the true figure lies, four times in five."),
    Quantity("standard_high", "High", "dimensionless", "", 3, "High end of that range."),
    Quantity("standard_movement_share", "of today", "dimensionless", "%", 1, "The same as a share of today's figure.", _ANY),
    Quantity("load", "No.", "dimensionless", "", 0, "Number of the load in this workbook."),
    Quantity("rank", "Rank", "dimensionless", "", 0, "1 earns most with an hour of what is scarce."),
    Quantity("resource_per_piece", "Taken by one", "hour/piece", "h", 4, "What a piece takes of what is scarce."),
    Quantity("resource_load", "Load", "hour", "h", 2, "What all pieces of the line take of it."),
    Quantity("resource_wanted", "Wanted", "hour", "h", 1, "What the ordered quotes take of it."),
    Quantity("resource_per_week", "In a week", "hour/week", "h", 1, "What the workshop has of it in a week."),
    Quantity("resource_weeks", "Weeks of work", "week", "weeks", 2, "How long what is wanted takes, if nothing else holds it up."),
])


def actual_quantity_bought(actual_quantity_used: Value) -> Value:
    """What was bought of a material: all that the job used of it [pack units]."""
    return +actual_quantity_used


def actual_material_price(actual_material_cost: Value, actual_quantity_bought: Value, standard_material_price: Value) -> Value:
    """Price paid for one unit of a material; the standard price where none was bought [currency/pack unit].

    >>> float(actual_material_price(12.0, 10.0, 1.0))
    1.2
    """
    return choose(actual_quantity_bought > 0, actual_material_cost / actual_quantity_bought, standard_material_price)


def material_allowed_cost(standard_quantity_allowed: Value, standard_material_price: Value) -> Value:
    """Allowed use at the standard price [currency]."""
    return standard_quantity_allowed * standard_material_price


def material_variance(material_price_variance: Value, material_usage_variance: Value) -> Value:
    """What a material cost beyond what was allowed; positive is adverse [currency]."""
    return material_price_variance + material_usage_variance


def actual_labour_rate(labour_paid: Value, actual_hours: Value, standard_labour_rate: Value) -> Value:
    """What an hour of labour really cost; the standard rate where none was worked [currency/h].

    >>> float(actual_labour_rate(42.0, 2.0, 20.0))
    21.0
    """
    return choose(actual_hours > 0, labour_paid / actual_hours, standard_labour_rate)


def labour_allowed_cost(standard_hours_allowed: Value, standard_labour_rate: Value) -> Value:
    """Allowed hours at the standard rate [currency]."""
    return standard_hours_allowed * standard_labour_rate


def labour_variance(labour_rate_variance: Value, labour_time_variance: Value) -> Value:
    """What labour cost beyond what was allowed; positive is adverse [currency]."""
    return labour_rate_variance + labour_time_variance


def hours_beyond(actual_hours: Value, standard_hours_allowed: Value) -> Value:
    """Hours taken beyond those allowed; positive is adverse [h]."""
    return actual_hours - standard_hours_allowed


def machine_allowed_cost(standard_hours_allowed: Value, standard_machine_rate: Value) -> Value:
    """Allowed hours of a machine at its standard rate [currency]."""
    return standard_hours_allowed * standard_machine_rate


def machine_spending_variance(machine_spent: Value, standard_machine_rate: Value, actual_machine_hours: Value) -> Value:
    """What a machine cost beyond what its hours run allow; positive is adverse [currency].

    >>> machine_spending_variance(23.0, 2.0, 10.0)
    3.0
    """
    return machine_spent - standard_machine_rate * actual_machine_hours


def machine_time_variance(actual_machine_hours: Value, standard_hours_allowed: Value, standard_machine_rate: Value) -> Value:
    """What a machine's hours run beyond those allowed cost, at the standard rate; positive is adverse [currency].

    >>> machine_time_variance(10.0, 8.0, 2.0)
    4.0
    """
    return (actual_machine_hours - standard_hours_allowed) * standard_machine_rate


def machine_variance(machine_spending_variance: Value, machine_time_variance: Value) -> Value:
    """What a machine cost beyond what was allowed; positive is adverse [currency]."""
    return machine_spending_variance + machine_time_variance


def actual_hours(standard_hours_allowed: Value, hours_beyond_sum: Value) -> Value:
    """Hours that the whole job took: those allowed, and what its labour took beyond them [h]."""
    return standard_hours_allowed + hours_beyond_sum


def variable_overhead_spent(
    overhead_is_recorded: Value, overhead_recorded: Value, variable_overhead_rate: Value, actual_hours: Value
) -> Value:
    """Overhead of a job: as recorded, or what its hours carry at the overhead rate [currency].

    >>> float(variable_overhead_spent(0.0, 0.0, 12.0, 10.0))
    120.0
    """
    return choose(overhead_is_recorded, overhead_recorded, variable_overhead_rate * actual_hours)


def overhead_allowed(variable_overhead_rate: Value, standard_hours_allowed: Value) -> Value:
    """Overhead that the hours allowed absorb [currency]."""
    return variable_overhead_rate * standard_hours_allowed


def overhead_variance(overhead_spending_variance: Value, overhead_efficiency_variance: Value) -> Value:
    """Overhead spent that the hours allowed do not absorb; positive is adverse [currency]."""
    return overhead_spending_variance + overhead_efficiency_variance


def job_variance(
    material_price_sum: Value, material_usage_sum: Value, labour_rate_sum: Value, labour_time_sum: Value,
    machine_spending_sum: Value, machine_time_sum: Value, overhead_spending_sum: Value, overhead_time_sum: Value,
) -> Value:
    """What a job cost beyond what was allowed: its eight parts together; positive is adverse [currency]."""
    return (
        material_price_sum + material_usage_sum + labour_rate_sum + labour_time_sum
        + machine_spending_sum + machine_time_sum + overhead_spending_sum + overhead_time_sum
    )


def cost_earned(quote_cost: Value, job_variance: Value) -> Value:
    """What a job cost in the end: what was allowed, and what it took beyond that [currency]."""
    return quote_cost + job_variance


def margin_quoted(net: Value, quote_cost: Value) -> Value:
    """Share of the net that was to be left after cost [1]; 0 where nothing is charged."""
    return choose(net > 0, (net - quote_cost) / net, 0)


def margin_earned(net: Value, cost_earned: Value) -> Value:
    """Share of the net that was left after what the job cost in the end [1]; 0 where nothing is charged.

    >>> float(margin_earned(200.0, 150.0))
    0.25
    """
    return choose(net > 0, (net - cost_earned) / net, 0)


def proposed_standard(standard_today: Value, credibility: Value, observed_mean: Value) -> Value:
    """A standard moved towards what was seen, as far as the jobs count (Bühlmann-Straub) [unit of the standard].

    >>> proposed_standard(100.0, 0.2, 120.0)
    104.0
    """
    return standard_today + credibility * (observed_mean - standard_today)


def standard_movement(proposed_standard: Value, standard_today: Value) -> Value:
    """How far a standard moves from today's [unit of the standard]."""
    return proposed_standard - standard_today


def standard_movement_share(standard_movement: Value, standard_today: Value) -> Value:
    """How far a standard moves, as a share of today's [1]; 0 where today's is 0.

    >>> float(standard_movement_share(3.0, 12.0))
    0.25
    """
    return choose(standard_today > 0, standard_movement / standard_today, 0)


def resource_load(resource_per_piece: Value, quantity: Value) -> Value:
    """What all pieces of a line take of what is scarce [h]."""
    return resource_per_piece * quantity


def resource_weeks(resource_wanted: Value, resource_per_week: Value) -> Value:
    """Weeks that what is wanted takes, if nothing else holds it up [weeks].

    >>> resource_weeks(75.0, 37.5)
    2.0
    """
    return resource_wanted / resource_per_week
