"""What kind of file this is, told from its first bytes, with one sentence on what to do about it."""

from __future__ import annotations

import re

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ZIP = (b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08")

SAVE_AS = "open it in your spreadsheet program and save it as an Excel workbook (.xlsx)"

# Other files by their first bytes.
_SIGNATURES = (
    (b"%PDF", "a PDF document"), (b"{\\rtf", "a text document (.rtf)"), (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"), (b"GIF8", "a picture"), (b"\x1f\x8b", "a compressed file (.gz)"),
    (b"7z\xbc\xaf", "a compressed file (.7z)"), (b"Rar!", "a compressed file (.rar)"),
    (b"SQLite format 3", "a database"),
)


def is_zip_start(head: bytes) -> bool:
    """True where the file begins as a zip archive does."""
    return head.startswith(_ZIP)


def names_in_container(head: bytes) -> int | None:
    """Where the list of names of an old container stands [bytes]; None where the file is none.

    Source: MS-CFB, section 2.2, the header.
    """
    if not head.startswith(_OLE) or len(head) < 52:
        return None
    power, sector = int.from_bytes(head[30:32], "little"), int.from_bytes(head[48:52], "little")
    return (sector + 1) << min(power, 16)


def other_kind(head: bytes, whole: bytes) -> tuple[str, str]:
    """Code and sentence about a file that is no zip archive.

    Parameters
    ----------
    head : its first bytes
    whole : as much of it as is looked through for the names inside an old container
    """
    if head.startswith(_OLE):
        return _ole(whole)
    if head[:2] == b"\x09\x08" or head[:4] in (b"\x09\x04\x06\x00", b"\x09\x02\x06\x00", b"\x09\x00\x04\x00"):
        return "old-workbook", f"this is a workbook of an old kind (.xls); {SAVE_AS}"
    for signature, kind in _SIGNATURES:
        if head.startswith(signature):
            return "not-a-workbook", f"this is {kind}, not a workbook; choose the price book (.xlsx)"
    text = _as_text(head)
    if text is None:
        return (
            "not-a-workbook",
            "this is not a workbook, or it is damaged; choose the price book (.xlsx) or a fresh copy",
        )
    return _text_kind(text)


def _ole(whole: bytes) -> tuple[str, str]:
    if "EncryptedPackage".encode("utf-16-le") in whole:
        return "encrypted-workbook", "this workbook is protected by a password; open it and save it without a password"
    if "WordDocument".encode("utf-16-le") in whole:
        return "not-a-workbook", "this is a text document (.doc), not a workbook; choose the price book (.xlsx)"
    return "old-workbook", f"this is a workbook of an old kind (.xls); {SAVE_AS}"


def _as_text(head: bytes) -> str | None:
    for encoding in ("utf-8-sig", "utf-16", "cp1252"):
        if encoding == "utf-16" and not head.startswith((b"\xff\xfe", b"\xfe\xff")):
            continue
        try:
            text = head.decode(encoding)
        except UnicodeDecodeError as error:
            if encoding == "cp1252" or error.start < len(head) - 4:
                continue
            text = head[: error.start].decode(encoding, "ignore")
        if not re.search(r"[\x00-\x08\x0e-\x1a\x1c-\x1f]", text):
            return text
    return None


def _text_kind(text: str) -> tuple[str, str]:
    start = text.lstrip()[:4096].casefold()
    if start.startswith("<"):
        if "office:document" in start:
            return "opendocument", f"this is an OpenDocument spreadsheet (.fods); {SAVE_AS}"
        if "urn:schemas-microsoft-com:office:spreadsheet" in start:
            return "old-workbook", f"this is a workbook of an old kind (XML); {SAVE_AS}"
        if re.match(r"<(?:!doctype html|html|table|head|body|meta|style)", start) or "<html" in start:
            return "web-page", f"this is a web page with the name of a workbook; {SAVE_AS}"
        return "not-a-workbook", "this is an XML file, not a workbook; choose the price book (.xlsx)"
    if start.startswith("id;p"):
        return "old-workbook", f"this is a workbook of an old kind (.slk); {SAVE_AS}"
    return "text-file", f"this is plain text (such as .csv), not a workbook; {SAVE_AS}"


def zip_kind(names: set[str], mimetype: bytes) -> tuple[str, str] | None:
    """Code and sentence about a zip archive that is no workbook; None where it may be one.

    Parameters
    ----------
    names : the names of its members in small letters
    mimetype : what its member ``mimetype`` says, empty where there is none
    """
    if b"opendocument.spreadsheet" in mimetype:
        return "opendocument", f"this is an OpenDocument spreadsheet (.ods); {SAVE_AS}"
    if b"opendocument" in mimetype:
        return "not-a-workbook", "this is a document of another kind, not a workbook; choose the price book (.xlsx)"
    if "xl/workbook.bin" in names:
        return "binary-workbook", f"this is a binary workbook (.xlsb); {SAVE_AS}"
    if "word/document.xml" in names:
        return "not-a-workbook", "this is a text document (.docx), not a workbook; choose the price book (.xlsx)"
    if "ppt/presentation.xml" in names:
        return "not-a-workbook", "this is a presentation (.pptx), not a workbook; choose the price book (.xlsx)"
    if "index/document.iwa" in names or "index.zip" in names:
        return "other-spreadsheet", "this is a spreadsheet of another program; export it as an Excel workbook (.xlsx)"
    if "[content_types].xml" not in names and "_rels/.rels" not in names:
        return (
            "not-a-workbook",
            "this is a zip archive, not a workbook; unpack it and choose the price book (.xlsx) inside",
        )
    return None
