"""Number formats: which of them show a date, and which unit or currency they print beside the number."""

from __future__ import annotations

import re
from functools import lru_cache

# The formats that a workbook names by number alone (ECMA-376 part 1, section 18.8.30; 5 to 8 and 41 to 44 as the
# spreadsheet programs write them, without the currency, which follows the machine).
BUILT_IN = {
    0: "General", 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 5: "#,##0_);(#,##0)", 6: "#,##0_);[Red](#,##0)",
    7: "#,##0.00_);(#,##0.00)", 8: "#,##0.00_);[Red](#,##0.00)", 9: "0%", 10: "0.00%", 11: "0.00E+00", 12: "# ?/?",
    13: "# ??/??", 14: "mm-dd-yy", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy", 18: "h:mm AM/PM", 19: "h:mm:ss AM/PM",
    20: "h:mm", 21: "h:mm:ss", 22: "m/d/yy h:mm", 37: "#,##0_);(#,##0)", 38: "#,##0_);[Red](#,##0)",
    39: "#,##0.00_);(#,##0.00)", 40: "#,##0.00_);[Red](#,##0.00)", 41: "#,##0_);(#,##0)", 42: "#,##0_);(#,##0)",
    43: "#,##0.00_);(#,##0.00)", 44: "#,##0.00_);(#,##0.00)", 45: "mm:ss", 46: "[h]:mm:ss", 47: "mm:ss.0",
    48: "##0.0E+0", 49: "@",
} | dict.fromkeys((27, 28, 29, 30, 31, 36, 50, 51, 52, 53, 54, 57, 58), "yyyy-mm-dd") | dict.fromkeys(
    (32, 33, 34, 35, 55, 56), "h:mm:ss"
)

THOUSANDS, MILLIONS, HIDDEN, TIME, MIXED = "thousands", "millions", "hidden", "time", "mixed"

_LITERAL = re.compile(r'"([^"]*)"?|\\(.)|_.|\*.', re.DOTALL)
_CURRENCY = re.compile(r"\[\$([^\]\-]*)(?:-[^\]]*)?\]")
_BRACKETS = re.compile(r"\[[^\]]*\]")
_ELAPSED = re.compile(r"\[(?:h+|m+|s+)\]", re.IGNORECASE)
_HALF_DAY = re.compile(r"am/pm|a/p", re.IGNORECASE)
_CONDITION = re.compile(r"\[[<>=]")
# Digits and placeholders of quoted text are moved out of the way while the digits of the format are looked for.
_DIGITS_AWAY = {ord(character): 0xE000 + index for index, character in enumerate("0#?eE")}
_DIGITS_BACK = {moved: character for character, moved in _DIGITS_AWAY.items()}
_SIGNS = "£$€¥₹₩₽₺₴₦₱₫₪฿¢"


def sections(number_format: str) -> list[str]:
    """The parts of a format code for positive, negative, zero and text, split where no quote hides the semicolon."""
    found, start, position = [], 0, 0
    while position < len(number_format):
        character = number_format[position]
        if character == '"':
            closing = number_format.find('"', position + 1)
            position = len(number_format) if closing < 0 else closing
        elif character in "\\_*":
            position += 1
        elif character == ";":
            found.append(number_format[start:position])
            start = position + 1
        position += 1
    found.append(number_format[start:])
    return found


@lru_cache(maxsize=65_536)
def shows_date(number_format: str) -> bool:
    """True where the format shows a number as a day, with or without a time.

    >>> shows_date("dd/mm/yyyy"), shows_date("h:mm"), shows_date('0.0" day"')
    (True, False, False)
    """
    return _calendar(number_format) == "date"


@lru_cache(maxsize=65_536)
def _calendar(number_format: str) -> str:
    """ "date", "time" or empty: what the first section of a format shows."""
    first = sections(number_format)[0]
    if first.strip().casefold() in ("general", "standard", "@", ""):
        return ""
    bare = _LITERAL.sub("", first)
    elapsed = _ELAPSED.search(bare) is not None
    bare = _HALF_DAY.sub("", _BRACKETS.sub("", bare)).casefold()
    bare = re.sub(r"general|e[+-]", "0", bare)
    bare = re.sub(r"s[.,]0+", "s", bare)
    if re.search(r"[0#?]", bare):
        return ""
    if re.search(r"[ydeg]|b{2}", bare) and re.search(r"[yde]", bare):
        return "date"
    if elapsed or re.search(r"[hs]", bare):
        return "time"
    return "date" if "m" in bare else ""


@lru_cache(maxsize=65_536)
def unit_in_format(number_format: str) -> str:
    """The unit or currency that a number format prints beside the number; empty where it prints none.

    Parameters
    ----------
    number_format : the format code of a cell

    ``"%"`` is a percentage, ``"thousands"`` and ``"millions"`` a scaled display, ``"hidden"`` a format that shows
    nothing, ``"time"`` a time of day or a duration, ``"mixed"`` a unit that changes with the size of the number.

    >>> unit_in_format('0.0" kg"'), unit_in_format("[$£-809]#,##0.00"), unit_in_format('#,##0,"k"')
    ('kg', '£', 'thousands')
    """
    calendar = _calendar(number_format)
    if calendar:
        return TIME if calendar == "time" else ""
    parts = sections(number_format)
    if len(parts) > 1 and not _shows_something(parts[0]):
        return HIDDEN
    first = _unit_of_section(parts[0])
    if _CONDITION.search(_LITERAL.sub("", number_format)) and any(
        _shows_digits(part) and _unit_of_section(part) != first for part in parts[1:3]
    ):
        return MIXED
    return first


def _shows_something(section: str) -> bool:
    return any(match[1] or match[2] for match in _LITERAL.finditer(section)) or bool(_BRACKETS.sub("", _LITERAL.sub("", section)).strip())


def _shows_digits(section: str) -> bool:
    return bool(re.search(r"[0#?]|general", _BRACKETS.sub("", _LITERAL.sub("", section)), re.IGNORECASE))


def _unit_of_section(section: str) -> str:
    if not _shows_digits(section):
        return ""
    bare = _BRACKETS.sub("", _LITERAL.sub("", section))
    scale = re.search(r"[0#?](,+)(?:$|[^0#?,])", bare)
    if scale:
        return THOUSANDS if len(scale[1]) == 1 else MILLIONS
    if "%" in bare:
        return "%"
    currency = _CURRENCY.search(section)
    if currency and currency[1].strip():
        return currency[1].strip()
    # What stays beside the digits, their separators and the brackets of a negative number is the unit.
    digits = re.sub(r"general", "0", _BRACKETS.sub("", section), flags=re.IGNORECASE)
    printed = _LITERAL.sub(lambda match: _kept_letters(match[1] or match[2] or " "), digits)
    printed = re.sub(r"e[+-]0+", "", printed, flags=re.IGNORECASE)
    before, after = _around_digits(printed)
    return (after or before).translate(_DIGITS_BACK)


def _kept_letters(literal: str) -> str:
    """Literal text whose digits, placeholders and exponents cannot be taken for those of the format."""
    return literal.translate(_DIGITS_AWAY)


def _around_digits(printed: str) -> tuple[str, str]:
    """What a format prints before and after its digits, without signs and brackets."""
    match = re.search(r"[0#?](?:[0#?.,/ \u00a0'-]*[0#?])?", printed)
    if match is None:
        return "", ""
    before = printed[: match.start()].strip(" \u00a0\u202f()-+−:")
    after = printed[match.end() :].strip(" \u00a0\u202f()-+−:,.")
    for sign in _SIGNS:
        if sign in before:
            return "", sign
    return before, after
