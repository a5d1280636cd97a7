"""Whether sets are made of what can be sold as a set, and asked for as one."""

from __future__ import annotations

import math

from pricing.book.checking.sheet_view import SheetView
from pricing.book.declared.dimensions import DIMENSION_NAMES
from pricing.book.pieces import cut_outs_of_lines, line_keys
from pricing.book.price_book import PriceBook
from pricing.book.sets import parts_of_sets
from pricing.book.wording.reporter import spoken
from pricing.book.wording.sentences import quoted
from pricing.problems import Problems
from pricing.rules.geometry.seen_edges import ALL_SEEN
from pricing.text import fold


def check_sets(book: PriceBook, problems: Problems) -> None:
    """Report what does not fit together.

    Problems: set-and-other, set-in-set, set-by-measure, set-of-two-taxes, set-has-none, cut-out-of-a-set.
    """
    parts = parts_of_sets(book)
    if parts:
        _parts(book, problems, parts)
        _asked(book, problems, set(parts))


def _parts(book: PriceBook, problems: Problems, parts: dict[str, list[int]]) -> None:
    at, products, services = (SheetView(book, problems, sheet) for sheet in ("Sets", "Products", "Services"))
    others = [(fold(name), thing) for view, column, thing in ((products, "product", "product"), (services, "service", "service"))
              for name in view.texts(column)]
    known = dict(others)
    per = dict(zip(products.texts("product"), products.texts("price_per"), strict=True))
    tax = dict(zip(services.texts("service"), services.texts("tax"), strict=True))
    tax |= dict(zip(products.texts("product"), products.texts("tax"), strict=True))
    for name, rows in parts.items():
        if fold(name) in known:
            at.report("set-and-other", "set", rows[0], name=quoted(name), thing=known[fold(name)])
        taxed: list[tuple[int, str]] = []
        for row in rows:
            part = at.texts("product")[row]
            if part in parts and fold(part) not in known:
                at.report("set-in-set", "product", row, name=quoted(name), part=quoted(part))
            if per.get(part, "") not in ("", "piece"):
                at.report("set-by-measure", "product", row, name=quoted(name), part=quoted(part), per=per[part])
            if part in tax:
                taxed.append((row, tax[part]))
        other = next(((row, each) for row, each in taxed if each != taxed[0][1]), None)
        if other is not None:
            found, first = (quoted(each) if each else "the workshop's" for each in (other[1], taxed[0][1]))
            at.report("set-of-two-taxes", "product", other[0], name=quoted(name), found=found, other=first,
                      row=int(at.table.rows[taxed[0][0]]))


def _asked(book: PriceBook, problems: Problems, sets: set[str]) -> None:
    """What an enquiry of a set may not say: a set has no size, and nothing is cut out of it."""
    at, cuts = SheetView(book, problems, "Enquiries"), cut_outs_of_lines(book)
    own = [*DIMENSION_NAMES, *ALL_SEEN]
    asked = [row for row, name in enumerate(at.texts("product")) if name in sets]
    keys = line_keys(book) if asked and cuts else []
    cut_outs = SheetView(book, problems, "Cut-outs")
    for row in asked:
        for name in (each for each in own if not math.isnan(at.table[each][row])):
            at.report("set-has-none", name, row, what=spoken(at.declared.column(name)))
        if at.texts("outline")[row]:
            at.report("set-has-none", "outline", row, what="outline")
        for cut in cuts.get(keys[row], ()) if keys else ():
            cut_outs.report("cut-out-of-a-set", "line", cut, line=keys[row][1], quote=quoted(at.texts("quote")[row]))
