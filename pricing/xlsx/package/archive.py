"""The guard before the reader: what kind of file this is, and whether its zip archive is honest and of a sane size.

Nothing is parsed here. A file that passes is a zip archive whose members do not overlap, are named once, are packed in
a known way and inflate to a bounded size; the check sum of each member is verified while it is read.
"""

from __future__ import annotations

import contextlib
import io
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, NamedTuple
from urllib.parse import unquote

from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.xlsx.package import file_kinds
from pricing.xlsx.package.limits import MEBIBYTE, Budget
from pricing.xlsx.refused import FRESH_COPY, RefusedError, damaged, shown

LARGEST_FILE = 256 * MEBIBYTE
MOST_MEMBERS = 10_000
LARGEST_DIRECTORY = 2 * MEBIBYTE
LARGEST_SHEET = 768 * MEBIBYTE  # 200,000 products with 20 columns each take about 200 MiB
LARGEST_STRINGS = 256 * MEBIBYTE
LARGEST_PART = 32 * MEBIBYTE  # styles, relationships, tables and the list of sheets
HIGHEST_RATIO = 100  # honest sheets inflate 5 to 40 times
RATIO_FROM = 16 * MEBIBYTE  # below this size the ratio says nothing
_BLOCK = 64 * 1024


@dataclass
class Package:
    """A zip archive that passed the guard; use it in a ``with`` statement, which closes it.

    Parameters
    ----------
    archive : the open archive
    stream : what it is read from
    members : its members by their name in small letters
    budget : what may still be read
    alone : False where something stands before the archive or behind it
    """

    archive: zipfile.ZipFile
    stream: BinaryIO
    members: dict[str, zipfile.ZipInfo]
    budget: Budget
    alone: bool

    def __enter__(self) -> Package:
        return self

    def __exit__(self, *_: object) -> None:
        self.archive.close()
        self.stream.close()

    def __contains__(self, part: str) -> bool:
        return part_key(part) in self.members

    def blocks(self, part: str, largest: int = LARGEST_PART, size: int = _BLOCK) -> Iterator[bytes]:
        """The inflated bytes of a part, block by block, verified against its check sum at the end.

        Raises ``RefusedError`` for a part that is missing, too large, or damaged.
        """
        member = self.members.get(part_key(part))
        if member is None:
            raise RefusedError("damaged-file", f"the part {shown(part)} of this file is missing; {FRESH_COPY}")
        _check_size(member, largest)
        length = 0
        with unpacking(part), self.archive.open(member) as stream:
            while block := stream.read(size):
                length += len(block)
                self.budget.spend(inflated=len(block))
                yield block
        if length != member.file_size:
            raise damaged(part, "its size is wrong")

    def read(self, part: str, largest: int = LARGEST_PART) -> bytes:
        """The inflated bytes of a part, at once."""
        return b"".join(self.blocks(part, largest))


@contextlib.contextmanager
def unpacking(part: str) -> Iterator[None]:
    """Whatever goes wrong while a part is unpacked, as a refusal."""
    try:
        yield
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
        raise damaged(part, "its check sum is wrong" if "CRC" in str(error) else "it cannot be unpacked") from error


def part_key(name: str) -> str:
    """The name under which a part is found: names that differ in case, slashes or a leading slash are the same part.

    >>> part_key("/XL\\\\Workbook.xml")
    'xl/workbook.xml'
    """
    return name.replace("\\", "/").lstrip("/").casefold()


def inspect(path: Path, problems: Problems) -> Package | None:
    """The archive of a workbook that may be read; None with a problem where it may not.

    Parameters
    ----------
    path : of the file
    problems : where the reason is put, as one sentence with what to do

    Problems: missing-file, unreadable-file, empty-file, old-workbook, binary-workbook, opendocument, text-file,
    web-page, encrypted-workbook, not-a-workbook, damaged-file, file-too-large, suspicious-file, lock-file.

    >>> found = Problems("nothing.xlsx")
    >>> inspect(Path("nothing.xlsx"), found) is None, [problem.code for problem in found]
    (True, ['missing-file'])
    """
    try:
        return open_package(_opened(Path(path)), path.name)
    except RefusedError as refusal:
        problems.add(refusal.code, refusal.message)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "its name is not usable"
        problems.add("unreadable-file", f"this file cannot be opened ({reason}); close it elsewhere and look at its rights")
    return None


def _opened(path: Path) -> BinaryIO:
    try:
        status = path.stat()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise RefusedError("missing-file", "there is no such file; look at its name and folder") from error
    if stat.S_ISDIR(status.st_mode):
        raise RefusedError("unreadable-file", "this is a folder; choose the price book (.xlsx) inside")
    if not stat.S_ISREG(status.st_mode):
        raise RefusedError("unreadable-file", "this is not an ordinary file; choose the price book (.xlsx)")
    return path.open("rb")


def open_package(stream: BinaryIO, name: str) -> Package:
    """The archive of a workbook that may be read.

    Parameters
    ----------
    stream : its bytes; closed where they are refused
    name : of its file

    Problems: those of ``inspect``.
    """
    try:
        return _guarded(stream, name)
    except BaseException:
        stream.close()
        raise


def _guarded(stream: BinaryIO, name: str) -> Package:
    head, whole, size = _first_look(stream)
    end = _end_of_directory(whole, size)
    if end is None:
        if file_kinds.is_zip_start(head):
            raise _incomplete()
        if name.startswith(("~$", ".~lock.")) and len(whole) < 1024:
            raise RefusedError("lock-file", "this is only the mark of an open workbook; choose the workbook itself")
        raise RefusedError(*file_kinds.other_kind(head, whole))
    if end.entries > MOST_MEMBERS or end.directory > LARGEST_DIRECTORY:
        raise RefusedError("suspicious-file", f"this file has too many parts inside (more than {MOST_MEMBERS:,}); {FRESH_COPY}")
    try:
        archive = zipfile.ZipFile(stream)
    except (zipfile.BadZipFile, OSError, EOFError, ValueError, NotImplementedError, struct.error, OverflowError) as error:
        other = None if file_kinds.is_zip_start(head) else file_kinds.other_kind(head, whole)
        if other and other[0] != "not-a-workbook":
            raise RefusedError(*other) from error
        raise _incomplete() from error
    listed = archive.infolist()
    if not end.together or len(listed) != end.entries:
        raise _incomplete()
    alone = end.last and min((member.header_offset for member in listed), default=1) == 0
    package = Package(archive, stream, _members(archive), Budget(size), alone)
    stated = package.members.get("mimetype")
    mimetype = b"".join(package.blocks("mimetype")) if stated and stated.file_size < 1024 else b""
    other = file_kinds.zip_kind(set(package.members), mimetype)
    if other:
        raise RefusedError(*other)
    return package


def _incomplete() -> RefusedError:
    return RefusedError("damaged-file", f"this file is incomplete or damaged; {FRESH_COPY}")


def _first_look(stream: BinaryIO) -> tuple[bytes, bytes, int]:
    """The first bytes of the file, its last ones, in which the directory of a zip archive ends, and its size."""
    size = stream.seek(0, io.SEEK_END)
    if size == 0:
        raise RefusedError("empty-file", "this file is empty; take a fresh copy of the price book")
    if size > LARGEST_FILE:
        raise RefusedError(
            "file-too-large",
            f"this file has {size // MEBIBYTE} MiB, more than the {LARGEST_FILE // MEBIBYTE} MiB that are "
            "read; remove pictures and sheets that do not belong to the price book",
        )
    stream.seek(0)
    head = stream.read(8192)
    tail_from = max(0, size - 4 * MEBIBYTE)
    stream.seek(tail_from)
    tail = stream.read()
    stream.seek(0)
    beginning = stream.read(MEBIBYTE) if tail_from else b""
    names = file_kinds.names_in_container(head)
    if names is not None and names < size:
        stream.seek(names)
        beginning += stream.read(4096)
    return head, beginning + tail, size


class _End(NamedTuple):
    """What the end of an archive claims: members, length of their directory [bytes], all in one file; and whether it is the last."""

    entries: int
    directory: int
    together: bool
    last: bool


def _end_of_directory(whole: bytes, size: int) -> _End | None:
    """The end of an archive; None where it is none.

    Where there are two statements of it, the ordinary one and the one for large archives, the larger counts.
    """
    tail = whole[-(65_535 + 22 + 20 + 56) :]
    position = tail.rfind(b"PK\x05\x06")
    if position < 0 or len(tail) < position + 22:
        return None
    disk, first, _, entries, directory, _, comment = struct.unpack_from("<4H2LH", tail, position + 4)
    large = [position - 76]
    if position >= 20 and tail[position - 20 : position - 16] == b"PK\x06\x07":
        stated = struct.unpack_from("<Q", tail, position - 12)[0]
        large.append(stated - (size - len(tail)))
    for start in large:
        if 0 <= start <= len(tail) - 56 and tail[start : start + 4] == b"PK\x06\x06":
            more, longer = struct.unpack_from("<QQ", tail, start + 32)
            entries = max(entries if entries != 0xFFFF else 0, more)
            directory = max(directory if directory != 0xFFFFFFFF else 0, longer)
    return _End(entries, directory, disk in (0, 0xFFFF) and first in (0, 0xFFFF), position + 22 + comment == len(tail))


def _members(archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    members: dict[str, zipfile.ZipInfo] = {}
    for member in archive.infolist():
        if not member.filename:
            raise RefusedError("suspicious-file", f"this file has a part without a name; {FRESH_COPY}")
        if member.is_dir():
            continue
        key = part_key(member.filename)
        if key in members:
            raise RefusedError("suspicious-file", f"this file has two parts named {shown(member.filename)}; {FRESH_COPY}")
        if member.flag_bits & 0x1:
            raise RefusedError("encrypted-workbook", "this file is packed with a password; unpack it and save it without one")
        members[key] = member
    _check_places(archive, list(members.values()))
    return members


def _check_places(archive: zipfile.ZipFile, members: list[zipfile.ZipInfo]) -> None:
    """Refuse members that lie over each other or over the directory, or whose own header names another member."""
    stream = archive.fp
    if stream is None:
        raise RefusedError("damaged-file", f"this file is damaged; {FRESH_COPY}")
    free_from = 0
    for member in sorted(members, key=lambda one: one.header_offset):
        with contextlib.suppress(OSError, ValueError):
            stream.seek(member.header_offset)
            header = stream.read(30)
            if len(header) == 30 and header[:4] == b"PK\x03\x04":
                name_length, extra_length = struct.unpack_from("<HH", header, 26)
                name = stream.read(name_length)
                start = member.header_offset + 30 + name_length + extra_length
                if member.header_offset < free_from:
                    raise RefusedError("suspicious-file", f"parts of this file lie over each other; {FRESH_COPY}")
                free_from = start + member.compress_size
                if free_from <= archive.start_dir and _same_name(name, member):
                    continue
        raise damaged(member.filename, "the table of contents does not fit it")


def _same_name(name: bytes, member: zipfile.ZipInfo) -> bool:
    encoding = "utf-8" if member.flag_bits & 0x800 else "cp437"
    plain = name.decode(encoding, "replace").split("\0")[0].replace("\\", "/")
    return plain.casefold() == member.filename.replace("\\", "/").casefold() or not plain.isascii()


def _check_size(member: zipfile.ZipInfo, largest: int) -> None:
    if member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise RefusedError(
            "unusual-packing",
            f"the part {shown(member.filename)} is packed in an unusual way; "
            "open this file in your spreadsheet program and save it again as .xlsx",
        )
    if member.file_size > largest:
        raise RefusedError(
            "file-too-large",
            f"the part {shown(member.filename)} has {member.file_size // MEBIBYTE} MiB when unpacked, more than the "
            f"{largest // MEBIBYTE} MiB that are read; remove what does not belong to the price book",
        )
    if member.file_size > RATIO_FROM and member.file_size > HIGHEST_RATIO * max(1, member.compress_size):
        raise RefusedError(
            "suspicious-file",
            f"the part {shown(member.filename)} unpacks to {member.file_size // max(1, member.compress_size)} times "
            f"its size, which no honest workbook does; {FRESH_COPY}",
        )


def resolve(source: str, target: str) -> str:
    """The part that a relationship leads to.

    Parameters
    ----------
    source : the part that holds the relationship, such as ``"xl/workbook.xml"``
    target : what the relationship says, such as ``"worksheets/sheet1.xml"`` or ``"/xl/worksheets/sheet1.xml"``

    Problems: suspicious-file where it leads out of the file.

    >>> resolve("xl/worksheets/sheet1.xml", "../tables/table1.xml")
    'xl/tables/table1.xml'
    """
    target = target.replace("\\", "/").partition("#")[0]
    if re.match(r"[A-Za-z][A-Za-z0-9+.-]*:|//", target):
        raise RefusedError("suspicious-file", f"a part of this file leads elsewhere ({shown(target)}); {FRESH_COPY}")
    target = unquote(target).replace("\\", "/")
    steps = [] if target.startswith("/") else source.split("/")[:-1]
    for step in target.split("/"):
        if step == "..":
            if not steps:
                raise RefusedError("suspicious-file", f"a part of this file leads out of it ({shown(target)}); {FRESH_COPY}")
            steps.pop()
        elif step not in ("", "."):
            steps.append(step)
    return "/".join(steps)
