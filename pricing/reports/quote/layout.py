"""How a quote's page is laid out: how large its sketches are, how wide its columns, and whether it stands on one page."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from pricing.reports.quote import wording as words
from pricing.reports.quote.facts import QuoteFacts
from pricing.reports.quote.page import BREAK_COLUMNS, QuotePage
from pricing.reports.quote.sketch import LAYOUT_HEIGHT, LAYOUT_WIDTH, Sketch
from pricing.reports.shared.flowing_page import NET, NUMBER, PRICE, QUANTITY, WEIGHT, WIDTHS, Kept, Page, widened
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


def write_page(facts: QuoteFacts, sheet: Any, styles: Styles, *, pictures: bool = True) -> None:
    """Write the page of a quote, on one page of paper where that is not too small, with the largest sketches that leave it room there;
    on several with those with which it has the fewest.

    Parameters
    ----------
    sheet : an empty xlsxwriter worksheet
    styles : the workbook's formats
    pictures : False where the room for pictures stays empty
    """
    empty = Page(sheet, styles, page_widths(facts), pictures=pictures)
    if len(facts.lines) > MOST_MEASURED:
        QuotePage(facts, empty, USUAL, one_page=False).write()
        return
    page = _written(facts, empty, SKETCH_SIZES[0], one_page=True)
    sketches = _sketches_for_one_page(page)
    if sketches is not None:
        page.draw(sketches)
    else:
        page = min((_written(facts, empty, size, one_page=False) for size in SKETCH_SIZES[1:3]), key=lambda tried: len(tried.page.openings))
    page.page.sheet.put_on(sheet)


def _written(facts: QuoteFacts, empty: Page, size: tuple[int, int], one_page: bool) -> QuotePage:
    """A page that is kept until it is clear which is written."""
    page = QuotePage(facts, replace(empty, sheet=Kept(), heights={}, openings=[]), size, one_page)
    page.write()
    return page


def _sketches_for_one_page(page: QuotePage) -> list[Sketch | None] | None:
    """The largest sketches with which the quote stands on one page; None where it does not."""
    shares, room = [], page_room(page.facts.paper, page.page.widths)
    for size in SKETCH_SIZES:
        sketches = page.sketches_for(size)
        shares.append(room / replace(page.page, heights=page.heights(sketches)).used)
        if shares[-1] >= SHRUNK[0]:
            return sketches
    fitting = [size for size, share in zip(SKETCH_SIZES, shares, strict=True) if share >= SHRUNK[1]]
    return page.sketches_for(fitting[0]) if fitting else None


def page_widths(facts: QuoteFacts) -> tuple[int, ...]:
    """Widths of the columns, wide enough for the longest figure of each [pixels]."""
    money, unit = facts.digits, facts.unit_decimals
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
