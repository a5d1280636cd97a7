"""Parts of a workbook packed into one file: a zip whose bytes follow from its parts alone.

Source of the layout: PKWARE, .ZIP File Format Specification (APPNOTE.TXT), sections 4.3 and 4.4.
"""

from __future__ import annotations

import functools
import struct
import zlib
from collections.abc import Callable, Sequence

_LOCAL = struct.Struct("<4s5H3I2H")
_CENTRAL = struct.Struct("<4s6H3I5H2I")
_END = struct.Struct("<4s4H2IH")

#: Version 2.0 of the format; methods; midnight on 1 January 1980, the first day that the format knows.
_VERSION, _STORED, _DEFLATED, _TIME, _DAY = 20, 0, 8, 0, 1 << 5 | 1

#: A name in UTF-8 (bit 11); a plain file that its owner may write, as Unix says it.
_UTF8_NAME, _UNIX, _MODE = 0x0800, 3 << 8, 0o600 << 16

_FULL_16, _FULL_32 = 0xFFFF, 0xFFFFFFFF


def pack(parts: Sequence[tuple[str, bytes]], remembered: Callable[[str], bool] = lambda name: False) -> bytes:
    """A zip of some parts, in their order.

    Parameters
    ----------
    parts : name and content of each
    remembered : True for the name of a part that is the same in many files; its packed bytes are kept for the next

    Problems raised: ValueError where the file would be larger than the plain format allows (4 GiB, 65,534 parts).

    >>> import io, zipfile
    >>> zipfile.ZipFile(io.BytesIO(pack([("a.xml", b"<a/>")]))).read("a.xml")
    b'<a/>'
    """
    pieces, directory, position = [], [], 0
    for name, content in parts:
        method = _STORED if name.endswith(".png") else _DEFLATED  # a picture is packed in itself
        if method == _STORED:
            checksum, packed = zlib.crc32(content), content
        else:
            checksum, packed = (_deflated_before if remembered(name) else _deflated)(content)
        written = name.encode()
        flags = 0 if name.isascii() else _UTF8_NAME
        about = (flags, method, _TIME, _DAY, checksum, len(packed), len(content), len(written), 0)
        pieces += [_LOCAL.pack(b"PK\3\4", _VERSION, *about), written, packed]
        directory += [_CENTRAL.pack(b"PK\1\2", _UNIX | _VERSION, _VERSION, *about, 0, 0, 0, _MODE, position), written]
        position += _LOCAL.size + len(written) + len(packed)
        if position >= _FULL_32 or len(content) >= _FULL_32:
            raise ValueError("the workbook is too large for its file format")
    listing = b"".join(directory)
    if len(parts) >= _FULL_16 or position + len(listing) >= _FULL_32:
        raise ValueError("the workbook is too large for its file format")
    end = _END.pack(b"PK\5\6", 0, 0, len(parts), len(parts), len(listing), position, 0)
    return b"".join([*pieces, listing, end])


def _deflated(content: bytes) -> tuple[int, bytes]:
    """Checksum and packed bytes of a part."""
    packer = zlib.compressobj(zlib.Z_DEFAULT_COMPRESSION, zlib.DEFLATED, -zlib.MAX_WBITS)
    return zlib.crc32(content), packer.compress(content) + packer.flush()


_deflated_before = functools.lru_cache(maxsize=256)(_deflated)
