"""How many rows a mix, a plan or a list of extras may have: beyond what a workshop writes down, the work would only grow."""

from __future__ import annotations

from collections import Counter

import numpy as np

from pricing.book.checking.sheet_view import SheetView
from pricing.book.price_book import PriceBook
from pricing.book.wording.reporter import spoken
from pricing.book.wording.sentences import quoted
from pricing.problems import Problems

#: Sheet, column by which a thing is named, and the most rows that it may have; without a column those of the whole sheet.
LONGEST = (
    ("Mixes", "mix", 100), ("Labour", "labour_plan", 500), ("Finishes", "finish", 100), ("Extras", "product", 500),
    ("Layers", "product", 20), ("Cut-outs", "product", 100), ("Cut-outs", "quote", 500), ("Delivery", "zone", 500),
    ("Sets", "set", 200), ("Payments", "payments", 100), ("Taxes", "", 500), ("Terms", "", 500), ("Outlines", "", 30_000),
)

#: The most options of a quote, each of which is priced as an order of its own; lines that sets come to; letters of the terms in all.
MOST_OPTIONS, MOST_PARTS, MOST_LETTERS = 100, 400_000, 300_000

#: The most lines that the options of a quote are reckoned with: each is added to all of its quote.
MOST_WITH_OPTIONS = 200_000


def check_lengths(book: PriceBook, problems: Problems) -> bool:
    """Report things of too many rows; True where there is none, so that everything else can be looked at.

    Problems: too-long, too-many-options, too-many-parts, too-many-letters.
    """
    before = problems.error_count
    for look in (_rows, _options, _parts, _letters):
        look(book, problems)
    return problems.error_count == before


def _rows(book: PriceBook, problems: Problems) -> None:
    for sheet, column, most in LONGEST:
        at = SheetView(book, problems, sheet)
        rows: dict[str, list[int]] = {}
        for index, name in enumerate(at.texts(column) if column else [sheet] * len(at.table)):
            rows.setdefault(name, []).append(index)
        for name, found in rows.items():
            if name and len(found) > most:
                what = spoken(at.declared.column(column)) if column else "sheet"
                cell = column or at.declared.columns[0].name
                at.report("too-long", cell, found[most], what=what, name=quoted(name), count=len(found), most=most)


def _options(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Enquiries")
    offered = np.flatnonzero(at.table["offer"] != "").tolist()
    quotes, parts = at.texts("quote"), Counter(book.tables["Sets"]["set"].tolist())
    lines: Counter[str] = Counter()
    for quote, product in zip(quotes, at.texts("product"), strict=True) if offered else ():
        lines[quote] += max(parts[product], 1)
    for quote, count in Counter(quotes[row] for row in offered).items():
        most = min(MOST_OPTIONS, MOST_WITH_OPTIONS // lines[quote])
        if count > most:
            row = [row for row in offered if quotes[row] == quote][most]
            at.report("too-many-options", "offer", row, quote=quoted(quote), count=count, most=most)


def _parts(book: PriceBook, problems: Problems) -> None:
    at, parts = SheetView(book, problems, "Enquiries"), Counter(book.tables["Sets"]["set"].tolist())
    lines = np.cumsum([parts.get(name, 0) for name in at.texts("product")]) if parts else np.zeros(0)
    if len(lines) and lines[-1] > MOST_PARTS:
        row = int(np.searchsorted(lines, MOST_PARTS, "right"))
        at.report("too-many-parts", "product", row, count=int(lines[-1]), most=MOST_PARTS)


def _letters(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Terms")
    letters = np.cumsum([len(heading) + len(text) for heading, text in zip(at.texts("heading"), at.texts("text"), strict=True)])
    if len(letters) and letters[-1] > MOST_LETTERS:
        row = int(np.searchsorted(letters, MOST_LETTERS, "right"))
        at.report("too-many-letters", "text", row, count=int(letters[-1]), most=MOST_LETTERS)
