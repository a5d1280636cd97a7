"""Whole packs: the cheapest mix of pack sizes that covers a need.

Sizes and prices are taken to 15 significant digits and compared exactly, as fractions, so that ties are ties.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from math import ceil, gcd, inf, isfinite, lcm

_SLACK = Fraction(5, 10**7)  # of the smallest pack: a need this little above whole packs is met by them
_MOST = 1_000_000  # packs of one kind in a purchase; more means that a unit is wrong


class PackError(ValueError):
    """A need or a pack that cannot be bought; its text is one sentence with the remedy."""


@dataclass(frozen=True)
class Pack:
    """A pack on offer: name, size [any unit], price [currency/pack], and all-units price breaks.

    Each break (n, p) says that from n packs on, every pack costs p; prices fall from break to break.
    """

    name: str
    size: float
    price: float
    breaks: tuple[tuple[int, float], ...] = ()

    def price_each(self, count: int) -> float:
        """The price of each pack when so many are bought [currency/pack].

        >>> Pack("bag", 25, 10.0, breaks=((200, 9.0),)).price_each(200)
        9.0
        """
        return next((price for start, price in sorted(self.breaks, reverse=True) if count >= start), self.price)


@dataclass(frozen=True)
class Purchase:
    """What to buy: packs of each kind, in the order they were offered, the amount bought and left over
    [unit of the sizes], and the cost [currency]."""

    packs: tuple[Pack, ...]
    counts: tuple[int, ...]
    bought: float
    left_over: float
    cost: float

    @property
    def lines(self) -> tuple[tuple[Pack, int], ...]:
        """The kinds that are bought, with how many packs of each."""
        return tuple((pack, count) for pack, count in zip(self.packs, self.counts, strict=True) if count)


@dataclass(frozen=True)
class _Kind:
    """A pack with whole sizes: its place in the offer, its size in steps, and its tiers (from so many packs, price)."""

    place: int
    size: int
    tiers: tuple[tuple[int, Fraction], ...]

    @property
    def first(self) -> Fraction:
        """Price per step of the first pack."""
        return self.tiers[0][1] / self.size

    @property
    def least(self) -> Fraction:
        """Price per step in the best tier."""
        return self.tiers[-1][1] / self.size

    def cost(self, count: int) -> Fraction:
        """Price of so many packs."""
        return count * next(price for start, price in reversed(self.tiers) if count >= start)


# cost, amount bought, packs bought, and how many of each kind so far: compared in this order
_Choice = tuple[Fraction, int, int, tuple[int, ...]]


def packs_to_buy(need: float, packs: Sequence[Pack]) -> Purchase:
    """The cheapest mix of packs that covers a need; among equally cheap ones the least left over, then fewest packs.

    Parameters
    ----------
    need : amount wanted [unit of the sizes]; a need within half a millionth of a pack of whole packs counts as whole
    packs : kinds of pack on offer, all of one material and one unit

    Returns
    -------
    Purchase : counts, amount bought and left over [unit of the sizes], cost [currency]; exact, the same on every run

    Raises PackError, with a sentence, for a size or price that cannot be, a break that does not lower the price, or a
    need of more than a million packs.

    Method: an exact search over the kinds in order of price per amount. A kind is bought no more often than the
    number of packs that could be exchanged for whole larger packs no dearer; the rest is bounded by the best price
    per amount that remains.

    >>> offer = [Pack("small bag", 10, 4.0), Pack("large bag", 25, 8.0)]
    >>> packs_to_buy(45, offer).counts, packs_to_buy(45, offer).cost, packs_to_buy(45, offer).left_over
    ((2, 1), 16.0, 0.0)
    """
    _check(need, packs)
    sizes = [_exact(pack.size) for pack in packs]
    scale = lcm(*(size.denominator for size in sizes))
    unit = Fraction(gcd(*(int(size * scale) for size in sizes)), scale)
    wanted = max(0, ceil((_exact(need) - _SLACK * min(sizes)) / unit))
    kinds = [
        _Kind(place, int(size / unit), ((0, _exact(pack.price)), *((n, _exact(p)) for n, p in sorted(pack.breaks))))
        for place, (pack, size) in enumerate(zip(packs, sizes, strict=True))
    ]
    if wanted > _MOST * min(kind.size for kind in kinds):
        raise PackError(
            f"A need of {need:g} in packs of {min(pack.size for pack in packs):g} is more than a million packs; "
            "check the units of the need and of the pack."
        )
    kinds.sort(key=lambda kind: (kind.first, -kind.size, kind.place))
    cost, bought, _, taken = _cheapest(kinds, wanted)
    counts = [0] * len(packs)
    for kind, count in zip(reversed(kinds), taken, strict=True):
        counts[kind.place] = count
    amount = bought * unit
    left = max(Fraction(0), amount - _exact(need))
    return Purchase(tuple(packs), tuple(counts), float(amount), float(left), float(cost))


def _cheapest(kinds: Sequence[_Kind], wanted: int) -> _Choice:
    """The best choice over all kinds, last kind first; kinds stand in order of the price of their first pack."""
    best = _filled(kinds, wanted)
    reached: dict[int, _Choice] = {wanted: (Fraction(0), 0, 0, ())}
    for index in range(len(kinds) - 1, 0, -1):
        kind, cheaper = kinds[index], kinds[:index]
        least = min(other.least for other in cheaper)
        onward: dict[int, _Choice] = {}
        for left, (cost, bought, number, taken) in reached.items():
            for count in _counts(kind, cheaper, left):
                rest = max(0, left - count * kind.size)
                choice = cost + kind.cost(count), bought + count * kind.size, number + count, (*taken, count)
                if (choice[0] + rest * least, choice[1] + rest) > best[:2]:
                    continue
                if rest not in onward or choice < onward[rest]:
                    onward[rest] = choice
        reached = onward
    last = kinds[0]
    for left, (cost, bought, number, taken) in reached.items():
        for count in _closing(last, left):
            best = min(best, (cost + last.cost(count), bought + count * last.size, number + count, (*taken, count)))
    return best


def _filled(kinds: Sequence[_Kind], wanted: int) -> _Choice:
    """A good choice to start from: as many whole packs as fit of one kind after another, then one kind to cover."""
    found: list[_Choice] = []
    counts, left = [0] * len(kinds), wanted
    for place, kind in enumerate(kinds):
        for last, closing in enumerate(kinds):
            for count in _closing(closing, left):
                tried = [*counts]
                tried[last] += count
                cost = sum((each.cost(number) for each, number in zip(kinds, tried, strict=True)), Fraction(0))
                bought = sum(each.size * number for each, number in zip(kinds, tried, strict=True))
                found.append((cost, bought, sum(tried), tuple(reversed(tried))))
        counts[place], left = left // kind.size, left % kind.size
    return min(found)


def _closing(kind: _Kind, left: int) -> Iterator[int]:
    """Counts of one kind that cover what is left: just enough, or the start of a break beyond."""
    enough = -(-left // kind.size)
    yield enough
    yield from (start for start, _ in kind.tiers if start > enough)


def _counts(kind: _Kind, cheaper: Sequence[_Kind], left: int) -> Iterator[int]:
    """Counts of one kind worth looking at: in each tier up to what could be exchanged for packs no dearer."""
    enough = -(-left // kind.size)
    seen = -1
    for start, price in kind.tiers:
        most = inf
        for other in cheaper:
            if other.first <= price / kind.size:
                most = min(most, start + other.size // gcd(other.size, kind.size) - 1)
        for count in range(max(start, seen + 1), int(min(most, enough)) + 1):
            yield count
            seen = count
        if start > enough:
            yield start
            seen = max(seen, start)


def _exact(number: float) -> Fraction:
    return Fraction(Decimal(f"{number:.15g}"))


def _check(need: float, packs: Sequence[Pack]) -> None:
    """Refuse what cannot be bought, with a sentence."""
    if not packs:
        raise PackError("There is no pack to buy from; give at least one pack size with its price.")
    if not (isfinite(need) and need >= 0):
        raise PackError(f"The need is {need:g}; give an amount of 0 or more.")
    for pack in packs:
        if not (isfinite(pack.size) and pack.size > 0):
            raise PackError(f'The size of the pack "{pack.name}" is {pack.size:g}; give an amount above 0.')
        prices = [pack.price, *(price for _, price in sorted(pack.breaks))]
        if not all(isfinite(price) and price >= 0 for price in prices):
            raise PackError(f'A price of the pack "{pack.name}" is below 0 or not a number; give a price of 0 or more.')
        starts = sorted(start for start, _ in pack.breaks)
        if any(start < 2 or start != int(start) for start in starts) or len(set(starts)) < len(starts):
            raise PackError(f'The breaks of the pack "{pack.name}" must start at different whole counts of 2 or more.')
        if any(after > before for before, after in pairwise(prices)):
            raise PackError(
                f'The price breaks of the pack "{pack.name}" must not raise its price; '
                "a larger order has to cost the same or less per pack."
            )
