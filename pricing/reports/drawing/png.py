"""PNG files of few greys: small, and made fast, because most of a drawing is as white as the row above it."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from typing import Any

import numpy as np

SIGNATURE = b"\x89PNG\r\n\x1a\n"

#: What is written of each row is what it has more than the one above it (PNG specification, filter type 2).
_UP = 2


def chunk(kind: bytes, body: bytes) -> bytes:
    """A part of a PNG file: its length, its kind, what it holds, and the check sum of that."""
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def sixteen_greys(picture: Any, greys: Sequence[int]) -> bytes:
    """A PNG file of a picture in sixteen greys.

    Parameters
    ----------
    picture : of Pillow, in shades from 0 to 15; it is not to be used again
    greys : what each of them looks like

    >>> import io
    >>> from PIL import Image
    >>> made = sixteen_greys(Image.new("L", (3, 2), 3), range(0, 256, 17))
    >>> Image.open(io.BytesIO(made)).convert("L").tobytes() == bytes([0x33] * 6)
    True
    """
    picture.putpalette(palette := bytes(part for grey in greys for part in (grey, grey, grey)))
    packed = np.frombuffer(picture.tobytes("raw", "P;4"), dtype=np.uint8).reshape(picture.height, -1)
    rows = np.empty((picture.height, packed.shape[1] + 1), dtype=np.uint8)
    rows[:, 0], rows[0, 1:] = _UP, packed[0]
    np.subtract(packed[1:], packed[:-1], out=rows[1:, 1:])
    runs = zlib.compressobj(strategy=zlib.Z_RLE)  # runs of one shade: small enough, and fast
    header = struct.pack(">IIBBBBB", *picture.size, 4, 3, 0, 0, 0)
    content = runs.compress(rows.tobytes()) + runs.flush()
    return SIGNATURE + chunk(b"IHDR", header) + chunk(b"PLTE", palette) + chunk(b"IDAT", content) + chunk(b"IEND", b"")
