"""What the model has besides where wages, overhead or electricity price differ between the days of its lines: a row of rates for each.

In a model of one day, or of days on which they are the same, they stand among the settings.
"""

from __future__ import annotations

from dataclasses import replace

from pricing.costing.engine.columns import Column, TableSpec, Text
from pricing.costing.method.vocabulary import lookups
from pricing.costing.method.workshop_declared import SETTINGS

#: What of the settings follows from the day.
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


def by_day(spec: TableSpec) -> TableSpec:
    """A table as it is in a model of several rates; itself where it does not differ."""
    if spec.name == SETTINGS.name:
        return replace(spec, columns=tuple(column for column in spec.columns if column.name not in OF_THE_DAY))
    taken: tuple[Column, ...] = lookups("rates", "rates", *_TAKEN.get(spec.name, ()))
    return replace(spec, columns=(*spec.columns, Text("rates", remark=True), *taken)) if taken else spec
