"""What stands beside a figure in a text and says what it is: a sign of money, a word of cost, percent, a measure, a longer number.

The words are those of English and of the languages next to it; a figure that no word marks is still searched, by closer rules.
"""

from __future__ import annotations

import functools
import re

from pricing.book.declared.settings import CURRENCIES
from pricing.money import SIGNS
from pricing.text import INVISIBLE

#: Letters before and behind a figure that are looked at.
_NEAR = 28

_SIGNS = {*SIGNS.values(), *"$¢£¤¥€₣₤₦₩₪₫₱₴₹₺₽"}
_SIGN = "|".join(re.escape(sign) for sign in sorted(_SIGNS) if not sign.isalpha())
_OTHER_CODES = ("HUF", "RON", "BGN", "ZAR", "MXN", "BRL", "UAH", "ILS", "SGD", "HKD", "TWD", "THB")
_USUAL = "|".join(sorted({*(code for code in SIGNS if len(code) == 3), *_OTHER_CODES}))

#: Codes that are words too stand for money only right before a figure.
_WORDS = {"ALL", "CUP", "GEL", "MAD", "MOP", "PEN", "TOP"}

#: What is written for some currencies: letters; and of one letter, in scripts that set no spaces between words.
_LETTERS, _SIGNLIKE = "|".join(("kr", "kč", "zł", "rs", "tl", "fr", "лв")), "[元円]"
_CODE = "|".join([_USUAL, _LETTERS, "lei", _SIGNLIKE, *filter(str.isalpha, _SIGNS), f"(?-i:{'|'.join(sorted(CURRENCIES - _WORDS))})"])

#: A figure may stand right behind the code of a currency, not behind another letter.
BEHIND = rf"(?:(?<![^\W\d_])|(?<={_USUAL}|lei)|(?<=(?-i:{'|'.join(sorted(CURRENCIES))}))|(?<={_LETTERS})|(?<={_SIGNLIKE}))"
_COIN = r"euros?|pounds?|quid|dollars?|francs?|kron(?:a|e|or|er|en)|zloty|yen|pence|cents?"
_COST = (
    r"costs?|costing|costed|prices?|priced|wages?|pay|pays|paid|profits?|margins?|earns?|worth|net|rates?"
    r"|kosten|kostet|preis|preise|lohn|gewinn|marge|spanne|coûts?|coûte|prix|salaire|bénéfice|costo|coste|precio|salario|prezzo|kost|pris"
)

_MONEY = rf"(?:{_SIGN}|\b(?:{_CODE}|{_COIN})\.?)[\s\u00a0\u202f]*"
_BEFORE = re.compile(
    rf"(?:{_MONEY}(?:\d[\d.,]{{0,9}}\s?(?:[-–—/]|to|bis)\s?)?|\b(?:{_COST})\b[^\d.;\n]{{0,20}}|(?:{_SIGNLIKE}))$", re.IGNORECASE
)
_COINS_BEHIND = rf"[\s\u00a0\u202f]*(?:(?:{_SIGN})|(?:{_CODE}|{_COIN})\b)"
_BEHIND = re.compile(
    rf"(?:\s?(?:[-–—/]|to\b|bis\b)\s?\d[\d.,]{{0,9}})?{_COINS_BEHIND}"
    rf"|[\s\u00a0\u202f]*(?:,[-–—]|\.[-–—]|/(?!\d)|(?:an?|per|each(?!\s(?:side|end|way)\b)|pro|je|par|la|le)\b)",
    re.IGNORECASE,
)
_PERCENT = re.compile(
    r"[\s-]*(?:%|‰|per[\s-]?cents?\b|percentage|pct\b|prozent|v\.\s?h\.|pour[\s-]?cent\b|por[\s-]?cien(?:to)?\b|procent\b)", re.IGNORECASE
)
_MARGIN = re.compile(
    r"\b(?:margins?|marges?|marg[ei]n|spanne|gewinnspanne|mark-?up)\b[^\d.;\n]{0,20}(?:\b(?:ca|c|approx)\.\s?)?\.?$", re.IGNORECASE
)
_UNIT = (
    r"[mcdk]?m[²³23]?|[km]?g|t|m?l|lbs?|oz|ft|yd|inch(?:es)?|feet|foot|miles?|°c?|h|hrs?|hours?|min|minutes?|days?|weeks?|months?|years?|am|pm"
    r"|(?:milli|centi|deci|kilo|mil[ií]|cent[ií])?m[eèé]t(?:er|re|ro)[sn]?|(?:kilo)?gram(?:me?)?s?|kilos?|tonn?e?s?|litros?|lit(?:er|re)[sn]?"
    r"|sq\.?\s?(?:m|ft|in|yd)|sqm|qm|n/mm[²2]|mpa|psi|kn|watts?|grit"
    r"|pcs|pieces?|off|nos?|uhr|stück|stk|tage?|wochen?|tiles|slabs|pavers|flags|bricks|blocks|steps|panels|sills|copings|holes"
    r"|wide|high|long|deep|thick|tall|breit|hoch|lang|tief|dick|dia(?:m(?:eter)?)?|degrees?|ltrs?|cent(?:re|er)s|each\s(?:side|end|way)"
    r"|(?:above|below|from)\s(?:the\s)?(?:finished\s)?(?:floor|ground|ceiling|wall|edge|end|corner|ffl)"
)
_MEASURE = re.compile(rf"[\s\u00a0\u202f-]?(?:(?:{_UNIT})(?![^\W_])|[\"″'′]|in(?=[).,;]|\s*$))", re.IGNORECASE)

#: What makes a figure one of the sizes of a thing, and what makes several figures those of one unit: 600 to 900 mm.
_TIMES = re.compile(r"[\s\u00a0]?(?:[×*]|x(?=[\s\d])|by(?=\s?\d))", re.IGNORECASE)
_MORE = re.compile(
    r"(?:\s?,\s?\d+(?:[.,]\d+)?){0,3}\s(?:to|or|and|bis|oder|und|à|ou|et|a|o|y|tot|of|en)\s\d+(?:[.,]\d+)?|\s?[-–—/]\s?\d+(?:[.,]\d+)?",
    re.IGNORECASE,
)

#: What stands before a number that says which of several is meant: the word for it, a mark of its kind, another number.
_WHICH = (
    r"n[orº°]s?|num(?:ber|mer)?|nummer|order|po|ref(?:erence)?|quote|offer|job|project|drawing|dwg|detail|item|part|code|type|model|series|serial"
    r"|lot|batch|plot|house|flat|apartment|apt|suite|room|rm|floor|unit|gate|bay|block|page|sheet|section|clause|box|km|size|grit|scale"
    r"|auftrag|bestellung|zeichnung|position|pos|haus|zimmer|wohnung|postfach|seite|commande|plan|appartement|bp|pedido|plano|piso|kamer|huis"
    r"|art|artikel|week|kw|woche|semaine|year|jahr|spring|summer|autumn|winter|grid|parcel|postcode|zip|plz|hausnummer|route|level|ffl|datum"
    r"|ral|ncs|pantone|bs|en|din|iso|astm|colou?r|shade|farbe|farbton|couleur|color|kleur"
)

#: What is measured, before its size: a height of 900, overhang 40.
_SIZE = (
    r"heights?|widths?|depths?|lengths?|thickness|diameter|radius|overhang|upstand|spacing|cent(?:re|er)s|setback|cut\sback"
    r"|höhe|breite|länge|tiefe|stärke|überstand|durchmesser|hauteur|largeur|longueur|profondeur|épaisseur|altura|ancho|fondo|hoogte|breedte|lengte"
)
_ACROSS = re.compile(
    rf"(?:\b(?:{_SIZE})(?:\s(?:of|at|is|overall|von|de))?[\s:.=]{{1,3}}|\b(?-i:[HWLDB])\s|\b(?:ffl|level)\s?\+\s?|"
    rf"(?:[×x*]|\bby)[\s\u00a0]?|[\d][\s\u00a0.,:/-]|[-/#:]|[hwldbtø]\s?=\s?|ø\s?|\b(?:{_WHICH})[\s\u00a0.:#]{{1,3}})$", re.IGNORECASE
)
_GOES_ON = re.compile(r"[\s\u00a0.,:/-]\d|[-:][^\W_]")
_STREET = re.compile(r"(?:\s[^\W\d_]+){1,2}\s(?:street|st|road|rd|lane|avenue|ave|drive|close|court|place|terrace)\b", re.IGNORECASE)

#: A day with its month in letters, in the languages of the quotes: 26 November 2026, 26. Nov 2026, 26 de noviembre de 2026, Nov 26, 2026.
_MONTH = (
    r"(?:jan|ene|feb|f[ée]v|m[aä]r|mrt|maart|apr|avr|abr|ma[iyj]|mei|jun|juin|jul|juil|aug|ao[uû]|ago|sep|set|o[ck]t|nov|d[eé][cz]|dic)"
    r"[^\W\d_]*\.?"
)
_DAY = re.compile(rf"(?<!\d)(?:\d{{1,2}}\.?\s(?:de\s)?{_MONTH}|{_MONTH}\s\d{{1,2}},)\s(?:de\s)?\d{{4}}(?!\d)", re.IGNORECASE)
_YEAR = re.compile(r"\s\d{4}(?!\d)")


#: Marks that are typed in several ways: the spaces of a grouped figure, apostrophes, points, commas, percent.
_ONE_OF_MANY = {
    **dict.fromkeys([*range(0x2000, 0x200B), 0x1680, 0x202F, 0x205F, 0x3000], "\u00a0"), **dict.fromkeys(map(ord, "‘’ʼ´＇"), "'"),
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
    return [found.span() for found in _DAY.finditer(text)] if _YEAR.search(text) else []


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


def is_measure(text: str, start: int, end: int, whole: bool = True, short: bool = True) -> bool:
    """Whether the figure is a length, a mass, a time or a count, or, where it is whole, part of a longer one or what says which is meant.

    Parameters
    ----------
    start, end : of the figure
    whole : True for one without decimals
    short : True for one of few digits, which may be one of several sizes

    >>> [is_measure(text, text.index("831"), text.index("831") + 3) for text in ("831 mm", "600 x 831", "tel. 0171 831", "831 in all")]
    [True, True, True, False]
    >>> [is_measure(text, text.index("831"), text.index("831") + 3) for text in ("831 to 900 mm", "room 831", "831 High Street", "'831'")]
    [True, True, True, False]
    """
    before, behind = text[max(start - _NEAR, 0) : start], text[end : end + 2 * _NEAR]
    if behind[:1] in ("'", '"') and before.endswith(behind[0]):
        return False
    more = _MORE.match(behind) if short else None
    if _MEASURE.match(behind) or (more and _MEASURE.match(behind, more.end())) or (short and _TIMES.match(behind)):
        return True
    return whole and bool(_ACROSS.search(before) or _GOES_ON.match(behind[:2]) or _STREET.match(behind))
