"""Whether levels, margins of lines and what is taken from the price can be as the price book says."""

from __future__ import annotations

import math

from pricing.book.checking.sheet_view import SheetView
from pricing.book.offers import number_instead
from pricing.book.pieces import line_keys
from pricing.book.price_book import PriceBook
from pricing.book.wording.reporter import Reporter
from pricing.book.wording.sentences import number_text, quoted
from pricing.problems import Problems
from pricing.text import fold


def check_selling(book: PriceBook, problems: Problems) -> None:
    """Report what does not fit together.

    Problems: empty-level, nothing-left, extra-of-nothing, extra-of-both, service-and-product, unknown-offer,
    nothing-but-options, offer-of-no-line; unused-value, extra-unused and
    free-service as warnings.
    """
    levels = SheetView(book, problems, "Levels")
    for row, figures in enumerate(zip(levels.numbers("discount"), levels.numbers("price"), strict=True)):
        if all(map(math.isnan, figures)):
            levels.report("empty-level", "discount", row)
        elif not any(map(math.isnan, figures)):
            levels.report("unused-value", "discount", row, warning=True, what="a discount of a level that has a price", lacks="need")
    _margins(book, problems)
    _services(book, problems)
    _offers(book, problems)


def _offers(book: PriceBook, problems: Problems) -> None:
    lines = SheetView(book, problems, "Enquiries")
    if not any(lines.texts("offer")):
        return
    offered: dict[tuple[str, int], bool] = {}
    keys = line_keys(book)
    for key, words in zip(keys, lines.texts("offer"), strict=True):
        offered[key] = bool(words)
    asked = {quote for (quote, _), is_offered in offered.items() if not is_offered}
    for row, (words, (quote, number)) in enumerate(zip(lines.texts("offer"), keys, strict=True)):
        if not words:
            continue
        instead = number_instead(words)
        if instead is None:
            lines.report("unknown-offer", "offer", row, found=quoted(words))
        elif quote not in asked:
            lines.report("nothing-but-options", "offer", row, quote=quoted(lines.texts("quote")[row]))
        elif instead and offered.get((quote, instead), True):
            has = "is line " + str(number) if instead == number else f"asks for no line {instead}"
            lines.report("offer-of-no-line", "offer", row, found=quoted(words), has=has)


def _services(book: PriceBook, problems: Problems) -> None:
    extras = SheetView(book, problems, "Extras")
    quotes = {fold(name): name for name in book.tables["Enquiries"]["quote"].tolist()}
    named = extras.table["quote"]
    for row, (product, quote) in enumerate(zip(extras.texts("product"), extras.texts("quote"), strict=True)):
        if bool(product) == bool(quote):
            extras.report("extra-of-nothing" if not product else "extra-of-both", "product", row)
        elif quote and fold(quote) not in quotes:
            extras.report("extra-unused", "quote", row, warning=True, quote=quoted(quote))
        elif quote:
            named[row] = quotes[fold(quote)]
    services = SheetView(book, problems, "Services")
    products = {fold(name) for name in book.tables["Products"]["product"].tolist()} if len(services.table) else set[str]()
    for row, name in enumerate(services.texts("service")):
        if fold(name) in products:
            services.report("service-and-product", "service", row, name=quoted(name))
    waits = [row for row, (plan, price) in enumerate(zip(services.texts("labour_plan"), services.numbers("price"), strict=True))
             if not plan and math.isnan(price)]
    for row in waits:
        services.report("free-service", "price", row, warning=True, name=quoted(services.texts("service")[row]))


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
