"""The bytes of a part's XML: tags found at their places, and changed without writing the rest anew."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TypeAlias

from pricing.xlsx.refused import RefusedError

_TAG = re.compile(rb"""<[^\s/>]+(?:\s+[^\s=/>]+\s*=\s*(?:"[^"]*"|'[^']*'))*\s*/?>""")
_HEAD = re.compile(rb"<[^\s/>]+")
_ATTRIBUTE = re.compile(rb"""\s+([^\s=/>]+)\s*=\s*("[^"]*"|'[^']*')""")
_UNWRITABLE = re.compile("[\x00-\x08\x0b-\x1f\ufffe\uffff]")
_LOOKS_ESCAPED = re.compile("_(?=x[0-9A-Fa-f]{4}[_\x00-\x08\x0b-\x1f\ufffe\uffff])")

Edit: TypeAlias = tuple[int, int, bytes]


def tag_at(data: bytes, start: int) -> bytes:
    """The whole start tag at a place [bytes]; a ``>`` inside an attribute's value does not end it."""
    found = _TAG.match(data, start)
    if not found:
        raise RefusedError(
            "damaged-file", "a tag cannot be read; save the workbook again from the spreadsheet program, and repeat"
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
