"""Our British words as they are spelled in America."""

from __future__ import annotations

import re

#: What is spelled otherwise there; the name of a sheet of the price book, and of its columns, stays what it is.
_SPELLED = tuple((re.compile(pattern), word) for pattern, word in (
    (r"\bmould", "mold"), (r"\bMould(?!s!)", "Mold"), (r"colour", "color"), (r"Colour", "Color"), (r"\bfibre", "fiber"),
    (r"\bFibre", "Fiber"), (r"\bgrey\b", "gray"), (r"\bGrey\b", "Gray"), (r"\blabour\b", "labor"),
    (r"(?<!sheet )\bLabour\b(?!!| plan)", "Labor"),
))


def in_american(text: str) -> str:
    """A text of ours as it is spelled in America.

    >>> in_american("in the mould"), in_american("Moulds!B5"), in_american("Grey fibre"), in_american("Labour of Labour!D5")
    ('in the mold', 'Moulds!B5', 'Gray fiber', 'Labor of Labour!D5')
    """
    for pattern, word in _SPELLED:
        text = pattern.sub(word, text)
    return text
