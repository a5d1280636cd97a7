"""Names and texts in one form: what makes two names the same although they were typed differently."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

# Characters that are not seen: soft hyphens, joiners, marks of direction, fillers, variation selectors, byte order marks (the property
# Default_Ignorable_Code_Point of the Unicode Character Database), and the empty pattern of Braille.
INVISIBLE = re.compile(
    "[\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u202a-\u202e\u2060-\u206f\u2800\u3164\ufe00-\ufe0f\ufeff\uffa0"
    "\ufff0-\ufff8\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff]"
)


def fold(text: str) -> str:
    """The key by which names, headings and sheet names are compared.

    Parameters
    ----------
    text : as typed

    Compatibility forms, letter case, invisible characters and the kind and number of spaces make no difference
    (Unicode Standard, section 3.13, caseless matching; Annex 15, form NFKC).

    >>> fold("  Grey\u00a0 CEMENT ")
    'grey cement'
    """
    if text.isascii():
        return " ".join(text.casefold().split())
    text = unicodedata.normalize("NFKC", unicodedata.normalize("NFD", INVISIBLE.sub("", text)).casefold())
    text = unicodedata.normalize("NFKC", INVISIBLE.sub("", text.casefold()))
    return " ".join(text.split())


def folded(texts: Sequence[str]) -> list[str]:
    """The keys of many texts, all at once where each is a single plain word.

    >>> folded(["Q-1", "q-2"]), folded(["Grey  CEMENT", ""])
    (['q-1', 'q-2'], ['grey cement', ''])
    """
    together = "\n".join(texts)
    if together.isascii():
        lines = together.casefold().split("\n")
        if len(lines) == len(texts) and lines == together.casefold().split():
            return lines
    return [fold(text) for text in texts]
