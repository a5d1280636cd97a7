"""From a price book and lines to the rows of the costing model: every link resolved, no arithmetic done.

Prices are taken as of each line's day (``build_days``). The tables of what a workshop has are small and built row by row;
those of the lines are built column by column, however many there are.
"""

from __future__ import annotations

from pricing.book.price_book import PriceBook
from pricing.costing import build_lines, build_plans, build_prices, build_work
from pricing.costing.build_days import Run
from pricing.costing.build_plans import BASES
from pricing.costing.build_prices import AIR
from pricing.costing.lines import LineSet
from pricing.costing.rows_builder import NONE, RowsBuilder, number_or, safe_key
from pricing.costing.tables import Model
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
    steps, finishes, extras = build_work.steps_in_use(run), build_work.finishes_in_use(run), build_work.extras_in_use(run)
    take_offs = build_lines.take_off_rows(run)
    batches, batch_of_line = build_lines.batch_rows(run)
    return Model([
        build_prices.settings_rows(run),
        *build_prices.price_rows(run, mixes, mould_plans, finishes, extras),
        build_plans.ingredient_rows(run, mixes),
        build_plans.mix_rows(run, mixes),
        build_plans.mould_rows(run, mould_plans),
        build_plans.grade_rows(run),
        build_plans.machine_rows(run),
        *take_offs,
        *build_work.step_rows(steps),
        *build_work.finish_rows(finishes),
        *build_work.extra_rows(extras),
        batches,
        build_lines.line_rows(run, take_offs, batch_of_line),
        build_lines.band_rows(run),
        build_lines.customer_rows(run),
        build_lines.quote_rows(run),
    ])
