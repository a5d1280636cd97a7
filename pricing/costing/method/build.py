"""From a price book and lines to the rows of the costing model: every key resolved, no arithmetic done.

Prices are taken as of each line's day (``price_sets``). The tables of what a workshop has are small and built row by row;
those of the lines are built column by column, however many there are.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.costing.engine.model import Model
from pricing.costing.lines.order_lines import OrderLines
from pricing.costing.method import line_rows, piece_rows, plan_rows, price_rows, term_rows, work_rows
from pricing.costing.method.costing import Costing
from pricing.costing.method.price_sets import PricingContext
from pricing.problems import Problems


def build_model(book: PriceBook, lines: OrderLines, problems: Problems) -> Model:
    """The costing model of some lines, ready to be evaluated, written as a workbook, or explained.

    Parameters
    ----------
    problems : collects what cannot be priced, such as a material without a price on a line's day
    """
    context = PricingContext(book, lines, problems)
    mixes, mould_plans = piece_rows.used_mixes(context), context.used("mould_plan")
    steps, finishes, extras = work_rows.steps_in_use(context), work_rows.finishes_in_use(context), work_rows.extras_in_use(context)
    price_rows.check_rates(context, steps)
    batches, number = line_rows.batch_rows(context)
    forms, count = context.forms, len(lines)
    return Model([
        price_rows.settings_rows(context),
        *([price_rows.rates_rows(context)] if context.rates_differ else []),
        *price_rows.price_rows(context, mixes, mould_plans, finishes, extras),
        plan_rows.ingredient_rows(context, mixes),
        plan_rows.mix_rows(context, mixes),
        plan_rows.mould_rows(context, mould_plans),
        plan_rows.trade_rows(context),
        plan_rows.machine_rows(context),
        *piece_rows.outline_tables(context),
        *line_rows.take_off_rows(context),
        *([piece_rows.cut_out_rows(context)] if forms.cut else []),
        *([piece_rows.layer_rows(context, number[count:])] if forms.composed else []),
        *work_rows.step_rows(steps),
        *work_rows.finish_rows(finishes),
        *work_rows.extra_rows(extras),
        batches,
        line_rows.line_rows(context, number[:count]),
        line_rows.band_rows(context),
        line_rows.customer_rows(context),
        line_rows.quote_rows(context),
        *term_rows.term_tables(context),
    ])


#: What of a line is settled once all lines are known: how many moulds stand at once, and why; and the sheets they are cut from.
_SETTLED = ("moulds_at_once", "sheet_board")


def model_of(costing: Costing, rows: Sequence[int]) -> Model:
    """The model of some whole quotes of a costing alone, each line with the moulds that it has there.

    Parameters
    ----------
    rows : the lines, counted from 0
    """
    taken, lines = np.asarray(rows, dtype=np.intp), costing.model.tables["lines"]
    model = build_model(costing.book, costing.lines.taken(taken), Problems(costing.book.file))
    return model.with_given(
        "lines", {name: lines.given[name][taken] for name in _SETTLED}, {"moulds_because": lines.text["moulds_because"][taken]})
