"""Texts that a maker can type, or paste, into any cell, and that must stay texts wherever they are written to."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from pathlib import Path

from books import small_book
from typed_book import Sheets, write_typed

from pricing.book.reading.cells import LONGEST_NAME

DAY = datetime.date(2026, 3, 2)

#: What each tries to be. No two of them are the same name, whatever is left out of them.
HOSTILE: dict[str, str] = {
    "a command": "=cmd|'/C calc'!A0",
    "a formula": "=1+1",
    "a formula with a plus": "+1+1",
    "a formula with a minus": "-1-1",
    "a formula with an at sign": "@SUM(1+1)",
    "a formula behind a tab": "\t=1+2",
    "a formula behind a return": "\r=1+3",
    "a formula on its second line": "two\n=1+4",
    "an array formula": "{=1+1}",
    "a link in a formula": '=HYPERLINK("https://x.invalid","pay here")',
    "a full-width formula": "＝1+5",
    "an equals sign": "=",
    "an escape of a letter": "a_x0041_b",
    "an escape of a bell": "a_x0007_b",
    "an escape of a line end": "_x000D_=1",
    "half an escape": "_x0041",
    "an address": "https://x.invalid/a",
    "a mail address": "mailto:a@x.invalid",
    "a place in the workbook": "internal:S!A1",
    "a place in another": "external:other.xlsx",
    "a script": "javascript:alert(1)",
    "the end of a section": "a]]>b",
    "a section": "<![CDATA[x]]>",
    "an ampersand": "Smith & Sons",
    "entities": "&lt;&#7;&amp;",
    "an element": "<f>1+1</f>",
    "rich text": "<r><t>1</t></r>",
    "broken rich text": "<r></si></sst>&</r>",
    "a remark": "<!-- x -->",
    "quotes": "a\"b'c\"&\"d",
    "text turned around": "a\u202eb\u202c",
    "text set apart": "iso\u2066b\u2069",
    "no width": "zw\u200bb",
    "a joiner": "zj\u200db",
    "a byte order mark": "\ufeffa9",
    "emoji": "👩‍👩‍👧 🪨",
    "letters of a sheet's name": "a[b]:c*d?e/f\\g",
    "a cell": "Sheet'1'!A1",
    "a range": "$A$1:$B$2",
    "another folder": "../../x",
    "another folder, the other way": "..\\..\\y",
    "a device": "CON",
    "a device with an ending": "nul.txt",
    "a hidden file": ".profile",
    "a switch": "--help",
    "wild cards": "a*b?c~d",
    "control characters": "a\x07b\x1b[31mc",
    "a control sequence": "a\x9b31mb",
    "a deleted character": "d\x7fb",
    "no character": "a\uffffb",
    "marks upon marks": "z" + "\u0301" * 300,
    "a number": "0012",
    "a large number": "1E5",
    "a truth": "TRUE",
    "an error": "#REF!",
    "letters from right to left": "\u05d0\u05d1 12",
    "codes of a page's foot": "7&P &8 &D&F",
    "line separators": "s\u2028b\u2029c",
    "a next line": "n\x85b",
    "a format": "%s{0}%n",
    "a long name": "L" * LONGEST_NAME,
    "a long name of marks": "c" + "\u0301" * (LONGEST_NAME - 1),
}

#: Texts that name a folder: no quote is delivered with one, because it could be one of the maker's.
FOLDERS = ("file:///c:/x", "\\\\host\\share", "/home/somebody/quotes", "C:\\Users\\somebody")


def tame(count: int) -> list[str]:
    """As many plain names.

    >>> tame(2)
    ['Name AA', 'Name AB']
    """
    return [f"Name {chr(65 + number // 26)}{chr(65 + number % 26)}" for number in range(count)]


def note_of(text: str) -> str:
    """What is noted where a name is given: the name, and the longest name again and again.

    >>> note_of("Ada"), len(note_of("L" * 1_000))
    ('Ada', 32000)
    """
    return text if len(text) < LONGEST_NAME else text * 32


def workshop(texts: Iterable[str], business: str = "Test Castings", *, customers: bool = True) -> Sheets:
    """The small workshop and, for each text, one of everything that can have a name, called by it and by nothing else.

    Notes may be longer than names: with a name as long as a name may be stand notes that nearly fill their cells.

    Parameters
    ----------
    texts : as typed
    business : name of the workshop, and all else that it says of itself
    customers : False where customers, suppliers and quotes keep plain names, because no customer may read of another
    """
    sheets = small_book()
    own = {"Business name": business, "Address": business, "Contact": business, "Tax number": business, "Tax name": business}
    sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] not in own]
    sheets["Workshop"] += [[name, text, text] for name, text in own.items()]
    mould = sheets["Moulds"][1]
    sheets["Actuals"] = [["Quote", "Product", "Item", "Kind", "Quantity", "Cost"]]
    for text in texts:
        supplier, note = text if customers else "Hill Merchants", note_of(text)
        for price, month in ((10, 1), (12, 2)):
            bought = [text, "binder", 25, "kg", price, 0, "0 %", 3150, 1500, None, None, None, supplier, datetime.date(2026, month, 1)]
            sheets["Materials"].append(bought)
        sheets["Mixes"] += [[text, text, 1, "parts by mass"], [text, "Sand", 2, "parts by mass"], [text, "Water", 0.4, "parts by mass"]]
        sheets["Trades"].append([text, 24])
        sheets["Machines"].append([text, 2000, 200, 3000, 0.4, 1.6])
        sheets["Labour"].append([text, text, text, 30, "order", text, None, "no"])
        sheets["Moulds"].append([text, *mould[1:]])
        sheets["Finishes"].append([text, "Sealer", 8, 2, "m2 face"])
        sheets["Products"].append([text, note, "slab", 1000, 500, 40, None, None, None, text, text, text, text, "5 %", "order", 4, None])
        sheets["Extras"].append([text, "Brackets", 2, "piece"])
        sheets["Delivery"].append([text, 5000, 20])
        if customers:
            sheets["Customers"].append([text, note, "0 %", None, text])
            sheets["Enquiries"].append([text, DAY, text, text, 4, None, None, None, note])
            sheets["Actuals"] += [[text, text, text, kind, 20, None] for kind in ("material", "labour", "step", "machine")]
    return sheets


def write_workshop(path: Path, texts: Iterable[str], business: str = "Test Castings", *, customers: bool = True) -> Path:
    """The same as a workbook."""
    return write_typed(path, workshop(texts, business, customers=customers))
