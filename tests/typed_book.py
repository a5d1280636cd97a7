"""Price books whose cells hold exactly what was typed: any text at all, written part by part and by no library."""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from packages import book, plain, relations, sheet, styles, zipped
from xlsxwriter.utility import xl_col_to_name

Sheets = dict[str, list[list[Any]]]

_EPOCH = datetime.date(1899, 12, 30)
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\r\x0e-\x1f\ufffe\uffff]")
_LOOKS_ESCAPED = re.compile("_(?=x[0-9A-Fa-f]{4}_)")


def stored(text: str) -> str:
    """A text as a workbook stores it (ECMA-376 part 1, 22.9.2.19, ST_Xstring).

    >>> stored("a_x0041_ & \\x07")
    'a_x005F_x0041_ &amp; _x0007_'
    """
    return escape(_CONTROL.sub(lambda match: f"_x{ord(match.group()):04X}_", _LOOKS_ESCAPED.sub("_x005F_", text)))


def _cell(place: str, value: Any) -> str:
    match value:
        case None:
            return ""
        case str():
            return f'<c r="{place}" t="inlineStr"><is><t xml:space="preserve">{stored(value)}</t></is></c>'
        case datetime.date():
            return f'<c r="{place}" s="1"><v>{(value - _EPOCH).days}</v></c>'
        case _:
            return f'<c r="{place}"><v>{value!r}</v></c>'


def write_typed(path: Path, sheets: Sheets) -> Path:
    """Write sheets as they are: the first row of each holds its headings."""
    links, parts = [], {}
    for number, (name, rows) in enumerate(sheets.items(), 1):
        lines = [
            f'<row r="{at}">' + "".join(_cell(f"{xl_col_to_name(column)}{at}", value) for column, value in enumerate(row)) + "</row>"
            for at, row in enumerate(rows, 1)
        ]
        parts[f"xl/worksheets/sheet{number}.xml"] = sheet("".join(lines))
        links.append((name, f"rId{number}"))
    targets = [(link, "worksheet", f"worksheets/sheet{link[3:]}.xml") for _, link in links]
    changed = {
        **parts, "xl/workbook.xml": book(links), "xl/sharedStrings.xml": None, "xl/styles.xml": styles("yyyy-mm-dd"),
        "xl/_rels/workbook.xml.rels": relations(*targets, ("rId900", "styles", "styles.xml")),
    }
    path.write_bytes(zipped(plain(changed)))
    return path
