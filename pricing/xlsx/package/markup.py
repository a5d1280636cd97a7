"""The XML of a workbook's parts: parsed piece by piece, any document type refused, whatever is wrong a sentence."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from xml.parsers import expat

from pricing.xlsx.package.archive import Package
from pricing.xlsx.package.limits import MEBIBYTE
from pricing.xlsx.refused import RefusedError, damaged, shown

MAIN = frozenset(("http://schemas.openxmlformats.org/spreadsheetml/2006/main", "http://purl.oclc.org/ooxml/spreadsheetml/main"))
DEEPEST = 256
LONGEST_TOKEN = 4 * MEBIBYTE

_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_", re.ASCII)

Visit = Callable[[list[str], dict[str, str]], None]
Leave = Callable[[list[str], str], None]


class Feeder:
    """A parser of one part: names come with their namespace, any document type is refused, errors are refusals.

    Parameters
    ----------
    part : its name, for messages
    utf_8 : True where its bytes are to be changed, so that no other encoding will do
    """

    def __init__(self, part: str, utf_8: bool = False) -> None:
        self.part = part
        self.utf_8 = utf_8
        self.fed = 0
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.buffer_text = True
        self.parser.buffer_size = 65_536
        self.parser.StartDoctypeDeclHandler = self._refuse
        if utf_8:
            self.parser.XmlDeclHandler = self._declared

    def _refuse(self, *_: object) -> None:
        raise RefusedError(
            "suspicious-file",
            f"the part {shown(self.part)} declares a document type, which no honest workbook does; "
            "take a fresh copy, or save it again from your spreadsheet program",
        )

    def _declared(self, _version: str, encoding: str | None, _standalone: int) -> None:
        if encoding and encoding.casefold() not in ("utf-8", "utf8", "us-ascii", "ascii"):
            raise self._not_utf_8()

    def _not_utf_8(self) -> RefusedError:
        text = f"the part {shown(self.part)} is not written in UTF-8, which spreadsheet programs always use"
        return RefusedError("not-utf-8", f"{text}; save the workbook again from the spreadsheet program, and repeat")

    def feed(self, data: bytes, final: bool = False) -> None:
        """Parse what comes next."""
        if self.utf_8 and not self.fed and (data[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in data[:4]):
            raise self._not_utf_8()
        try:
            self.parser.Parse(data, final)
        except expat.ExpatError as error:
            raise damaged(self.part, f"{expat.ErrorString(error.code) or 'not well-formed'}, line {error.lineno}") from error
        except (ValueError, LookupError) as error:
            raise damaged(self.part, "unknown encoding") from error
        self.fed += len(data)
        if self.fed - self.parser.CurrentByteIndex > LONGEST_TOKEN and not final:
            raise damaged(self.part, "something in it is too long")

    def feed_all(self, blocks: Iterable[bytes]) -> None:
        """Parse a whole part."""
        for block in blocks:
            self.feed(block)
        self.feed(b"", True)


def walk(package: Package, part: str, visit: Visit, namespaces: frozenset[str] = MAIN, leave: Leave | None = None) -> None:
    """Go through a small part.

    Parameters
    ----------
    visit : is called with the names of the open elements, outermost first, and the attributes of each element
    namespaces : elements of others appear with an empty name
    leave : is called with the names of the open elements and the text of an element that ends and holds nothing else
    """
    names: list[str] = []
    texts: list[str] = []
    count = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal count
        count += 1
        if count & 0xFFF == 0:
            package.budget.spend(idle=0x1000)
        namespace, _, local = name.rpartition(" ")
        names.append(local if namespace in namespaces else "")
        if len(names) > DEEPEST:
            raise damaged(part, "it is nested too deep")
        texts.clear()
        visit(names, attributes)

    def end(_: str) -> None:
        if leave:
            leave(names, "".join(texts))
            texts.clear()
        names.pop()

    feeder = Feeder(part)
    feeder.parser.StartElementHandler = start
    feeder.parser.EndElementHandler = end
    if leave:
        feeder.parser.CharacterDataHandler = texts.append
    feeder.feed_all(package.blocks(part))
    package.budget.spend(idle=count & 0xFFF)


def true(value: str | None, default: bool = False) -> bool:
    """True where an attribute says yes, in any of the ways XML allows."""
    return default if value is None else value.strip().casefold() in ("1", "true", "on")


def whole(part: str, text: str | None) -> int:
    """An attribute that is a whole number. Problems: damaged-file."""
    if text is None or not re.fullmatch(r"\s*[0-9]{1,9}\s*", text, re.ASCII):
        raise damaged(part, "a number in it is not a whole one")
    return int(text)


def unescaped(text: str) -> str:
    r"""A text with its ``_xHHHH_`` escapes resolved (ECMA-376 part 1, section 22.9.2.19).

    >>> unescaped("a_x000D_b_x005F_x0041_")
    'a\rb_x0041_'
    """
    if "_x" not in text:
        return text
    plain = _ESCAPE.sub(lambda match: chr(int(match.group(1), 16)), text)
    return plain.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")
