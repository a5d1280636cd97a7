"""What no customer's workbook of a costing may hold: whom the workshop buys from and sells to, what things cost and earn.

Which figures are nobody's business but the maker's stands on the declaration of each column.
"""

from __future__ import annotations

import re
import weakref
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from pricing.book.languages import languages_of
from pricing.costing.engine.columns import Input, Text, is_secret
from pricing.dataclass import dataclass
from pricing.glossary import GLOSSARY
from pricing.reports.leaks.figures import figures_in
from pricing.reports.leaks.machine_names import machine_names
from pricing.reports.leaks.secrets import Figures, Phrases, holds
from pricing.reports.leaks.texts import PART_OF_WORD, in_both_spellings, spelled
from pricing.reports.quote.wording import fixed_wording
from pricing.text import fold

if TYPE_CHECKING:
    from pricing.costing.engine.packed_columns import Floats
    from pricing.costing.method.costing import Costing


#: What names of people and firms are called: those that words of descriptions may be by chance.
NAMES_OF_PEOPLE = ("a supplier", "another customer")


#: What ends the words with which a description names its thing.
_ENDS_AN_OPENING = re.compile(r"[,;:(]|\s[-\u2010-\u2015]\s")


@dataclass(frozen=True)
class Private:
    """What all quotes of a costing must keep to themselves, and what they may all say.

    Parameters
    ----------
    phrases : names to look for, with what each is
    figures : of the workshop's tables
    prices : those of them that somebody typed
    shares : parts of one among them
    other_quotes : amounts of all quotes
    passing : phrases that our own wording holds, or that are words of descriptions
    wording_figures : figures that stand in it
    of_lines, of_quotes : secret columns with what each is, for each line or quote; each share once more in percent
    """

    phrases: Phrases
    figures: Figures
    prices: Figures
    shares: Figures
    other_quotes: Figures
    passing: frozenset[str]
    wording_figures: frozenset[str]
    of_lines: tuple[tuple[str, Floats], ...]
    of_quotes: tuple[tuple[str, Floats], ...]


_OF_COSTINGS: weakref.WeakKeyDictionary[Costing, Private] = weakref.WeakKeyDictionary()


def private(costing: Costing) -> Private:
    """What the quotes of a costing must keep to themselves, worked out once."""
    found = _OF_COSTINGS.get(costing)
    if found is None:
        phrases, wording = Phrases.of(_names(costing)), fixed_wording(languages_of(costing.book))
        amounts = [
            (f"{_words(column.name)} of a quote", costing.quote(column.name)) for column in costing.model.tables["quotes"].spec.columns
            if not isinstance(column, Text) and (is_secret(column) or GLOSSARY[column.name].unit == "currency")
        ]
        found = Private(
            phrases, Figures.of(_of_the_workshop(costing)), Figures.of(_typed_prices(costing)),
            Figures.of(_shares_of_the_workshop(costing)), Figures.of(amounts),
            frozenset(phrase for text in wording for phrase in phrases.found_in(in_both_spellings(text)))
            | words_of_descriptions(phrases, _descriptions(costing)),
            frozenset(figure for text in wording for figure in figures_in(text)),
            tuple(_secret_columns(costing, "lines")), tuple(_secret_columns(costing, "quotes")),
        )
        _OF_COSTINGS[costing] = found
    return found


def _secret_columns(costing: Costing, table: str) -> Iterator[tuple[str, Floats]]:
    """The columns of a table that are nobody's business but the maker's."""
    for column in costing.model.tables[table].spec.columns:
        if is_secret(column):
            values = costing.values.value(table, column.name)
            yield _words(column.name), values
            if GLOSSARY[column.name].shown == "%":
                yield _words(column.name), values * 100


def _of_the_workshop(costing: Costing) -> Iterator[tuple[str, Floats]]:
    for table, rows in costing.model.tables.items():
        if rows.spec.scope == "workshop":
            yield from _secret_columns(costing, table)
    yield "pack price", costing.book.tables["Materials"].columns["pack_price"]


def _typed_prices(costing: Costing) -> Iterator[tuple[str, Floats]]:
    """What somebody typed of what the workshop pays: prices of materials, wages, machines, rent."""
    for table, rows in costing.model.tables.items():
        if rows.spec.scope == "workshop":
            for column in rows.spec.columns:
                if isinstance(column, Input) and is_secret(column) and GLOSSARY[column.name].shown != "%":
                    yield _words(column.name), costing.values.value(table, column.name)
    yield "pack price", costing.book.tables["Materials"].columns["pack_price"]


def _shares_of_the_workshop(costing: Costing) -> Iterator[tuple[str, Floats]]:
    for table, rows in costing.model.tables.items():
        if rows.spec.scope == "workshop":
            for column in rows.spec.columns:
                if is_secret(column) and GLOSSARY[column.name].shown == "%":
                    yield _words(column.name), costing.values.value(table, column.name)


def _descriptions(costing: Costing) -> Iterator[str]:
    products = costing.book.tables["Products"].columns
    yield from products["product"].tolist()
    yield from products["description"].tolist()


def words_of_descriptions(phrases: Phrases, descriptions: Iterable[str]) -> frozenset[str]:
    """The names that are no more than words with which things are described.

    Such a name is a whole description, figures left out; or each of its words stands in a description that does not hold the
    whole name; or it opens a description, and its first or last word does. The name of a customer after whom a piece was called
    stays a name.

    Parameters
    ----------
    phrases : names to look for
    descriptions : what the products are called

    >>> names = Phrases.of((name, "another customer") for name in ("Kitchen worktop", "Garden wall", "Vellmoor Garden Rooms"))
    >>> sorted(words_of_descriptions(names, ["Kitchen worktop 1800", "Wall coping", "Garden bench", "Vellmoor Garden Rooms sill"]))
    ['garden wall', 'kitchen worktop']
    """
    texts = {fold(text) for text in descriptions}
    whole, openings = {_wordy(text) for text in texts}, {_wordy(_ENDS_AN_OPENING.split(text)[0]) for text in texts}
    by_word: dict[str, set[str]] = {}
    for text in map(spelled, texts):
        for word in PART_OF_WORD.findall(text):
            by_word.setdefault(word, set()).add(text)
    found = set()
    for name in {phrase for pairs in phrases.by_word.values() for phrase, kind in pairs if kind in NAMES_OF_PEOPLE}:
        words = PART_OF_WORD.findall(name)
        of_things = [any(not holds(text, name) for text in by_word.get(word, ())) for word in words]
        key = " ".join(words)
        if key in whole or all(of_things) or (key in openings and (of_things[0] or of_things[-1])):
            found.add(name)
    return frozenset(found)


def _wordy(text: str) -> str:
    """The words of a text without its figures."""
    return " ".join(word for word in PART_OF_WORD.findall(text) if not any(map(str.isdigit, word)))


def _words(column: str) -> str:
    return column.replace("_", " ")


#: Where addresses stand.
_ADDRESSES = (("Customers", "address"), ("Customers", "site_address"), ("Quotes", "site_address"))


def _names(costing: Costing) -> Iterable[tuple[str, str]]:
    tables = costing.book.tables
    yield from ((name, "a supplier") for name in set(tables["Materials"].columns["supplier"].tolist()))
    customers = {*tables["Customers"].columns["customer"].tolist(), *costing.lines.customer.tolist()}
    yield from ((name, "another customer") for name in customers)
    yield from ((name, "another customer's e-mail") for name in tables["Customers"].columns["e_mail"].tolist())
    for address in (each for sheet, column in _ADDRESSES for each in tables[sheet].columns[column].tolist()):
        yield address, "another customer's address"
        yield from ((part, "another customer's address") for part in address_parts(address))
    enquiries = tables["Enquiries"].columns["quote"].tolist()
    yield from ((quote, "another quote") for quote in {*enquiries, *costing.quotes})
    yield costing.book.path.name, "the price book's file name"
    yield from machine_names(costing.book.path)


def address_parts(address: str) -> list[str]:
    """The parts of an address that say something alone: those with a figure, and long enough.

    >>> address_parts("3 Sorrel Rise, Quillbeck QX9 2ZZ")
    ['3 Sorrel Rise', 'Quillbeck QX9 2ZZ']
    """
    parts = [part.strip() for part in re.split(r"[,;\n]", address)]
    return [part for part in parts if len(part) >= 6 and any(letter.isdigit() for letter in part) and any(map(str.isalpha, part))]


def gives_away(costing: Costing, text: str, customer: str) -> bool:
    """Whether a text names a supplier, or a customer other than this one."""
    secret = private(costing)
    found = secret.phrases.found_in(in_both_spellings(text))
    return any(
        kind in NAMES_OF_PEOPLE and phrase != spelled(customer) and phrase not in secret.passing for phrase, kind in found.items()
    )
