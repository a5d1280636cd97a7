"""Names and texts in one form: what makes two names the same although they were typed differently."""

from __future__ import annotations

import re
import unicodedata

# Characters that are not seen: soft hyphens, joiners, marks of direction, variation selectors, byte order marks.
INVISIBLE = re.compile("[\u00ad\u034f\u061c\u180e\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufe00-\ufe0f\ufeff]")


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
