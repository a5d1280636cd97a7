"""How wide text is and how many lines it takes: row heights are set by us, since no two programs fit them alike.

Widths are those of Helvetica, from the font metrics that its maker published; Arial and its metric twins share them.
"""

from __future__ import annotations

import math
from functools import lru_cache

#: Advance widths of regular letters [thousandths of the type size], by the letters that share them.
_WIDTHS: dict[int, str] = {
    191: "'", 222: "ijl‘’‚", 260: "|", 278: "!,./:;I[\\]ft \u00a0ı", 333: '()-`r·“”„', 334: "{}", 350: "•", 355: '"',
    389: "*", 400: "°", 469: "^", 500: "Jckvxsyz", 556: "#$0123456789?L_abdeghnopqu£€–", 584: "+<=>~×÷±−", 611: "FTZø",
    667: "&ABEKPSVXY", 722: "CDHNRUw", 778: "GOQØ", 833: "Mm", 889: "%æ", 944: "W", 1000: "Æ—…", 1015: "@",
}
_WIDTH_OF: dict[str, int] = {letter: width for width, letters in _WIDTHS.items() for letter in letters}

#: Bold letters are about this much wider; what is not listed is taken as wide as a wide letter, or as the type is high.
_BOLD = 1.09
_OTHER, _SQUARE = 722, 1000

#: Programs and printers set text a little wider than its metrics [share], and keep this free in a cell [pixels].
SLACK, PADDING = 1.04, 7
PIXELS_PER_POINT = 96 / 72

#: No line has more letters than this, however narrow they are: marks that stand over others take no room at all.
MOST_LETTERS = 1000


@lru_cache(maxsize=4096)
def _letter_width(letter: str) -> int:
    width = _WIDTH_OF.get(letter)
    if width is None:
        import unicodedata

        if unicodedata.combining(letter):
            return 0
        plain = unicodedata.normalize("NFD", letter)[0]
        width = _WIDTH_OF.get(plain, _SQUARE if unicodedata.east_asian_width(letter) in "WF" else _OTHER)
    return width


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of a line of text [pixels of 1/96 inch].

    Parameters
    ----------
    text : one line
    size : of the type [points]

    >>> round(text_width("1,234.50", 10))
    54
    """
    return _pixels(_letters_width(text), size, bold)


@lru_cache(maxsize=4096)
def _letters_width(text: str) -> int:
    """Width of a line of text [thousandths of the type size]."""
    return sum(map(_letter_width, text))


def _pixels(units: int, size: float, bold: bool) -> float:
    return units / 1000 * size * PIXELS_PER_POINT * SLACK * (_BOLD if bold else 1.0)


def wrapped(text: str, width: float, size: float, bold: bool = False) -> list[str]:
    """The lines of text as a cell of that width breaks them, at spaces, or within a word that is too long.

    Parameters
    ----------
    text : may hold line feeds
    width : of the cell [pixels]
    size : of the type [points]

    >>> wrapped("Wall shelf with a drop lip", 120, 10)
    ['Wall shelf with a', 'drop lip']
    """
    return list(_wrapped(text, width, size, bold))


@lru_cache(maxsize=2048)
def _wrapped(text: str, width: float, size: float, bold: bool) -> tuple[str, ...]:
    room = max(width - PADDING, size * 2)
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line, used = "", 0.0
        for word in paragraph.split(" "):
            units = _letters_width(word)
            long = _pixels(units, size, bold)
            gap = text_width(" ", size, bold) if line else 0.0
            if line and (used + gap + long > room or len(line) + len(word) >= MOST_LETTERS):
                lines.append(line)
                line, used, gap = "", 0.0, 0.0
            while long > room or len(word) > MOST_LETTERS:
                fitting = _fitting(word, room, size, bold)
                lines.append(word[:fitting])
                units -= _letters_width(word[:fitting])
                word = word[fitting:]
                long = _pixels(units, size, bold)
            line, used = (f"{line} {word}" if line else word), used + gap + long
        lines.append(line)
    return tuple(lines)


def _fitting(word: str, room: float, size: float, bold: bool) -> int:
    """How many letters of a word fit; at least one."""
    used, scale = 0.0, text_width(" ", size, bold) / _letter_width(" ")
    for number, letter in enumerate(word[:MOST_LETTERS]):
        used += _letter_width(letter) * scale
        if used > room:
            return max(number, 1)
    return min(len(word), MOST_LETTERS)


def fitting(text: str, room: float, size: float, bold: bool = False) -> str:
    """A line of text, its end left out where it does not fit.

    Parameters
    ----------
    room : that it has [pixels]
    size : of the type [points]

    >>> fitting("Stepping stone 450", 200, 10), fitting("Stepping stone 450", 90, 10)
    ('Stepping stone 450', 'Stepping st…')
    """
    if text_width(text, size, bold) <= room:
        return text
    return text[: _fitting(text, room - text_width("…", size, bold), size, bold)].rstrip() + "…"


def line_height(size: float) -> float:
    """Height of a line of type, as the program that sets lines widest apart does [points].

    Lines stand in whole pixels; at 8 points that is 15 of them, at 10 points 17 (measured by hand, no source).

    >>> line_height(8), line_height(10)
    (11.25, 13.5)
    """
    return (math.ceil(size * 1.6) + 2) / PIXELS_PER_POINT
