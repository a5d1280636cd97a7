"""Whose a maker's workbook is: it names its price book among its properties, so that another book does not write over it."""

from __future__ import annotations

import contextlib
import html
import re
import zipfile
import zlib
from collections.abc import Iterable
from pathlib import Path

from pricing.problems import Problems

#: So much of a file's properties is looked at [bytes].
_MOST = 65_536

_SUBJECT = re.compile(rb"<dc:subject>([^<]*)</dc:subject>")

#: What is raised where a file is no workbook, or a broken one.
_UNREADABLE = (OSError, zipfile.BadZipFile, zlib.error, KeyError, EOFError, RuntimeError, NotImplementedError, ValueError)


def owner_of(path: Path) -> str:
    """The file name of the price book that a maker's workbook was written from; nothing where it does not say."""
    with contextlib.suppress(*_UNREADABLE), zipfile.ZipFile(path) as package, package.open("docProps/core.xml") as properties:
        found = _SUBJECT.search(properties.read(_MOST))
        return html.unescape(found[1].decode("utf-8")) if found else ""
    return ""


def refuse_others(paths: Iterable[Path], book: Path, problems: Problems) -> None:
    """Refuse places in which workbooks of another price book stand that lies beside this one.

    Parameters
    ----------
    paths : where workbooks are about to be written
    problems : takes what is refused
    """
    for path in paths:
        owner = owner_of(path)
        if owner and owner != book.name and (book.parent / owner).exists():
            remedy = "choose another folder with --out"
            problems.add("file-of-another-book", f'{path} was written from "{owner}" and is not written over; {remedy}')
