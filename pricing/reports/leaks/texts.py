"""A text or an attribute of a workbook's part, as a scanner sees it and as a reader would.

Much of what a quote says stands in every quote: what was made of a text once is remembered.
"""

from __future__ import annotations

import functools
import re
from typing import Literal
from urllib.parse import unquote

from pricing.dataclass import dataclass
from pricing.reports.leaks.figures import Figure, telling_figures, whole_text
from pricing.text import fold

#: How the figures in a text are to be read: as typed by a person, as a formula, or the whole text as one number.
Reading = Literal["text", "formula", "number"]

#: Attributes that say where a cell stands.
ADDRESSES = frozenset({"c/@r", "row/@spans", "mergeCell/@ref", "dimension/@ref", "selection/@sqref", "selection/@activeCell"})

#: A text longer than this is not remembered: whatever a maker may type must not fill the memory [letters].
LONG = 4000

#: The parts of a word that letters and figures make: what stands at the edge of a name.
PART_OF_WORD = re.compile(r"[^\W_]+")

#: What stands between the parts of a name that somebody wrote in one.
_BETWEEN = re.compile(r"[-_/\\\u058a\u2010-\u2015\u2044\u2212\u2215]+|(?<=[^\W_])[.+\u00b7](?=[^\W_])")

#: Signs that are typed for an apostrophe.
_APOSTROPHES = dict.fromkeys(map(ord, "‘’ʼ´`"), "'")

_PATHS = re.compile(
    r"(?:^|(?<=[\s\"'(=>]))(?:/(?:home|users|root|tmp|var|mnt|media|srv|opt|private|volumes)/[^\s\"'<>]+"
    r"|[a-z]:[\\/][^\s\"'<>]+|\\\\[\w.$-]+\\[^\s\"'<>]*|file:/[^\s\"'<>]+)"
)
_FOOT_CODES = re.compile(r'&(?:&|"[^"]*"|\d+|[A-Z])')
_FEET = frozenset({"oddHeader", "oddFooter", "evenHeader", "evenFooter", "firstHeader", "firstFooter"})
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")


@dataclass(frozen=True, slots=True)
class Said:
    """What a piece says to someone who looks for names, figures and folders.

    Parameters
    ----------
    folded : what is searched for names, as it stands and as ``spelled``; nothing where it is a number, or says where a cell stands
    words : the words of that
    figures : that say enough to give something away
    folders : of some machine
    """

    folded: str = ""
    words: frozenset[str] = frozenset()
    figures: tuple[Figure, ...] = ()
    folders: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """A text or an attribute of a part.

    Parameters
    ----------
    part : name of the zip member
    place : element, and attribute where it is one, without namespaces
    text : what stands there
    reading : how figures in it are to be read
    """

    part: str
    place: str
    text: str
    reading: Reading = "text"

    @property
    def is_attribute(self) -> bool:
        """True where it is an attribute of an element, and not its text."""
        return "/@" in self.place

    @property
    def said(self) -> Said:
        """What it says."""
        look = _said if len(self.text) <= LONG else _said.__wrapped__
        return look(self.place, self.text, self.reading)


def spelled(name: str) -> str:
    """The key by which names are searched: folded, with hyphens, underscores, strokes and points within it as spaces, and one kind of
    apostrophe; a name of figures stays.

    >>> spelled("Coldharbour-Cements"), spelled("O’Brien_and / Sons"), spelled("2026-001")
    ('coldharbour cements', "o'brien and sons", '2026-001')
    """
    folded = fold(name).translate(_APOSTROPHES)
    return " ".join(_BETWEEN.sub(" ", folded).split()) if any(map(str.isalpha, folded)) else folded


def in_both_spellings(text: str) -> str:
    """A text folded, and once more as names are searched where that differs."""
    folded, other = fold(text), spelled(text)
    return folded if other == folded else f"{folded}\n{other}"


@functools.lru_cache(maxsize=4096)
def _said(place: str, text: str, reading: Reading) -> Said:
    if place in ADDRESSES:
        return Said()
    if reading == "number":
        return Said(figures=tuple(whole_text(text)))
    plain = _plain(place, text)
    folded = in_both_spellings(plain)
    words = frozenset(PART_OF_WORD.findall(folded))
    if place == "its name":
        return Said(folded, words)
    names_a_part = place == "Override/@PartName" or place.endswith("Relationship/@Target")
    folders = () if names_a_part or not ("/" in plain or "\\" in plain) else tuple(_PATHS.findall(plain.lower()))
    figures = telling_figures(plain, formula=reading == "formula")
    if "/@" in place:  # nobody writes an amount without its pence into an attribute: a number there is a place or a size
        figures = (figure for figure in figures if figure.sort in ("any", "near"))
    return Said(folded, words, tuple(figures), folders)


def _plain(place: str, text: str) -> str:
    """A text as a reader would see it: escapes resolved, and the codes of a page's foot left out."""
    if place in _FEET:
        text = _FOOT_CODES.sub(lambda match: "&" if match.group() == "&&" else " ", text)
    if "_x" in text:
        text = _ESCAPED.sub(lambda match: chr(int(match.group(1), 16)), text)
    return f"{text}\n{unquote(text)}" if "%" in text else text
