"""Whether levels, margins of lines and what is taken from the price can be as the price book says."""

from __future__ import annotations

import math

from pricing.book.checking.sheet_view import SheetView
from pricing.book.price_book import PriceBook
from pricing.book.wording.reporter import Reporter
from pricing.book.wording.sentences import number_text
from pricing.problems import Problems


def check_selling(book: PriceBook, problems: Problems) -> None:
    """Report what does not fit together.

    Problems: empty-level, nothing-left; unused-value as a warning.
    """
    levels = SheetView(book, problems, "Levels")
    for row, figures in enumerate(zip(levels.numbers("discount"), levels.numbers("price"), strict=True)):
        if all(map(math.isnan, figures)):
            levels.report("empty-level", "discount", row)
        elif not any(map(math.isnan, figures)):
            levels.report("unused-value", "discount", row, warning=True, what="a discount of a level that has a price", lacks="need")
    _margins(book, problems)


def _margins(book: PriceBook, problems: Problems) -> None:
    taken = book.number("taken_from_the_price")
    target = book.number("target_margin")
    if target + taken >= 1:
        place = book.setting_cells.get("taken_from_the_price", "")
        Reporter(problems, book.tables["Workshop"].sheet_as_written).report(
            "nothing-left", place, margin=_percent(target), taken=_percent(taken))
    lines = SheetView(book, problems, "Enquiries")
    typed = lines.numbers("unit_price")
    for row, margin in enumerate(lines.numbers("margin")):
        if math.isnan(margin):
            continue
        if not math.isnan(typed[row]):
            lines.report("unused-value", "margin", row, warning=True, what="a margin of a line whose unit price is typed", lacks="need")
        elif margin + taken >= 1:
            lines.report("nothing-left", "margin", row, margin=_percent(margin), taken=_percent(taken))


def _percent(share: float) -> str:
    return f"{number_text(round(share * 100, 6))} %"
