"""What a finished file must not hold: names as whole phrases, figures as far as they tell something, and what may pass.

A name is searched as a whole word or phrase, in any letter case, with hyphens, underscores or strokes as with spaces. What
stands in a file by right cannot be told from the same thing got there by mistake and is not searched. Of what was typed as a
remark, single words are let pass, because names are made of words (a customer called Oak, a shelf "in oak"); a whole name of several
words is not.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.dataclass import dataclass
from pricing.reports.leaks.figures import Figure
from pricing.reports.leaks.texts import PART_OF_WORD, Said, spelled

#: Scripts that are written without spaces: there a word has no edge to look for.
_UNSPACED = (("\u2e80", "\ud7ff"), ("\uf900", "\ufaff"), ("\U00020000", "\U0003ffff"))

#: Shorter names, and shorter numbers that serve as names, stand on every page by chance.
_SHORTEST, _SHORTEST_NUMBER = 2, 5


@dataclass(frozen=True, slots=True)
class Figures:
    """Secret figures in order, each with what it is."""

    values: list[float]
    kinds: list[str]

    @classmethod
    def of(cls, named: Iterable[tuple[str, Sequence[float] | NDArray[Any]]]) -> Figures:
        """From figures by what they are; zeros and what is no number are left out, signs do not count.

        >>> Figures.of([("cost", [-2.5, 0.0]), ("wage", [1.5])])
        Figures(values=[1.5, 2.5], kinds=['wage', 'cost'])
        """
        columns = [(kind, np.abs(np.asarray(values, dtype=np.float64)).ravel()) for kind, values in named]
        kinds = sorted({kind for kind, _ in columns})
        number = {kind: at for at, kind in enumerate(kinds)}
        every = np.concatenate([np.zeros(0), *(values for _, values in columns)])
        which = np.repeat([number[kind] for kind, _ in columns], [len(values) for _, values in columns]).astype(np.intp)
        kept = np.flatnonzero(np.isfinite(every) & (every > 0))
        kept = kept[np.lexsort((which[kept], every[kept]))]
        return cls(every[kept].tolist(), [kinds[at] for at in which[kept].tolist()])

    def only(self, kinds: Collection[str]) -> Figures:
        """Those that are of some kinds.

        >>> Figures([1.5, 2.5], ["wage", "cost"]).only({"cost"})
        Figures(values=[2.5], kinds=['cost'])
        """
        kept = [at for at, kind in enumerate(self.kinds) if kind in kinds]
        return Figures([self.values[at] for at in kept], [self.kinds[at] for at in kept])

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
            phrase = spelled(name)
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
        words = PART_OF_WORD.findall(text) if words is None else words
        if not self.unspaced and self.by_word.keys().isdisjoint(words):
            return found
        for word in self.by_word.keys() & words:
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
    near : those of the quote itself, and the prices that somebody typed
    costs : of a piece, of a line and of the quote
    prices : those that somebody typed
    shares : secret parts of one; several lists, each in order
    shown : figures that the quote shows by right, in order
    shown_money, shown_shares : those of them that are money, and the parts of one
    shown_text : figures as they stand in texts that are there by right
    particulars : figures as they stand in our wording and in whoever's names and addresses
    """

    phrases: Phrases
    passing: frozenset[str]
    passing_words: frozenset[str]
    figures: tuple[Figures, ...]
    near: tuple[Figures, ...]
    costs: Figures
    prices: Figures
    shares: tuple[Figures, ...]
    shown: list[float]
    shown_money: list[float]
    shown_shares: list[float]
    shown_text: frozenset[str]
    particulars: frozenset[str]

    def found(self, figure: Figure) -> str:
        """What a figure gives away; nothing where it is none of the secret ones, or stands there by right."""
        if figure.text in self.particulars or (not figure.marked and figure.text in self.shown_text):
            return ""
        low, high = figure.value - figure.half, figure.value + figure.half
        shown = self.shown_shares if figure.sort == "share" else self.shown_money if figure.marked else self.shown
        at = bisect_left(shown, low)
        if at < len(shown) and shown[at] <= high:
            return ""
        match figure.sort:
            case "any":
                searched = self.figures
            case "near":
                searched = self.near
            case "cost":
                searched = (self.costs,)
            case "price":
                searched = (self.prices,)
            case "share":
                searched = self.shares
        return next((kind for figures in searched if (kind := figures.within(low, high))), "")

    def names_in(self, texts: Sequence[Said]) -> dict[str, str]:
        """The secret names in some texts, with what each is."""
        found: dict[str, str] = {}
        met = self.phrases.by_word.keys() & set[str]().union(*(each.words for each in texts))
        for each in texts:
            if self.phrases.unspaced or not met.isdisjoint(each.words):
                found.update(self.phrases.found_in(each.folded, each.words))
        return {phrase: kind for phrase, kind in found.items() if phrase not in self.passing and phrase not in self.passing_words}
