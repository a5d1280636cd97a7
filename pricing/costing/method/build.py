"""From a price book and lines to the rows of the costing model: every link resolved, no arithmetic done.

Prices are taken as of each line's day (``build_days``). The tables of what a workshop has are small and built row by row;
those of the lines are built column by column, however many there are.
"""

from __future__ import annotations

from pricing.book.reading.read import PriceBook
from pricing.costing.engine.model import Model
from pricing.costing.lines.order_lines import LineSet
from pricing.costing.method import line_rows as build_lines
from pricing.costing.method import plan_rows, work_rows
from pricing.costing.method import price_rows as build_prices
from pricing.costing.method.plan_rows import BASES
from pricing.costing.method.price_rows import AIR
from pricing.costing.method.price_sets import Run
from pricing.costing.method.rows_builder import NONE, RowsBuilder, number_or, safe_key
from pricing.problems import Problems

__all__ = ["AIR", "BASES", "NONE", "RowsBuilder", "build_model", "number_or", "safe_key"]


def build_model(book: PriceBook, lines: LineSet, problems: Problems) -> Model:
    """The costing model of some lines, ready to be evaluated, written as a workbook, or explained.

    Parameters
    ----------
    problems : collects what cannot be priced, such as a material without a price on a line's day
    """
    run = Run(book, lines, problems)
    mixes, mould_plans = run.used("mix"), run.used("mould_plan")
    steps, finishes, extras = work_rows.steps_in_use(run), work_rows.finishes_in_use(run), work_rows.extras_in_use(run)
    take_offs = build_lines.take_off_rows(run)
    batches, batch_of_line = build_lines.batch_rows(run)
    return Model([
        build_prices.settings_rows(run),
        *build_prices.price_rows(run, mixes, mould_plans, finishes, extras),
        plan_rows.ingredient_rows(run, mixes),
        plan_rows.mix_rows(run, mixes),
        plan_rows.mould_rows(run, mould_plans),
        plan_rows.grade_rows(run),
        plan_rows.machine_rows(run),
        *take_offs,
        *work_rows.step_rows(steps),
        *work_rows.finish_rows(finishes),
        *work_rows.extra_rows(extras),
        batches,
        build_lines.line_rows(run, take_offs, batch_of_line),
        build_lines.band_rows(run),
        build_lines.customer_rows(run),
        build_lines.quote_rows(run),
    ])
