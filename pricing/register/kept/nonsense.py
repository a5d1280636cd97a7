"""Values as the register keeps them, read one by one: what is none is nonsense, and a sentence says of it why."""

from __future__ import annotations

import contextlib
import datetime
import functools
import json
import math
from collections.abc import Sequence
from typing import Any

#: The longest value that is repeated in a sentence [characters].
_LONGEST = 40


class NonsenseError(ValueError):
    """Raised where a record holds nonsense; its text goes on after "because"."""


#: The day that a text states, of texts that were met already.
_day = functools.lru_cache(maxsize=4096)(datetime.date.fromisoformat)


def day_of(value: Any, what: str) -> datetime.date:
    """A day as the register keeps it.

    Problems raised: NonsenseError.
    """
    try:
        return _day(value)
    except (TypeError, ValueError):
        raise NonsenseError(f"its {what} is {_shown(value)}, which is no day") from None


def number_of(value: Any, what: str) -> float:
    """A figure as the register keeps it.

    Problems raised: NonsenseError.
    """
    with contextlib.suppress(OverflowError):
        if isinstance(value, int | float) and math.isfinite(value):
            return value
    raise NonsenseError(f"its {what} is {_shown(value)}, which is no number")


def words_of(value: Any, what: str) -> str:
    """A text as the register keeps it.

    Problems raised: NonsenseError.
    """
    if isinstance(value, str) and "\N{REPLACEMENT CHARACTER}" not in value:
        return value
    raise NonsenseError(f"its {what} is {_shown(value)}, which is no text")


def object_of(value: Any, what: str, needed: Sequence[str] = ()) -> dict[str, Any]:
    """An object as the register keeps it, as text, with the names that it needs.

    Problems raised: NonsenseError.
    """
    try:
        found = json.loads(value)
    except (TypeError, ValueError, RecursionError):
        found = None
    if isinstance(found, dict) and all(name in found for name in needed):
        return found
    raise NonsenseError(f"its {what} cannot be read")


def objects_of(values: Sequence[Any], what: str, needed: Sequence[str] = ()) -> list[dict[str, Any] | NonsenseError]:
    """Many of them, or instead of one why it cannot be read; they are read all at once where every one can be.

    Parameters
    ----------
    needed : the names that each of them needs
    """
    names = frozenset(needed)
    try:
        read = json.loads(f"[{','.join(values)}]")
        if len(read) == len(values) and all(type(each) is dict and each.keys() >= names for each in read):
            return list(read)
    except (TypeError, ValueError, RecursionError):
        pass
    return [_object_or_why(value, what, needed) for value in values]


def _object_or_why(value: Any, what: str, needed: Sequence[str]) -> dict[str, Any] | NonsenseError:
    try:
        return object_of(value, what, needed)
    except NonsenseError as error:
        return error


def _shown(value: Any) -> str:
    text = repr(value) if isinstance(value, bytes) else f'"{value}"'
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"
