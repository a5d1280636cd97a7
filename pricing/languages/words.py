"""What is said in one language: sentences by its message catalogue; dates, numbers and lists by its locale.

A catalogue is a gettext ``.po`` file, read when it is first asked for; a sentence that it lacks is said in English.
"""

from __future__ import annotations

import datetime
import functools
import gettext
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from pricing.languages.tags import ENGLISH, LANGUAGES

#: Domain of the catalogues, as gettext calls it.
DOMAIN = "pricing"

#: The mark of a language in number formats (Windows LCID), where dates or separators differ from what a program takes for itself.
#: Some programs write separators by it; others keep to those of their own language.
MARKS: dict[str, str] = {"en-GB": "", "en-US": "[$-409]", "de": "[$-407]", "fr": "[$-40C]", "es": "[$-C0A]", "nl": "[$-413]"}

#: How a date in a cell is shown: the order of its parts.
_DAYS: dict[str, str] = {"en-US": "mmm d, yyyy", "de": "d. mmm yyyy"}


class Words:
    """What is said in one language.

    Parameters
    ----------
    tag : of the language, among ``LANGUAGES``
    """

    def __init__(self, tag: str) -> None:
        self.tag = tag
        self.locale = tag.replace("-", "_")
        self.day_format = MARKS[tag] + _DAYS.get(tag, "d mmm yyyy")
        #: What stands between a figure and its per cent sign (CLDR).
        self.before_percent = " " if tag in ("de", "fr", "es") else ""
        #: What number formats begin with; nothing in English, whose separators formats have by themselves.
        self.number_mark = "" if tag.startswith("en") else MARKS[tag]

    @functools.cached_property
    def _messages(self) -> gettext.NullTranslations:
        return _catalogue(LANGUAGES[self.tag])

    def say(self, text: str, **values: object) -> str:
        """A sentence in this language, with what is to stand in its braces.

        >>> Words("de").say("Valid until"), Words("en-GB").say("for {what}", what="you"), Words("de").say("")
        ('Gültig bis', 'for you', '')
        """
        said = self._messages.gettext(text) if text else ""  # a catalogue has its own particulars under the empty text
        return said.format(**values) if values else said

    def count(self, one: str, several: str, number: float, **values: object) -> str:
        """A sentence about a number of things, which stands in it as ``{count}``.

        >>> [Words(tag).count("{count} working day", "{count} working days", 3) for tag in ("en-GB", "nl")]
        ['3 working days', '3 werkdagen']
        """
        whole = round(number)
        return self._messages.ngettext(one, several, whole).format(count=whole, **values)

    def every(self, texts: Iterable[str]) -> list[str]:
        """Sentences in this language, as the catalogue has them, each form of those that have several."""
        found = [self._messages.gettext(text) for text in texts]
        return [*found, *(self._messages.ngettext(text, text, number) for text in texts for number in (1, 5))]

    def day(self, day: datetime.date) -> str:
        """A date as a letter writes it.

        >>> Words("en-GB").day(datetime.date(2025, 4, 9)), Words("de").day(datetime.date(2025, 4, 9))
        ('9 April 2025', '9. April 2025')
        """
        from babel.dates import format_date

        return str(format_date(day, "long", self.locale))

    def listed(self, parts: Sequence[str], *, choice: bool = False) -> str:
        """Parts in a row: all of them, or a choice of them.

        >>> Words("en-GB").listed(["1", "2", "4"]), Words("fr").listed(["1", "2"]), Words("de").listed(["1", "2"], choice=True)
        ('1, 2 and 4', '1 et 2', '1 oder 2')
        """
        if len(parts) < 2:
            return "".join(parts)
        if len(parts) == 2 and self.tag.startswith("en"):
            return f"{parts[0]} {'or' if choice else 'and'} {parts[1]}"
        from babel.lists import format_list

        return str(format_list(list(parts), style="or" if choice else "standard", locale=self.locale))

    def amount(self, number: float, decimals: int) -> str:
        """A number with so many decimals, its thousands set apart.

        >>> Words("en-GB").amount(1234.5, 2), Words("de").amount(1234.5, 2)
        ('1,234.50', '1.234,50')
        """
        if self.tag.startswith("en"):
            return f"{number:,.{decimals}f}"
        from babel.numbers import format_decimal

        return str(format_decimal(number, "#,##0" + ("." + "0" * decimals if decimals else ""), self.locale))

    def figure(self, text: str) -> str:
        """A figure with a decimal point as this language writes it.

        >>> Words("en-GB").figure("12.5"), Words("de").figure("12.5")
        ('12.5', '12,5')
        """
        if "." not in text or self.tag.startswith("en"):
            return text
        from babel.numbers import get_decimal_symbol

        return text.replace(".", get_decimal_symbol(self.locale))


@functools.lru_cache(maxsize=16)
def words_of(tag: str = ENGLISH) -> Words:
    """What is said in a language, each made once."""
    return Words(tag)


@functools.lru_cache(maxsize=16)
def _catalogue(folder: str) -> gettext.NullTranslations:
    """The catalogue in a folder of ``locale``; one that says everything in English where there is none."""
    if not folder:
        return gettext.NullTranslations()
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    path = Path(__file__).parent / "locale" / folder / "LC_MESSAGES" / f"{DOMAIN}.po"
    compiled = io.BytesIO()
    write_mo(compiled, read_po(io.BytesIO(path.read_bytes()), locale=folder, domain=DOMAIN))
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)
