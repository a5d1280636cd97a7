"""Lines costed with the moulds that make their quotes cheapest."""

from __future__ import annotations

from pricing.book.price_book import PriceBook
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.lines.order_lines import OrderLines
from pricing.costing.method.build import build_model
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.cheapest import with_cheapest_moulds
from pricing.problems import Problems


def costed(book: PriceBook, lines: OrderLines, problems: Problems) -> Costing:
    """Some lines costed with the moulds that make their quotes cheapest, wanted days aside, and nothing said of them.

    Parameters
    ----------
    problems : collects what cannot be priced
    """
    model = build_model(book, lines, problems)
    costing = Costing(book, lines, problems, model, evaluate(model))
    return costing if problems.errors else with_cheapest_moulds(costing)
