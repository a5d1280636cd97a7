"""Which languages there are, and which one a tag means."""

from __future__ import annotations

#: The languages of the catalogues by their BCP 47 tags, each with the folder of its catalogue; English is what the program itself says.
LANGUAGES: dict[str, str] = {"en-GB": "", "en-US": "en_US", "de": "de", "fr": "fr", "es": "es", "nl": "nl"}

#: The language of a tag without a region that has none of its own, and of a book that says nothing.
ENGLISH, AMERICAN = "en-GB", "en-US"


def known_language(tag: str) -> str:
    """The language that a tag means; empty where there is no catalogue of it.

    A tag with a region that has no catalogue means the language alone.

    >>> known_language("de-AT"), known_language("EN-us"), known_language("en-NZ"), known_language("it")
    ('de', 'en-US', 'en-GB', '')
    """
    wanted = tag.strip().replace("_", "-").casefold()
    whole = {each.casefold(): each for each in LANGUAGES} | {"en": ENGLISH}
    return whole.get(wanted) or whole.get(wanted.partition("-")[0], "")


def usual_language(currency: str) -> str:
    """The language of a book that says nothing of it: American English where it counts in dollars of the United States.

    >>> usual_language("USD"), usual_language("EUR")
    ('en-US', 'en-GB')
    """
    return AMERICAN if currency == "USD" else ENGLISH
