"""How a quote's page is laid out: how large its sketches are, how wide its columns, and whether it stands on one page."""

from __future__ import annotations

from pricing.reports.quote import wording as words
from pricing.reports.quote.facts import QuoteFacts
from pricing.reports.quote.letter import unit_decimals
from pricing.reports.quote.page import BREAK_COLUMNS, QuotePage
from pricing.reports.quote.sketch import LAYOUT_HEIGHT, LAYOUT_WIDTH
from pricing.reports.shared.flowing_page import NET, NUMBER, PRICE, QUANTITY, WEIGHT, WIDTHS, Page, Unwritten, widened
from pricing.reports.shared.paging import page_room
from pricing.reports.shared.styles import Styles

#: What sketches are laid out for where there are many [px of the layout].
USUAL = (LAYOUT_WIDTH, LAYOUT_HEIGHT)

#: How wide sketches are laid out, and what they may be laid out for, the largest first [px of the layout].
SKETCH_WIDTH = 212
SKETCH_SIZES: tuple[tuple[int, int], ...] = tuple((SKETCH_WIDTH, height) for height in (170, 145, 120, 100))

#: How small a quote may be printed so that it stands on one page, beside what its width asks for: rather hardly smaller with a smaller
#: sketch, or else so that its smallest type still has 6.4 points and the figures of its sketches 6.
SHRUNK = (0.97, 0.91)

#: A quote of more lines than this does not stand on one page, and its sketches are laid out for the usual size.
MOST_MEASURED = 7


def layout(facts: QuoteFacts, styles: Styles) -> tuple[tuple[int, int], bool]:
    """What the sketches are laid out for [px of the layout], and whether the quote stands on one page.

    On one page the sketches are the largest with which it does; on several they are those with which it has the fewest.
    """
    if len(facts.lines) > MOST_MEASURED:
        return USUAL, False
    shares = []
    for size in SKETCH_SIZES:
        measured = _measured(facts, styles, size, one_page=True)
        shares.append(page_room(facts.paper, measured.widths) / measured.used)
        if shares[-1] >= SHRUNK[0]:
            return size, True
    if max(shares) >= SHRUNK[1]:
        return next(size for size, share in zip(SKETCH_SIZES, shares, strict=True) if share >= SHRUNK[1]), True
    pages = {size: len(_measured(facts, styles, size, one_page=False).openings) for size in SKETCH_SIZES[1:3]}
    return min(pages, key=lambda size: pages[size]), False


def _measured(facts: QuoteFacts, styles: Styles, size: tuple[int, int], one_page: bool) -> Page:
    page = Page(Unwritten(), styles, page_widths(facts))
    QuotePage(facts, page, size, one_page).write()
    return page


def page_widths(facts: QuoteFacts) -> tuple[int, ...]:
    """Widths of the columns, wide enough for the longest figure of each [pixels]."""
    money, unit = facts.digits, unit_decimals(facts)
    amounts = (*facts.totals.values(), *(line.net for line in facts.charged))
    widths = widened(WIDTHS, NET, [f"{value:,.{money}f}" for value in amounts], True)
    widths = widened(widths, PRICE, [f"{line.unit_price:,.{unit}f}" for line in facts.charged])
    widths = widened(widths, QUANTITY, [f"{line.quantity:,.0f}" for line in facts.every_line])
    widths = widened(widths, WEIGHT, [f"{line.mass:,.1f}" for line in facts.lines])
    widths = widened(widths, NUMBER, [str(len(facts.lines))])
    for place, column in enumerate(BREAK_COLUMNS):
        shown = [f"{price:,.{money}f}" for line in facts.charged for price in line.prices[place :: len(BREAK_COLUMNS)]]
        each = facts.words.say(words.LABELS["each of"])
        shown += [f"{each} {quantity:,.0f}" for quantity in facts.quantities[place :: len(BREAK_COLUMNS)]]
        widths = widened(widths, column, shown)
    return widths
