"""One look at a part of a finished workbook: what in it is out of place, and what it says beyond what every one of its kind says.

Much of a workbook is the same as in others of its kind. A part that was looked at is remembered with its bytes.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator
from typing import TypeAlias
from xml.etree import ElementTree

from pricing.dataclass import dataclass
from pricing.reports.leaks.parts import (
    FORMULAS,
    PartError,
    Skeleton,
    is_number,
    local,
    parsed,
    pattern,
    picture_pieces,
)
from pricing.reports.leaks.texts import ADDRESSES, LONG, Piece, Said

#: A text or an attribute, and what it says.
Told: TypeAlias = tuple[Piece, Said]

#: A part that is larger is not remembered [bytes].
_LARGEST = 1 << 16

#: What the address of a cell, and of several, looks like.
_ADDRESS = re.compile(r"(?:[A-Z]{1,3}\d{1,7}(?::[A-Z]{1,3}\d{1,7})?|\d{1,5}:\d{1,5})")

#: A cell whose content is plain: it is empty but for its style, shows a shared text, or has a number, with a formula of its own sheet or
#: without.
_PLAIN_CELL = re.compile(
    rb'<c r="[A-Z]{1,3}\d{1,7}" s="\d{1,5}"(?:/>| t="s"><v>(\d{1,7})</v></c>'
    rb'|>(?:<f>([A-Za-z0-9.,:()+*/^$-]*)</f>)?<v>(-?\d+(?:\.\d+)?(?:[Ee][+-]?\d+)?)</v></c>)'
)

#: A row without cells, cells joined, and how far the sheet reaches: they say nothing but where they are.
_QUIET = re.compile(
    rb'<row r="\d{1,7}"(?: spans="\d{1,5}:\d{1,5}")? ht="[1-9]\d{0,2}(?:\.\d{1,4})?" customHeight="1"(?:/>|></row>)'
    rb'|<(?:dimension|mergeCell) ref="[A-Z]{1,3}\d{1,7}:[A-Z]{1,3}\d{1,7}"/>'
)

#: What stands at the foot of the pages, and how some signs are written there.
_FOOT = re.compile(rb"(?<=<oddFooter>)([^<&]*(?:&(?:amp|lt|gt|quot);[^<&]*)*)(?=</oddFooter>)")
_WRITTEN = (("&quot;", '"'), ("&lt;", "<"), ("&gt;", ">"), ("&amp;", "&"))

#: Where a picture stands on the page, and how large it is.
_QUIET_ANCHOR = re.compile(
    rb'<xdr:(col|colOff|row|rowOff)>\d{1,12}</xdr:\1>|<a:off x="\d{1,12}" y="\d{1,12}"/>|<a:ext cx="\d{1,12}" cy="\d{1,12}"/>'
)

#: A shared text, and what stands around it while it is looked at alone.
_SHARED = re.compile(rb"(<si>.*?</si>)", re.DOTALL)
_AROUND = b'<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">%s</sst>'

_NAMES_ALLOWED = frozenset({"_xlnm.Print_Area", "_xlnm.Print_Titles"})


@dataclass(frozen=True, slots=True)
class Scanned:
    """What a part holds.

    Parameters
    ----------
    oddities : a sentence for each thing that no quote has
    telling : every text and attribute that says more than every quote's workbook does, and what it says
    used : numbers of the shared texts that its cells show
    shared : the shared texts that it lists
    """

    oddities: tuple[str, ...] = ()
    telling: tuple[Told, ...] = ()
    used: frozenset[str] = frozenset()
    shared: tuple[str, ...] = ()


class Scanner:
    """Looks at the parts of workbooks of one kind.

    Parameters
    ----------
    known : what every workbook of the kind holds
    """

    def __init__(self, known: Skeleton) -> None:
        self.known = known
        self._remembered = functools.lru_cache(maxsize=256)(self._scanned)
        self._text = functools.lru_cache(maxsize=4096)(self._shared_text)
        self.told = functools.lru_cache(maxsize=4096)(self._told)

    def scanned(self, part: str, data: bytes) -> Scanned:
        """What a part of a workbook holds.

        Parameters
        ----------
        part : name of the zip member
        data : its content
        """
        if part.startswith("xl/worksheets/"):
            return self._sheet(part, data)
        if part == "xl/sharedStrings.xml":
            between = _SHARED.split(data)
            return self._with_shared(self._around(part, b"".join(between[::2])), between[1::2])
        if part.startswith("xl/drawings/drawing"):
            data = _QUIET_ANCHOR.sub(b"", data)
        differs = part.startswith("xl/media/") or part == "docProps/core.xml"
        return self._scanned(part, data) if differs else self._around(part, data)

    def _around(self, part: str, data: bytes) -> Scanned:
        """What is the same in many workbooks; it is remembered."""
        return self._remembered(part, data) if len(data) <= _LARGEST else self._scanned(part, data)

    def _scanned(self, part: str, data: bytes) -> Scanned:
        known = self.known
        odd = [] if pattern(part) in known.parts else [f"{part} is a part that no quote has"]
        if known.content.get(part) == data:
            return Scanned(tuple(odd))
        telling = self._telling([Piece(part, "its name", part)])
        try:
            if part.endswith((".xml", ".rels", ".vml")):
                return _Scan(part, self, odd, telling).of(parsed(part, data))
            if part.endswith(".png"):
                telling += self._telling(picture_pieces(part, data))
            else:
                telling += self._telling([Piece(part, "its content", data.decode("utf-8", "replace"))])
        except PartError as error:
            odd.append(str(error))
        return Scanned(tuple(odd), tuple(telling))

    def _telling(self, pieces: Iterable[Piece]) -> list[Told]:
        """Those of some pieces that say more than every workbook of the kind does."""
        return [(piece, said) for piece in pieces if not self.known.knows(piece) and (said := piece.said).says_something]

    def _sheet(self, part: str, data: bytes) -> Scanned:
        """What a sheet holds: its plain cells, its foot, and what stands around them when all is left out that says nothing itself: cells
        that are empty or show a shared text, rows of such, joined cells.
        """
        used: set[str] = set()
        plain: list[Piece] = []
        between = _PLAIN_CELL.split(data)
        for shared, formula, number in zip(between[1::4], between[2::4], between[3::4], strict=True):
            if shared:
                used.add(shared.decode())
            if formula:
                plain.append(Piece(part, "f", formula.decode(), "formula"))
            if number:
                plain.append(Piece(part, "v", number.decode(), "number"))
        between = _FOOT.split(_QUIET.sub(b"", b"".join(between[::4])))
        plain += [Piece(part, "oddFooter", text, "number" if is_number(text) else "text") for text in map(_read, between[1::2])]
        around = self._around(part, b"".join(between[::2]))
        return Scanned(around.oddities, (*self._telling(plain), *around.telling), around.used | used)

    def _with_shared(self, around: Scanned, texts: list[bytes]) -> Scanned:
        """What the list of shared texts holds: what stands around them, and each of them."""
        try:
            looked = [self._text(text) if len(text) <= LONG else self._shared_text(text) for text in texts]
        except PartError as error:
            looked = [Scanned((str(error),))]
        return Scanned(
            (*around.oddities, *(oddity for each in looked for oddity in each.oddities)),
            (*around.telling, *(told for each in looked for told in each.telling)),
            shared=(*around.shared, *(text for each in looked for text in each.shared)),
        )

    def _shared_text(self, data: bytes) -> Scanned:
        part = "xl/sharedStrings.xml"
        return _Scan(part, self, [], []).of(parsed(part, _AROUND % data))

    def _told(self, kind: str, tag: str, attribute: str) -> tuple[str, bool, frozenset[str], bool, bool]:
        """Of an attribute in a kind of part: its place, whether no quote has it, and what it may be without saying anything:
        one of some texts, a number, an address.
        """
        known, place = self.known, f"{local(tag)}/@{local(attribute)}"
        unknown = kind in known.parts and (kind, place) not in known.kinds
        return place, unknown, known.said(kind, place), (kind, place) in known.layout, place in ADDRESSES


def _read(text: bytes) -> str:
    """A text as it is read."""
    read = text.decode("utf-8", "replace")
    for written, meant in _WRITTEN:
        read = read.replace(written, meant)
    return read.strip()


class _Scan:
    """One pass over the elements of an XML part."""

    def __init__(self, part: str, scanner: Scanner, odd: list[str], telling: list[Told]) -> None:
        self.part = part
        self.known = scanner.known
        self.told = scanner.told
        self.kind = pattern(part)
        self.is_known = self.kind in self.known.parts
        self.odd = odd
        self.telling = telling
        self.indexes: set[ElementTree.Element] = set()
        self.used: set[str] = set()

    def of(self, root: ElementTree.Element) -> Scanned:
        """Everything that the part holds."""
        part, kind = self.part, self.kind
        for element in root.iter():
            tag = element.tag
            name = local(tag)
            if self.is_known and (self.kind, name) not in self.known.kinds:
                self.odd.append(f"{part} holds <{name}>, which no quote has")
            if name in _LOOKED_AT:
                self._look(name, element)
            for attribute, value in element.attrib.items():
                place, unknown, texts, counts, addresses = self.told(kind, tag, attribute)
                if value in texts:
                    continue
                if unknown:
                    self.odd.append(f"{part} holds {place}, which no quote has")
                if (counts and is_number(value)) or (addresses and _ADDRESS.fullmatch(value)):
                    continue
                self._add(place, value, "number" if is_number(value) else "text")
            if name in ("si", "is", "p"):
                self._add(name, "".join(child.text or "" for child in element.iter() if local(child.tag) == "t"), "text")
            text = element.text
            if text and (text := text.strip()) and element not in self.indexes:
                self._add(name, text, "formula" if name in FORMULAS else "number" if is_number(text) else "text")
            if element.tail and element.tail.strip():
                self._add(name, element.tail.strip(), "text")
        if part == "xl/workbook.xml" and sum(local(element.tag) == "sheet" for element in root.iter()) != 1:
            self.odd.append("the workbook has more than one sheet")
        return Scanned(tuple(self.odd), tuple(self.telling), frozenset(self.used), tuple(self._shared(root)))

    def _add(self, place: str, text: str, reading: str) -> None:
        piece = Piece(self.part, place, text, reading)  # type: ignore[arg-type]
        if not self.known.knows(piece) and (said := piece.said).says_something:
            self.telling.append((piece, said))

    def _look(self, name: str, element: ElementTree.Element) -> None:
        """What an element must not say, and the shared text that a cell shows."""
        part = self.part
        if name == "c":
            if element.get("t") == "s":
                for child in element:
                    if local(child.tag) == "v":
                        self.indexes.add(child)
                        if part.startswith("xl/worksheets/") and child.text is not None:
                            self.used.add(child.text)
        elif not self.is_known:
            return
        elif name == "definedName" and element.get("name") not in _NAMES_ALLOWED:
            self.odd.append(f"{part} defines the name {element.get('name')}")
        elif name == "f" and ("!" in (element.text or "") or "[" in (element.text or "")):
            self.odd.append(f"{part} has a formula that reaches beyond its sheet")
        elif (name == "row" and element.get("ht") == "0") or (name == "col" and element.get("width") == "0"):
            self.odd.append(f"{part} has a {name} of no size")
        elif name == "numFmt" and not set(element.get("formatCode", "")) - {";", '"', " "}:
            self.odd.append(f"{part} has a number format that shows nothing")

    def _shared(self, root: ElementTree.Element) -> Iterator[str]:
        if self.part == "xl/sharedStrings.xml":
            for entry in root:
                if local(entry.tag) == "si":
                    yield "".join(child.text or "" for child in entry.iter() if local(child.tag) == "t")


_LOOKED_AT = frozenset({"c", "definedName", "f", "row", "col", "numFmt"})
