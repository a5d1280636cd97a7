"""The checks of the margin workbook."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from pricing.reports.margin.book import MarginBook
from pricing.reports.shared.cells import Formula
from pricing.reports.shared.checks import Check, added

_COUNTS = {7: "seven", 8: "eight", 9: "nine", 10: "ten"}


def checks_of(margin: MarginBook) -> list[Check]:
    """Each check: what it claims, and the two ways to the same figure."""
    blocks = margin.layout.blocks

    def value(table: str, column: str) -> Any:
        return margin.measures.figures(margin.model.tables[table], column, margin.costing.values.value(table, column))

    def total(table: str, column: str) -> Formula:
        return Formula(f"SUM({blocks[table].range(column)})", float(np.sum(value(table, column))))

    def weighted(table: str, first: str, second: str) -> Formula:
        text = f"SUMPRODUCT({blocks[table].range(first)},{blocks[table].range(second)})"
        return Formula(text, float(np.sum(value(table, first) * value(table, second))))

    parts, hours = margin.costing.parts, total("lines", "labour_hours")
    if "applied_overhead_rate" in margin.layout.settings:
        rate = margin.costing.setting("applied_overhead_rate")
        absorbed = Formula(f"{margin.layout.settings['applied_overhead_rate']}*{hours.text}", rate * float(hours.result))
    else:
        absorbed = weighted("lines", "labour_hours", "applied_overhead_rate")
    charges = ("lines_net", "small_order_charge", "carriage")
    charged = added(*(total("quotes", name) for name in charges), less=[total("quotes", "discount")])
    checks = [
        Check(f"The {_COUNTS.get(len(parts), len(parts))} parts of every piece add up to its unit cost",
              added(*(total("lines", column) for _, column in parts)), total("lines", "unit_cost")),
        Check("The lines add up to the quotes, before discount", total("lines", "line_net"), total("quotes", "lines_net")),
        Check("Lines less discount, small order charges and carriage add up to the net", charged, total("quotes", "net")),
        Check("Net and tax and rounding add up to what is payable",
              added(*(total("quotes", name) for name in ("net", "tax", "rounding"))), total("quotes", "payable")),
        Check("Quantity times unit cost adds up to the cost of the lines",
              weighted("lines", "quantity", "unit_cost"), total("quotes", "line_cost_sum")),
        Check("Cost of the lines, carriage and what is taken from the price add up to the cost of the quotes",
              added(*(total("quotes", name) for name in ("line_cost_sum", "carriage", "taken_sum"))), total("quotes", "quote_cost")),
        Check("Shares of the mixer loads add up to whole loads", total("lines", "loads_of_line"), total("batches", "loads")),
        Check("Concrete mixed for the lines adds up to that of the batches",
              total("lines", "mixed_volume"), total("batches", "mixed_volume_of_mix")),
        Check("Mixes in parts fill their cubic metre", weighted("mixes", "has_parts", "placed_volume"), total("mixes", "has_parts")),
        Check("Wages of the steps add up to labour and mould building",
              total("steps", "step_wages"), added(total("lines", "labour_cost"), total("lines", "mould_labour_cost"))),
        Check("Hours of the steps and of refitting add up to the labour hours",
              added(total("steps", "step_labour_hours"), total("lines", "refit_hours")), hours),
        Check("Overhead is the labour hours at the overhead rate", absorbed, total("lines", "overhead_cost")),
    ]
    return [replace(check, claim=margin.measures.said(check.claim)) for check in checks]
