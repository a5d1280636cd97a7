"""The zip of a workbook: its directory read with care, and rebuilt with the bytes of every other member as they were.

Source of the layout: PKWARE, .ZIP File Format Specification (APPNOTE.TXT), sections 4.3 and 4.5.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace

from pricing.xlsx.editing.addresses import RefusedError

LARGEST_FILE = 512 * 2**20
LARGEST_PART = 256 * 2**20

_LOCAL = struct.Struct("<4s5H3I2H")
_CENTRAL = struct.Struct("<4s6H3I5H2I")
_END = struct.Struct("<4s4H2IH")
_END_64 = struct.Struct("<4sQ2H2I4Q")
_LOCATOR_64 = struct.Struct("<4sIQI")
_FULL_16, _FULL_32 = 0xFFFF, 0xFFFFFFFF
_UTF8_NAME, _ENCRYPTED = 0x0800, 0x2041  # bit 11; bits 0, 6 and 13
_STORED, _DEFLATED = 0, 8
_SAVE_AGAIN = "open it in the spreadsheet program, save it again as .xlsx, and repeat"


@dataclass(frozen=True, slots=True)
class Member:
    """One member of the zip: where its bytes lie and what its directory record says [bytes]."""

    name: str
    record: bytes
    flags: int
    method: int
    crc: int
    compressed: int
    size: int
    header: int
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Package:
    """A workbook's zip in memory; members are found by their key, see :func:`part_key`."""

    data: bytes
    members: Mapping[str, Member]
    comment: bytes

    def __contains__(self, key: str) -> bool:
        return key in self.members

    def raw(self, key: str) -> bytes:
        """The compressed bytes of a member."""
        member = self.members[key]
        return self.data[member.start : member.start + member.compressed]

    def read(self, key: str, largest: int = LARGEST_PART) -> bytes:
        """The contents of a part.

        Problems raised: ``part-missing``, ``part-too-large`` and ``damaged`` where it cannot be unpacked whole.
        """
        if key not in self.members:
            raise RefusedError("part-missing", f"its part {key} is missing, so the file is damaged; {_SAVE_AGAIN}")
        member, packed = self.members[key], self.raw(key)
        damaged = RefusedError("damaged", f"its part {member.name} is damaged and cannot be unpacked; {_SAVE_AGAIN}")
        if member.size > largest:
            raise _too_large(member.name, largest)
        if member.method == _STORED:
            data = packed
        elif member.method == _DEFLATED:
            unpacker = zlib.decompressobj(-15)
            try:
                data = unpacker.decompress(packed, largest + 1)
            except zlib.error:
                raise damaged from None
            if len(data) > largest:
                raise _too_large(member.name, largest)
            if not unpacker.eof or unpacker.unused_data:
                raise damaged
        else:
            text = f"its part {member.name} is packed in a way (method {member.method}) that is not read here"
            raise RefusedError("packing-unknown", f"{text}; {_SAVE_AGAIN}")
        if len(data) != member.size or zlib.crc32(data) != member.crc:
            raise damaged
        return data

    def rebuilt(self, changed: Mapping[str, bytes]) -> bytes:
        """The zip with new contents for some members; the bytes of all others, their order and records are kept.

        Parameters
        ----------
        changed : new contents by key
        """
        in_place = sorted(self.members.items(), key=lambda item: item[1].header)
        pieces = [self.data[: in_place[0][1].header]] if in_place else []
        position = len(pieces[0]) if pieces else 0
        moved: dict[str, bytes] = {}
        for key, member in in_place:
            if key in changed:
                piece, moved[key] = self._packed(member, changed[key], position)
            else:
                piece, moved[key] = self.data[member.header : member.end], _at(member.record, position)
            pieces.append(piece)
            position += len(piece)
        directory = b"".join(moved[key] for key in self.members)
        count = len(self.members)
        if count >= _FULL_16 or position + len(directory) >= _FULL_32:
            raise RefusedError(
                "file-too-large", "the workbook is too large to be rewritten; write these values by hand"
            )
        end = _END.pack(b"PK\5\6", 0, 0, count, count, len(directory), position, len(self.comment))
        return b"".join([*pieces, directory, end, self.comment])

    def _packed(self, member: Member, data: bytes, position: int) -> tuple[bytes, bytes]:
        """The local header with its data, and the directory record, of a member with new contents."""
        packed = data
        if member.method == _DEFLATED:
            packer = zlib.compressobj(6, zlib.DEFLATED, -15)
            packed = packer.compress(data) + packer.flush()
        fields = list(_CENTRAL.unpack_from(member.record))
        name, extra, comment = _tail(member.record, _CENTRAL.size, fields[10], fields[11], fields[12])
        extra = without_zip64(extra)
        flags, crc = member.flags & _UTF8_NAME, zlib.crc32(data)
        fields[2:4] = [20, flags]
        fields[7:10] = [crc, len(packed), len(data)]
        fields[11], fields[13], fields[16] = len(extra), 0, position
        record = _CENTRAL.pack(*fields) + name + extra + comment
        local = list(_LOCAL.unpack_from(self.data, member.header))
        kept = without_zip64(_tail(self.data, member.header + _LOCAL.size, local[9], local[10], 0)[1])
        local[1:3] = [20, flags]
        local[6:9] = [crc, len(packed), len(data)]
        local[10] = len(kept)
        return _LOCAL.pack(*local) + name + kept + packed, record


def part_key(name: str) -> str:
    """The name under which a part is found: names that differ in case, slashes or a leading slash are the same part.

    >>> part_key("/XL\\\\Workbook.xml")
    'xl/workbook.xml'
    """
    return name.replace("\\", "/").lstrip("/").lower()


def open_package(data: bytes) -> Package:
    """Read the directory of a zip.

    Parameters
    ----------
    data : the whole file

    Problems raised: ``encrypted``, ``old-format``, ``not-a-workbook``, ``damaged``, ``encrypted-member``,
    ``duplicate-member`` and ``overlapping-members``.
    """
    if data[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise RefusedError(
                "encrypted", "the workbook is encrypted; save it without a password to open it, and repeat"
            )
        raise RefusedError("old-format", f"this is a workbook of the old .xls kind; {_SAVE_AGAIN}")
    if data[:2] != b"PK":
        raise RefusedError("not-a-workbook", "this is not a workbook of the .xlsx or .xlsm kind; give such a file")
    count, directory_start, directory_size, comment = _find_directory(data)
    read: list[Member] = []
    place, directory_end = directory_start, directory_start + directory_size
    for _ in range(count):
        member = _read_record(data, place, directory_end)
        read.append(member)
        place += len(member.record)
    if place != directory_end:
        raise _damaged("its directory does not end where it should")
    in_place = sorted(read, key=lambda member: member.header)
    ends = {
        id(member): following.header if following else directory_start
        for member, following in zip(in_place, [*in_place[1:], None], strict=False)
    }
    members: dict[str, Member] = {}
    for member in read:
        whole = _located(data, member, ends[id(member)])
        key = part_key(whole.name)
        if key in members:
            text = f"two of its members have the name {whole.name}, so that programs read different contents"
            raise RefusedError("duplicate-member", f"{text}; {_SAVE_AGAIN}")
        members[key] = whole
    return Package(data, members, comment)


def _find_directory(data: bytes) -> tuple[int, int, int, bytes]:
    """The number of members, the start and size of the directory [bytes], and the comment."""
    end = data.rfind(b"PK\5\6", max(0, len(data) - _END.size - _FULL_16))
    if end < 0 or end + _END.size > len(data):
        raise _damaged("its end is missing")
    _, disk, first_disk, here, count, size, start, comment_size = _END.unpack_from(data, end)
    comment = data[end + _END.size :]
    if len(comment) != comment_size:
        raise _damaged("something follows its end")
    directory_end = end
    if end >= _LOCATOR_64.size and data[end - _LOCATOR_64.size : end - 16] == b"PK\6\7":
        _, _, record, _ = _LOCATOR_64.unpack_from(data, end - _LOCATOR_64.size)
        if record + _END_64.size > end or data[record : record + 4] != b"PK\6\6":
            raise _damaged("its zip64 record is missing")
        _, _, _, _, disk, first_disk, here, count, size, start = _END_64.unpack_from(data, record)
        directory_end = record
    if disk or first_disk or here != count:
        raise _damaged("it is split into several files")
    if start + size != directory_end:
        raise _damaged("something stands before its start or after its directory")
    return count, start, size, comment


def _read_record(data: bytes, place: int, limit: int) -> Member:
    """One record of the directory; the place of the data is filled in by :func:`_located`."""
    if place + _CENTRAL.size > limit or data[place : place + 4] != b"PK\1\2":
        raise _damaged("its directory is broken")
    fields = _CENTRAL.unpack_from(data, place)
    flags, method, crc, compressed, size = fields[3], fields[4], fields[7], fields[8], fields[9]
    length = _CENTRAL.size + fields[10] + fields[11] + fields[12]
    if place + length > limit:
        raise _damaged("its directory is broken")
    record = data[place : place + length]
    raw_name, extra, _ = _tail(record, _CENTRAL.size, fields[10], fields[11], fields[12])
    name = raw_name.decode("utf-8" if flags & _UTF8_NAME else "cp437", "replace")
    if flags & _ENCRYPTED or method == 99:
        text = f"its member {name} is encrypted"
        raise RefusedError("encrypted-member", f"{text}; save the workbook without a password to open it, and repeat")
    header = fields[16]
    wide = iter(_zip64_values(extra))
    try:
        size, compressed, header = (
            next(wide) if value == _FULL_32 else value for value in (size, compressed, fields[16])
        )
    except RuntimeError:
        raise _damaged(f"the size of its member {name} is missing") from None
    return Member(name, record, flags, method, crc, compressed, size, header, 0, 0)


def _located(data: bytes, member: Member, end: int) -> Member:
    """The member with the place of its data, after its own header has been compared with the directory."""
    if member.header + _LOCAL.size > len(data) or data[member.header : member.header + 4] != b"PK\3\4":
        raise _damaged(f"its member {member.name} is not where the directory says")
    local = _LOCAL.unpack_from(data, member.header)
    fields = _CENTRAL.unpack_from(member.record)
    start = member.header + _LOCAL.size + local[9] + local[10]
    if start + member.compressed > end:
        text = f"its member {member.name} overlaps another one"
        raise RefusedError("overlapping-members", f"{text}; {_SAVE_AGAIN}")
    here = _tail(data, member.header + _LOCAL.size, local[9], 0, 0)[0]
    if (
        here != _tail(member.record, _CENTRAL.size, fields[10], 0, 0)[0]
        or local[3] != member.method
        or local[2] & _ENCRYPTED
    ):
        raise _damaged(f"its member {member.name} and the directory disagree")
    return replace(member, start=start, end=end)


def _tail(data: bytes, start: int, name: int, extra: int, comment: int) -> tuple[bytes, bytes, bytes]:
    """The name, the extra fields and the comment that follow a header."""
    middle, last = start + name, start + name + extra
    return data[start:middle], data[middle:last], data[last : last + comment]


def _extra_fields(extra: bytes) -> list[tuple[int, bytes]]:
    found = []
    while len(extra) >= 4:
        kind, length = struct.unpack_from("<2H", extra)
        found.append((kind, extra[: 4 + length]))
        extra = extra[4 + length :]
    return found


def _zip64_values(extra: bytes) -> list[int]:
    for kind, field in _extra_fields(extra):
        if kind == 1:
            body = field[4:]
            return [value for (value,) in struct.iter_unpack("<Q", body[: len(body) // 8 * 8])]
    return []


def without_zip64(extra: bytes) -> bytes:
    """The extra fields of a member without the one that holds its sizes and its place."""
    return b"".join(field for kind, field in _extra_fields(extra) if kind != 1)


def _at(record: bytes, position: int) -> bytes:
    """A directory record whose member now starts at another position [bytes]; nothing else changes."""
    fields = _CENTRAL.unpack_from(record)
    if fields[16] != _FULL_32:
        return record[: _CENTRAL.size - 4] + struct.pack("<I", position) + record[_CENTRAL.size :]
    place = _CENTRAL.size + fields[10]
    for kind, field in _extra_fields(record[place : place + fields[11]]):
        if kind == 1:
            place += 4 + 8 * sum(value == _FULL_32 for value in (fields[8], fields[9]))
            return record[:place] + struct.pack("<Q", position) + record[place + 8 :]
        place += len(field)
    raise _damaged("the place of a member is missing")


def _damaged(what: str) -> RefusedError:
    return RefusedError("damaged", f"the file is damaged ({what}); {_SAVE_AGAIN}")


def _too_large(name: str, largest: int) -> RefusedError:
    text = f"its part {name} unpacks to more than {largest // 2**20} MiB"
    return RefusedError("part-too-large", f"{text}; move what does not belong to the price book into another file")
