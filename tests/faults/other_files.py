"""Files that are no workbook, whatever their name says: each gets one sentence on what to do."""

from __future__ import annotations

import os
import random
from pathlib import Path

from generator import refused, refused_path
from packages import HEAD, KIND, plain, relations, zipped

OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


def container(*names: str, far: bool = False) -> bytes:
    """An old container whose list of names holds the given ones, near its beginning or far from it."""
    sector = 20_000 if far else 0
    header = OLE + b"\0" * 22 + (9).to_bytes(2, "little") + b"\0" * 16 + sector.to_bytes(4, "little")
    entries = b"".join(name.encode("utf-16-le").ljust(128, b"\0") for name in ("Root Entry", *names))
    return header.ljust(512, b"\0") + b"\0" * (512 * sector) + entries + b"\0" * 8192


OPEN_DOCUMENT = {
    "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
    "content.xml": "<office:document-content/>",
}
refused("open document.ods", lambda: zipped(OPEN_DOCUMENT), "opendocument", "save it as", ".xlsx")
refused("open document", lambda: zipped(OPEN_DOCUMENT), "opendocument")
refused("open text", lambda: zipped({"mimetype": "application/vnd.oasis.opendocument.text"}), "not-a-workbook")
refused("flat open document.fods", f'{HEAD}<office:document office:mimetype="x"/>'.encode(), "opendocument")
refused("old workbook.xls", lambda: container("Workbook"), "old-workbook", "save it as")
refused("old workbook", lambda: container("Book"), "old-workbook")
refused("oldest workbook.xls", b"\x09\x08\x10\x00\x00\x06\x05\x00" + b"\0" * 99, "old-workbook")
refused(
    "workbook as text.xml",
    f'{HEAD}<Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet"/>'.encode(),
    "old-workbook",
)
refused("symbolic link", b"ID;PWXL;N;E\r\nP;PGeneral\r\n", "old-workbook", ".slk")
refused(
    "binary workbook.xlsb",
    lambda: plain({"xl/workbook.bin": b"\x83\x01", "xl/workbook.xml": None}),
    "binary-workbook",
    "save it as",
)
refused(
    "binary workbook of unusual names",
    lambda: plain(
        {
            "_rels/.rels": relations(("a", "officeDocument", "x/book.bin")),
            "x/book.bin": b"\x83",
            "xl/workbook.xml": None,
        }
    ),
    "binary-workbook",
)
refused(
    "protected by a password",
    lambda: container("EncryptionInfo", "EncryptedPackage"),
    "encrypted-workbook",
    "without a password",
)
refused("large and protected", lambda: container("EncryptionInfo", "EncryptedPackage", far=True), "encrypted-workbook")
refused("old text.doc", lambda: container("WordDocument"), "not-a-workbook", ".doc")
refused("comma separated", b"Item,Price\r\ngrey slab,12.50\r\n", "text-file", ".csv")
refused("comma separated.csv", "Item;Price\nbøk;12,50\n".encode("cp1252"), "text-file")
refused("comma separated in UTF-16", "Item\tPrice\n".encode("utf-16"), "text-file")
refused("text cut within a letter", ("ø" * 5000).encode()[:8192], "text-file")
refused("web page", b"<html><body><table><tr><td>12.50</td></tr></table></body></html>", "web-page")
refused("web page with a mark", b"\xef\xbb\xbf  <!DOCTYPE HTML><p>", "web-page")
refused("other XML", f"{HEAD}<prices/>".encode(), "not-a-workbook", "XML")
refused("other data", b'{"prices": [12.5]}', "text-file")
refused(
    "text document",
    lambda: zipped({"[Content_Types].xml": "<Types/>", "word/document.xml": "<w/>"}),
    "not-a-workbook",
    ".docx",
)
refused(
    "presentation",
    lambda: zipped({"[Content_Types].xml": "<Types/>", "ppt/presentation.xml": "<p/>"}),
    "not-a-workbook",
    ".pptx",
)
refused("another archive", lambda: zipped({"price-book.xlsx": zipped(plain())}), "not-a-workbook", "zip archive")
refused("empty archive", lambda: zipped({}), "not-a-workbook", "zip archive")
refused("spreadsheet of a tablet.numbers", lambda: zipped({"Index/Document.iwa": b"\0"}), "other-spreadsheet", "export")
refused("portable document", b"%PDF-1.7\n\xe2\xe3\xcf\xd3", "not-a-workbook", "PDF")
refused("rich text.rtf", b"{\\rtf1 prices}", "not-a-workbook")
refused("picture", b"\x89PNG\r\n\x1a\n" + b"\0" * 50, "not-a-workbook", "picture")
refused("compressed", b"\x1f\x8b\x08\0" + b"\0" * 50, "not-a-workbook")
refused("random bytes", lambda: random.Random(1).randbytes(5000), "not-a-workbook")
refused("zeros", b"\0" * 5000, "not-a-workbook")
refused("empty", b"", "empty-file")
refused("one byte", b"P", "text-file")
refused("~$price-book.xlsx", b"\x09the maker" + b" " * 100 + b"\0" * 50, "lock-file")
refused("workbook without a workbook part", plain({"xl/workbook.xml": None}), "damaged-file", "workbook.xml")
refused("nothing but content types", lambda: zipped({"[Content_Types].xml": f"<Types>{KIND}</Types>"}), "not-a-workbook")


def folder(path: Path) -> None:
    """A folder with the name of a workbook."""
    path.mkdir()


def missing(path: Path) -> None:
    """Nothing at all."""


def pipe(path: Path) -> None:
    """Something that waits for ever when it is opened."""
    os.mkfifo(path)


def dangling(path: Path) -> None:
    """A link that leads nowhere."""
    path.symlink_to(path.with_name("nowhere.xlsx"))


refused_path("folder", folder, "unreadable-file", "folder")
refused_path("missing", missing, "missing-file", "no such file")
refused_path("link to nothing", dangling, "missing-file")
if hasattr(os, "mkfifo"):
    refused_path("pipe", pipe, "unreadable-file", "ordinary file")
