"""What work costs: minutes times what they are counted by, times the hourly cost of who does it."""

from __future__ import annotations

from pricing.algebra.expressions import Value, larger
from pricing.glossary import Quantity, define

define([
    Quantity("minutes", "Minutes", "minute/count", "min", 2, "Minutes for one of what the step is counted by.", 0.0, 100_000.0),
    Quantity("count", "Count per piece", "count/piece", "", 4, "How many of what the step is counted by, per good piece."),
    Quantity("lines_sharing", "Lines sharing", "dimensionless", "lines", 0, "Lines of the quote among which what is counted by the quote is shared out in equal parts; 1 for whatever else.", 1.0),
    Quantity("hourly_cost", "Wage", "currency/hour", "money per h", 2, "What an hour of this trade costs.", 0.0, 1e13),
    Quantity("machine_rate_of_step", "Machine rate", "currency/hour", "money per h", 2, "What an hour of the step's machine costs."),
    Quantity("lost_on_reject", "Lost on reject", "dimensionless", "flag", 0, "1 where a rejected piece takes this work with it."),
    Quantity("builds_mould", "Builds moulds", "dimensionless", "flag", 0, "1 where the step belongs to building moulds."),
    Quantity("by_count", "Repeated as counted", "1/count", "flag", 0, "1 where the step is repeated as often as it is counted."),
    Quantity("by_piece", "Repeated by piece", "1/piece", "flag", 0, "1 where the step is repeated for each piece."),
    Quantity("by_mould", "Repeated by mould", "1/mould", "flag", 0, "1 where the step is repeated for each mould."),
    Quantity("step_hours", "Hours", "hour/piece", "h", 4, "Hours of the step per good piece, lost ones included."),
    Quantity("attended", "Attended", "dimensionless", "flag", 0, "0 where a machine runs alone: no hands, and no overhead."),
    Quantity("step_labour_hours", "Labour hours", "hour/piece", "h", 4, "Hours of hands at the step, per good piece."),
    Quantity("step_wages", "Wages", "currency/piece", "money", 2, "Wages of the step per good piece."),
    Quantity("step_mould_wages", "Wages of mould building", "currency/piece", "money", 2, "Wages of the step that build moulds."),
    Quantity("step_machine_cost", "Machine cost", "currency/piece", "money", 2, "Machine time of the step per good piece."),
    Quantity("step_casting_wages", "Wages of making", "currency/piece", "money", 2, "Wages of the step that make pieces."),
    Quantity("labour_cost", "Labour", "currency/piece", "money", 2, "Wages per good piece, building moulds left out."),
    Quantity("step_hours_sum", "Step hours", "hour/piece", "h", 4, "Hours of all steps per good piece."),
    Quantity("labour_hours", "Labour hours", "hour/piece", "h", 3, "All hours per good piece, moulds included."),
    Quantity("machine_cost", "Machines", "currency/piece", "money", 2, "Machine time per good piece."),
    Quantity("finish_amount", "Used per piece", "count/piece", "", 4, "Pack units used per good piece."),
    Quantity("coats", "Coats", "dimensionless", "", 0, "How often it is applied.", 0.01, 100.0),
    Quantity("covers", "Covers", "dimensionless", "", 3, "What one pack unit of the material does.", 1e-3, 1e6),
    Quantity("finish_line_cost", "Cost per piece", "currency/piece", "money", 2, "What the consumable costs per good piece."),
    Quantity("finish_cost", "Finish", "currency/piece", "money", 2, "Consumables of the finish per good piece."),
    Quantity("extra_amount", "Amount", "count/count", "", 4, "Pack units for one of what it is counted by.", 1e-5, 1e7),
    Quantity("extra_used", "Used per piece", "count/piece", "", 4, "Pack units used per good piece, those that rejects take with them included."),
    Quantity("extra_line_cost", "Cost per piece", "currency/piece", "money", 2, "What the bought-in thing costs per good piece."),
    Quantity("extras_cost", "Extras", "currency/piece", "money", 2, "Bought-in things per good piece."),
])


def repetitions(count: Value, quantity: Value, by_count: Value, by_piece: Value, moulds_charged: Value, by_mould: Value) -> Value:
    """How often a step is repeated in a run: as often as it is counted, or once for each piece or each mould; at least once [1].

    >>> float(repetitions(0.5, 12.0, 1.0, 0.0, 2.0, 0.0)), float(repetitions(0.5, 12.0, 0.0, 1.0, 2.0, 0.0))
    (6.0, 12.0)
    """
    return larger(by_count * count * quantity + by_piece * quantity + by_mould * moulds_charged, 1)


def step_hours(
    minutes: Value, average_minutes_factor: Value, count: Value, lines_sharing: Value, lost_on_reject: Value, rejects: Value,
    minutes_per_hour: Value,
) -> Value:
    """Hours of a step per good piece; what a rejected piece takes with it is done again, what is done once for a quote shared [h/piece].

    >>> step_hours(6.0, 1.0, 1.0, 1.0, 1.0, 0.2, 60.0), step_hours(60.0, 1.0, 0.25, 2.0, 0.0, 0.2, 60.0)
    (0.125, 0.125)
    """
    return minutes * average_minutes_factor * count / lines_sharing / minutes_per_hour / (1 - lost_on_reject * rejects)


def step_labour_hours(step_hours: Value, attended: Value) -> Value:
    """Hours of hands at a step per good piece; none where a machine runs alone [h/piece]."""
    return step_hours * attended


def step_wages(step_hours: Value, hourly_cost: Value) -> Value:
    """Wages of a step per good piece [currency/piece]."""
    return step_hours * hourly_cost


def step_mould_wages(step_wages: Value, builds_mould: Value) -> Value:
    """Wages of a step that build moulds [currency/piece]."""
    return step_wages * builds_mould


def step_casting_wages(step_wages: Value, builds_mould: Value) -> Value:
    """Wages of a step that make pieces [currency/piece]."""
    return step_wages * (1 - builds_mould)


def step_machine_cost(step_hours: Value, machine_rate_of_step: Value) -> Value:
    """Machine time of a step per good piece [currency/piece]."""
    return step_hours * machine_rate_of_step


def labour_hours(step_hours_sum: Value, refit_hours: Value) -> Value:
    """All hours per good piece, building and making ready of moulds included [h/piece]."""
    return step_hours_sum + refit_hours


def finish_amount(count: Value, coats: Value, covers: Value) -> Value:
    """Pack units of a consumable used per good piece [pack units/piece].

    >>> finish_amount(2.0, 2.0, 8.0)
    0.5
    """
    return count * coats / covers


def finish_line_cost(finish_amount: Value, unit_price_of_material: Value) -> Value:
    """What a consumable costs per good piece [currency/piece]."""
    return finish_amount * unit_price_of_material


def extra_used(extra_amount: Value, count: Value, lines_sharing: Value, lost_on_reject: Value, rejects: Value) -> Value:
    """Pack units of a bought-in thing used per good piece; what a rejected piece takes with it is bought again [pack units/piece].

    >>> extra_used(2.0, 1.0, 1.0, 1.0, 0.2)
    2.5
    """
    return extra_amount * count / lines_sharing / (1 - lost_on_reject * rejects)


def extra_line_cost(extra_used: Value, unit_price_of_material: Value) -> Value:
    """What a bought-in thing costs per good piece [currency/piece]."""
    return extra_used * unit_price_of_material
