"""What no customer's workbook of a costing may hold: whom the workshop buys from and sells to, what things cost and earn.

Which figures are nobody's business but the maker's stands on the declaration of each column.
"""

from __future__ import annotations

import re
import weakref
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pricing.costing.engine.columns import Text, is_secret
from pricing.glossary import GLOSSARY
from pricing.reports.leaks.figures import figures_in
from pricing.reports.leaks.machine_names import machine_names
from pricing.reports.leaks.secrets import Figures, Phrases
from pricing.reports.quote.wording import fixed_wording
from pricing.text import fold

if TYPE_CHECKING:
    from pricing.costing.engine.packed_columns import Floats
    from pricing.costing.method.costing import Costing


@dataclass(frozen=True)
class Private:
    """What all quotes of a costing must keep to themselves, and what they may all say.

    Parameters
    ----------
    phrases : names to look for, with what each is
    figures : of the workshop's tables
    other_quotes : amounts of all quotes
    passing : phrases that our own wording holds
    wording_figures : figures that stand in it
    of_lines, of_quotes : secret columns with what each is, for each line or quote; each share once more in percent
    """

    phrases: Phrases
    figures: Figures
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
        phrases, wording = Phrases.of(_names(costing)), fixed_wording()
        amounts = [
            (f"{_words(column.name)} of a quote", costing.quote(column.name)) for column in costing.model.tables["quotes"].spec.columns
            if not isinstance(column, Text) and (is_secret(column) or GLOSSARY[column.name].unit == "currency")
        ]
        found = Private(
            phrases, Figures.of(_of_the_workshop(costing)), Figures.of(amounts),
            frozenset(phrase for text in wording for phrase in phrases.found_in(fold(text))),
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
    found = private(costing).phrases.found_in(fold(text))
    return any(kind in ("a supplier", "another customer") and phrase != fold(customer) for phrase, kind in found.items())
