"""What stands beside a figure in a text and says what it is: a sign of money, a word of cost, percent, a measure, a longer number.

The words are those of English and of the languages next to it; a figure that no word marks is still searched, by closer rules.
"""

from __future__ import annotations

import functools
import re

from pricing.money import SIGNS
from pricing.text import INVISIBLE

#: Letters before and behind a figure that are looked at.
_NEAR = 28

_SIGNS = {*SIGNS.values(), *"$¢£¤¥€₣₤₦₩₪₫₱₴₹₺₽"}
_SIGN = "|".join(re.escape(sign) for sign in sorted(_SIGNS) if not sign.isalpha())
_OTHER_CODES = ("HUF", "RON", "BGN", "TRY", "ZAR", "MXN", "BRL", "UAH", "ILS", "SGD", "HKD", "TWD", "THB")
_CODE = "|".join(sorted({*SIGNS, *filter(str.isalpha, _SIGNS), *_OTHER_CODES}))

#: Codes of currencies, three letters each.
CODES = "|".join(sorted({*(code for code in SIGNS if len(code) == 3), *_OTHER_CODES}))
_COIN = r"euros?|pounds?|quid|dollars?|francs?|kron(?:a|e|or|er|en)|zloty|yen|pence|cents?"
_COST = (
    r"costs?|costing|costed|prices?|priced|wages?|pay|pays|paid|profits?|margins?|earns?|worth|net|rates?"
    r"|kosten|kostet|preis|preise|lohn|gewinn|marge|spanne|coûts?|coûte|prix|salaire|bénéfice|costo|coste|precio|salario|prezzo|kost|pris"
)

_BEFORE = re.compile(rf"(?:(?:{_SIGN}|\b(?:{_CODE}|{_COIN}))[\s\u00a0\u202f]*|\b(?:{_COST})\b[^\d.;\n]{{0,20}})$", re.IGNORECASE)
_BEHIND = re.compile(
    rf"[\s\u00a0\u202f]*(?:(?:{_SIGN})|(?:{_CODE}|{_COIN})\b|,[-–—]|\.[-–—]|/|(?:an?|per|each|pro|je|par|la|le)\b)", re.IGNORECASE
)
_PERCENT = re.compile(
    r"[\s-]*(?:%|‰|per[\s-]?cents?\b|percentage|pct\b|prozent|v\.\s?h\.|pour[\s-]?cent\b|por[\s-]?cien(?:to)?\b|procent\b)", re.IGNORECASE
)
_MARGIN = re.compile(r"\b(?:margins?|marges?|marg[ei]n|spanne|gewinnspanne|mark-?up)\b[^\d.;\n]{0,20}$", re.IGNORECASE)
_MEASURE = re.compile(
    r"[\s\u00a0\u202f-]?(?:(?:[mcdk]?m[²³23]?|[km]?g|t|m?l|lbs?|oz|ft|yd|lit(?:er|re)s?|inch(?:es)?|feet|foot|°c?|h|hrs?|hours?"
    r"|min|minutes?|days?|weeks?|months?|years?|pcs|pieces?|off|nos?|am|pm|uhr|stück|stk|tage?|wochen?)(?![^\W_])|[\"″'′×]|x(?=[\s\d])|in(?=[).,;]|\s*$))",
    re.IGNORECASE,
)
_ACROSS = re.compile(r"(?:[×x][\s\u00a0]?|[\d][\s\u00a0.,:/-]|[-/#:]|(?<![^\W_])ral[\s\u00a0]?)$", re.IGNORECASE)
_GOES_ON = re.compile(r"[\s\u00a0.,:/-]\d|[-:][^\W_]")

#: A day with its month in letters, in the languages of the quotes: 26 November 2026, 26. Nov 2026, 26 de noviembre de 2026, Nov 26, 2026.
_MONTH = (
    r"(?:jan|ene|feb|f[ée]v|m[aä]r|mrt|maart|apr|avr|abr|ma[iyj]|mei|jun|juin|jul|juil|aug|ao[uû]|ago|sep|set|o[ck]t|nov|d[eé][cz]|dic)"
    r"[^\W\d_]*\.?"
)
_DAY = re.compile(rf"(?<!\d)(?:\d{{1,2}}\.?\s(?:de\s)?{_MONTH}|{_MONTH}\s\d{{1,2}},)\s(?:de\s)?\d{{4}}(?!\d)", re.IGNORECASE)


#: Marks that are typed in several ways: the spaces of a grouped figure, apostrophes, points, commas, percent.
_ONE_OF_MANY = {
    **dict.fromkeys([*range(0x2000, 0x200B), 0x202F, 0x3000], "\u00a0"), **dict.fromkeys(map(ord, "‘’ʼ´＇"), "'"),
    **dict.fromkeys(map(ord, "．·˙٫"), "."), **dict.fromkeys(map(ord, "，٬"), ","), **dict.fromkeys(map(ord, "％﹪٪"), "%"),
}


def as_typed(text: str) -> str:
    """A text with its spaces, apostrophes, points, commas and signs of percent each in one form, and without what is not seen.

    >>> as_typed("1\u2009234·50 or 1’234．50 at 28％")
    "1\xa0234.50 or 1'234.50 at 28%"
    """
    return text if text.isascii() else INVISIBLE.sub("", text).translate(_ONE_OF_MANY)


def is_margin(text: str, start: int) -> bool:
    """Whether the word for a margin stands before the figure that begins there.

    >>> is_margin("a margin of 28", 12), is_margin("costs 28", 6)
    (True, False)
    """
    return bool(_MARGIN.search(text[max(start - _NEAR, 0) : start]))


def is_day(text: str, start: int) -> bool:
    """Whether the figure that begins there belongs to a day with its month in letters.

    >>> [is_day(text, text.index("26")) for text in ("Price list of 26 November 2026", "26. Dez. 2026", "costs 26 in May 2027")]
    [True, True, False]
    """
    return any(first <= start < end for first, end in _days(text))


@functools.lru_cache(maxsize=4)
def _days(text: str) -> list[tuple[int, int]]:
    """Where days stand in a text, looked for once however many figures it has."""
    return [found.span() for found in _DAY.finditer(text)]


def is_money(text: str, start: int, end: int) -> bool:
    """Whether a currency or a word of cost stands beside the figure from *start* to *end*.

    >>> [is_money(text, text.index("831"), text.index("831") + 3) for text in ("cost of it 831", "£831", "831,-", "slab 831")]
    [True, True, True, False]
    """
    return bool(_BEFORE.search(text[max(start - _NEAR, 0) : start]) or _BEHIND.match(text[end : end + _NEAR]))


def is_percent(text: str, end: int) -> bool:
    """Whether the figure that ends there is one of a hundred.

    >>> is_percent("28 %", 2), is_percent("28 per cent", 2), is_percent("28 perches", 2)
    (True, True, False)
    """
    return bool(_PERCENT.match(text[end : end + _NEAR]))


def is_measure(text: str, start: int, end: int, whole: bool = True) -> bool:
    """Whether the figure is a length, a mass, a time or a count, or, where it is whole, part of a longer number.

    >>> [is_measure(text, text.index("831"), text.index("831") + 3) for text in ("831 mm", "600 x 831", "tel. 0171 831", "831 in all")]
    [True, True, True, False]
    """
    if _MEASURE.match(text[end : end + _NEAR]):
        return True
    return whole and bool(_ACROSS.search(text[max(start - _NEAR, 0) : start]) or _GOES_ON.match(text[end : end + 2]))
