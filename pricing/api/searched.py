"""The pages that a check searches for what customers must not see: all, or of very many those that say most in words of their own."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from pricing.languages.tags import known_language
from pricing.problems import Problems

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing

#: Rows of the pages that a check searches; each takes about as long as a line, two thirds of a thousandth of a second.
MOST_SEARCHED = 3_000

#: So many rows take as long as what is the same on every page; so many letters of notes and terms as long as one.
_A_PAGE, _LETTERS = 15, 300


def search_pages(costing: Costing, refused: Problems) -> None:
    """Search the pages of the quotes, as far as they come to so many rows, those with the longest texts first.

    Problems: leak; not-searched as a warning.
    """
    from pricing.reports.leaks.gate import LeakError
    from pricing.reports.quote.workbook import search_quote

    said = _letters_of_own(costing)
    rows = _rows_of_pages(costing, said)
    chosen, room = set[str](), MOST_SEARCHED
    for quote in sorted(said, key=lambda quote: -said[quote]):
        if rows[quote] <= room:
            chosen.add(quote)
            room -= rows[quote]
    for quote in [each for each in said if each in chosen]:
        try:
            search_quote(costing, quote)
        except LeakError as error:
            refused.add("leak", str(error), sheet="Enquiries")
    if len(said) > len(chosen):
        text = f"{len(chosen)} of {len(said):,} quotes were searched for what their customers must not see, those with the longest texts"
        refused.add("not-searched", f"{text} first; pricing quote searches every one before it is written", sheet="Enquiries", warning=True)


def _letters_of_own(costing: Costing) -> dict[str, int]:
    """How much the notes and descriptions of each quote say [letters]."""
    columns = costing.book.tables["Enquiries"].columns
    said = dict.fromkeys(costing.quotes, 0)
    for quote, *texts in zip(*(columns[name].tolist() for name in ("quote", "note", "description") if name in columns), strict=True):
        if quote in said:
            said[quote] += sum(map(len, texts))
    return said


def _rows_of_pages(costing: Costing, said: dict[str, int]) -> dict[str, int]:
    """How much work the page of each quote is: its lines, what is offered beside them, its stages of payment and its letters [rows].

    Parameters
    ----------
    said : letters of notes and descriptions
    """
    enquiries, terms = costing.book.tables["Enquiries"], costing.book.tables["Terms"]
    lines = Counter(costing.lines.quote.tolist()) + Counter(enquiries["quote"][enquiries["offer"] != ""].tolist())
    letters: Counter[str] = Counter()
    for asked, text in zip(terms["language"].tolist(), terms["text"].tolist(), strict=True):
        letters[known_language(asked)] += len(text)
    return {
        quote: _A_PAGE + lines[quote] + len(stages) + (said[quote] + letters[""] + letters[costing.language_of(quote)]) // _LETTERS
        for quote, stages in zip(costing.quotes, costing.payments, strict=True)
    }
