"""Text from a price book, made fit for a cell, a page foot, a document property or a file name.

What a person typed stays as it was typed, except for what no reader sees and a program may stumble over: control
characters, halves of surrogate pairs, code points that are no characters, and marks that turn the direction of text
around. Text that begins with ``=`` or looks like a link stays as it is: it is written as a string and never as a formula.
"""

from __future__ import annotations

import hashlib
import re
import unicodedata

#: The most that one cell holds [UTF-16 code units]. Source: ECMA-376 part 1, 18.18.73 (ST_Xstring) and the published
#: limits of spreadsheet programs.
CELL_LIMIT = 32_767

#: The most bytes of UTF-8 that a file name of ours takes; common file systems allow 255.
FILE_NAME_LIMIT = 200

#: Where a text that was typed reads like an escape of a workbook's texts.
ESCAPE = re.compile("_(?=x[0-9A-Fa-f]{4}_)")

_LINE_ENDS = re.compile("\r\n|[\r\x0b\x0c\x85\u2028\u2029]")
#: Control characters but tab and line feed; surrogates; marks of direction; byte order marks; code points that are none.
_UNWANTED = re.compile(
    "[\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\u202a-\u202e\u2066-\u2069\ufeff\ufdd0-\ufdef\ufffe\uffff"
    + "".join(chr(plane << 16 | end) for plane in range(1, 17) for end in (0xFFFE, 0xFFFF))
    + "]"
)
_FORBIDDEN_IN_NAMES = re.compile(r'[<>:"/\\|?*\x00-\x1f]')
#: Names of devices, which one family of systems does not allow as a file's name, with or without an ending.
_DEVICES = re.compile(r"(?i)(?:con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(?:\..*)?$")


def clean_text(text: str, limit: int = CELL_LIMIT) -> str:
    """Text as a cell may hold it: line ends as line feeds, nothing unseen, not longer than *limit*.

    Parameters
    ----------
    text : as typed
    limit : the most that is kept [UTF-16 code units]; what is cut off leaves an ellipsis

    >>> clean_text("Shelf\\x07 in\\u202e white\\r\\n=1+1")
    'Shelf in white\\n=1+1'
    """
    if not text.isprintable():
        text = _UNWANTED.sub("", _LINE_ENDS.sub("\n", text)).replace("\t", " ")
    return shortened(text.strip(), limit)


def one_line(text: str, limit: int = CELL_LIMIT) -> str:
    """The same on one line, each run of white space a single space.

    >>> one_line(" 3 Sorrel Rise\\n Quillbeck ")
    '3 Sorrel Rise Quillbeck'
    """
    return shortened(" ".join(clean_text(text).split()), limit)


def stored_result(result: float | str) -> float | str:
    """What a formula gives, as it is stored beside it and in the charts that show it: text as a cell may hold it.

    Parameters
    ----------
    result : a figure stays as it is

    ``_x0007_`` in a stored text stands for the character of that number (ECMA-376 part 1, 22.9.2.19, ST_Xstring), and the
    library that writes our workbooks escapes it in a chart but not in a cell. So it is broken by a joiner, which no one sees.

    >>> stored_result("Shelf_x0041_"), stored_result(2.5)
    ('Shelf_\u2060x0041_', 2.5)
    """
    return ESCAPE.sub("_\u2060", clean_text(result)) if isinstance(result, str) else result


def shortened(text: str, limit: int) -> str:
    """Text of at most *limit* UTF-16 code units; what is cut off leaves an ellipsis.

    A text between ``<r>`` and ``</r>`` gets a space behind it: the library that writes our workbooks takes it for markup
    of its own otherwise, and puts it into the file unescaped.

    >>> shortened("Shelf in white", 7), shortened("<r>&</r>", 9)
    ('Shelf…', '<r>&</r> ')
    """
    if text.startswith("<r>") and text.endswith("</r>"):
        text += " "
    if len(text) <= limit and utf16_units(text) <= limit:
        return text
    kept = text[: max(limit - 1, 0)]
    while utf16_units(kept) > limit - 1:
        kept = kept[:-1]
    return kept.rstrip() + "…"


def safe_file_name(name: str, ending: str = "") -> str:
    """A name that every common file system takes, different for different names.

    Parameters
    ----------
    name : as typed, such as the number of a quote
    ending : what follows it, such as ``" quote.xlsx"``; it is trusted

    A name that had to be changed carries a short mark of the one it came from, so that ``2025/1`` and ``2025-1`` do not
    take each other's place.

    >>> safe_file_name("Q-1041", " quote.xlsx")
    'Q-1041 quote.xlsx'
    >>> safe_file_name("2025/1") != safe_file_name("2025-1"), safe_file_name("2025/1")[:6]
    (True, '2025-1')
    """
    kept = unicodedata.normalize("NFC", _UNWANTED.sub("", name))
    kept = _FORBIDDEN_IN_NAMES.sub("-", _LINE_ENDS.sub(" ", kept)).strip(" .")
    if _DEVICES.match(kept):
        kept = f"_{kept}"
    room = FILE_NAME_LIMIT - len(ending.encode("utf-8")) - 8
    encoded = kept.encode("utf-8")
    if len(encoded) > room:
        kept = encoded[:room].decode("utf-8", "ignore").rstrip(" .")
    if not kept or kept != unicodedata.normalize("NFC", name.encode("utf-8", "replace").decode("utf-8")):
        mark = hashlib.blake2b(name.encode("utf-8", "surrogatepass"), digest_size=3).hexdigest()
        kept = f"{kept} {mark}".strip()
    return kept + ending


def utf16_units(text: str) -> int:
    """Length of a text [UTF-16 code units], in which spreadsheet programs count.

    >>> utf16_units("Stone"), utf16_units("🪨")
    (5, 2)
    """
    return len(text) if text.isascii() else len(text.encode("utf-16-le", "surrogatepass")) // 2
