"""The gate before a customer's workbook is delivered: every part of the finished file is searched for what it must not hold.

The search knows no cell and no sheet: it looks at all that the zip holds (texts, rich texts, names, comments, properties,
cached chart values, pictures' remarks, part names), in the several ways in which a figure may be written. What it finds, and what
it lets pass, stands in the README under *Security*, and in the tests sentence by sentence.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from pathlib import Path

from pricing.problems import PricingError
from pricing.reports.leaks.parts import PartError, members
from pricing.reports.leaks.scan import Scanned, Scanner, Told
from pricing.reports.leaks.secrets import Secrets

#: So many findings say enough.
_MOST = 20


class LeakError(PricingError):
    """Raised where a customer's workbook would have held what it must not; the workbook is not delivered.

    Parameters
    ----------
    quote : whose workbook it was
    leaks : a sentence for each finding
    """

    code = "leak"

    def __init__(self, quote: str, leaks: list[str]) -> None:
        super().__init__(
            f"quote {quote} is not delivered, because its workbook gives away what the customer must not see: {'; '.join(leaks)}; "
            "look at the quote's notes and descriptions, and report it where they do not explain it"
        )
        self.quote = quote
        self.leaks = leaks

    def __reduce__(self) -> tuple[type[LeakError], tuple[str, list[str]]]:
        return LeakError, (self.quote, self.leaks)


def find_leaks(workbook: Path | io.BytesIO, secrets: Secrets, scanner: Scanner) -> list[str]:
    """What a finished workbook gives away: a sentence for each finding, none where there is nothing.

    Parameters
    ----------
    workbook : a file, or a file in memory
    secrets : what it must not hold
    scanner : knows what every workbook of its kind holds
    """
    try:
        content = members(workbook)
    except PartError as error:
        return [str(error)]
    parts = {part: scanner.scanned(part, data) for part, data in content.items()}
    found = dict.fromkeys(oddity for each in parts.values() for oddity in each.oddities)
    found.update(dict.fromkeys(_unused_strings(parts)))
    telling = [told for each in parts.values() for told in each.telling]
    for search in (_names, _figures, _folders):
        found.update(dict.fromkeys(search(telling, secrets)))
    return list(found)[:_MOST]


def _unused_strings(parts: Mapping[str, Scanned]) -> Iterator[str]:
    used = {number for each in parts.values() for number in each.used}
    for number, text in enumerate(parts["xl/sharedStrings.xml"].shared if "xl/sharedStrings.xml" in parts else ()):
        if str(number) not in used:
            yield f'xl/sharedStrings.xml holds a text that no cell shows: "{text[:60]}"'


def _names(pieces: list[Told], secrets: Secrets) -> Iterator[str]:
    for phrase, kind in secrets.names_in([said for _, said in pieces]).items():
        place = next(piece for piece, said in pieces if phrase in said.folded)
        yield f'{place.part} names {kind}: "{phrase}"'


def _figures(pieces: list[Told], secrets: Secrets) -> Iterator[str]:
    for piece, said in pieces:
        for figure in said.figures:
            kind = secrets.found(figure)
            if kind:
                yield f"{piece.part} holds a {kind}: {figure.text}"


def _folders(pieces: list[Told], secrets: Secrets) -> Iterator[str]:
    for piece, said in pieces:
        for folder in said.folders:
            yield f'{piece.part} names a folder: "{folder[:80]}"'
