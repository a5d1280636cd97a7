"""The figure that a typed text states, with its unit or currency; nothing is guessed."""

from __future__ import annotations

import re
import unicodedata

from pricing.dataclass import dataclass
from pricing.text import INVISIBLE

# Why a text is no figure: code and the words that follow the text in a message.
FIGURE_REASONS = {
    "empty": "is empty",
    "several-lines": "has more than one line",
    "no-number": "holds no number",
    "several-numbers": "holds more than one number",
    "ambiguous-thousands": "can be read as thousands or as a decimal part",
    "malformed-number": "is not written as a number",
    "not-decimal": "is not a decimal number",
    "too-large": "is too large for a figure",
    "zero-denominator": "is a fraction with nothing below the line",
}

_LONGEST = 200  # characters; longer texts are prose, not figures
_SPACES = frozenset("\t \u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000")
# Common practice, no source: how currencies are abbreviated before a figure.
_CURRENCY_WORDS = ("kr", "zł", "Kč", "Ft", "Fr", "SFr", "Rs", "lei", "R")
_SIGNS = "£$€¥₹₩₽₺₴₦₱₫₪฿¢"
_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6",
}

_FRACTION = re.compile(r"(?:(\d{1,6})[ -])?(\d{1,6}) ?/ ?(\d{1,6})")
_DIGITS = r"\d(?:[\d.,' ]*\d)?|[.,]\d+"
_NUMERAL = re.compile(rf"(?:{_DIGITS})(?:[eE][+-]?\d{{1,3}}(?!\w))?")
_HEX = re.compile(r"0[xX][0-9A-Fa-f]+")
_LINES = re.compile(r"[\r\n\v\f\x85\u2028\u2029]")
_BRACKETED = re.compile(r"([^()]*)\(([^()]*\d[^()]*)\)([^()]*)")
_GROUPED = re.compile(r"(\d{1,3}(?:([ '])\d{3})(?:\2\d{3})*)([.,]\d+)?")
_LEAD = re.compile(r"([-+]?) ?(.*?) ?([-+]?)")
_CLOSED = re.compile(rf"-(?:$|[ {_SIGNS}])")
_CLOSED_CURRENCY = re.compile(rf" ?(?:[{_SIGNS}]|[A-Z]{{3}}) ?-")
_CURRENCY = re.compile(rf"[A-Z]{{0,3}}[{_SIGNS}]|[A-Z]{{3}}")
_POWER_UNIT = re.compile(r"(?<![\W\d_])\^?[23](?!\d)")


@dataclass(frozen=True, slots=True)
class Figure:
    """A number with the unit typed beside it.

    Parameters
    ----------
    value : the number
    unit : as typed, "" where there is none, "%" for a percentage, "£" or "GBP" for a currency
    """

    value: float
    unit: str


def _plain(text: str) -> str:
    """The text with digits, spaces, minus signs and fractions in one form, superscripts and units as they are."""
    if text.isascii():
        return text.replace("`", "'").replace("\t", " ").strip(" \r\n")
    found: list[str] = []
    for character in INVISIBLE.sub("", text):
        if character in _VULGAR:
            found.append((" " if found and found[-1].isdigit() else "") + _VULGAR[character])
        elif character in "²³¹":
            found.append(character)
        elif "\uff01" <= character <= "\uff5e" or character == "\u3000":
            found.append(unicodedata.normalize("NFKC", character))
        elif character in "−‐‑‒–﹣":
            found.append("-")
        elif character in "’‘ʼ`´":
            found.append("'")
        elif character == "⁄":
            found.append("/")
        elif character in _SPACES:
            found.append(" ")
        else:
            found.append(character)
    return "".join(found).strip(" \r\n")


def figure_from_text(text: str) -> Figure | str:
    """The figure that a text states, or the code of ``FIGURE_REASONS`` that says why it states none.

    Parameters
    ----------
    text : as typed, with or without a unit or a currency before or after the number

    A single comma with three digits after it is ambiguous; a single point is a decimal point.

    >>> figure_from_text("£4.20"), figure_from_text("1.234,50 kg"), figure_from_text("1,234")
    (Figure(value=4.2, unit='£'), Figure(value=1234.5, unit='kg'), 'ambiguous-thousands')
    """
    if len(text) > 4 * _LONGEST:
        return "no-number" if text.strip() else "empty"
    plain = _plain(text)
    if not plain:
        return "empty"
    if len(plain) > _LONGEST:
        return "no-number"
    if _LINES.search(plain):
        return "several-lines"
    if _HEX.search(plain):
        return "not-decimal"
    bracketed = _BRACKETED.fullmatch(plain)
    negative = False
    if bracketed and not re.search(r"\d", bracketed[1] + bracketed[3]):
        plain = f"{bracketed[1]}{bracketed[2]}{bracketed[3]}".strip()
        negative = True
    fraction = _FRACTION.search(plain)
    if fraction and _stands_alone(plain, fraction.start(), fraction.end()):
        whole, above, below = fraction.groups()
        if int(below) == 0:
            return "zero-denominator"
        number: float | str = int(whole or 0) + int(above) / int(below)
        start, end = fraction.span()
    else:
        numeral = _NUMERAL.search(plain)
        if numeral is None:
            return "no-number"
        start, end = numeral.span()
        number = _value(numeral.group())
    if isinstance(number, str):
        return number
    return _with_unit(plain[:start], number, plain[end:], negative)


#: A text that is one figure with a decimal comma and cannot be read otherwise: ``12,50``, ``1.234,5 kg``; and one with a single point
#: and three digits after it, which in a book of such figures may be thousands.
_DECIMAL_COMMA = re.compile(r"[^\d.,]*(?:\d+|[1-9]\d{0,2}(?:\.\d{3})+),(?:\d{1,2}|\d{4,})[^\d.,]*")
_POINT_AND_THREE = re.compile(r"[^\d.,]*[1-9]\d{0,2}\.\d{3}[^\d.,]*")


def has_decimal_comma(text: str) -> bool:
    """Whether a text is a figure that has a decimal comma beyond doubt.

    >>> has_decimal_comma("12,50 EUR"), has_decimal_comma("1,234"), has_decimal_comma("12.50")
    (True, False, False)
    """
    return len(text) <= _LONGEST and _DECIMAL_COMMA.fullmatch(text) is not None


def may_be_thousands(text: str) -> bool:
    """Whether the point of a figure would be one of thousands where decimals have a comma.

    >>> may_be_thousands("1.234 kg"), may_be_thousands("0.234"), may_be_thousands("1.2345")
    (True, False, False)
    """
    return len(text) <= _LONGEST and _POINT_AND_THREE.fullmatch(text) is not None


def _stands_alone(plain: str, start: int, end: int) -> bool:
    """True where no digit or letter touches a fraction from before, and no digit from behind."""
    return not re.search(r"[\w.,']$", plain[:start]) and not re.match(r"[\d.,'/]", plain[end:])


def _value(numeral: str) -> float | str:
    mantissa, marker, exponent = numeral.replace("E", "e").partition("e")
    groups = _GROUPED.fullmatch(mantissa)
    if groups:
        mantissa = groups[1].replace(groups[2], "") + (groups[3] or "").replace(",", ".")
    elif " " in mantissa:
        return "several-numbers"
    elif "'" in mantissa:
        return "malformed-number"
    else:
        decimal = _decimal(mantissa)
        if decimal is None:
            return "malformed-number"
        if not decimal:
            return "ambiguous-thousands"
        mantissa = decimal
    value = float(mantissa + marker + exponent)
    if not abs(value) < 1e15:
        return "too-large"
    return float(f"{value:.15g}")


def _decimal(mantissa: str) -> str | None:
    """Digits with a decimal point; None where it is no number, empty where it is one in two ways."""
    if re.fullmatch(r"\d+|\d*\.\d+|\d+\.", mantissa):
        return mantissa
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", mantissa):
        return ""
    if re.fullmatch(r"\d*,\d+|\d+,", mantissa):
        return mantissa.replace(",", ".")
    if re.fullmatch(r"[1-9]\d{0,2}(?:,\d{3})+\.\d+|[1-9]\d{0,2}(?:,\d{3}){2,}", mantissa):
        return mantissa.replace(",", "")
    if re.fullmatch(r"[1-9]\d{0,2}(?:\.\d{3})+,\d+|[1-9]\d{0,2}(?:\.\d{3}){2,}", mantissa):
        return mantissa.replace(".", "").replace(",", ".")
    return None


def _with_unit(before: str, number: float, after: str, negative: bool) -> Figure | str:
    """Put a number together with what stands around it: signs, a currency before it, a unit after it."""
    before = before.strip()
    signs = 0
    lead = _LEAD.fullmatch(before)
    if lead is None:
        return "malformed-number"
    signs += lead[1] == "-"
    signs += lead[3] == "-"
    if lead[1] and lead[3]:
        return "malformed-number"
    before = lead[2]
    # A minus sign that touches the number from behind, 12.50- or 12.50- kg, or closes a currency, 12.50 EUR-.
    if _CLOSED.match(after):
        after = after[1:]
        signs += 1
    elif _CLOSED_CURRENCY.fullmatch(after):
        after = after[:-1]
        signs += 1
    after = after.strip()
    if signs + negative > 1:
        return "malformed-number"
    if before and after:
        # A currency before the number and what it is counted by after it: £4.20 / kg.
        if not _is_currency(before) or not after.startswith("/"):
            return "no-number" if not _is_currency(before) else "malformed-number"
        unit = before + after
    else:
        if before and not _is_currency(before):
            return "no-number"
        unit = before or after
    reason = _refused_unit(unit, bool(before))
    if reason:
        return reason
    value = -number if signs or negative else number
    return Figure(value + 0.0, unit)


def _is_currency(text: str) -> bool:
    return bool(_CURRENCY.fullmatch(text)) or text.rstrip(".") in _CURRENCY_WORDS


def _refused_unit(unit: str, currency: bool) -> str:
    """Why a text beside a number is no unit; empty where it may be one."""
    if not unit or (currency and "/" not in unit):
        return ""
    if ("%" in unit and not re.fullmatch(r"% ?[A-Za-z ]*", unit)) or re.match(r"[eE][+-]?\d", unit):
        return "malformed-number"
    bare = _POWER_UNIT.sub("", unit)
    if re.search(r"\d", bare):
        return "several-numbers"
    if not re.search(rf"[^\W\d_]|[%‰°{_SIGNS}]", bare) or re.search(r"[^\w%‰°/·.²³¹^* ()'\"&" + _SIGNS + "-]", bare):
        return "malformed-number"
    if re.match(r"[-.,'\"*^)&]", unit):
        return "malformed-number"
    return ""
