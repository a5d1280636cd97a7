"""Archives that lie about their members: doubled, overlapping, misstated, damaged, or cut short."""

from __future__ import annotations

import zlib

from generator import refused
from packages import Member, archive, changed_member, deflated, member, members, plain, sheet, zipped

SHEET = "xl/worksheets/sheet1.xml"

# Archives that lie


def twice(name: str) -> bytes:
    """An archive with a second sheet part under a like name."""
    return archive([*members(plain()), member(name, sheet('<row r="1"><c r="A1"><v>0.01</v></c></row>'))])


def overlapping() -> bytes:
    """Two members that share their data."""
    found = members(plain() | {"xl/worksheets/sheet2.xml": sheet()})
    start = sum(30 + len(one.name) + len(one.data) for one in found[:4])
    return archive(changed_member(found, "xl/worksheets/sheet2.xml", offset=start, local_name=b"xl/worksheets/sheet2.xml"))


def within() -> bytes:
    """A member hidden in the data of another, which is stored and holds a whole local header."""
    raw = sheet().encode()
    inner_name = SHEET.encode()
    inner = archive([Member(inner_name, deflated(raw), zlib.crc32(raw), len(raw))])[: 30 + len(inner_name) + len(deflated(raw))]
    found = [one for one in members(plain()) if one.name != inner_name]
    outer = Member(b"xl/media/image1.png", inner, zlib.crc32(inner), len(inner), method=0)
    start = sum(30 + len(one.name) + len(one.data) for one in found) + 30 + len(outer.name)
    last = Member(inner_name, b"", zlib.crc32(raw), len(raw), stated_length=len(deflated(raw)), offset=start)
    return archive([*found, outer, last])


def changed(name: str = SHEET, **changes: object) -> bytes:
    """The plain workbook with a lie in the headers of one member."""
    return archive(changed_member(members(plain()), name, **changes))


def flipped() -> bytes:
    """One letter of stored data was changed on the way."""
    return zipped(plain(), 0).replace(b"<v>12.5</v>", b"<v>92.5</v>", 1)


LARGE_END = (
    b"PK\x06\x06"
    + (44).to_bytes(8, "little")
    + b"\x2d\0\x2d\0"
    + b"\0" * 8
    + (10**7).to_bytes(8, "little") * 2
    + (10**9).to_bytes(8, "little")
    + b"\0" * 8
)
LARGE_LOCATOR = b"PK\x06\x07" + b"\0" * 4 + b"\0" * 8 + (1).to_bytes(4, "little")

refused("two members of one name", lambda: twice(SHEET), "suspicious-file", "two parts")
refused("two members but for case", lambda: twice("XL/Worksheets/Sheet1.xml"), "suspicious-file", "two parts")
refused("two members but for slashes", lambda: twice("/xl\\worksheets/sheet1.xml"), "suspicious-file")
refused("member without a name", lambda: archive([*members(plain()), member("", "x")]), "suspicious-file", "without a name")
refused("members over each other", overlapping, "suspicious-file", "over each other")
refused("member within another", within, "suspicious-file", "over each other")
refused("check sum is wrong", flipped, "damaged-file", "check sum")
refused("check sum is zero", lambda: changed(crc=0), "damaged-file", "check sum")
refused("size stated too small", lambda: changed(size=100), "damaged-file")
refused("size stated too large", lambda: changed(size=99_999), "damaged-file")
refused("size stated huge", lambda: changed(size=4_000_000_000), "file-too-large")
refused("length stated too large", lambda: changed(stated_length=4_000_000), "damaged-file", "table of contents")
refused("offset beyond the file", lambda: changed(offset=99_999_999), "damaged-file")
refused("own header names another member", lambda: changed(local_name=b"xl/worksheets/sheet7.xml"), "damaged-file")
refused("packed with a password", lambda: changed(flags=1), "encrypted-workbook", "password")
refused("packed in an unknown way", lambda: changed(method=93), "unusual-packing")
refused("packed data is damaged", lambda: changed(data=b"\xff" * 200), "damaged-file")
refused(
    "twenty thousand members",
    lambda: archive([*members(plain()), *(Member(b"m%d" % number, b"", 0, 0, 0) for number in range(20_000))]),
    "suspicious-file",
    "too many parts",
)
refused(
    "number of members misstated",
    lambda: archive([*members(plain()), *(Member(b"m%d" % number, b"", 0, 0, 0) for number in range(60_000))], entries=7),
    "suspicious-file",
)
refused("directory of a gigabyte", lambda: archive(members(plain()), directory=1_000_000_000), "suspicious-file")
refused(
    "directory of a gigabyte in the large fields",
    lambda: archive(members(plain()), extra=LARGE_END + LARGE_LOCATOR),
    "suspicious-file",
)
refused("directory misstated", lambda: archive(members(plain()), directory=10), "damaged-file")
refused("archive cut short", lambda: zipped(plain())[:-200], "damaged-file")
refused("archive cut in the middle", lambda: zipped(plain())[:900], "damaged-file")
refused("archive with a hole", lambda: zipped(plain())[:200] + zipped(plain())[260:], "damaged-file")
