"""The gate before a customer's workbook is delivered: every part of the finished file is searched for what it must not hold.

The search knows no cell and no sheet: it looks at all that the zip holds (texts, rich texts, names, comments, properties,
cached chart values, pictures' remarks, part names), in the several ways in which a figure may be written. What it cannot
find: a figure of fewer than three significant digits, one that the quote shows by right, a price given in words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote
from xml.etree import ElementTree

import numpy as np

from pricing.book.text import fold
from pricing.sheets.leak_figures import Figure, telling_figures, whole_text
from pricing.sheets.leak_parts import PartError, Piece, Skeleton, local, members, parsed, pattern, picture_pieces, pieces_of, skeleton
from pricing.sheets.leak_secrets import Secrets, secrets_of_facts

if TYPE_CHECKING:
    from pricing.costing.costing import Costing

__all__ = ["LeakError", "Secrets", "find_leaks", "secrets_of"]

_PATHS = re.compile(
    r"(?:^|(?<=[\s\"'(=>]))(?:/(?:home|users|root|tmp|var|mnt|media|srv|opt|private|volumes)/[^\s\"'<>]+"
    r"|[a-z]:[\\/][^\s\"'<>]+|\\\\[\w.$-]+\\[^\s\"'<>]*|file:/[^\s\"'<>]+)"
)
_FOOT_CODES = re.compile(r'&(?:&|"[^"]*"|\d+|[A-Z])')
_FEET = frozenset({"oddHeader", "oddFooter", "evenHeader", "evenFooter", "firstHeader", "firstFooter"})
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")

#: Attributes that say where a cell stands.
_ADDRESSES = frozenset({"c/@r", "row/@spans", "mergeCell/@ref", "dimension/@ref", "selection/@sqref", "selection/@activeCell"})

_NAMES_ALLOWED = frozenset({"_xlnm.Print_Area", "_xlnm.Print_Titles"})

#: So many findings say enough.
_MOST = 20


class LeakError(Exception):
    """Raised where a customer's workbook would have held what it must not; the workbook is not delivered.

    Parameters
    ----------
    quote : whose workbook it was
    leaks : a sentence for each finding
    """

    def __init__(self, quote: str, leaks: list[str]) -> None:
        super().__init__(
            f"quote {quote} is not delivered, because its workbook gives away what the customer must not see: {'; '.join(leaks)}; "
            "look at the quote's notes and descriptions, and report it where they do not explain it"
        )
        self.quote = quote
        self.leaks = leaks


def secrets_of(costing: Costing, quote: str, breaks: Costing | None = None) -> Secrets:
    """What the workbook of a quote must not hold.

    Parameters
    ----------
    costing : a costing that holds the quote
    quote : its number
    breaks : of the quote's table of prices by quantity, where it has one
    """
    from pricing.sheets.quote_facts import index_of, quote_facts

    index = index_of(costing)
    return secrets_of_facts(costing, quote_facts(costing, quote, breaks), index.lines[quote], index.number[quote])


def find_leaks(path: Path, secrets: Secrets) -> list[str]:
    """What a finished workbook gives away: a sentence for each finding, none where there is nothing.

    Parameters
    ----------
    path : of the workbook
    secrets : what it must not hold
    """
    try:
        content = members(path)
    except PartError as error:
        return [str(error)]
    known = skeleton()
    found: dict[str, None] = {}
    pieces: list[Piece] = []
    trees: dict[str, ElementTree.Element] = {}
    for part, data in content.items():
        if pattern(part) not in known.parts:
            found[f"{part} is a part that no quote has"] = None
        if known.content.get(part) == data:
            continue
        pieces.append(Piece(part, "its name", part))
        try:
            if part.endswith((".xml", ".rels", ".vml")):
                trees[part] = parsed(part, data)
                pieces.extend(pieces_of(part, trees[part]))
            elif part.endswith(".png"):
                pieces.extend(picture_pieces(part, data))
            else:
                pieces.append(Piece(part, "its content", data.decode("utf-8", "replace")))
        except PartError as error:
            found[str(error)] = None
    for part, tree in trees.items():
        found.update(dict.fromkeys(_oddities(part, tree, known)))
    found.update(dict.fromkeys(_unused_strings(trees)))
    telling = [piece for piece in pieces if not known.knows(piece)]
    for search in (_names, _figures, _folders):
        found.update(dict.fromkeys(search(telling, secrets)))
    return list(found)[:_MOST]


def _oddities(part: str, tree: ElementTree.Element, known: Skeleton) -> Iterator[str]:
    """What a part holds that a quote's workbook has no use for, and what hides something."""
    kinds = pattern(part)
    if kinds not in known.parts:
        return
    for element in tree.iter():
        name = local(element.tag)
        if (kinds, name) not in known.kinds:
            yield f"{part} holds <{name}>, which no quote has"
        for attribute in element.attrib:
            place = f"{name}/@{local(attribute)}"
            if (kinds, place) not in known.kinds:
                yield f"{part} holds {place}, which no quote has"
        if name == "definedName" and element.get("name") not in _NAMES_ALLOWED:
            yield f"{part} defines the name {element.get('name')}"
        if name == "f" and ("!" in (element.text or "") or "[" in (element.text or "")):
            yield f"{part} has a formula that reaches beyond its sheet"
        if (name == "row" and element.get("ht") == "0") or (name == "col" and element.get("width") == "0"):
            yield f"{part} has a {name} of no size"
        if name == "numFmt" and not set(element.get("formatCode", "")) - {";", '"', " "}:
            yield f"{part} has a number format that shows nothing"
    if part == "xl/workbook.xml" and sum(local(element.tag) == "sheet" for element in tree.iter()) != 1:
        yield "the workbook has more than one sheet"


def _unused_strings(trees: dict[str, ElementTree.Element]) -> Iterator[str]:
    table = trees.get("xl/sharedStrings.xml")
    used = {
        child.text for part, tree in trees.items() if part.startswith("xl/worksheets/")
        for cell in tree.iter() if local(cell.tag) == "c" and cell.get("t") == "s"
        for child in cell if local(child.tag) == "v"
    }  # fmt: skip
    entries = [] if table is None else [element for element in table if local(element.tag) == "si"]
    for number, entry in enumerate(entries):
        if str(number) not in used:
            text = "".join(child.text or "" for child in entry.iter() if local(child.tag) == "t")
            yield f'xl/sharedStrings.xml holds a text that no cell shows: "{text[:60]}"'


def _plain(piece: Piece) -> str:
    """A text as a reader would see it: escapes resolved, and the codes of a page's foot left out."""
    text = piece.text
    if piece.place in _FEET:
        text = _FOOT_CODES.sub(lambda match: "&" if match.group() == "&&" else " ", text)
    if "_x" in text:
        text = _ESCAPED.sub(lambda match: chr(int(match.group(1), 16)), text)
    return f"{text}\n{unquote(text)}" if "%" in text else text


def _names(pieces: list[Piece], secrets: Secrets) -> Iterator[str]:
    texts = [
        (piece, fold(_plain(piece)))
        for piece in pieces
        if piece.reading != "number" and piece.place not in _ADDRESSES
    ]
    for phrase, kind in secrets.names_in("\n".join(text for _, text in texts)).items():
        place = next((piece for piece, text in texts if phrase in text), None)
        if place is not None:
            yield f'{place.part} names {kind}: "{phrase}"'


def _figures(pieces: list[Piece], secrets: Secrets) -> Iterator[str]:
    for piece in pieces:
        if piece.place in _ADDRESSES or piece.place == "its name":
            continue
        for figure in _figures_of(piece):
            if figure.text in secrets.shown_text or _lies_in(secrets, figure):
                continue
            for figures in secrets.figures:
                kind = figures.within(figure.value - figure.half, figure.value + figure.half)
                if kind:
                    yield f"{piece.part} holds a {kind}: {figure.text}"
                    break


def _figures_of(piece: Piece) -> Iterator[Figure]:
    if piece.reading == "number":
        return whole_text(piece.text)
    return telling_figures(_plain(piece), formula=piece.reading == "formula")


def _lies_in(secrets: Secrets, figure: Figure) -> bool:
    at = int(np.searchsorted(secrets.shown, figure.value - figure.half, side="left"))
    return at < len(secrets.shown) and bool(secrets.shown[at] <= figure.value + figure.half)


def _folders(pieces: list[Piece], secrets: Secrets) -> Iterator[str]:
    for piece in pieces:
        if piece.place in ("its name", "Override/@PartName") or piece.place.endswith("Relationship/@Target"):
            continue
        for folder in _PATHS.findall(_plain(piece).lower()):
            yield f'{piece.part} names a folder: "{folder[:80]}"'


