"""How many rows a mix, a plan or a list of extras may have: beyond what a workshop writes down, the work would only grow."""

from __future__ import annotations

from pricing.book.checking.sheet_view import SheetView
from pricing.book.price_book import PriceBook
from pricing.book.wording.reporter import spoken
from pricing.book.wording.sentences import quoted
from pricing.problems import Problems

#: Sheet, column by which a thing is named, and the most rows that it may have.
LONGEST = (
    ("Mixes", "mix", 100), ("Labour", "labour_plan", 500), ("Finishes", "finish", 100), ("Extras", "product", 500),
    ("Layers", "product", 20), ("Cut-outs", "product", 100), ("Cut-outs", "quote", 500), ("Delivery", "zone", 500),
)


def check_lengths(book: PriceBook, problems: Problems) -> bool:
    """Report things of too many rows; True where there is none, so that everything else can be looked at.

    Problems: too-long.
    """
    before = problems.error_count
    for sheet, column, most in LONGEST:
        at = SheetView(book, problems, sheet)
        rows: dict[str, list[int]] = {}
        for index, name in enumerate(at.texts(column)):
            rows.setdefault(name, []).append(index)
        for name, found in rows.items():
            if name and len(found) > most:
                what = spoken(at.declared.column(column))
                at.report("too-long", column, found[most], what=what, name=quoted(name), count=len(found), most=most)
    return problems.error_count == before
