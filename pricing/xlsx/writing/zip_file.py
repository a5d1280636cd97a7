"""A zip file of parts in memory, put together at one go, and looked into again.

Much of a workbook is the same in all others of its kind: what was deflated once is remembered.
"""

from __future__ import annotations

import functools
import struct
import zlib
from collections.abc import Iterable
from typing import NamedTuple

#: Records of a zip file. Source: APPNOTE.TXT 6.3 of its maker, 4.3.7 (before each part), 4.3.12 (its entry in the list), 4.3.16 (the end).
_BEFORE, _ENTRY, _END = struct.Struct("<4s5H3I2H"), struct.Struct("<4s6H3I5H2I"), struct.Struct("<4s4H2IH")

#: The least version that reads it; the first day that a zip file knows, 1 January 1980, at midnight.
_VERSION, _TIME, _DAY = 20, 0, 1 << 5 | 1

#: How a part is kept: as it is, or deflated.
_STORED, _DEFLATED = 0, 8

#: Parts that are larger are not remembered [bytes].
_LARGEST = 1 << 14


class _Kept(NamedTuple):
    """A part as a file keeps it: its name, how it is kept, its check sum and size, and what is kept."""

    name: bytes
    method: int
    checked: int
    size: int
    kept: bytes


def zip_file(parts: Iterable[tuple[str, bytes]]) -> bytes:
    """The zip file that has some parts.

    Parameters
    ----------
    parts : name of each, in ASCII, and what it holds; pictures are compressed already, and are kept as they are

    >>> import io, zipfile
    >>> made = zipfile.ZipFile(io.BytesIO(zip_file([("a.xml", b"<a/>"), ("b.png", b"b")])))
    >>> made.testzip(), made.read("a.xml"), [part.compress_type for part in made.infolist()]
    (None, b'<a/>', [8, 0])
    """
    return _assembled([_packed(name, content) for name, content in parts])


def parts_in(whole: bytes) -> list[tuple[str, bytes]] | None:
    """The parts that a file of :func:`zip_file` has; None for any other file, even where but a byte of it stands beside its parts.

    Problems raised: zlib.error where a part is damaged.

    >>> whole = zip_file([("a.xml", b"<a/>")])
    >>> parts_in(whole), parts_in(whole + b" ")
    ([('a.xml', b'<a/>')], None)
    """
    parts, at = [], 0
    while whole.startswith(b"PK\3\4", at) and at + _BEFORE.size <= len(whole):
        _, _, _, method, _, _, checked, length, size, named, _ = _BEFORE.unpack_from(whole, at)
        start = at + _BEFORE.size + named
        at = start + length
        parts.append(_Kept(whole[start - named : start], method, checked, size, whole[start:at]))
    if _assembled(parts) != whole or any(each.method not in (_STORED, _DEFLATED) for each in parts):
        return None
    return [(each.name.decode("ascii"), _content(each)) for each in parts]


def _assembled(parts: Iterable[_Kept]) -> bytes:
    """The file in which parts follow each other, behind them their list."""
    written, entries, at = [], [], 0
    for name, method, checked, size, kept in parts:
        told = (_VERSION, 0, method, _TIME, _DAY, checked, len(kept), size, len(name), 0)
        written += [_BEFORE.pack(b"PK\3\4", *told), name, kept]
        entries += [_ENTRY.pack(b"PK\1\2", _VERSION, *told, 0, 0, 0, 0, at), name]
        at += _BEFORE.size + len(name) + len(kept)
    listed, count = b"".join(entries), len(entries) // 2
    return b"".join([*written, listed, _END.pack(b"PK\5\6", 0, 0, count, count, len(listed), at, 0)])


def _packed(name: str, content: bytes) -> _Kept:
    if name.endswith(".png"):
        return _Kept(name.encode("ascii"), _STORED, zlib.crc32(content), len(content), content)
    look = _deflated if len(content) <= _LARGEST else _deflated.__wrapped__
    return _Kept(name.encode("ascii"), _DEFLATED, *look(content))


def _content(part: _Kept) -> bytes:
    """What a part holds.

    Problems raised: zlib.error where it is damaged.
    """
    look = _inflated if len(part.kept) <= _LARGEST else _inflated.__wrapped__
    content, checked = (part.kept, zlib.crc32(part.kept)) if part.method == _STORED else look(part.kept)
    if (checked, len(content)) != (part.checked, part.size):
        raise zlib.error(f"{part.name.decode('ascii')} is not what its check sum says")
    return content


@functools.lru_cache(maxsize=256)
def _deflated(content: bytes) -> tuple[int, int, bytes]:
    """Check sum and size of some content, and it deflated without a head of its own."""
    packing = zlib.compressobj(wbits=-zlib.MAX_WBITS)
    return zlib.crc32(content), len(content), packing.compress(content) + packing.flush()


@functools.lru_cache(maxsize=256)
def _inflated(kept: bytes) -> tuple[bytes, int]:
    """What was deflated, and its check sum."""
    unpacking = zlib.decompressobj(wbits=-zlib.MAX_WBITS)
    content = unpacking.decompress(kept) + unpacking.flush()
    if not unpacking.eof or unpacking.unused_data:
        raise zlib.error("a part does not end where it should")
    return content, zlib.crc32(content)
