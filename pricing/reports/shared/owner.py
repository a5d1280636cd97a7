"""Whose a workbook is, so that nothing is written over the price book, and one price book's workbooks not over another's.

A maker's workbook names its price book among its properties. A customer's has a mark of it there, letters that say nothing.
"""

from __future__ import annotations

import contextlib
import hashlib
import html
import os
import re
import zipfile
import zlib
from collections.abc import Iterable
from pathlib import Path

from pricing.problems import Problems
from pricing.text import fold

#: So much of a part of a file is looked at [bytes].
_MOST = 262_144

_SUBJECT = re.compile(rb"<dc:subject>([^<]*)</dc:subject>")
_MARK = re.compile(rb"<cp:keywords>([^<]*)</cp:keywords>")
_SHEET = re.compile(rb'<sheet [^>]*?name="([^"]*)"')

#: Sheets that every price book has, and no workbook that is written from one.
_OF_A_BOOK = frozenset({"materials", "products"})

#: What is raised where a file is no workbook, or a broken one.
_UNREADABLE = (OSError, zipfile.BadZipFile, zlib.error, KeyError, EOFError, RuntimeError, NotImplementedError, ValueError)


def mark_of(book: str) -> str:
    """The mark of a price book in a workbook for a customer: letters made from its file name, from which it cannot be read.

    >>> mark_of("Price book.xlsx") == mark_of("price book.xlsx"), mark_of("other.xlsx").isalpha()
    (True, True)
    """
    digest = hashlib.sha256(fold(book).encode()).hexdigest()[:12]
    return "".join(chr(ord("a") + int(digit, 16)) for digit in digest)


def owner_of(path: Path) -> str:
    """The file name of the price book that a maker's workbook was written from; nothing where it does not say."""
    return _said(path, "docProps/core.xml", _SUBJECT)


def refuse_others(
    paths: Iterable[Path], book: Path, problems: Problems, *, inputs: Iterable[Path] = (), remedy: str = "choose another folder with --out"
) -> None:
    """Refuse places in which the price book, any other price book, or workbooks of one that lies beside this one stand.

    Parameters
    ----------
    paths : where files are about to be written
    problems : takes what is refused
    inputs : other files that the run reads
    remedy : what the maker may do
    """
    held = [path for path in paths if path.exists()]
    for path in held:
        if is_same(path, book):
            problems.add("writes-over-book", f"{path} is the price book itself, and is never written over; {remedy}")
        elif any(is_same(path, each) for each in inputs):
            problems.add("writes-over-book", f"{path} is what is read here, and is not written over; {remedy}")
        elif other := _other_owner(path, book):
            problems.add("file-of-another-book", f'{path} was written from "{other}" and is not written over; {remedy}')
        elif _is_price_book(path):
            problems.add("writes-over-book", f"{path} is a price book, and is not written over; {remedy}")


def is_same(path: Path, other: Path) -> bool:
    """Whether two paths lead to one file."""
    try:
        return os.path.samefile(path, other)
    except OSError:
        return False


def _other_owner(path: Path, book: Path) -> str:
    """The price book beside this one that a workbook was written from; nothing where it is this one, or there is none."""
    owner = owner_of(path)
    if owner:
        return owner if owner != book.name and (book.parent / owner).exists() else ""
    mark = _said(path, "docProps/core.xml", _MARK)
    if not mark or mark == mark_of(book.name):
        return ""
    with contextlib.suppress(OSError):
        return next((each.name for each in book.parent.iterdir() if mark_of(each.name) == mark), "")
    return ""


def _is_price_book(path: Path) -> bool:
    with contextlib.suppress(*_UNREADABLE), zipfile.ZipFile(path) as package, package.open("xl/workbook.xml") as workbook:
        names = {fold(html.unescape(name.decode("utf-8"))) for name in _SHEET.findall(workbook.read(_MOST))}
        return names >= _OF_A_BOOK
    return False


def _said(path: Path, part: str, pattern: re.Pattern[bytes]) -> str:
    with contextlib.suppress(*_UNREADABLE), zipfile.ZipFile(path) as package, package.open(part) as content:
        found = pattern.search(content.read(_MOST))
        return html.unescape(found[1].decode("utf-8")) if found else ""
    return ""
