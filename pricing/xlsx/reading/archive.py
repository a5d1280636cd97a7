"""The guard before the reader: what kind of file this is, and whether its zip archive is honest and of a sane size.

Nothing is parsed here. A file that passes is a zip archive whose members do not overlap, are named once, are packed in
a known way and inflate to a bounded size; the check sum of each member is verified while it is read.
"""

from __future__ import annotations

import contextlib
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import unquote

from pricing.problems import Problems
from pricing.xlsx.reading import file_kinds
from pricing.xlsx.reading.limits import FRESH_COPY, MEBIBYTE, Budget, UnreadableError, damaged, shown

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
    path : of the file
    archive : the open archive
    members : its members by their name in small letters
    budget : what may still be read
    """

    path: Path
    archive: zipfile.ZipFile
    members: dict[str, zipfile.ZipInfo]
    budget: Budget

    def __enter__(self) -> Package:
        return self

    def __exit__(self, *_: object) -> None:
        self.archive.close()

    def __contains__(self, part: str) -> bool:
        return _key(part) in self.members

    def blocks(self, part: str, largest: int = LARGEST_PART, size: int = _BLOCK) -> Iterator[bytes]:
        """The inflated bytes of a part, block by block, verified against its check sum at the end.

        Raises ``UnreadableError`` for a part that is missing, too large, or damaged.
        """
        member = self.members.get(_key(part))
        if member is None:
            raise UnreadableError("damaged-file", f"the part {shown(part)} of this file is missing; {FRESH_COPY}")
        _check_size(member, largest)
        length = 0
        try:
            with self.archive.open(member) as stream:
                while block := stream.read(size):
                    length += len(block)
                    self.budget.spend(inflated=len(block))
                    yield block
        except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
            raise damaged(part, "its check sum is wrong" if "CRC" in str(error) else "it cannot be unpacked") from error
        if length != member.file_size:
            raise damaged(part, "its size is wrong")


def _key(part: str) -> str:
    return part.replace("\\", "/").lstrip("/").casefold()


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
        return _inspect(Path(path))
    except UnreadableError as refusal:
        problems.add(refusal.code, refusal.message)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "its name is not usable"
        problems.add("unreadable-file", f"this file cannot be opened ({reason}); close it elsewhere and look at its rights")
    return None


def _inspect(path: Path) -> Package:
    head, whole = _first_look(path)
    end = _end_of_directory(whole, path)
    if end is None:
        if file_kinds.is_zip_start(head):
            raise UnreadableError("damaged-file", f"this file is incomplete or damaged; {FRESH_COPY}")
        if path.name.startswith(("~$", ".~lock.")) and len(whole) < 1024:
            message = "this is only the mark of an open workbook; choose the workbook itself"
            raise UnreadableError("lock-file", message)
        raise UnreadableError(*file_kinds.other_kind(head, whole))
    entries, directory_size = end
    if entries > MOST_MEMBERS or directory_size > LARGEST_DIRECTORY:
        raise UnreadableError("suspicious-file", f"this file has too many parts inside (more than {MOST_MEMBERS:,}); {FRESH_COPY}")
    try:
        archive = zipfile.ZipFile(path)
    except (
        zipfile.BadZipFile,
        OSError,
        EOFError,
        ValueError,
        NotImplementedError,
        struct.error,
        OverflowError,
    ) as error:
        other = None if file_kinds.is_zip_start(head) else file_kinds.other_kind(head, whole)
        if other and other[0] != "not-a-workbook":
            raise UnreadableError(*other) from error
        raise UnreadableError("damaged-file", f"this file is incomplete or damaged; {FRESH_COPY}") from error
    try:
        package = Package(path, archive, _members(archive), Budget(path.stat().st_size))
        stated = package.members.get("mimetype")
        mimetype = b"".join(package.blocks("mimetype")) if stated and stated.file_size < 1024 else b""
        other = file_kinds.zip_kind(set(package.members), mimetype)
        if other:
            raise UnreadableError(*other)
        return package
    except BaseException:
        archive.close()
        raise


def _first_look(path: Path) -> tuple[bytes, bytes]:
    """The first bytes of the file and its last ones, in which the directory of a zip archive ends."""
    try:
        status = path.stat()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise UnreadableError("missing-file", "there is no such file; look at its name and folder") from error
    if stat.S_ISDIR(status.st_mode):
        raise UnreadableError("unreadable-file", "this is a folder; choose the price book (.xlsx) inside")
    if not stat.S_ISREG(status.st_mode):
        raise UnreadableError("unreadable-file", "this is not an ordinary file; choose the price book (.xlsx)")
    if status.st_size == 0:
        raise UnreadableError("empty-file", "this file is empty; take a fresh copy of the price book")
    if status.st_size > LARGEST_FILE:
        raise UnreadableError(
            "file-too-large",
            f"this file has {status.st_size // MEBIBYTE} MiB, more than the {LARGEST_FILE // MEBIBYTE} MiB that are "
            "read; remove pictures and sheets that do not belong to the price book",
        )
    with path.open("rb") as stream:
        head = stream.read(8192)
        tail_from = max(0, status.st_size - 4 * MEBIBYTE)
        stream.seek(tail_from)
        tail = stream.read()
        stream.seek(0)
        beginning = stream.read(MEBIBYTE) if tail_from else b""
        names = file_kinds.names_in_container(head)
        if names is not None and names < status.st_size:
            stream.seek(names)
            beginning += stream.read(4096)
        return head, beginning + tail


def _end_of_directory(whole: bytes, path: Path) -> tuple[int, int] | None:
    """How many members the archive claims and how long their directory is [bytes]; None where it is no archive.

    Where there are two statements of it, the ordinary one and the one for large archives, the larger counts.
    """
    tail = whole[-(65_535 + 22 + 20 + 56) :]
    position = tail.rfind(b"PK\x05\x06")
    if position < 0 or len(tail) < position + 22:
        return None
    entries, size = struct.unpack_from("<HL", tail, position + 10)
    large = [position - 76]
    if position >= 20 and tail[position - 20 : position - 16] == b"PK\x06\x07":
        stated = struct.unpack_from("<Q", tail, position - 12)[0]
        large.append(stated - (path.stat().st_size - len(tail)))
    for start in large:
        if 0 <= start <= len(tail) - 56 and tail[start : start + 4] == b"PK\x06\x06":
            more, longer = struct.unpack_from("<QQ", tail, start + 32)
            entries, size = (
                max(entries if entries != 0xFFFF else 0, more),
                max(size if size != 0xFFFFFFFF else 0, longer),
            )
    return entries, size


def _members(archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    members: dict[str, zipfile.ZipInfo] = {}
    for member in archive.infolist():
        if not member.filename:
            raise UnreadableError("suspicious-file", f"this file has a part without a name; {FRESH_COPY}")
        if member.is_dir():
            continue
        key = _key(member.filename)
        if key in members:
            raise UnreadableError("suspicious-file", f"this file has two parts named {shown(member.filename)}; {FRESH_COPY}")
        if member.flag_bits & 0x1:
            raise UnreadableError("encrypted-workbook", "this file is packed with a password; unpack it and save it without one")
        members[key] = member
    _check_places(archive, list(members.values()))
    return members


def _check_places(archive: zipfile.ZipFile, members: list[zipfile.ZipInfo]) -> None:
    """Refuse members that lie over each other or over the directory, or whose own header names another member."""
    stream = archive.fp
    if stream is None:
        raise UnreadableError("damaged-file", f"this file is damaged; {FRESH_COPY}")
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
                    raise UnreadableError("suspicious-file", f"parts of this file lie over each other; {FRESH_COPY}")
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
        raise UnreadableError(
            "unusual-packing",
            f"the part {shown(member.filename)} is packed in an unusual way; "
            "open this file in your spreadsheet program and save it again as .xlsx",
        )
    if member.file_size > largest:
        raise UnreadableError(
            "file-too-large",
            f"the part {shown(member.filename)} has {member.file_size // MEBIBYTE} MiB when unpacked, more than the "
            f"{largest // MEBIBYTE} MiB that are read; remove what does not belong to the price book",
        )
    if member.file_size > RATIO_FROM and member.file_size > HIGHEST_RATIO * max(1, member.compress_size):
        raise UnreadableError(
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
        raise UnreadableError("suspicious-file", f"a part of this file leads elsewhere ({shown(target)}); {FRESH_COPY}")
    target = unquote(target).replace("\\", "/")
    steps = [] if target.startswith("/") else source.split("/")[:-1]
    for step in target.split("/"):
        if step == "..":
            if not steps:
                raise UnreadableError("suspicious-file", f"a part of this file leads out of it ({shown(target)}); {FRESH_COPY}")
            steps.pop()
        elif step not in ("", "."):
            steps.append(step)
    return "/".join(steps)
