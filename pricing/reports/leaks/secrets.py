"""What a customer's workbook must not hold: whom the workshop buys from and sells to, what things cost and earn.

A name is searched as a whole word or phrase, in any letter case. What stands on the page by right cannot be told from
the same thing got there by mistake and is not searched: the workshop's and the customer's own particulars, our own
wording, the figures of the quote. Of what the maker typed as a remark, single words are let pass, because names are
made of words (a customer called Oak, a shelf "in oak"); a whole name of several words is not.
"""

from __future__ import annotations

import datetime
import math
import re
import weakref
from bisect import bisect_left
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from pricing.reports.leaks.figures import figures_in
from pricing.reports.leaks.texts import PART_OF_WORD, Said
from pricing.text import fold

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing
    from pricing.reports.quote.facts import QuoteFacts

#: Columns of a line, a quote and the tables behind them that are nobody's business but the maker's.
_OF_LINES = (
    "concrete_cost", "mould_cost", "labour_cost", "machine_cost", "finish_cost", "extras_cost", "overhead_cost", "unit_cost",
    "line_cost", "target_price", "line_margin", "discounted_margin", "contribution", "concrete_per_cast", "mould_materials",
    "mould_material_cost", "mould_labour_cost", "refit_cost", "labour_hours", "mix_price",
)
_OF_QUOTES = ("quote_cost", "quote_margin", "quote_contribution")
_OF_OTHER_QUOTES = ("net", "gross", "payable", "quote_cost", "quote_margin")
_OF_TABLES: tuple[tuple[str, str], ...] = (
    ("prices", "pack_price"), ("prices", "carriage_in"), ("prices", "unit_price_of_material"), ("grades", "hourly_cost"),
    ("machines", "machine_rate"), ("machines", "machine_price"), ("mixes", "mix_price"), ("moulds", "joint_cost"),
    ("moulds", "board_price"),
)
_OF_SETTINGS = ("target_margin", "lowest_margin", "applied_overhead_rate", "overhead_per_year", "electricity_price")
_SHARES = frozenset({"line_margin", "discounted_margin", "quote_margin", "target_margin", "lowest_margin"})

_WORD = re.compile(r"\w+")
#: Scripts that are written without spaces: there a word has no edge to look for.
_UNSPACED = (("\u2e80", "\ud7ff"), ("\uf900", "\ufaff"), ("\U00020000", "\U0003ffff"))

#: Shorter names, and shorter numbers that serve as names, stand on every page by chance.
_SHORTEST, _SHORTEST_NUMBER = 2, 5


@dataclass(frozen=True, slots=True)
class Figures:
    """Secret figures in order, each with what it is."""

    values: list[float]
    kinds: tuple[str, ...]

    def within(self, low: float, high: float) -> str:
        """What lies between two bounds: the kind of the first figure found, or nothing."""
        at = bisect_left(self.values, low)
        return self.kinds[at] if at < len(self.values) and self.values[at] <= high else ""


@dataclass(frozen=True)
class Phrases:
    """Names to look for, by the rarest of their words, so that a long list costs no more than a short one.

    Parameters
    ----------
    by_word : a word of each phrase to pairs of phrase and what it is, both folded
    unspaced : phrases of scripts that are written without spaces
    """

    by_word: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)
    unspaced: tuple[tuple[str, str], ...] = ()

    @classmethod
    def of(cls, named: Iterable[tuple[str, str]]) -> Phrases:
        """From pairs of name and what it is."""
        spaced: dict[tuple[str, str], list[str]] = {}
        unspaced: dict[tuple[str, str], None] = {}
        for name, kind in named:
            phrase = fold(name)
            words = PART_OF_WORD.findall(phrase)
            shortest = _SHORTEST if any(map(str.isalpha, phrase)) else _SHORTEST_NUMBER
            if not words or len(phrase) < shortest:
                continue
            if not phrase.isascii() and any(first <= letter <= last for letter in phrase for first, last in _UNSPACED):
                unspaced[phrase, kind] = None
            else:
                spaced[phrase, kind] = words
        met = Counter(word for words in spaced.values() for word in set(words))
        by_word: dict[str, list[tuple[str, str]]] = {}
        for pair, words in spaced.items():
            by_word.setdefault(min(words, key=met.__getitem__), []).append(pair)
        return cls({word: tuple(pairs) for word, pairs in by_word.items()}, tuple(unspaced))

    def found_in(self, text: str, words: Collection[str] | None = None) -> dict[str, str]:
        """The phrases that a folded text holds as whole words, with what each is.

        Parameters
        ----------
        words : of the text, where they are known
        """
        found: dict[str, str] = {}
        for word in self.by_word.keys() & (PART_OF_WORD.findall(text) if words is None else words):
            for phrase, kind in self.by_word[word]:
                if holds(text, phrase):
                    found[phrase] = kind
        found.update((phrase, kind) for phrase, kind in self.unspaced if phrase in text)
        return found


def holds(text: str, phrase: str) -> bool:
    """Whether a folded text holds a folded phrase, not as part of a longer word.

    >>> holds("from brindle joinery", "brindle"), holds("brindlecote", "brindle")
    (True, False)
    """
    at = text.find(phrase)
    while at >= 0:
        end = at + len(phrase)
        if not (at and text[at - 1].isalnum() and phrase[0].isalnum()) and not (
            end < len(text) and text[end].isalnum() and phrase[-1].isalnum()
        ):
            return True
        at = text.find(phrase, at + 1)
    return False


@dataclass(frozen=True)
class Secrets:
    """What one quote's workbook must not hold.

    Parameters
    ----------
    phrases : names to look for
    passing : phrases that may stand in this workbook although they are in the list
    passing_words : words that may stand in it where a phrase is one of them
    figures : secret figures; several lists, each in order
    shown : figures that the quote shows by right, in order
    shown_text : figures as they stand in texts that are there by right
    """

    phrases: Phrases
    passing: frozenset[str]
    passing_words: frozenset[str]
    figures: tuple[Figures, ...]
    shown: list[float]
    shown_text: frozenset[str]

    def names_in(self, texts: Sequence[Said]) -> dict[str, str]:
        """The secret names in some texts, with what each is."""
        words = frozenset[str]().union(*(each.words for each in texts))
        found = self.phrases.found_in("\n".join(each.folded for each in texts if each.folded), words)
        return {phrase: kind for phrase, kind in found.items() if phrase not in self.passing and phrase not in self.passing_words}


@dataclass(frozen=True)
class _OfCosting:
    """The secrets that all quotes of a costing share, and what they may all say.

    Parameters
    ----------
    passing : phrases that our own wording holds
    wording_figures : figures that stand in it
    of_lines, of_quotes : secret columns, figure by figure
    """

    phrases: Phrases
    figures: Figures
    other_quotes: Figures
    passing: frozenset[str]
    wording_figures: frozenset[str]
    of_lines: Mapping[str, list[float]]
    of_quotes: Mapping[str, list[float]]


_SHARED: weakref.WeakKeyDictionary[Costing, _OfCosting] = weakref.WeakKeyDictionary()


def _shared(costing: Costing) -> _OfCosting:
    from pricing.reports.quote.wording import fixed_wording

    found = _SHARED.get(costing)
    if found is None:
        quotes = [(f"{_words(name)} of a quote", value) for name in _OF_OTHER_QUOTES for value in costing.quote(name).tolist()]
        phrases, wording = Phrases.of(_names(costing)), fixed_wording()
        found = _OfCosting(
            phrases, _sorted(_figures(costing)), _sorted(quotes),
            frozenset(phrase for text in wording for phrase in phrases.found_in(fold(text))),
            frozenset(figure for text in wording for figure in figures_in(text)),
            {column: costing.line(column).tolist() for column in _OF_LINES},
            {column: costing.quote(column).tolist() for column in _OF_QUOTES},
        )
        _SHARED[costing] = found
    return found


def _names(costing: Costing) -> Iterable[tuple[str, str]]:
    from pricing.reports.leaks.machine_names import machine_names

    tables = costing.book.tables
    yield from ((name, "a supplier") for name in set(tables["Materials"].columns["supplier"].tolist()))
    customers = {*tables["Customers"].columns["customer"].tolist(), *costing.lines.customer.tolist()}
    yield from ((name, "another customer") for name in customers)
    for address in tables["Customers"].columns["address"].tolist():
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
    found = _shared(costing).phrases.found_in(fold(text))
    return any(kind in ("a supplier", "another customer") and phrase != fold(customer) for phrase, kind in found.items())


def _figures(costing: Costing) -> Iterable[tuple[str, float]]:
    for group, column in _OF_TABLES:
        for table in costing.model.groups.get(group, ()):
            yield from ((_words(column), value) for value in costing.values.value(table, column).tolist())
    for name in _OF_SETTINGS:
        yield from _with_percent(name, costing.setting(name))
    for price in costing.book.tables["Materials"].columns["pack_price"].tolist():
        yield "pack price", price


def _words(column: str) -> str:
    return column.replace("_", " ")


def _with_percent(column: str, value: float) -> Iterable[tuple[str, float]]:
    yield _words(column), value
    if column in _SHARES:
        yield _words(column), value * 100


def _sorted(figures: Iterable[tuple[str, float]]) -> Figures:
    kept = sorted((abs(value), kind) for kind, value in figures if value and math.isfinite(value))
    return Figures([value for value, _ in kept], tuple(kind for _, kind in kept))


def secrets_of_facts(costing: Costing, facts: QuoteFacts, lines: Collection[int], number: int) -> Secrets:
    """What the workbook of a quote must not hold.

    Parameters
    ----------
    costing : a costing that holds the quote
    facts : what the quote says
    lines, number : the quote's lines, and the quote itself, counted from 0
    """
    shared = _shared(costing)
    of_lines = [pair for column, values in shared.of_lines.items() for line in lines for pair in _with_percent(column, values[line])]
    of_quote = [pair for column, values in shared.of_quotes.items() for pair in _with_percent(column, values[number])]
    by_right = [facts.business, facts.address, facts.contact, facts.tax_number, facts.tax_name, facts.customer, facts.customer_address,
                facts.quote, *address_parts(facts.customer_address)]
    remarks = [text for line in facts.lines for text in (line.title, line.note)]
    sizes = [line.size for line in facts.lines]
    passing = {*shared.passing, *(fold(text) for text in by_right)}
    for text in (*by_right, *sizes):
        passing.update(shared.phrases.found_in(fold(text)))
    words = {word for text in remarks for each in (_WORD, PART_OF_WORD) for word in each.findall(fold(text))}
    texts = [*by_right, *remarks, *sizes, *(line.colour for line in facts.lines)]
    return Secrets(
        shared.phrases, frozenset(passing), frozenset(words), (_sorted([*of_lines, *of_quote]), shared.figures, shared.other_quotes),
        _shown(facts), shared.wording_figures.union(figure for text in texts for figure in figures_in(text)),
    )


def _shown(facts: QuoteFacts) -> list[float]:
    """Every figure that the page of a quote holds by right."""
    from pricing.reports.shared.styles import NORMAL, SMALL

    def serial(day: datetime.date) -> float:
        return float((day - datetime.date(1899, 12, 30)).days)

    figures: list[float] = [
        *facts.totals.values(), facts.deposit_share, facts.cash_step, facts.one_person_lift, facts.lead_days, serial(facts.day),
        serial(facts.valid_until), facts.day.year, facts.valid_until.year, *facts.quantities, NORMAL, SMALL,
    ]
    for line in facts.lines:
        figures += [line.mass, line.quantity, line.unit_price, line.net, line.number, *line.prices]
    return sorted({abs(float(value)) for value in (*figures, *(value * 100 for value in figures if abs(value) <= 1))})
