"""How every workbook of ours looks: one typeface, three sizes, one accent, three roles of cell.

Roles are told apart without colour alone: an *input* is tinted and thinly framed, a *working* is plain, a *result* is bold.
"""

from __future__ import annotations

import functools
from dataclasses import field
from typing import Any

from pricing import money
from pricing.dataclass import dataclass
from pricing.languages.spelling import days_in_american
from pricing.xlsx.writing.safe_text import one_line, utf16_units

TYPEFACE = "Arial"
ACCENT = "#1F4E5F"
INK = "#333333"
QUIET = "#6B6B6B"
HAIRLINE = "#BFBFBF"
TINT = "#F3EFE6"
#: Greys and the accent, dark to light: told apart in black and white too.
SHADES = ("#1F4E5F", "#4F7A87", "#86A5AE", "#B9CCD1", "#5C5C5C", "#8C8C8C", "#BDBDBD", "#DDDDDD")

HEADLINE, NORMAL, SMALL = 16, 10, 8

#: Of every page [inches].
MARGINS = {"left": 0.6, "right": 0.6, "top": 0.6, "bottom": 0.75}

#: What a name may take of a page's foot [UTF-16 code units]: by the published limits of spreadsheet programs a foot holds
#: 255 in all, codes among them.
FOOT = 180

_BASE: dict[str, Any] = {"font_name": TYPEFACE, "font_size": NORMAL, "font_color": INK, "valign": "vcenter"}

#: Named formats; a number format is added where a figure is set.
ROLES: dict[str, dict[str, Any]] = {
    "headline": {"font_size": HEADLINE, "font_color": ACCENT, "bold": True},
    "sentence": {"font_size": NORMAL},
    "note": {"font_size": SMALL, "font_color": QUIET, "valign": "top"},
    "note wrapped": {"font_size": SMALL, "font_color": QUIET, "valign": "top", "text_wrap": True},
    "section": {"font_color": ACCENT, "bold": True, "bottom": 1, "bottom_color": ACCENT},
    "heading": {"font_size": SMALL, "font_color": ACCENT, "bold": True, "text_wrap": True, "valign": "bottom", "bottom": 1,
                "bottom_color": ACCENT},
    "heading right": {"font_size": SMALL, "font_color": ACCENT, "bold": True, "text_wrap": True, "valign": "bottom",
                      "bottom": 1, "bottom_color": ACCENT, "align": "right"},
    "text": {"align": "left"},
    "text wrapped": {"align": "left", "text_wrap": True, "valign": "top"},
    "text bold": {"align": "left", "bold": True},
    "input": {"bg_color": TINT, "border": 1, "border_color": HAIRLINE, "locked": False},
    "working": {},
    "result": {"bold": True},
    "total": {"bold": True, "top": 1, "top_color": INK},
    "grand total": {"bold": True, "font_color": ACCENT, "top": 1, "top_color": ACCENT, "bottom": 6, "bottom_color": ACCENT},
    "row": {"bottom": 4, "bottom_color": HAIRLINE},
}


def number_format(shown: str, decimals: int, currency: str) -> str:
    """The number format of a quantity, thousands set by the reader's own locale.

    >>> number_format("%", 1, "GBP"), number_format("m³", 3, "GBP"), number_format("money", 2, "JPY")
    ('0.0%', '#,##0.000', '#,##0')
    """
    if shown == "%":
        return "0." + "0" * decimals + "%" if decimals else "0%"
    if shown == "money" and decimals == 2:
        decimals = money.minor_units(currency)
    return "#,##0." + "0" * decimals if decimals else "#,##0"


def shown_unit(shown: str, currency: str) -> str:
    """The unit as a heading shows it: money by the currency's code; a percentage shows its own in the cells.

    >>> shown_unit("money per kg", "EUR"), shown_unit("flag", "EUR"), shown_unit("%", "EUR")
    ('EUR per kg', '0 or 1', '')
    """
    if shown == "%":
        return ""
    return "0 or 1" if shown == "flag" else shown.replace("money", currency)


@dataclass
class Styles:
    """The formats of one xlsxwriter workbook, each made once.

    Parameters
    ----------
    book : the workbook
    american : days are shown as they are written in America
    """

    book: Any
    american: bool = False
    made: dict[tuple[tuple[str, Any], ...], Any] = field(default_factory=dict)
    asked: dict[tuple[Any, ...], Any] = field(default_factory=dict)

    def get(self, role: str, number: str = "", **more: Any) -> Any:
        """The format of a role, with a number format and further properties."""
        asked = (role, number, *more.items())
        found = self.asked.get(asked)
        if found is None:
            properties, key = _properties(asked, self.american)
            found = self.made.get(key)
            if found is None:
                found = self.made[key] = self.book.add_format(properties)
            self.asked[asked] = found
        return found


@functools.lru_cache(maxsize=1000)
def _properties(asked: tuple[Any, ...], american: bool) -> tuple[dict[str, Any], tuple[tuple[str, Any], ...]]:
    """The properties of a format by its role, its number format and what it has besides, as they are set and in order."""
    role, number, *more = asked
    properties = {**_BASE, **ROLES[role], **dict(more)}
    if number:
        properties["num_format"] = days_in_american(number) if american else number
    return properties, tuple(sorted(properties.items()))


def footer_text(text: str, limit: int = FOOT) -> str:
    """Text as a page's header or footer needs it: on one line, an ampersand doubled, so that it is not read as a code.

    Parameters
    ----------
    text : as typed
    limit : the most that it may take, doubled ampersands among it [UTF-16 code units]

    >>> footer_text("Stone & Sons"), footer_text("Stone & Sons", 8)
    ('Stone && Sons', 'Stone…')
    """
    for room in range(limit, 0, -1):
        doubled = one_line(text, room).replace("&", "&&")
        if utf16_units(doubled) <= limit:
            return doubled
    return ""


def set_page(sheet: Any, *, paper: str, business: str, landscape: bool = False, repeat_row: int | None = None,
             columns: int | None = None, mark: str = "", page: str = "{page} of {pages}") -> None:
    """Paper, margins, one page wide, repeated heading row, page n of m and the business in the foot; no grid lines.

    A mark, which the first page has above its text, heads every further page.
    """
    sheet.hide_gridlines(2)
    sheet.set_paper(9 if paper == "A4" else 1)
    if landscape:
        sheet.set_landscape()
    sheet.set_margins(**MARGINS)
    sheet.fit_to_pages(columns or 1, 0)
    if repeat_row is not None:
        sheet.repeat_rows(repeat_row)
    if mark:
        sheet.set_further_header(f'&R&{NORMAL}&"{TYPEFACE},Bold"{footer_text(mark)}')
    # The size stands before the typeface: a name that begins with a digit must not follow the digits of the size.
    sheet.set_footer(f'&L&{SMALL}&"{TYPEFACE}"{footer_text(business)}&R&{SMALL}&"{TYPEFACE}"{page.format(page="&P", pages="&N")}')
