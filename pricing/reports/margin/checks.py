"""The checks of the margin workbook: each takes a figure by two ways and shows the difference, which is zero."""

from __future__ import annotations

import numpy as np

from pricing.reports.margin.book import MarginBook
from pricing.reports.shared.plain_table import set_widths

_COUNTS = {7: "seven", 8: "eight", 9: "nine", 10: "ten"}


def _total(margin: MarginBook, table: str, column: str) -> tuple[str, float]:
    formula = f"SUM({margin.layout.blocks[table].range(column)})"
    return formula, float(np.sum(margin.costing.values.value(table, column)))


def _weighted(margin: MarginBook, table: str, first: str, second: str) -> tuple[str, float]:
    block, value = margin.layout.blocks[table], margin.costing.values.value
    return f"SUMPRODUCT({block.range(first)},{block.range(second)})", float(np.sum(value(table, first) * value(table, second)))


def _joined(*parts: tuple[str, tuple[str, float]]) -> tuple[str, float]:
    text = "".join(f"{sign}{formula}" for sign, (formula, _) in parts).removeprefix("+")
    return text, float(sum(figure if sign == "+" else -figure for sign, (_, figure) in parts))


def checks(margin: MarginBook) -> list[tuple[str, tuple[str, float], tuple[str, float]]]:
    """Each check: what it claims, and the two ways to the same figure as formula and number."""

    def total(table: str, column: str) -> tuple[str, float]:
        return _total(margin, table, column)

    parts = margin.costing.parts
    return [
        (f"The {_COUNTS.get(len(parts), len(parts))} parts of every piece add up to its unit cost",
         _joined(*(("+", total("lines", column)) for _, column in parts)), total("lines", "unit_cost")),
        ("The lines add up to the quotes, before discount", total("lines", "line_net"), total("quotes", "lines_net")),
        ("Lines less discount, small order charges and carriage add up to the net",
         _joined(("+", total("quotes", "lines_net")), ("-", total("quotes", "discount")), ("+", total("quotes", "small_order_charge")),
                 ("+", total("quotes", "carriage"))), total("quotes", "net")),
        ("Net and tax and rounding add up to what is payable",
         _joined(("+", total("quotes", "net")), ("+", total("quotes", "tax")), ("+", total("quotes", "rounding"))),
         total("quotes", "payable")),
        ("Quantity times unit cost adds up to the cost of the lines",
         _weighted(margin, "lines", "quantity", "unit_cost"), total("quotes", "line_cost_sum")),
        ("Cost of the lines and carriage add up to the cost of the quotes",
         _joined(("+", total("quotes", "line_cost_sum")), ("+", total("quotes", "carriage"))), total("quotes", "quote_cost")),
        ("Shares of the mixer loads add up to whole loads", total("lines", "loads_of_line"), total("batches", "loads")),
        ("Concrete mixed for the lines adds up to that of the batches",
         total("lines", "mixed_volume"), total("batches", "mixed_volume_of_mix")),
        ("Mixes in parts fill their cubic metre", _weighted(margin, "mixes", "has_parts", "placed_volume"), total("mixes", "has_parts")),
        ("Wages of the steps add up to labour and mould building",
         total("steps", "step_wages"), _joined(("+", total("lines", "labour_cost")), ("+", total("lines", "mould_labour_cost")))),
        ("Hours of the steps and of refitting add up to the labour hours",
         _joined(("+", total("steps", "step_hours")), ("+", total("lines", "refit_hours"))), total("lines", "labour_hours")),
        ("Overhead is the labour hours at the overhead rate",
         _joined(("+", (f"{margin.layout.settings['applied_overhead_rate']}*{total('lines', 'labour_hours')[0]}",
                        margin.costing.setting("applied_overhead_rate") * total("lines", "labour_hours")[1]))),
         total("lines", "overhead_cost")),
    ]


def write_checks(margin: MarginBook) -> None:
    """Write the sheet of checks; its first line says whether all differences are zero."""
    sentence = "Each figure by two ways. Every difference is zero, or the model has been broken."
    sheet = margin.open_sheet("Checks", "Checks", sentence, wide=False)
    style = margin.styles.get
    for column, text in ((0, "Check"), (1, "One way"), (2, "Another way"), (3, "Difference")):
        sheet.write_string(5, column, text, style("heading right" if column else "heading"))
    number = "#,##0.0000"
    rows = checks(margin)
    for row, (claim, (left, left_figure), (right, right_figure)) in enumerate(rows, 6):
        sheet.write_string(row, 0, claim, style("text"))
        sheet.write_formula(row, 1, f"={left}", style("working", number), left_figure)
        sheet.write_formula(row, 2, f"={right}", style("working", number), right_figure)
        sheet.write_formula(row, 3, f"=ROUND(B{row + 1}-C{row + 1},6)", style("result", number), 0.0)
    first, last = 7, 6 + len(rows)
    sheet.write_string(3, 0, "All differences together", style("text bold"))
    sheet.write_formula(3, 3, f"=SUMPRODUCT(ABS(D{first}:D{last}))", style("result", number), 0.0)
    broken = margin.book.add_format({"bg_color": "#E8B4A0", "bold": True})
    sheet.conditional_format(3, 3, 3, 3, {"type": "cell", "criteria": "!=", "value": 0, "format": broken})
    set_widths(sheet, (467, 117, 117, 117))
