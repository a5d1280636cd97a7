"""The XML of a workbook's parts: read with the place of every element, and changed without writing it anew."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import TypeAlias
from xml.parsers import expat

from pricing.xlsx.editing.addresses import RefusedError

SPREADSHEET = frozenset(
    {
        "http://schemas.openxmlformats.org/spreadsheetml/2006/main",
        "http://purl.oclc.org/ooxml/spreadsheetml/main",
    }
)
LARGEST_SMALL_PART = 64 * 2**20
MOST_ELEMENTS = 1_000_000
DEEPEST = 200

_TAG = re.compile(rb"""<[^\s/>]+(?:\s+[^\s=/>]+\s*=\s*(?:"[^"]*"|'[^']*'))*\s*/?>""")
_HEAD = re.compile(rb"<[^\s/>]+")
_ATTRIBUTE = re.compile(rb"""\s+([^\s=/>]+)\s*=\s*("[^"]*"|'[^']*')""")
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_UNWRITABLE = re.compile("[\x00-\x08\x0b-\x1f\ufffe\uffff]")
_LOOKS_ESCAPED = re.compile("_(?=x[0-9A-Fa-f]{4}[_\x00-\x08\x0b-\x1f\ufffe\uffff])")

Edit: TypeAlias = tuple[int, int, bytes]


def parse(data: bytes, part: str, prepare: Callable[[expat.XMLParserType], None]) -> None:
    """Run expat over a whole part; names come as ``namespace name``.

    Parameters
    ----------
    data : the part
    part : its name, for the sentence of a refusal
    prepare : sets the handlers

    Problems raised: ``dtd``, ``not-utf-8`` and ``bad-xml``.
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in data[:4]:
        raise _not_utf8(part)

    def declaration(_version: str, encoding: str | None, _standalone: int) -> None:
        if encoding and encoding.lower() not in ("utf-8", "utf8", "us-ascii", "ascii"):
            raise _not_utf8(part)

    def doctype(*_: object) -> None:
        text = f"its part {part} has a document type definition, which no spreadsheet program writes"
        raise RefusedError("dtd", f"{text}; save the workbook again from the spreadsheet program, and repeat")

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.XmlDeclHandler = declaration
    parser.StartDoctypeDeclHandler = doctype
    prepare(parser)
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        text = f"its part {part} is not sound XML (line {error.lineno})"
        raise RefusedError(
            "bad-xml", f"{text}; save the workbook again from the spreadsheet program, and repeat"
        ) from None


@dataclass(slots=True)
class Node:
    """An element of a small part, with the place of its bytes."""

    namespace: str
    name: str
    attributes: dict[str, str]
    start: int
    end: int = 0
    text: str = ""
    children: list[Node] = field(default_factory=list)

    def all(self, *path: str) -> Iterator[Node]:
        """The elements at the end of a path of local names below this one."""
        if not path:
            yield self
            return
        for child in self.children:
            if child.name == path[0]:
                yield from child.all(*path[1:])

    def first(self, *path: str) -> Node | None:
        """The first of them, or None."""
        return next(self.all(*path), None)


def tree(data: bytes, part: str) -> Node:
    """A small part as a tree of elements.

    Problems raised: those of :func:`parse`, and ``part-too-large`` for more elements or depth than an honest part has.
    """
    root = Node("", "", {}, 0)
    stack = [root]
    count = 0

    def prepare(parser: expat.XMLParserType) -> None:
        def start(name: str, attributes: dict[str, str]) -> None:
            nonlocal count
            count += 1
            if count > MOST_ELEMENTS or len(stack) > DEEPEST:
                text = f"its part {part} has more elements than can be read with care"
                raise RefusedError("part-too-large", f"{text}; move what does not belong here into another file")
            namespace, _, local = name.rpartition(" ")
            node = Node(namespace, local, attributes, parser.CurrentByteIndex)
            stack[-1].children.append(node)
            stack.append(node)

        def end(_name: str) -> None:
            node = stack.pop()
            node.end = element_end(data, node.start, parser.CurrentByteIndex)

        def characters(text: str) -> None:
            stack[-1].text += text

        parser.StartElementHandler = start
        parser.EndElementHandler = end
        parser.CharacterDataHandler = characters

    parse(data, part, prepare)
    return root.children[0]


def tag_at(data: bytes, start: int) -> bytes:
    """The whole start tag at a place [bytes]; a ``>`` inside an attribute's value does not end it."""
    found = _TAG.match(data, start)
    if not found:
        raise RefusedError(
            "bad-xml", "a tag cannot be read; save the workbook again from the spreadsheet program, and repeat"
        )
    return found[0]


def element_end(data: bytes, start: int, closing: int) -> int:
    """Where an element ends, from the place of its start tag and of its closing tag [bytes]."""
    tag = tag_at(data, start)
    return start + len(tag) if tag.endswith(b"/>") else data.index(b">", closing) + 1


def prefix_of(tag: bytes) -> bytes:
    """The namespace prefix of a tag with its colon: ``x:`` of ``<x:row r="1">``, empty where it has none."""
    found = _HEAD.match(tag)
    head = found[0][1:] if found else b""
    return head[: head.index(b":") + 1] if b":" in head else b""


def with_attribute(tag: bytes, name: str, value: str | None) -> bytes:
    """A start tag with one attribute set, or without it where the value is None; all else stays byte for byte.

    >>> with_attribute(b'<c r="F14" t="s"/>', "t", None)
    b'<c r="F14"/>'
    """
    wanted, new = name.encode(), f' {name}="{escape_attribute(value)}"'.encode() if value is not None else b""
    place = len(_HEAD.match(tag)[0])  # type: ignore[index]
    while found := _ATTRIBUTE.match(tag, place):
        if found[1] == wanted:
            return tag[: found.start()] + new + tag[found.end() :]
        place = found.end()
    return tag[:place] + new + tag[place:]


def opened(tag: bytes) -> bytes:
    """A tag that may close itself, as one that does not."""
    return tag[:-2].rstrip() + b">" if tag.endswith(b"/>") else tag


def spliced(data: bytes, edits: Iterable[Edit]) -> bytes:
    """The bytes with some stretches replaced; of two edits at one place the insertion comes first.

    >>> spliced(b"abcdef", [(4, 5, b"E"), (1, 1, b"-")])
    b'a-bcdEf'
    """
    pieces, place = [], 0
    for start, end, new in sorted(edits, key=lambda edit: edit[:2]):
        if start < place:
            raise ValueError("two edits overlap")
        pieces += [data[place:start], new]
        place = end
    return b"".join([*pieces, data[place:]])


def escape_attribute(value: str) -> str:
    """A value as it stands between double quotes."""
    return escape(value).replace('"', "&quot;")


def escape(text: str) -> str:
    """A text as it stands between two tags."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def stored_text(text: str) -> str:
    """A text as a spreadsheet stores it: what XML cannot carry, and what looks like such an escape, as ``_xHHHH_``.

    Source: ECMA-376 part 1, section 22.9.2.19 (ST_Xstring).

    >>> stored_text("a\\rb"), stored_text("_x0041_")
    ('a_x000D_b', '_x005F_x0041_')
    """
    text = _LOOKS_ESCAPED.sub("_x005F_", text)
    return _UNWRITABLE.sub(lambda found: f"_x{ord(found[0]):04X}_", text)


def plain_text(stored: str) -> str:
    """The text that such a stored text stands for.

    >>> plain_text("_x005F_x0041_")
    '_x0041_'
    """
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), stored)


def is_true(value: str | None, default: bool = False) -> bool:
    """A yes-or-no attribute, as both programs write it."""
    return default if value is None else value.strip().lower() in ("1", "true", "on")


def _not_utf8(part: str) -> RefusedError:
    text = f"its part {part} is not written in UTF-8, which spreadsheet programs always use"
    return RefusedError("not-utf-8", f"{text}; save the workbook again from the spreadsheet program, and repeat")
