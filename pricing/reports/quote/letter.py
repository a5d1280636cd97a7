"""A letter to a customer: the workshop at its head, sections that no page divides, care and cautions at its end."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeAlias

from pricing.reports.quote import wording as words
from pricing.reports.quote.facts import QuoteFacts
from pricing.reports.quote.sketch import Sketch, sketch_of
from pricing.reports.shared.flowing_page import LAST, NUMBER, PIECE, ROOM, SKETCH, Page
from pricing.reports.shared.paging import ROOM_FILLED, page_room
from pricing.reports.shared.styles import ACCENT, NORMAL, QUIET, SMALL
from pricing.xlsx.writing.text_width import line_height, wrapped

#: Size of the type of an empty line that keeps a text off the rule above it [points].
AIR = 3

#: How much of its width a text fills whose subjects are bold, and so wider [share].
BOLD_AMONG = 0.98

#: What a row says in several styles, and how high that is [points].
Block: TypeAlias = tuple[list[tuple[str, dict[str, Any]]], float]

QUIETLY: Mapping[str, Any] = {"font_size": SMALL, "font_color": QUIET}
ASIDE: Mapping[str, Any] = {"font_color": QUIET}


def money_format(decimals: int) -> str:
    """The number format of amounts.

    >>> money_format(2), money_format(0)
    ('#,##0.00', '#,##0')
    """
    return "#,##0" + ("." + "0" * decimals if decimals else "")


def within_a_sentence(tax_name: str) -> str:
    """The name of a tax within a sentence: a tax that is called so begins small, an abbreviation stays as it is.

    >>> within_a_sentence("Sales tax"), within_a_sentence("VAT")
    ('sales tax', 'VAT')
    """
    first, _, rest = tax_name.partition(" ")
    called_so = tax_name.casefold().endswith("tax") and not (len(first) > 1 and first.isupper())
    return f"{first.lower()} {rest}".strip() if called_so else tax_name


class Letter:
    """A letter while it is written.

    Parameters
    ----------
    facts : what it says
    page : an empty page
    size : what the sketches are laid out for [px of the layout]
    one_page : whether it is printed as small as one page needs
    """

    def __init__(self, facts: QuoteFacts, page: Page, size: tuple[int, int], one_page: bool) -> None:
        self.facts, self.page, self.size, self.one_page = facts, page, size, one_page
        self.money = money_format(facts.digits)
        page.language_mark = facts.words.number_mark
        self.tax = within_a_sentence(facts.tax_name)

    @functools.cached_property
    def sketches(self) -> list[Sketch | None]:
        """The sketch of each line, where it has one."""
        return self.sketches_for(self.size)

    def sketches_for(self, size: tuple[int, int]) -> list[Sketch | None]:
        """The same, laid out for a size [px of the layout]."""
        facts = self.facts
        return [sketch_of(line.shape, line.dimensions, line.figures, line.details, size, facts.words) for line in facts.lines]

    @functools.cached_property
    def text_column(self) -> int:
        """Where the words of a line begin: beside the sketches, where there are any."""
        return PIECE if any(self.sketches) else SKETCH

    def label(self, name: str, **values: object) -> str:
        """A heading or a label of the page, in its language."""
        return self.facts.words.say(words.LABELS[name], **values)

    @property
    def room(self) -> float:
        """What a page surely holds [points]."""
        return math.inf if self.one_page else page_room(self.facts.paper, self.page.widths) * ROOM_FILLED[0]

    def _whole(self, write: Callable[[], None], heading: Callable[[], None] | None = None) -> None:
        """Write rows that are not divided: on the next page where this one has no room for them, and there below a heading."""
        if self.room < math.inf and self.page.used and self.page.used + self._height_of(write) > self.room:
            self.page.begin_page()
            if heading is not None:
                heading()
        write()

    def _all_of(self, parts: Sequence[Callable[[], None]]) -> None:
        """Several things below one another, of which none is to stand on a page alone."""
        for part in parts:
            part()

    def _height_of(self, write: Callable[[], None]) -> float:
        """How high something is on the page [points]."""
        page, self.page = self.page, self.page.blank()
        write()
        page, self.page = self.page, page
        return page.used

    def _sender(self) -> None:
        facts, page = self.facts, self.page
        if facts.mark:
            page.paragraph(facts.mark, NUMBER, LAST, "text bold", align="right")
        page.paragraph(facts.business, NUMBER, LAST, "headline", text_wrap=True)
        number = words.tax_number_words(facts.tax_name, facts.tax_number, facts.words)
        for parts in ((facts.address,), (facts.contact, number)):
            lines = [line.strip() for part in parts for line in part.split("\n") if line.strip()]
            if lines:
                page.paragraph(" · ".join(lines), NUMBER, LAST, "note wrapped")
        page.gap(12.0)

    def _section(self, title: str, text: str, size: float = NORMAL, room: float = 0.0) -> None:
        """A section's title and its text in one cell, so that no page ends with a title."""
        page, body = self.page, {"font_size": size}
        page.gap(7.0)
        lines = len(wrapped(text, page.width(NUMBER, LAST), size))
        height = line_height(AIR) + line_height(NORMAL) + lines * line_height(size) + 2 * ROOM + room
        page.rich([*titled(title), (f"\n{text}", body)], NUMBER, LAST, "text wrapped", height, top=1, top_color=ACCENT)
        page.next_row()

    def _care(self) -> None:
        """How to care for the pieces, and all that is to be careful of, one behind another, each behind its subject in bold."""
        facts, page = self.facts, self.page
        masses, sets = [(line.number, line.mass) for line in facts.lines], {line.number for line in facts.lines if line.part_of}
        say = facts.words.say
        said = [(say(words.WEIGHT_TITLE), words.weight_sentence(masses, facts.one_person_lift, facts.mass_unit, facts.words, sets))]
        said += [(say(each.title), say(each.text)) for each in words.cautions_for({(line.shape.name, line.uses) for line in facts.pieces})]
        body, bold = {"font_size": SMALL}, {"font_size": SMALL, "bold": True}
        parts: list[tuple[str, dict[str, Any]]] = [
            (" \n", {"font_size": AIR}), (self.label("care"), {**bold, "font_color": ACCENT}),
            (f"  {words.care_for({line.uses for line in facts.pieces}, facts.words)}", body),
            (f"\n{self.label('cautions')} ", {**bold, "font_color": ACCENT}),
        ]
        for subject, text in said:
            parts += [(f" {subject}", bold), (f" {text}", body)]
        page.gap(7.0)
        lines = len(wrapped("".join(part for part, _ in parts[1:]), page.width(NUMBER, LAST) * BOLD_AMONG, SMALL))
        page.rich(parts, NUMBER, LAST, "text wrapped", line_height(AIR) + lines * line_height(SMALL) + ROOM, top=1, top_color=ACCENT)
        page.next_row()


def titled(title: str) -> list[tuple[str, dict[str, Any]]]:
    """The title of a section, a little below the rule above it."""
    return [(" \n", {"font_size": AIR}), (title, {"bold": True, "font_color": ACCENT})]
