"""The parts of a finished workbook as a scanner sees them: every text and attribute, whatever it is for.

What every workbook of a kind holds (parts, elements, fonts, the theme, positions on the page) is known from one that is
written without content; whatever goes beyond that does not belong.
"""

from __future__ import annotations

import contextlib
import functools
import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO
from xml.etree import ElementTree

from pricing.dataclass import dataclass
from pricing.reports.leaks.texts import Piece

#: Pieces of a PNG picture that show something; any other may carry words.
_PICTURE_CHUNKS = frozenset({b"IHDR", b"PLTE", b"IDAT", b"IEND", b"pHYs", b"tRNS", b"gAMA", b"sRGB", b"cHRM", b"sBIT", b"bKGD"})
PNG = b"\x89PNG\r\n\x1a\n"
_NO_DIGITS = str.maketrans("", "", "0123456789")
FORMULAS = frozenset({"f", "definedName", "formula1", "formula2", "formula"})


class PartError(Exception):
    """A part that cannot be looked into; its text says which and why."""


@functools.lru_cache(maxsize=1024)
def local(name: str) -> str:
    """A name without its namespace.

    >>> local("{urn:x}row")
    'row'
    """
    return name.rpartition("}")[2]


@functools.lru_cache(maxsize=1024)
def pattern(part: str) -> str:
    """A part's name with its figures left out.

    >>> pattern("xl/media/image12.png")
    'xl/media/image.png'
    """
    return part.translate(_NO_DIGITS)


def members(file: Path | BinaryIO) -> dict[str, bytes]:
    """Every member of a zip file of ours by name.

    Problems raised: PartError where two have one name, one is damaged, or something stands beside them.
    """
    try:
        with zipfile.ZipFile(file) as source:
            infos = source.infolist()
            found = {info.filename: source.read(info) for info in infos}
            beside = [source.comment, *(part for info in infos for part in (info.comment, info.extra))]
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError) as error:
        raise PartError(f"the file is damaged ({error})") from error
    if len(found) != len(infos):
        raise PartError("two parts of the file have one name")
    if any(beside):
        raise PartError("the file carries remarks beside its parts")
    return found


def parsed(part: str, content: bytes) -> ElementTree.Element:
    """The element tree of an XML part of ours.

    Problems raised: PartError where it is not well formed, not in UTF-8, or holds what a parser passes over.
    """
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        raise PartError(f"{part} is not in UTF-8") from None
    if "<!" in text or "<?" in text[5:]:
        raise PartError(f"{part} holds remarks or declarations, which no workbook of ours does")
    try:
        return ElementTree.fromstring(text.encode("utf-8"))
    except ElementTree.ParseError as error:
        raise PartError(f"{part} is not well formed ({error})") from error


def is_number(text: str) -> bool:
    """Whether the whole text is one plain number."""
    if text[:1] not in "+-.0123456789":
        return False
    try:
        float(text)
    except ValueError:
        return False
    return True


def pieces_of(part: str, root: ElementTree.Element) -> Iterator[Piece]:
    """Every text and attribute of an XML part; a text set in several styles also as the reader sees it, in one."""
    indexes = {
        child for cell in root.iter() if local(cell.tag) == "c" and cell.get("t") == "s" for child in cell if local(child.tag) == "v"
    }
    for element in root.iter():
        name = local(element.tag)
        for attribute, value in element.attrib.items():
            yield Piece(part, f"{name}/@{local(attribute)}", value, "number" if is_number(value) else "text")
        if name in ("si", "is", "p"):
            yield Piece(part, name, "".join(child.text or "" for child in element.iter() if local(child.tag) == "t"))
        text = (element.text or "").strip()
        if text and element not in indexes:
            yield Piece(part, name, text, "formula" if name in FORMULAS else "number" if is_number(text) else "text")
        if (element.tail or "").strip():
            yield Piece(part, name, (element.tail or "").strip())


def picture_pieces(part: str, content: bytes) -> Iterator[Piece]:
    """What a PNG picture carries besides what it shows.

    Problems raised: PartError for what is no PNG picture.
    """
    if not content.startswith(PNG):
        raise PartError(f"{part} is no PNG picture")
    at = len(PNG)
    while at + 8 <= len(content):
        length, kind = struct.unpack(">I4s", content[at : at + 8])
        if kind not in _PICTURE_CHUNKS:
            yield Piece(part, kind.decode("latin-1"), _readable(content[at + 8 : at + 8 + length]))
        at += 12 + length
        if kind == b"IEND":
            break
    if content[at:]:
        yield Piece(part, "after its end", _readable(content[at:]))


def _readable(body: bytes) -> str:
    keyword, _, rest = body.partition(b"\0")
    with contextlib.suppress(zlib.error):  # what is not compressed is read as it stands
        rest = zlib.decompress(rest.lstrip(b"\0\1"))
    return f"{keyword.decode('latin-1')} {rest.decode('utf-8', 'replace')}"


@dataclass(frozen=True, slots=True)
class Skeleton:
    """What every workbook of a kind holds, whatever it says.

    Parameters
    ----------
    parts : patterns of part names
    content : parts that never differ, by name
    kinds : part pattern, and element or element and attribute
    texts : part pattern, place and text of what is always the same
    layout : part pattern and place of figures that say where things stand
    """

    parts: frozenset[str]
    content: dict[str, bytes]
    kinds: frozenset[tuple[str, str]]
    texts: frozenset[tuple[str, str, str]]
    layout: frozenset[tuple[str, str]]

    def said(self, part: str, place: str) -> frozenset[str]:
        """The texts that always stand in a place, exactly as they stand there; none where they are numbered."""
        return frozenset(text for kind, where, text in self.texts if (kind, where) == (part, place) and _standing(part, text) == text)

    def knows(self, piece: Piece) -> bool:
        """Whether a piece says nothing that every workbook of the kind does not say."""
        part = pattern(piece.part)
        if piece.reading == "number":
            return (part, piece.place) in self.layout or (part, piece.place, piece.text) in self.texts
        return (part, piece.place, _standing(part, piece.text)) in self.texts


def _standing(part: str, text: str) -> str:
    """What is always the same of a text: pictures and relations are numbered, so their numbers are left out."""
    return pattern(text) if "/drawings/" in part or part.endswith(".rels") or part == "[Content_Types].xml" else text


def skeleton_of(file: BinaryIO) -> Skeleton:
    """The skeleton of a kind of workbook.

    Parameters
    ----------
    file : one that is written with everything that such a workbook is made of, and nothing that it says
    """
    parts: set[str] = set()
    kinds: set[tuple[str, str]] = set()
    texts: set[tuple[str, str, str]] = set()
    layout: set[tuple[str, str]] = set()
    content = {}
    with zipfile.ZipFile(file) as made:
        for name in made.namelist():
            part = pattern(name)
            parts.add(part)
            if name.endswith(".png"):
                continue
            if "/theme/" in name:
                content[name] = made.read(name)
            root = parsed(name, made.read(name))
            kinds.update((part, local(element.tag)) for element in root.iter())
            for piece in pieces_of(name, root):
                kinds.add((part, piece.place))
                if piece.reading == "number" and (piece.is_attribute or "/drawings/" in name):
                    layout.add((part, piece.place))
                elif piece.is_attribute or name.endswith("app.xml"):
                    texts.add((part, piece.place, _standing(part, piece.text)))
    return Skeleton(frozenset(parts), content, frozenset(kinds), frozenset(texts), frozenset(layout))
