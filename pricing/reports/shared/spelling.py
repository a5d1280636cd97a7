"""A workbook as an American workshop spells it: our words alone, never what was typed into the price book."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pricing.book.declared.sheets import SHEETS
from pricing.book.price_book import PriceBook
from pricing.languages.spelling import in_american
from pricing.languages.tags import AMERICAN, usual_language


def ours_in_american(text: str, typed: frozenset[str]) -> str:
    """A text as it is spelled in America; one that holds what was typed with such a word stays as it is.

    >>> ours_in_american("in the mould", frozenset()), ours_in_american("Grey sand, in the mould", frozenset({"Grey sand"}))
    ('in the mold', 'Grey sand, in the mould')
    """
    return text if any(own in text for own in typed) else in_american(text)


def typed_words(book: PriceBook) -> frozenset[str] | None:
    """What was typed with such a word, in the book of an American workshop; None where the workshop is none."""
    if usual_language(book.word("currency")) != AMERICAN:
        return None
    columns = (values.tolist() for table in book.tables.values() for values in table.columns.values() if values.dtype == object)
    texts = {value for values in columns for value in values if isinstance(value, str)}
    texts |= {value for value in book.settings.values() if isinstance(value, str)}
    words = {word for sheet in SHEETS for column in sheet.columns for word in column.choices}  # ours, though a maker types them
    return frozenset(text for text in texts - words if in_american(text) != text)


def spell(sheet: Any, typed: frozenset[str]) -> None:
    """Spell whatever is written on a sheet from now on, notes and texts of several styles among it.

    Parameters
    ----------
    sheet : an xlsxwriter worksheet
    typed : what was typed, as ``typed_words`` gives it
    """
    for name in ("write_string", "write_comment", "write_rich_string"):
        setattr(sheet, name, _spelling(getattr(sheet, name), typed))


def _spelling(write: Callable[..., Any], typed: frozenset[str]) -> Callable[..., Any]:
    def written(*arguments: Any) -> Any:
        """The place, then texts and styles."""
        place = 1 if isinstance(arguments[0], str) else 2
        return write(*arguments[:place], *(ours_in_american(each, typed) if isinstance(each, str) else each for each in arguments[place:]))

    return written
