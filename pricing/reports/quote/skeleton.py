"""What every quote's workbook is made of, whatever it says: new markup on a customer's page must also appear here."""

from __future__ import annotations

import datetime
import functools
import io
import struct
import zlib
from pathlib import Path

from pricing.reports.drawing.png import SIGNATURE, chunk
from pricing.reports.leaks.gate import find_leaks
from pricing.reports.leaks.parts import Skeleton, skeleton_of
from pricing.reports.leaks.scan import Scanner
from pricing.reports.leaks.secrets import Secrets
from pricing.reports.shared.flowing_page import Page
from pricing.reports.shared.report_book import House, ReportBook
from pricing.reports.shared.styles import set_page


def leaks_of(workbook: Path | io.BytesIO, secrets: Secrets) -> list[str]:
    """What the finished workbook of a quote gives away: a sentence for each finding, none where there is nothing.

    Parameters
    ----------
    workbook : a file, or a file in memory
    secrets : what it must not hold
    """
    return find_leaks(workbook, secrets, _scanner())


@functools.lru_cache(maxsize=1)
def _scanner() -> Scanner:
    return Scanner(skeleton())


@functools.lru_cache(maxsize=1)
def skeleton() -> Skeleton:
    """The skeleton of a quote's workbook."""
    file = io.BytesIO()
    _write_skeleton(file, blank_picture())
    return skeleton_of(file)


def _write_skeleton(file: io.BytesIO, picture: bytes) -> None:
    """Write a workbook with everything that a quote's page is made of, and nothing that it says."""
    with ReportBook(file, House("a", "A4", "EUR", mark="a"), in_memory=True) as book:
        book.add_sheets(["Quote"])
        page = Page(book.sheets["Quote"], book.styles)
        set_page(page.sheet, paper="A4", business="a", mark="a")
        page.need(20.0)
        for role in ("headline", "note wrapped", "section", "heading", "heading right", "text wrapped", "text bold", "grand total", "row"):
            page.text("a", 0, 1, role, indent=1, align="right", valign="top")
            page.next_row()
        page.gap(5.0)
        for role in ("working", "total"):
            page.number(1.0, 2, role, "#,##0.00", first=1)
            page.formula("=A1", 1.0, 4, role, '0" a"', first=3)
            page.next_row()
        page.titled("a", "b", 0, 2)
        page.beside([("a", {}), ("b", {})], page.row - 1, page.row, 5, 6)
        page.empty(0, 1, "heading")
        page.next_row()
        page.day(datetime.date(2000, 1, 1), 0, 1, "d mmm yyyy")
        for _ in range(2):
            page.next_row()
            page.picture(lambda: picture, 1, "a", 0.5)
        page.sheet.set_h_pagebreaks([2])
        page.finish()
        book.close("a", datetime.date(2000, 1, 1))


def blank_picture() -> bytes:
    """The smallest picture: one white point."""
    header = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    return SIGNATURE + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"\0\xff")) + chunk(b"IEND", b"")
