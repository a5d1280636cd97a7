"""What was read, in one line."""

from __future__ import annotations

from collections.abc import Mapping

from pricing.book.declared.sheets import SHEETS

_SINGULAR = {declared.things.replace(" ", "_"): declared.thing for declared in SHEETS} | {"quote_lines": "line"}
_PLURAL = {declared.things.replace(" ", "_"): declared.things for declared in SHEETS} | {"quote_lines": "lines"}


def counted(counts: Mapping[str, int]) -> str:
    """The counts of a price book as a list; what it has none of is left out, and so are the settings.

    >>> counted({"settings": 25, "materials": 14, "mixes": 1, "zones": 0, "quotes": 2, "quote_lines": 5})
    '14 materials, 1 mix, 2 quotes with 5 lines'
    """
    parts = [
        _with_number(name, count)
        for name, count in counts.items()
        if count and name not in ("settings", "quotes", "quote_lines")
    ]
    if counts.get("quotes"):
        parts.append(
            f"{_with_number('quotes', counts['quotes'])} with {_with_number('quote_lines', counts['quote_lines'])}"
        )
    return ", ".join(parts)


def _with_number(name: str, count: int) -> str:
    return f"{count:,} {_SINGULAR[name] if count == 1 else _PLURAL[name]}"
