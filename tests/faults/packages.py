"""Building blocks of the odd and hostile workbooks: parts written by hand, and a zip writer that can lie."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
LINKS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT_MAIN = "http://purl.oclc.org/ooxml/spreadsheetml/main"
STRICT_LINKS = "http://purl.oclc.org/ooxml/officeDocument/relationships"
PACKAGE_LINKS = "http://schemas.openxmlformats.org/package/2006/relationships"
CONTENT = "http://schemas.openxmlformats.org/package/2006/content-types"
KIND = "application/vnd.openxmlformats-officedocument.spreadsheetml."
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'

Parts = dict[str, str | bytes]

STRINGS = ("Item", "Price", "grey slab", "kerb")
ROWS = (
    '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c></row>'
    '<row r="2"><c r="A2" t="s"><v>2</v></c><c r="B2"><v>12.5</v></c></row>'
    '<row r="3"><c r="A3" t="s"><v>3</v></c><c r="B3"><v>8</v></c></row>'
)
#: What the plain workbook holds; odd ways of writing it must give the same.
PLAIN: dict[str, object] = {"Prices!A1": "Item", "Prices!A2": "grey slab", "Prices!B2": 12.5, "Prices!B3": 8.0}


def sheet(rows: str = ROWS, before: str = "", after: str = "", attributes: str = "", head: str = HEAD) -> str:
    """A sheet part around its rows."""
    opening = f'<worksheet xmlns="{MAIN}" xmlns:r="{LINKS}"{attributes}>'
    return f"{head}{opening}{before}<sheetData>{rows}</sheetData>{after}</worksheet>"


def strings(texts: Iterable[str] = STRINGS, raw: str = "") -> str:
    """A shared strings part; ``raw`` comes after the texts as it is."""
    items = "".join(f'<si><t xml:space="preserve">{text}</t></si>' for text in texts)
    return f'{HEAD}<sst xmlns="{MAIN}">{items}{raw}</sst>'


def styles(*formats: str) -> str:
    """A styles part: style 0 is general, the others show the given number formats in turn."""
    codes = "".join(
        f'<numFmt numFmtId="{164 + index}" formatCode="{code}"/>'
        for index, code in enumerate(one.replace("&", "&amp;").replace('"', "&quot;") for one in formats)
    )
    cells = "".join(f'<xf numFmtId="{164 + index}" applyNumberFormat="1"/>' for index in range(len(formats)))
    return (
        f'{HEAD}<styleSheet xmlns="{MAIN}"><numFmts count="{len(formats)}">{codes}</numFmts>'
        f'<cellStyleXfs count="1"><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/>{cells}</cellXfs>'
        "</styleSheet>"
    )


def book(sheets: Iterable[tuple[str, str]] = (("Prices", "rId1"),), before: str = "", after: str = "", head: str = HEAD) -> str:
    """A workbook part that lists sheets as name and relationship; the name may carry further attributes."""
    tabs = "".join(f'<sheet name="{name}" sheetId="{number}" r:id="{link}"/>' for number, (name, link) in enumerate(sheets, 1))
    return f'{head}<workbook xmlns="{MAIN}" xmlns:r="{LINKS}">{before}<sheets>{tabs}</sheets>{after}</workbook>'


def relations(*links: tuple[str, str, str], base: str = LINKS, head: str = HEAD) -> str:
    """A relationships part of identifier, kind and target; a target beginning with ``>`` lies outside the file."""
    found = ""
    for identifier, kind, target in links:
        mode = ' TargetMode="External"' if target.startswith(">") else ""
        kind = kind if "/" in kind else f"{base}/{kind}"
        found += f'<Relationship Id="{identifier}" Type="{kind}" Target="{target.lstrip(">")}"{mode}/>'
    return f'{head}<Relationships xmlns="{PACKAGE_LINKS}">{found}</Relationships>'


BOOK_LINKS = (
    ("rId1", "worksheet", "worksheets/sheet1.xml"),
    ("rId8", "styles", "styles.xml"),
    ("rId9", "sharedStrings", "sharedStrings.xml"),
)
CONTENT_TYPES = (
    f'{HEAD}<Types xmlns="{CONTENT}"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.'
    f'relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>'
    f'<Override PartName="/xl/workbook.xml" ContentType="{KIND}sheet.main+xml"/></Types>'
)


def plain(changed: Mapping[str, str | bytes | None] | None = None) -> Parts:
    """The parts of a small workbook, some changed, added, or (None) left out."""
    parts: dict[str, str | bytes | None] = {
        "[Content_Types].xml": CONTENT_TYPES,
        "_rels/.rels": relations(("rId1", "officeDocument", "xl/workbook.xml")),
        "xl/workbook.xml": book(),
        "xl/_rels/workbook.xml.rels": relations(*BOOK_LINKS),
        "xl/worksheets/sheet1.xml": sheet(),
        "xl/sharedStrings.xml": strings(),
        "xl/styles.xml": styles(),
    }
    parts.update(changed or {})
    return {name: data for name, data in parts.items() if data is not None}


def with_sheet(rows: str, before: str = "", after: str = "", **changed: str | bytes | None) -> Parts:
    """The plain workbook with other rows; further parts by keyword: strings, styles, book."""
    names = {"strings": "xl/sharedStrings.xml", "styles": "xl/styles.xml", "book": "xl/workbook.xml"}
    return plain({"xl/worksheets/sheet1.xml": sheet(rows, before, after)} | {names[key]: part for key, part in changed.items()})


def cell(text: str) -> Parts:
    """The plain workbook whose B2 is written as given."""
    return with_sheet(ROWS.replace('<c r="B2"><v>12.5</v></c>', text))


def zipped(parts: Mapping[str, str | bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """The parts as an ordinary zip archive."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", method) as archive:
        for name, data in parts.items():
            archive.writestr(zipfile.ZipInfo(name, (2025, 1, 1, 0, 0, 0)), data, method)
    return target.getvalue()


@dataclass(frozen=True)
class Member:
    """A member of an archive with everything its headers say about it, true or not."""

    name: bytes
    data: bytes  # as stored
    crc: int
    size: int  # inflated, as stated
    method: int = 8
    flags: int = 0
    local_name: bytes | None = None
    stated_length: int | None = None  # of the stored data
    offset: int | None = None  # of the local header, as stated


def member(name: str, data: str | bytes) -> Member:
    """An honest member."""
    raw = data.encode() if isinstance(data, str) else data
    return Member(name.encode(), deflated(raw), zlib.crc32(raw), len(raw))


def members(parts: Mapping[str, str | bytes]) -> list[Member]:
    """Honest members."""
    return [member(name, data) for name, data in parts.items()]


def changed_member(found: list[Member], name: str, **changes: object) -> list[Member]:
    """The members with one of them changed."""
    return [replace(one, **changes) if one.name == name.encode() else one for one in found]  # type: ignore[arg-type]


def deflated(raw: bytes) -> bytes:
    """Raw deflate data."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    return packer.compress(raw) + packer.flush()


def repeated(start: bytes, block: bytes, times: int, end: bytes) -> tuple[bytes, int, int]:
    """Deflate data of start, a block many times, and end, with its check sum and inflated size, made in no time."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    first = packer.compress(start) + packer.flush(zlib.Z_FULL_FLUSH)
    many = packer.compress(block) + packer.flush(zlib.Z_FULL_FLUSH)
    last = packer.compress(end) + packer.flush()
    crc = zlib.crc32(start)
    for _ in range(times):
        crc = zlib.crc32(block, crc)
    return first + many * times + last, zlib.crc32(end, crc), len(start) + len(block) * times + len(end)


def bomb(parts: Mapping[str, str | bytes], name: str, start: str, block: str, times: int, end: str) -> bytes:
    """The parts with one of them inflating to a block repeated many times."""
    data, crc, size = repeated(start.encode(), block.encode(), times, end.encode())
    return archive([*members({key: part for key, part in parts.items() if key != name}), Member(name.encode(), data, crc, size)])


def archive(found: Iterable[Member], entries: int | None = None, directory: int | None = None, extra: bytes = b"") -> bytes:
    """A zip archive of the members; the number of entries and the length of the directory may be misstated."""
    body, listing, count = bytearray(), bytearray(), 0
    for one in found:
        offset = len(body) if one.offset is None else one.offset
        length = len(one.data) if one.stated_length is None else one.stated_length
        local = one.name if one.local_name is None else one.local_name
        common = struct.pack("<HHHHHLLL", 20, one.flags, one.method, 0, 0x5A21, one.crc, length, one.size)
        body += b"PK\x03\x04" + common + struct.pack("<HH", len(local), 0) + local + one.data
        listing += b"PK\x01\x02" + struct.pack("<H", 20) + common
        listing += struct.pack("<HHHHHLL", len(one.name), 0, 0, 0, 0, 0, offset) + one.name
        count += 1
    stated = count if entries is None else entries
    size = len(listing) if directory is None else directory
    return bytes(body + listing) + extra + b"PK\x05\x06" + struct.pack("<HHHHLLH", 0, 0, stated, stated, size, len(body), 0)
