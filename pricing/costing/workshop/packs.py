"""Whole packs: the cheapest mix of pack sizes that covers a need.

Sizes and prices are taken to 15 significant digits and compared exactly, as fractions, so that ties are ties.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil, gcd, isfinite, lcm

from pricing.dataclass import dataclass

_SLACK = Fraction(5, 10**7)  # of the smallest pack: a need this little above whole packs is met by them
_MOST = 1_000_000  # packs of one kind in a purchase; more means that a unit is wrong


class PackError(ValueError):
    """A need or a pack that cannot be bought; its text is one sentence with the remedy."""


@dataclass(frozen=True)
class Pack:
    """A pack on offer: name, size [any unit], price [currency/pack]."""

    name: str
    size: float
    price: float


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
    """A pack with whole sizes: its place in the offer, its size in steps, and its price."""

    place: int
    size: int
    price: Fraction

    @property
    def per_step(self) -> Fraction:
        """Price per step."""
        return self.price / self.size


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

    Raises PackError, with a sentence, for a size or price that cannot be, or a need of more than a million packs.

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
        _Kind(place, int(size / unit), _exact(pack.price))
        for place, (pack, size) in enumerate(zip(packs, sizes, strict=True))
    ]
    if wanted > _MOST * min(kind.size for kind in kinds):
        raise PackError(
            f"A need of {need:g} in packs of {min(pack.size for pack in packs):g} is more than a million packs; "
            "check the units of the need and of the pack."
        )
    kinds.sort(key=lambda kind: (kind.per_step, -kind.size, kind.place))
    cost, bought, _, taken = _cheapest(kinds, wanted)
    counts = [0] * len(packs)
    for kind, count in zip(reversed(kinds), taken, strict=True):
        counts[kind.place] = count
    amount = bought * unit
    left = max(Fraction(0), amount - _exact(need))
    return Purchase(tuple(packs), tuple(counts), float(amount), float(left), float(cost))


def _cheapest(kinds: Sequence[_Kind], wanted: int) -> _Choice:
    """The best choice over all kinds, last kind first; kinds stand in order of their price per step."""
    best = _filled(kinds, wanted)
    reached: dict[int, _Choice] = {wanted: (Fraction(0), 0, 0, ())}
    for index in range(len(kinds) - 1, 0, -1):
        kind, cheaper = kinds[index], kinds[:index]
        onward: dict[int, _Choice] = {}
        for left, (cost, bought, number, taken) in reached.items():
            for count in range(min(_exchanged(kind, cheaper), _enough(kind, left)) + 1):
                rest = max(0, left - count * kind.size)
                choice = cost + count * kind.price, bought + count * kind.size, number + count, (*taken, count)
                if (choice[0] + rest * cheaper[0].per_step, choice[1] + rest) > best[:2]:
                    continue
                if rest not in onward or choice < onward[rest]:
                    onward[rest] = choice
        reached = onward
    last = kinds[0]
    for left, (cost, bought, number, taken) in reached.items():
        count = _enough(last, left)
        best = min(best, (cost + count * last.price, bought + count * last.size, number + count, (*taken, count)))
    return best


def _filled(kinds: Sequence[_Kind], wanted: int) -> _Choice:
    """A good choice to start from: as many whole packs as fit of one kind after another, then one kind to cover."""
    found: list[_Choice] = []
    counts, left = [0] * len(kinds), wanted
    for place, kind in enumerate(kinds):
        for last, closing in enumerate(kinds):
            tried = [*counts]
            tried[last] += _enough(closing, left)
            cost = sum((each.price * number for each, number in zip(kinds, tried, strict=True)), Fraction(0))
            bought = sum(each.size * number for each, number in zip(kinds, tried, strict=True))
            found.append((cost, bought, sum(tried), tuple(reversed(tried))))
        counts[place], left = left // kind.size, left % kind.size
    return min(found)


def _enough(kind: _Kind, left: int) -> int:
    """Packs of one kind that cover what is left."""
    return -(-left // kind.size)


def _exchanged(kind: _Kind, cheaper: Sequence[_Kind]) -> int:
    """Packs of one kind of which no whole number could be exchanged for packs of a kind no dearer."""
    return min(other.size // gcd(other.size, kind.size) - 1 for other in cheaper)


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
        if not (isfinite(pack.price) and pack.price >= 0):
            raise PackError(f'The price of the pack "{pack.name}" is below 0 or not a number; give a price of 0 or more.')
