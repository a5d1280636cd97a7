"""Where pages end: how much a page holds, how wide it may be before its type is too small, and where a new one begins."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pricing.reports.shared.styles import MARGINS, SMALL

#: Height and width of the paper [points], and points in a pixel of 1/96 inch.
SIZES = {"A4": (842.0, 595.0), "Letter": (792.0, 612.0)}
POINTS = 0.75

#: The smallest type that is printed [points].
SMALLEST = 6.0

#: How much of a page programs fill before they go on to the next: they set rows and columns, and so the scale at which the page
#: is as wide as the paper, a little differently (measured by hand, no source).
ROOM_FILLED, ROOM_STEPS = (0.95, 1.08), 13


def room_between_margins(paper: str, *, landscape: bool = False) -> tuple[float, float]:
    """What a page has between its margins, from top to bottom and from side to side [points].

    >>> room_between_margins("A4"), room_between_margins("A4", landscape=True)
    ((744.8, 508.6), (497.8, 755.6))
    """
    height, width = SIZES[paper] if not landscape else SIZES[paper][::-1]
    across, upright = (72 * (MARGINS[one] + MARGINS[other]) for one, other in (("left", "right"), ("top", "bottom")))
    return round(height - upright, 1), round(width - across, 1)


def page_room(paper: str, widths: Sequence[int], landscape: bool = False) -> float:
    """What a page has between its margins for rows, where its columns are made as narrow as the paper [points].

    Parameters
    ----------
    paper : ``A4`` or ``Letter``
    widths : of its columns [pixels]

    >>> round(page_room("A4", [600])), round(page_room("A4", [1357]))
    (745, 1490)
    """
    height, side = room_between_margins(paper, landscape=landscape)
    return height * max(1.0, sum(widths) * POINTS / side)


def widest_page(paper: str, *, landscape: bool = False) -> float:
    """How wide the columns of a page may be together before its smallest type is printed too small [pixels].

    >>> round(widest_page("A4")), round(widest_page("A4", landscape=True))
    (904, 1343)
    """
    return room_between_margins(paper, landscape=landscape)[1] / POINTS * SMALL / SMALLEST


def fullest_page(paper: str, *, landscape: bool = False) -> float:
    """How high rows may be together so that one page holds them before its smallest type is printed too small [points].

    >>> round(fullest_page("A4")), round(fullest_page("Letter"))
    (993, 926)
    """
    return room_between_margins(paper, landscape=landscape)[0] * SMALL / SMALLEST


def divided(heights: Sequence[float], first: int, room: float, repeated: float, used: float) -> bool:
    """Whether the last rows from a row on stand on more than one page, each filled as far as whole rows go.

    Parameters
    ----------
    heights : of all rows [points]
    room : what a page has [points]
    repeated : height of the row that heads every further page [points]
    used : what is taken of the first page before its first row [points]
    """
    page, on = 0, []
    for height in heights:
        if used + height > room and used > repeated:
            page, used = page + 1, repeated
        used += height
        on.append(page)
    return on[first] != on[-1]


def page_openings(heights: Mapping[int, float], usual: float, blocks: Sequence[tuple[int, int]], room: float) -> list[int]:
    """The rows that begin a new page, so that no block that a page can hold is divided.

    Parameters
    ----------
    heights : of rows that are not as high as usual, by row counted from 0 [points]
    usual : height of all others [points]
    blocks : first row and row below the last of each, in order
    room : what a page has, as :func:`page_room` has it [points]

    >>> page_openings({0: 30.0}, 15.0, [(0, 4), (4, 8), (9, 14)], 150.0)
    [9]
    """
    least, openings = room * ROOM_FILLED[0], []
    used, row = 0.0, 0
    for first, end in blocks:
        before, own = (sum(heights.get(each, usual) for each in range(*span)) for span in ((row, first), (first, end)))
        if used and used + before + own > least and own <= least:
            openings.append(first)
            used = own
        else:
            used = (used + before + own) % least
        row = end
    return openings
